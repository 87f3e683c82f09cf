//! A rain barrel below a roof: what it catches, spills and gives to the beds of a season, day by day.
//!
//! Rain of a day runs into it before the evening in which beds are watered. Barrel water is not for drinking.

use super::error::SeasonError;
use super::run::Season;
use crate::moment::Date;
use crate::weather::{Field, Weather};

/// Share of the rain on a roof that reaches the gutter: 0.8 to 0.95 of a sloped hard roof. Common practice, no source.
pub const ROOF_SHARE: f64 = 0.9;
/// Depth of the first rain after a dry day that washes the roof and is led away, mm. Common practice, no source: 0.4 mm to 2 mm.
pub const FIRST_FLUSH_MM: f64 = 0.5;

/// A rain barrel below a roof.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Barrel {
    /// What it holds above its tap, m3.
    pub volume_m3: f64,
    /// The roof seen from above, m2.
    pub roof_m2: f64,
    /// Share of the rain that reaches the gutter.
    pub roof_share: f64,
    /// Depth that is led away after a dry day, mm.
    pub first_flush_mm: f64,
    /// Share of its volume that is in it on the first morning.
    pub full_share: f64,
}

/// A day of a barrel; volumes in m3.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarrelDay {
    /// The day.
    pub date: Date,
    /// Rain, mm.
    pub rain_mm: f64,
    /// What the gutter brings, without the first flush.
    pub caught_m3: f64,
    /// What is led away to wash the roof.
    pub flushed_m3: f64,
    /// What runs over.
    pub spilled_m3: f64,
    /// What the beds need.
    pub wanted_m3: f64,
    /// What the barrel gives of it.
    pub drawn_m3: f64,
    /// What is in it in the evening.
    pub stored_m3: f64,
}

/// A season of a barrel.
#[derive(Clone, Debug, PartialEq)]
pub struct BarrelSeason {
    /// The barrel.
    pub barrel: Barrel,
    /// What was in it on the first morning, m3.
    pub start_m3: f64,
    /// Its days.
    pub days: Vec<BarrelDay>,
}

impl Barrel {
    /// A barrel that is empty at first, below a sloped hard roof.
    pub fn new(volume_m3: f64, roof_m2: f64) -> Result<Barrel, SeasonError> {
        Barrel { volume_m3, roof_m2, roof_share: ROOF_SHARE, first_flush_mm: FIRST_FLUSH_MM, full_share: 0.0 }.checked()
    }

    /// Errors: a number that does not fit.
    pub fn checked(self) -> Result<Barrel, SeasonError> {
        let within = |what: &str, found: f64, least: f64, most: f64, expected: &'static str| {
            let sound = (least..=most).contains(&found);
            if sound { Ok(()) } else { Err(SeasonError::OutOfRange { what: what.into(), found, expected }) }
        };
        within("the volume of a barrel in m3", self.volume_m3, 1e-3, 1e4, "0.001 m3 to 10,000 m3")?;
        within("the roof of a barrel in m2", self.roof_m2, 0.0, 1e5, "0 m2 to 100,000 m2")?;
        within("the share of the rain that reaches the gutter", self.roof_share, 0.0, 1.0, "0 to 1")?;
        within("the first flush in mm", self.first_flush_mm, 0.0, 50.0, "0 mm to 50 mm")?;
        within("the share of a barrel that is full at first", self.full_share, 0.0, 1.0, "0 to 1")?;
        Ok(self)
    }

    /// The barrel over the days of a season, from its first to its last. Errors: a bed without ground, which has no volume of water.
    pub fn season(&self, season: &Season, weather: &Weather) -> Result<BarrelSeason, SeasonError> {
        let days = || season.beds.iter().flat_map(|bed| &bed.days);
        let (Some(first), Some(last)) = (days().map(|day| day.date).min(), days().map(|day| day.date).max()) else {
            return Ok(BarrelSeason { barrel: *self, start_m3: 0.0, days: Vec::new() });
        };
        let mut wanted_m3 = vec![0.0; (last.since(first) + 1) as usize];
        for bed in &season.beds {
            for day in bed.days.iter().filter(|day| day.given_mm > 0.0) {
                let volume_m3 = bed.volume_m3(day.given_mm).ok_or_else(|| SeasonError::NoArea { bed: bed.bed.name.clone() })?;
                wanted_m3[day.date.since(first) as usize] += volume_m3;
            }
        }
        let rain_mm = |date: Date| weather.day(date).and_then(|day| day.get(Field::Rain)).unwrap_or(0.0).max(0.0);
        let start_m3 = self.full_share * self.volume_m3;
        let mut stored_m3 = start_m3;
        let mut dry_before = true;
        let mut found = Vec::with_capacity(wanted_m3.len());
        for (step, wanted_m3) in wanted_m3.into_iter().enumerate() {
            let date = first.plus(step as i32);
            let rain_mm = season.plan.rain_factor * rain_mm(date);
            let whole_m3 = self.roof_share * self.roof_m2 * rain_mm / 1000.0;
            let flush_m3 = if dry_before { self.roof_share * self.roof_m2 * self.first_flush_mm / 1000.0 } else { 0.0 };
            let flushed_m3 = flush_m3.min(whole_m3);
            dry_before = rain_mm <= 0.0;
            let caught_m3 = whole_m3 - flushed_m3;
            let spilled_m3 = (stored_m3 + caught_m3 - self.volume_m3).max(0.0);
            let full_m3 = stored_m3 + caught_m3 - spilled_m3;
            let drawn_m3 = wanted_m3.min(full_m3);
            stored_m3 = full_m3 - drawn_m3;
            found.push(BarrelDay { date, rain_mm, caught_m3, flushed_m3, spilled_m3, wanted_m3, drawn_m3, stored_m3 });
        }
        Ok(BarrelSeason { barrel: *self, start_m3, days: found })
    }
}

impl BarrelSeason {
    fn sum(&self, of: fn(&BarrelDay) -> f64) -> f64 {
        self.days.iter().map(of).sum()
    }

    /// What the gutter brought, m3.
    pub fn caught_m3(&self) -> f64 {
        self.sum(|day| day.caught_m3)
    }

    /// What ran over, m3.
    pub fn spilled_m3(&self) -> f64 {
        self.sum(|day| day.spilled_m3)
    }

    /// What the beds needed, m3.
    pub fn wanted_m3(&self) -> f64 {
        self.sum(|day| day.wanted_m3)
    }

    /// What the barrel gave of it, m3: what the tap is spared.
    pub fn saved_m3(&self) -> f64 {
        self.sum(|day| day.drawn_m3)
    }

    /// Days on which beds needed water and the barrel gave nothing or not all of it.
    pub fn short_days(&self) -> usize {
        self.days.iter().filter(|day| day.drawn_m3 < day.wanted_m3).count()
    }
}
