//! Seasons of beds in many cases: the weather is evaluated once, and each case sets its numbers, names and days by their paths.

use super::native::{CaseWorker, NativeStudy};
use super::plan::SweepError;
use super::worker::axis_columns;
use crate::limits;
use crate::quantity::{Dimension, Preference, UnitSystem, dim};
use crate::season::{BedSeason, Scenario, Season, SeasonError, Setting, Target};
use crate::study::{Axes, AxisValues};
use crate::table::{Column, Table, TableError, Values};
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
const ASKED: [Asked; 7] = [
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
        for (place, axis) in axes.axes().iter().enumerate() {
            let target = scenario.target(&axis.name)?;
            let setting = setting(axes, place, 0)?;
            scenario.clone().set(&target, &setting)?;
            targets.push(target);
        }
        let whole = scenario.weather.span().and_then(|(first, last)| scenario.weather.course(first, last).ok());
        Ok(SeasonSweep { scenario: scenario.clone(), axes, targets, whole })
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
    fn table(&mut self, cases: Range<usize>) -> Result<Table, TableError> {
        let beds: Vec<String> = self.scenario.beds.iter().map(|bed| bed.name.clone()).collect();
        let mut values: Vec<Vec<Option<f64>>> = vec![Vec::with_capacity(cases.len()); beds.len() * ASKED.len()];
        let mut reasons = Vec::with_capacity(cases.len());
        for case in cases.clone() {
            limits::go_on()?;
            let season = self.season(case);
            for (column, values) in values.iter_mut().enumerate() {
                let (bed, asked) = (column / ASKED.len(), &ASKED[column % ASKED.len()]);
                values.push(season.as_ref().ok().and_then(|season| season.beds.get(bed)).and_then(asked.of));
            }
            reasons.push(season.err().map(|error| error.to_string()));
        }
        let mut columns = axis_columns(self.sweep.axes, cases);
        for (column, values) in values.into_iter().enumerate() {
            let (bed, Asked { what, dimension, unit, .. }) = (&beds[column / ASKED.len()], &ASKED[column % ASKED.len()]);
            // What no case has, such as minutes of a bed without a rate, needs no column.
            if values.iter().any(Option::is_some) || !matches!(*dimension, dim::TIME | dim::VOLUME) {
                let preference = unit.map_or(Preference::Usual, |unit| UnitSystem::default().preference_of(unit));
                columns.push(Column::quantities(format!("{bed}.{what}"), values, *dimension, preference));
            }
        }
        columns.push(Column { name: "reason".into(), values: Values::Texts(reasons) });
        Table::new(columns)
    }
}
