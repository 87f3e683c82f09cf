//! Seasons of beds in many cases: the weather is evaluated once, and each case sets its numbers, names and days by their paths.

use super::axis_columns::axis_plans;
use super::native::{CaseWorker, NativeStudy};
use super::plan::SweepError;
use crate::limits;
use crate::quantity::{Dimension, Preference, UnitSystem, dim};
use crate::season::{Bed, BedSeason, Scenario, Season, SeasonError, Setting, Target};
use crate::study::{Axes, AxisValues};
use crate::table::{Cells, ColumnPlan, Piece, TableError};
use crate::weather::Course;
use std::ops::Range;

/// What a sweep asks of a bed.
struct Asked {
    /// The end of its column.
    what: &'static str,
    dimension: Dimension,
    /// The US symbol of the unit in which it is shown, where that is not the usual one.
    unit: Option<&'static str>,
    of: fn(&BedSeason) -> Option<f64>,
}

const fn asked(what: &'static str, dimension: Dimension, unit: Option<&'static str>, of: fn(&BedSeason) -> Option<f64>) -> Asked {
    Asked { what, dimension, unit, of }
}

/// What a sweep of seasons asks of each bed.
static ASKED: [Asked; 7] = [
    asked("given", dim::LENGTH, Some("in"), |bed| Some(bed.totals().given_mm / 1000.0)),
    asked("used", dim::LENGTH, Some("in"), |bed| Some(bed.totals().used_mm / 1000.0)),
    asked("percolated", dim::LENGTH, Some("in"), |bed| Some(bed.totals().percolated_mm / 1000.0)),
    asked("waterings", dim::NUMBER, None, |bed| Some(bed.totals().waterings as f64)),
    asked("stress_days", dim::NUMBER, None, |bed| Some(bed.totals().stress_days as f64)),
    asked("run_time", dim::TIME, Some("h"), |bed| bed.run_s(bed.totals().given_mm)),
    asked("water", dim::VOLUME, None, |bed| bed.volume_m3(bed.totals().given_mm)),
];

/// A sweep of seasons that is ready to run.
pub struct SeasonSweep<'a> {
    scenario: Scenario,
    axes: &'a Axes,
    targets: Vec<Target>,
    /// The weather of all its days; none where it has a gap that some cases may not meet.
    whole: Option<Course>,
    /// The columns of its answers: the place of the bed, and what is asked of it.
    asked: Vec<(usize, &'static Asked)>,
}

/// One thread's scenario.
pub struct Worker<'a> {
    sweep: &'a SeasonSweep<'a>,
    scenario: Scenario,
    indices: Vec<usize>,
}

/// The columns that a sweep has for a bed.
pub fn season_columns(bed: &str) -> Vec<String> {
    ASKED.iter().map(|asked| format!("{bed}.{}", asked.what)).collect()
}

impl<'a> SeasonSweep<'a> {
    /// Checks the axes. Errors: unknown paths, values of another kind, weather without a place.
    pub fn new(scenario: &Scenario, axes: &'a Axes) -> Result<SeasonSweep<'a>, SweepError> {
        let mut targets = Vec::with_capacity(axes.axes().len());
        let mut first = scenario.clone();
        for (place, axis) in axes.axes().iter().enumerate() {
            let target = scenario.target(&axis.name)?;
            let setting = setting(axes, place, 0)?;
            scenario.clone().set(&target, &setting)?;
            // Two that do not go together are the failure of a case.
            let _ = first.set(&target, &setting);
            targets.push(target);
        }
        // What no case has, such as minutes of a bed without a rate, needs no column.
        let has = |bed: &Bed, asked: &Asked| match asked.dimension {
            dim::TIME => bed.water.is_some(),
            dim::VOLUME => bed.area_m2.is_some(),
            _ => true,
        };
        let of_bed = |(place, bed)| ASKED.iter().filter(move |asked| has(bed, asked)).map(move |asked| (place, asked));
        let asked = first.beds.iter().enumerate().flat_map(of_bed).collect();
        let whole = scenario.weather.span().and_then(|(first, last)| scenario.weather.course(first, last).ok());
        Ok(SeasonSweep { scenario: scenario.clone(), axes, targets, whole, asked })
    }
}

/// What an axis sets in a case. Errors: parts or zones, which a season does not have.
fn setting(axes: &Axes, place: usize, index: usize) -> Result<Setting, SweepError> {
    let axis = &axes.axes()[place];
    let no_garden = || SweepError::PartAxis { axis: axis.name.clone(), what: "a season has neither parts nor zones".into() };
    Ok(match &axis.values {
        AxisValues::Texts(texts) => Setting::Name(texts[index].clone()),
        AxisValues::Dates(dates) => Setting::Day(dates[index].date()),
        AxisValues::Parts(_) | AxisValues::Zones(_) => return Err(no_garden()),
        AxisValues::Quantities { .. } | AxisValues::Drawn { .. } => Setting::Number(axis.quantity(index).ok_or_else(no_garden)?),
    })
}

impl NativeStudy for SeasonSweep<'_> {
    type Worker<'w>
        = Worker<'w>
    where
        Self: 'w;

    fn axes(&self) -> &Axes {
        self.axes
    }

    fn columns(&self) -> Result<Vec<ColumnPlan>, TableError> {
        let mut columns = axis_plans(self.axes)?;
        for (bed, Asked { what, dimension, unit, .. }) in &self.asked {
            let preference = unit.map_or(Preference::Usual, |unit| UnitSystem::default().preference_of(unit));
            columns.push(ColumnPlan::numbers(format!("{}.{what}", self.scenario.beds[*bed].name), *dimension, preference));
        }
        Ok(columns)
    }

    fn worker(&self) -> Worker<'_> {
        Worker { sweep: self, scenario: self.scenario.clone(), indices: vec![0; self.targets.len()] }
    }
}

impl Worker<'_> {
    fn season(&mut self, case: usize) -> Result<Season, SeasonError> {
        let sweep = self.sweep;
        sweep.axes.indices(case, &mut self.indices);
        self.scenario.clone_from(&sweep.scenario);
        for (place, target) in sweep.targets.iter().enumerate() {
            match sweep.axes.axes()[place].si(self.indices[place]) {
                Some(si) => self.scenario.set_si(target, si),
                None => {
                    if let Ok(setting) = setting(sweep.axes, place, self.indices[place]) {
                        self.scenario.set(target, &setting)?;
                    }
                }
            }
        }
        match &sweep.whole {
            Some(course) => self.scenario.season_on(course),
            None => self.scenario.season(),
        }
    }
}

impl CaseWorker for Worker<'_> {
    fn fill(&mut self, cases: Range<usize>, piece: &mut Piece) {
        let sweep = self.sweep;
        let known = sweep.targets.len();
        for (row, case) in cases.enumerate() {
            if limits::ended() {
                return;
            }
            let season = self.season(case);
            for (place, (axis, cells)) in sweep.axes.axes().iter().zip(&mut piece.columns).enumerate() {
                match cells {
                    Cells::Numbers(numbers) => numbers[row] = axis.si(self.indices[place]).unwrap_or(f64::NAN),
                    Cells::OneOf { chosen, .. } => chosen[row] = self.indices[place] as u32,
                }
            }
            match season {
                Ok(season) => {
                    for ((bed, asked), cells) in sweep.asked.iter().zip(&mut piece.columns[known..]) {
                        if let Cells::Numbers(numbers) = cells {
                            numbers[row] = season.beds.get(*bed).and_then(asked.of).unwrap_or(f64::NAN);
                        }
                    }
                }
                Err(error) => piece.fail(row, known, error.to_string()),
            }
        }
    }
}
