//! Water hammer in words: a card of a few lines, and findings.

use super::run::{Struck, WaterHammer};
use crate::findings::catalog::water_hammer;
use crate::findings::limits::NEAR_RANGE;
use crate::findings::{Finding, in_order, rating_share, title};
use crate::parts::Id;
use crate::quantity::{Dimension, Quantity, UnitSystem, dim};
use std::fmt::Write;

impl WaterHammer {
    /// Water hammer as a card.
    pub fn card(&self, system: UnitSystem) -> String {
        let system = system.or_own(self.garden().units());
        let show = |si: f64, dimension: Dimension| Quantity::new(si, dimension).show(system);
        let (pressure, time) = (|si: f64| show(si, dim::PRESSURE), |si: f64| show(si, dim::TIME));
        let garden = self.garden();
        let mut text = format!("Valve '{}' closes in {}", garden.name(self.valve), time(self.closing_time_s));
        if let Some(valve) = self.at_valve() {
            let _ = write!(
                text,
                ": pressure upstream of it goes from {} up to {} and down to {}",
                pressure(valve.before_pa),
                pressure(valve.highest_pa),
                pressure(valve.lowest_pa)
            );
        }
        let at_once = self.closing_time_s <= self.reflection_time_s;
        let _ = write!(
            text,
            "\nThat is {} than a wave takes to the source and back, {}; the formula gives {}",
            if at_once { "faster" } else { "slower" },
            time(self.reflection_time_s),
            pressure(self.formula_pa())
        );
        text.push_str(&if at_once { ".".into() } else { format!(", and {} if it closed at once.", pressure(self.joukowsky_pa)) });
        if self.at_valve().is_some_and(|valve| valve.highest_pa - valve.before_pa > 1.02 * self.formula_pa()) {
            let pump =
                self.running_pump().map_or(String::new(), |pump| format!(", and '{}' gives more pressure", garden.name(pump)));
            let _ = write!(text, "\nThe peak is higher than the formula: as the flow stops, the friction loss disappears{pump}.");
        }
        if let Some(hardest) = self.hardest() {
            let _ =
                write!(text, "\nThe highest pressure is {}, at '{}'.", pressure(hardest.highest_pa), garden.name(hardest.place));
        }
        if let Some((part, rating)) = self.nearest_to_its_rating() {
            let left = if part.highest_pa <= rating.si { "left" } else { "above it" };
            let _ = write!(
                text,
                "\nNearest to its rating is {}: {} of {}, {} {left}.",
                self.title(part.place),
                pressure(part.highest_pa),
                rating.show(system),
                pressure((rating.si - part.highest_pa).abs())
            );
        }
        if self.followed_s < self.closing_time_s {
            let end = time(self.followed_s);
            let _ =
                write!(text, "\nWaves are computed in the last {end} of the closing; before that the flow is taken as steady.");
        }
        let lumps: Vec<String> = self.lumps().map(|place| format!("'{}'", garden.name(place))).collect();
        if !lumps.is_empty() {
            let step = time(self.step_s);
            let _ = write!(text, "\nToo short for waves in steps of {step}, treated as rigid columns: {}.", lumps.join(", "));
        }
        let assumed: Vec<&str> = self
            .parts
            .iter()
            .filter(|part| part.on_the_way && part.hose.is_some_and(|hose| hose.assumed))
            .map(|part| garden.name(part.place))
            .collect();
        if !assumed.is_empty() {
            let thickness = system.pick("1/8 in", "3 mm");
            let _ = write!(
                text,
                "\nCompliance is not given for {}. Assumed: hose, reinforced {thickness} wall, {}; pipe, rigid PVC, {thickness} wall.",
                assumed.join(", "),
                system.pick("14500 psi", "100 MPa")
            );
        }
        text
    }

    /// What is to be said of the water hammer, the most severe first.
    pub fn findings(&self) -> Vec<Finding> {
        let mut found: Vec<Finding> = self.parts.iter().filter_map(|part| self.against_rating(part)).collect();
        found.extend(self.suction());
        found.extend(self.unrated());
        in_order(found)
    }

    /// A booster on the way that runs.
    fn running_pump(&self) -> Option<usize> {
        let on_the_way = self.parts.iter().filter(|part| part.on_the_way).map(|part| part.place);
        on_the_way.filter(|&place| self.garden().parts()[place].traits().pumps).find(|&place| self.solution.runs[place])
    }

    /// The part that is struck hardest for what it bears.
    fn nearest_to_its_rating(&self) -> Option<(&Struck, Quantity)> {
        let rated =
            self.parts.iter().filter_map(|part| Some((part, self.garden().parts()[part.place].get(Id::PressureRating).ok()?)));
        rated.max_by(|a, b| (a.0.highest_pa / a.1.si).total_cmp(&(b.0.highest_pa / b.1.si)))
    }

    fn title(&self, place: usize) -> String {
        title(self.garden(), place)
    }

    fn against_rating(&self, part: &Struck) -> Option<Finding> {
        let rating = self.garden().parts()[part.place].get(Id::PressureRating).ok()?;
        if part.highest_pa <= rating.si * self.kept_share(part.place) || part.before_pa > rating.si {
            return None;
        }
        let is_over = part.highest_pa > rating.si;
        let entry = if is_over { &water_hammer::WATER_HAMMER_OVER_RATING } else { &water_hammer::WATER_HAMMER_NEAR_RATING };
        let time = |time_s: f64| Quantity::new(time_s, dim::TIME);
        let finding = Finding::about(entry, self.garden(), part.place).with("valve", self.garden().name(self.valve));
        let finding = finding.with("time", time(self.closing_time_s)).with("rating", rating);
        let finding = finding.with("pressure", Quantity { si: part.highest_pa, ..rating });
        Some(finding.with_some("slower", self.slow_enough(part.place, rating.si).map(time)))
    }

    /// Hoses and tanks that are struck and do not say what they bear.
    fn unrated(&self) -> Option<Finding> {
        let garden = self.garden();
        let bare = |part: &&Struck| {
            let own = &garden.parts()[part.place];
            own.spec().traits.bursts && own.si(Id::PressureRating).is_none() && part.highest_pa > part.before_pa
        };
        let worst = self.parts.iter().filter(bare).max_by(|a, b| a.highest_pa.total_cmp(&b.highest_pa))?;
        let number = self.parts.iter().filter(bare).count();
        let finding = Finding::about(&water_hammer::WATER_HAMMER_NO_RATING, garden, worst.place);
        let finding = finding.with("pressure", Quantity::new(worst.highest_pa, dim::PRESSURE));
        Some(match number {
            1 => finding,
            2 => finding.with("another", "another"),
            more => finding.with("others", (more - 1).to_string()),
        })
    }

    /// The share of its rating that the surge may reach at a part.
    fn kept_share(&self, place: usize) -> f64 {
        rating_share(self.garden(), place).unwrap_or(1.0 - NEAR_RANGE.of(self.garden()))
    }

    /// A closing time at which a part stays a tenth below its rating, found by trying; nothing up to ten seconds.
    fn slow_enough(&self, place: usize, rating_pa: f64) -> Option<f64> {
        const TIMES_S: [f64; 12] = [0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0];
        let share = 1.0 - NEAR_RANGE.of(self.garden());
        let kept = |time_s: &f64| {
            let other = self.shut_in(*time_s).ok();
            let part = other.as_ref().and_then(|water_hammer| water_hammer.parts.iter().find(|part| part.place == place));
            part.is_some_and(|part| part.highest_pa <= rating_pa * share)
        };
        let longer: Vec<f64> = TIMES_S.into_iter().filter(|&time_s| time_s > self.closing_time_s).collect();
        // The slower, the softer.
        let first = longer.partition_point(|time_s| !kept(time_s));
        longer.get(first).copied()
    }

    fn suction(&self) -> Option<Finding> {
        let lowest = self.parts.iter().reduce(|best, part| if part.lowest_pa < best.lowest_pa { part } else { best })?;
        let vapor_pa = self.garden().vapor_gauge_pa();
        if lowest.lowest_pa >= 0.0 {
            return None;
        }
        let parts = lowest.lowest_pa <= vapor_pa;
        let entry = if parts { &water_hammer::WATER_HAMMER_COLUMN_SEPARATION } else { &water_hammer::WATER_HAMMER_DOWNSURGE };
        let pressure_pa = if parts { vapor_pa } else { lowest.lowest_pa };
        let finding = Finding::about(entry, self.garden(), lowest.place);
        Some(finding.with("pressure", Quantity::new(pressure_pa, dim::PRESSURE)))
    }
}
