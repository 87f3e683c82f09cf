//! Many runs over time: a grid of cases, and every fault a garden can have. Natively, on all cores.

use super::axes::Axes;
use super::axis::AxisValues;
use super::sweep::{SweepError, SweepOptions, axis_columns};
use crate::garden::Garden;
use crate::limits;
use crate::operation::{Fault, FaultKind, Log, OperationError, Options, Schedule, operate_with};
use crate::quantity::{Dimension, UnitSystem, dim};
use crate::table::{Column, Table, Values};
use crate::thread_pool::all_of;

/// What is kept of a run.
#[derive(Clone, Debug, Default)]
struct Row {
    starts: Option<f64>,
    peak_starts: Option<f64>,
    shortest_run_s: Option<f64>,
    shortest_off_s: Option<f64>,
    duty_cycle: Option<f64>,
    energy_j: Option<f64>,
    highest_pa: Option<f64>,
    highest_at: Option<String>,
    lost_m3: Option<f64>,
    backflow_m3: Option<f64>,
    discharged_m3: Option<f64>,
    tap_pa: Option<f64>,
    reason: Option<String>,
}

/// A number of each run, as a column.
struct Measure(&'static str, Dimension, fn(&Row) -> Option<f64>);

const STARTS: Measure = Measure("starts", dim::NUMBER, |row| row.starts);
const PEAK_STARTS: Measure = Measure("peak starts per hour", dim::NUMBER, |row| row.peak_starts);
const SHORTEST_RUN: Measure = Measure("shortest run", dim::TIME, |row| row.shortest_run_s);
const SHORTEST_OFF_TIME: Measure = Measure("shortest off time", dim::TIME, |row| row.shortest_off_s);
const DUTY_CYCLE: Measure = Measure("duty cycle", dim::NUMBER, |row| row.duty_cycle);
const ENERGY: Measure = Measure("energy", dim::ENERGY, |row| row.energy_j);
const WATER: Measure = Measure("water", dim::VOLUME, |row| row.discharged_m3);
const HIGHEST: Measure = Measure("highest", dim::PRESSURE, |row| row.highest_pa);
const LOST: Measure = Measure("lost", dim::VOLUME, |row| row.lost_m3);
const BACKFLOW: Measure = Measure("backflow", dim::VOLUME, |row| row.backflow_m3);
const TAP: Measure = Measure("lowest tap pressure", dim::PRESSURE, |row| row.tap_pa);

impl Measure {
    fn column(&self, rows: &[Row], units: UnitSystem) -> Column {
        Column::quantities(self.0, rows.iter().map(self.2), self.1, units.preference(self.1))
    }
}

impl Row {
    fn of(result: Result<Log, OperationError>) -> Row {
        let log = match result {
            Ok(log) => log,
            Err(error) => return Row { reason: Some(error.to_string()), ..Row::default() },
        };
        let garden = &log.garden;
        let highest = (0..garden.parts().len()).filter_map(|place| Some((place, log.highest(place)?)));
        let highest = highest.max_by(|a, b| a.1.pressure_pa.total_cmp(&b.1.pressure_pa));
        let is_lost = |place: usize| garden.spec(place).loses_water();
        let energies = log.energy_j();
        let taps = garden.supplies().filter_map(|place| Some(log.lowest(place)?.pressure_pa));
        Row {
            starts: Some(log.starts() as f64),
            peak_starts: Some(log.peak_starts_per_hour() as f64),
            shortest_run_s: log.shortest_run_s(),
            shortest_off_s: log.shortest_rest_s(),
            duty_cycle: Some(log.duty_cycle()),
            energy_j: energies.iter().map(|(_, energy)| *energy).sum(),
            highest_pa: highest.map(|(_, extreme)| extreme.pressure_pa),
            highest_at: highest
                .map(|(place, extreme)| format!("{}, {}", garden.name(place), log.schedule.moment(extreme.time_s))),
            lost_m3: Some(log.discharged_m3().iter().filter(|(place, _)| is_lost(*place)).map(|(_, volume)| volume).sum()),
            backflow_m3: Some(log.ran_back_m3()),
            discharged_m3: Some(log.discharged_m3().iter().map(|(_, volume)| volume).sum()),
            tap_pa: taps.reduce(f64::min),
            reason: log.cut_short_in_words(),
        }
    }
}

/// Runs each case of the grid by each schedule; names without text are not shown. The table has a column for each axis, then starts, runs, energy, water and the
/// highest pressure; a case that cannot be run stays in, with its reason.
///
/// Errors: unknown paths, values of a wrong dimension, or a stop by the user.
pub fn sweep_operation(
    garden: &Garden,
    axes: &Axes,
    schedules: &[(String, Schedule)],
    duration_s: f64,
    options: &SweepOptions,
) -> Result<Table, SweepError> {
    for axis in axes.axes() {
        match (&axis.values, axis.kind()) {
            (_, Some((dimension, _))) => {
                let expected = garden.dimension_of(garden.parameter_path(&axis.name)?);
                if expected != dimension {
                    let found = axis.quantity(0).map_or_else(String::new, |quantity| quantity.described());
                    return Err(SweepError::Dimension { axis: axis.name.clone(), expected: expected.to_string(), found });
                }
            }
            (AxisValues::Parts(_), _) => {
                garden.find(&axis.name)?;
            }
            (AxisValues::Zones(_), _) => {
                let what = "the schedule sets the zones".to_string();
                return Err(SweepError::PartAxis { axis: axis.name.clone(), what });
            }
            _ => {
                let what = "its values are strings".to_string();
                return Err(SweepError::PartAxis { axis: axis.name.clone(), what });
            }
        }
    }
    let each = axes.cases();
    let case = |number: usize| -> Row {
        let mut indices = vec![0; axes.axes().len()];
        axes.indices(number % each, &mut indices);
        let schedule = &schedules[number / each].1;
        let mut changed = garden.clone();
        for (axis, &index) in axes.axes().iter().zip(&indices) {
            let next = match (&axis.values, axis.quantity(index)) {
                (AxisValues::Parts(parts), _) => changed.replace(&axis.name, &parts[index]),
                (_, Some(quantity)) => changed.with(&axis.name, quantity),
                _ => continue,
            };
            match next {
                Ok(next) => changed = next,
                Err(error) => return Row { reason: Some(error.to_string()), ..Row::default() },
            }
        }
        Row::of(operate_with(&changed, schedule, duration_s, &Options::default()))
    };
    let cases = each.saturating_mul(schedules.len());
    let rows = in_parallel(cases, options, case)?;
    let mut columns = axis_columns(axes, (0..cases).map(|number| number % each));
    if schedules.iter().any(|(name, _)| !name.is_empty()) {
        columns.insert(0, Column::texts("schedule", (0..cases).map(|number| schedules[number / each].0.clone())));
    }
    let keys: Vec<String> = columns.iter().map(|column| column.name.clone()).collect();
    let units = garden.units();
    let measures = [STARTS, PEAK_STARTS, SHORTEST_RUN, SHORTEST_OFF_TIME, DUTY_CYCLE, ENERGY, WATER, HIGHEST];
    columns.extend(measures.iter().map(|measure| measure.column(&rows, units)));
    add_reasons(&mut columns, &rows);
    Ok(Table::new(columns)?.with_keys(keys))
}

/// Runs a garden once for every fault of every part, and once without any.
///
/// Errors: a stop by the user, or a table that cannot be made.
pub fn failure_study(garden: &Garden, schedule: &Schedule, duration_s: f64, options: &SweepOptions) -> Result<Table, SweepError> {
    let units = garden.units();
    let mut faults: Vec<Option<Fault>> = vec![None];
    for (place, part) in garden.parts().iter().enumerate() {
        let kinds = part.spec().faults;
        // A switch that is blocked from the beginning does what a dead one does.
        let kinds = kinds.iter().filter(|kind| **kind != FaultKind::Blocked);
        faults.extend(kinds.map(|&kind| Some(Fault::new(garden.name(place), kind))));
    }
    let mut rows = in_parallel(faults.len(), options, |number| {
        let here: Vec<Fault> = faults[number].iter().cloned().collect();
        let options = Options { faults: &here, ..Options::default() };
        Row::of(operate_with(garden, schedule, duration_s, &options))
    })?;
    // What goes out beyond that of a sound garden is lost, too.
    let usual_m3 = rows.first().and_then(|row| row.discharged_m3);
    for row in rows.iter_mut().skip(1) {
        if let (Some(lost_m3), Some(all_m3), Some(usual_m3)) = (row.lost_m3, row.discharged_m3, usual_m3) {
            row.lost_m3 = Some(lost_m3.max(all_m3 - usual_m3));
        }
    }
    let words = |fault: &Option<Fault>| {
        fault.as_ref().map_or_else(|| "none".to_string(), |fault| format!("{} {}", fault.part, fault.kind.words()))
    };
    let mut columns = vec![
        Column::texts("failure", faults.iter().map(words)),
        HIGHEST.column(&rows, units),
        Column { name: "where and when".into(), values: Values::Texts(rows.iter().map(|row| row.highest_at.clone()).collect()) },
    ];
    columns.extend([LOST, BACKFLOW, TAP, WATER, DUTY_CYCLE, STARTS].iter().map(|measure| measure.column(&rows, units)));
    add_reasons(&mut columns, &rows);
    Ok(Table::new(columns)?)
}

fn add_reasons(columns: &mut Vec<Column>, rows: &[Row]) {
    if rows.iter().any(|row| row.reason.is_some()) {
        let reasons = rows.iter().map(|row| row.reason.clone()).collect();
        columns.push(Column { name: "reason".into(), values: Values::Texts(reasons) });
    }
}

/// The rows of all cases, in order. Errors: a stop by the user.
fn in_parallel(cases: usize, options: &SweepOptions, case: impl Fn(usize) -> Row + Sync) -> Result<Vec<Row>, SweepError> {
    let rows = all_of(options.threads, cases, case);
    if rows.len() < cases || limits::ended() {
        return Err(SweepError::Stopped);
    }
    Ok(rows)
}
