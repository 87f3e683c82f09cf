//! Beds with unknown numbers as residuals of readings of their soil, for the search.
//!
//! A reading is of the morning of its day. Unknowns are shares of their start values; derivatives are differences of whole seasons,
//! since days on which water is due make kinks. Where the waterings are known from a log, there are none but those of stress.

use super::marquardt::{Problem, Unknowns};
use super::measured::{Checked, FitError};
use crate::moment::Date;
use crate::quantity::{Preference, Quantity, dim};
use crate::season::{BedDay, Plan, Rule, Scenario, Target};
use crate::unit_system::UnitSystem;
use crate::weather::Course;

/// Shares of their start at which numbers are stopped above zero.
const LEAST_SHARE: f64 = 1e-6;
/// Step of a difference, as a share of the start value.
const STEP: f64 = 1e-4;
/// Errors of readings of which nothing is said, common practice: depth that is missing, m; share of what plants can take, percent;
/// water of the volume by a probe, percent.
const DEPTH_ERROR_M: f64 = 0.005;
const SHARE_ERROR: f64 = 10.0;
const VOLUME_ERROR: f64 = 3.0;
/// The same in a sentence.
pub(super) const USUAL_SOIL_ERRORS: &str =
    "default errors: 5 mm of depletion, 10 points of the water that is left, 3 points of water by volume";

/// How a handful of soil holds together. From memory, not looked up: USDA NRCS, field guide to soil moisture by hand, by quarters of the
/// water that plants can take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FingerTest {
    /// Powder or hard clods: under a quarter is left.
    Dry,
    /// It hardly holds together when squeezed: under a half.
    SlightlyMoist,
    /// It holds together, and fingers get moist: under three quarters.
    Moist,
    /// It leaves water on the hand: above three quarters.
    Wet,
}

impl FingerTest {
    /// Each with the word for it.
    pub const ALL: [(&str, FingerTest); 4] = [
        ("dry", FingerTest::Dry),
        ("slightly moist", FingerTest::SlightlyMoist),
        ("moist", FingerTest::Moist),
        ("wet", FingerTest::Wet),
    ];

    /// The middle of its quarter, percent that is left.
    pub fn left_pct(self) -> f64 {
        match self {
            FingerTest::Dry => 12.5,
            FingerTest::SlightlyMoist => 37.5,
            FingerTest::Moist => 62.5,
            FingerTest::Wet => 87.5,
        }
    }
}

/// What is read of a soil.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SoilState {
    /// The depth that is missing, m.
    Depletion,
    /// What is left of the water that plants can take, percent.
    Left,
    /// Water in the volume of the root zone, percent.
    Volume,
}

/// A reading of the soil of a bed.
#[derive(Clone, Debug, PartialEq)]
pub struct SoilReading {
    /// Name of the bed.
    pub bed: String,
    /// The day, in its morning.
    pub day: Date,
    /// What is read.
    pub state: SoilState,
    /// The reading, in the unit of its kind.
    pub value: f64,
    /// Its standard error.
    pub error: Option<f64>,
}

impl SoilState {
    fn name(self) -> &'static str {
        match self {
            SoilState::Depletion => "depletion",
            SoilState::Left => "left",
            SoilState::Volume => "moisture",
        }
    }

    fn usual_error(self) -> f64 {
        match self {
            SoilState::Depletion => DEPTH_ERROR_M,
            SoilState::Left => SHARE_ERROR,
            SoilState::Volume => VOLUME_ERROR,
        }
    }

    fn quantity(self, value: f64) -> Quantity {
        match self {
            SoilState::Depletion => {
                let preference = UnitSystem::default().preference_of("in");
                Quantity { preference, ..Quantity::new(value, dim::LENGTH) }
            }
            _ => Quantity { preference: Preference::Usual, ..Quantity::new(value, dim::NUMBER) },
        }
    }
}

pub(super) struct SeasonModel {
    scenario: Scenario,
    /// The plan of the season, which holds again after the search.
    plan: Plan,
    whole: Option<Course>,
    targets: Vec<Target>,
    starts: Vec<Quantity>,
    /// Each with the place of its bed.
    readings: Vec<(usize, SoilReading)>,
    refusal: Option<String>,
}

impl SeasonModel {
    pub fn new(scenario: &Scenario, readings: &[SoilReading], paths: &[&str]) -> Result<SeasonModel, FitError> {
        let mut targets = Vec::with_capacity(paths.len());
        let mut starts = Vec::with_capacity(paths.len());
        for path in paths {
            starts.push(scenario.number(path)?);
            targets.push(scenario.target(path)?);
        }
        // What was given is known where somebody kept a log.
        let plan = scenario.plan.clone();
        let mut scenario = scenario.clone();
        if scenario.beds.iter().any(|bed| !bed.log.is_empty()) {
            scenario.plan.rule = Rule::NoWater;
        }
        let season = scenario.season()?;
        let mut placed = Vec::with_capacity(readings.len());
        for reading in readings {
            let no_day = || FitError::NoDay { bed: reading.bed.clone(), day: reading.day };
            let place = season.beds.iter().position(|bed| bed.bed.name == reading.bed).ok_or_else(no_day)?;
            if !season.beds[place].days.iter().any(|day| day.date == reading.day) {
                return Err(no_day());
            }
            if let Some(error) = reading.error.filter(|error| *error <= 0.0) {
                return Err(FitError::BadError { at: reading.bed.clone(), found: reading.state.quantity(error).to_string() });
            }
            placed.push((place, reading.clone()));
        }
        let whole = scenario.weather.span().and_then(|(first, last)| scenario.weather.course(first, last).ok());
        Ok(SeasonModel { scenario, plan, whole, targets, starts, readings: placed, refusal: None })
    }

    pub fn starts(&self) -> &[Quantity] {
        &self.starts
    }

    /// The season with what was found.
    pub fn found(&self, x: &[f64]) -> Scenario {
        let mut scenario = Scenario { plan: self.plan.clone(), ..self.scenario.clone() };
        self.set(&mut scenario, x);
        scenario
    }

    fn scenario_at(&self, x: &[f64]) -> Scenario {
        let mut scenario = self.scenario.clone();
        self.set(&mut scenario, x);
        scenario
    }

    fn set(&self, scenario: &mut Scenario, x: &[f64]) {
        for (index, target) in self.targets.iter().enumerate() {
            scenario.set_si(target, self.si(x, index));
        }
    }

    pub fn failed(&self) -> FitError {
        FitError::Start { reason: self.refusal.clone().unwrap_or_else(|| "a reading is not a number".into()) }
    }

    pub fn checked(&self, residuals: &[f64]) -> Vec<Checked> {
        let of = |((_, reading), residual): (&(usize, SoilReading), &f64)| {
            let error = reading.error.unwrap_or(reading.state.usual_error());
            Checked {
                what: format!("{}.{}", reading.bed, reading.state.name()),
                when: reading.day.to_string(),
                value: reading.state.quantity(reading.value),
                error_is_usual: reading.error.is_none(),
                model: reading.value + residual * error,
                error,
            }
        };
        self.readings.iter().zip(residuals).map(of).collect()
    }
}

/// What a reading in the morning of a day would be.
fn state_of(state: SoilState, day: &BedDay, field_capacity: f64) -> f64 {
    match state {
        SoilState::Depletion => day.start_mm / 1000.0,
        SoilState::Left => 100.0 * (1.0 - day.start_mm / day.reservoir_mm),
        SoilState::Volume => 100.0 * (field_capacity - day.start_mm / (1000.0 * day.roots_m)),
    }
}

impl Unknowns for SeasonModel {
    fn start(&self) -> Vec<f64> {
        self.starts.iter().enumerate().map(|(index, start)| start.si / self.scale(index)).collect()
    }

    fn bounds(&self) -> Vec<(f64, f64)> {
        vec![(LEAST_SHARE, f64::INFINITY); self.starts.len()]
    }

    fn si(&self, x: &[f64], index: usize) -> f64 {
        x[index] * self.scale(index)
    }

    fn scale(&self, index: usize) -> f64 {
        let start = self.starts[index].si.abs();
        if start > 0.0 { start } else { 1.0 }
    }

    fn refusal(&self) -> Option<&str> {
        self.refusal.as_deref()
    }

    fn must_be(&self, _: usize) -> String {
        "above zero".into()
    }
}

impl Problem for SeasonModel {
    fn residuals(&mut self, x: &[f64]) -> Option<Vec<f64>> {
        let scenario = self.scenario_at(x);
        let season = match &self.whole {
            Some(course) => scenario.season_on(course),
            None => scenario.season(),
        };
        let season = match season {
            Ok(season) => season,
            Err(error) => {
                self.refusal = Some(error.to_string());
                return None;
            }
        };
        self.refusal = None;
        let residual = |(place, reading): &(usize, SoilReading)| {
            let bed = &season.beds[*place];
            let day = bed.days.iter().find(|day| day.date == reading.day)?;
            let model = state_of(reading.state, day, bed.bed.soil.field_capacity);
            let error = reading.error.unwrap_or(reading.state.usual_error());
            Some((model - reading.value) / error).filter(|residual| residual.is_finite())
        };
        self.readings.iter().map(residual).collect()
    }

    fn jacobian(&mut self, x: &[f64]) -> Vec<Vec<f64>> {
        let mut rows = vec![vec![0.0; x.len()]; self.readings.len()];
        for column in 0..x.len() {
            let step = STEP * x[column].abs().max(1e-2);
            let mut at = |share: f64| {
                let mut near = x.to_vec();
                near[column] = (x[column] + share).max(LEAST_SHARE);
                self.residuals(&near).map(|residuals| (near[column], residuals))
            };
            let (low, high, here) = (at(-step), at(step), at(0.0));
            let pair = low.clone().zip(high.clone()).or(here.clone().zip(high)).or(low.zip(here));
            if let Some(((from, below), (to, above))) = pair {
                rows.iter_mut().zip(below.iter().zip(&above)).for_each(|(row, (a, b))| row[column] = (b - a) / (to - from));
            }
        }
        rows
    }
}
