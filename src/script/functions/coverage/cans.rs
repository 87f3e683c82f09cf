//! Catch-can tests.

use super::read::percent;
use crate::coverage::{CatchCans, LowQuarter};
use crate::quantity::{Quantity, dim};
use crate::report::coverage as report;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, cell_value, describe, expect_quantity, value_of};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<CatchCans>("catches");
    engine
        .register_get("count", |cans: &mut CatchCans| cans.catches.len() as INT)
        .register_get("cu", |cans: &mut CatchCans| percent(cans.uniformity.christiansen))
        .register_get("du", |cans: &mut CatchCans| percent(cans.uniformity.du))
        .register_get("mean", |cans: &mut CatchCans| value_of(cans.quantity(cans.uniformity.mean)))
        .register_get("lowest", |cans: &mut CatchCans| value_of(cans.quantity(cans.uniformity.lowest)))
        .register_get("highest", |cans: &mut CatchCans| value_of(cans.quantity(cans.uniformity.highest)))
        .register_get("scheduling_coefficient", |cans: &mut CatchCans| cans.uniformity.scheduling_coefficient())
        .register_get("band", |cans: &mut CatchCans| -> Answer<f64> {
            let one =
                || ScriptError::new("band: a single can says nothing of how sure its mean is").with_hint("set out more cans");
            cans.band().map(percent).ok_or_else(|| one().into())
        })
        .register_get("application_rate", |cans: &mut CatchCans| -> Answer<Quantity> {
            report::can_rate(cans, cans.uniformity.mean).map_err(raise)
        })
        .register_get("driest", |cans: &mut CatchCans| -> Answer<Array> {
            Ok(report::can_place(cans, cans.driest()).map_err(raise)?.map(Dynamic::from).into())
        });
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, cans: CatchCans| -> Answer<String> {
            Ok(report::cans_in_words(&cans, look_of(&call)?.system))
        });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn catch(index: usize, value: &Dynamic) -> Answer<Quantity> {
    as_quantity(value).ok_or_else(|| {
        let what = format!("catch_cans: can {} holds {}; expected a volume or a depth", index + 1, describe(value));
        ScriptError::new(what).with_hint("write catch_cans([18.mL, 22.mL])").into()
    })
}

/// Whether a length was given in metric units.
fn is_metric(value: &Dynamic) -> bool {
    as_quantity(value).and_then(|given| given.preference.suggests_metric()) == Some(true)
}

/// A column of a table as quantities.
fn column(table: &Table, name: &str) -> Answer<Array> {
    table.column(name).map_err(raise)?.cells().map(|cell| cell_value(&cell)).collect()
}

#[export_module]
mod functions {
    /// A catch-can test: what equal cans on the bed caught, as volumes or depths: a list, rows as seen on a plan (the first row is the uppermost), or
    /// a table with the columns x, y and caught. `c.mean`, `c.lowest`, `c.highest`; `c.cu` (CU, Christiansen) and `c.du` (DU, low quarter) in percent;
    /// `c.band` is how sure the mean is: half of its 90 % interval in percent; `c.application_rate` and `c.driest` need `.mouth`, `.lasted`, `.spaced`;
    /// `c.scheduling_coefficient` is one over DU.
    ///
    /// ```hw
    /// let c = catch_cans([18.mL, 22.mL, 20.mL, 17.mL, 21.mL, 19.mL, 9.mL, 14.mL]);
    /// round_to(c.cu, 0.1)                            // => 82.1
    /// round_to(c.du, 0.1)                         // => 65.7
    /// round_to(c.band, 1)                            // => 16
    /// let rows = catch_cans([[18.mL, 22.mL], [20.mL, 9.mL]]).spaced(5.ft).mouth(16.6.in2).lasted(15.min);
    /// rows.application_rate                          // => 0.25 in/h
    /// rows.driest                                    // => [7.5 ft, 2.5 ft]
    /// catch_cans([18.mL, 2.inch])   // => error: catch_cans: can 2 holds 2 in (a length), the first 18 mL (a volume)
    /// catch_cans([[18.mL, 22.mL], [20.mL]])   // => error: catch_cans: rows have different lengths: 2 in row 1, 1 in row 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn catch_cans(catches: Array) -> Result<CatchCans, Box<EvalAltResult>> {
        let rows: Option<Vec<Array>> = catches.iter().map(|row| row.read_lock::<Array>().map(|row| row.clone())).collect();
        let Some(rows) = rows.filter(|rows| !rows.is_empty()) else {
            let one = |(index, value): (usize, &Dynamic)| catch(index, value);
            return CatchCans::of(&catches.iter().enumerate().map(one).collect::<Answer<Vec<_>>>()?).map_err(raise);
        };
        let mut number = 0;
        let mut read = Vec::with_capacity(rows.len());
        for row in &rows {
            let cans: Answer<Vec<Quantity>> = row.iter().enumerate().map(|(index, value)| catch(number + index, value)).collect();
            read.push(cans?);
            number += row.len();
        }
        CatchCans::in_rows(&read).map_err(raise)
    }

    #[rhai_fn(name = "catch_cans", return_raw)]
    pub fn catch_cans_of_table(table: Table) -> Result<CatchCans, Box<EvalAltResult>> {
        let [xs, ys, catches] = [column(&table, "x")?, column(&table, "y")?, column(&table, "caught")?];
        let mut cans = Vec::with_capacity(catches.len());
        for (index, value) in catches.iter().enumerate() {
            let at = |list: &Array, name: &str| {
                expect_quantity(&list[index], dim::LENGTH, &format!("catch_cans: {name} of can {}", index + 1))
            };
            cans.push(((at(&xs, "x")?, at(&ys, "y")?), catch(index, value)?));
        }
        Ok(CatchCans::placed(&cans).map_err(raise)?.in_metric(xs.first().is_some_and(is_metric)))
    }

    /// The distance from can to can of a test in rows; a second one is the distance from row to row. Returns the test.
    ///
    /// ```hw
    /// catch_cans([[18.mL, 22.mL], [20.mL, 9.mL]]).spaced(5.ft, 4.ft).table()["y"]   // => [6 ft, 6 ft, 2 ft, 2 ft]
    /// ```
    #[rhai_fn(name = "spaced", return_raw)]
    pub fn spaced(cans: CatchCans, distance: Dynamic) -> Result<CatchCans, Box<EvalAltResult>> {
        spaced_both_ways(cans, distance.clone(), distance)
    }

    #[rhai_fn(name = "spaced", return_raw)]
    pub fn spaced_both_ways(cans: CatchCans, across: Dynamic, up: Dynamic) -> Result<CatchCans, Box<EvalAltResult>> {
        let [along, between] = [&across, &up].map(|value| expect_quantity(value, dim::LENGTH, "spaced: distance"));
        Ok(cans.spaced((along?, between?)).map_err(raise)?.in_metric(is_metric(&across)))
    }

    /// The place of the can at the lower left of a test in rows, on the plan; returns the test. Without it the first can stands half a spacing from
    /// the origin, and `against` centers the cans on the bed.
    ///
    /// ```hw
    /// catch_cans([[18.mL, 22.mL], [20.mL, 9.mL]]).spaced(5.ft).corner(10.ft, 0.ft).table()["x"]   // => [10 ft, 15 ft, 10 ft, 15 ft]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn corner(cans: CatchCans, x: Dynamic, y: Dynamic) -> Result<CatchCans, Box<EvalAltResult>> {
        let [x_m, y_m] =
            [("x", &x), ("y", &y)].map(|(name, value)| expect_quantity(value, dim::LENGTH, &format!("corner: {name}")));
        cans.corner((x_m?, y_m?)).map_err(raise)
    }

    /// The mouth of a can of a test: its area, or the diameter of a round one; returns the test.
    ///
    /// ```hw
    /// catch_cans([18.mL, 22.mL]).mouth(4.6.inch).lasted(15.min).application_rate   // => 0.29 in/h
    /// catch_cans([18.mL, 22.mL]).application_rate   // => error: catch_cans: the mouth of a can is not given
    /// ```
    #[rhai_fn(return_raw)]
    pub fn mouth(cans: CatchCans, size: Dynamic) -> Result<CatchCans, Box<EvalAltResult>> {
        let metric = is_metric(&size);
        let is_diameter = as_quantity(&size).is_some_and(|size| size.dimension == dim::LENGTH);
        let found = match is_diameter {
            true => cans.round_mouth(expect_quantity(&size, dim::LENGTH, "mouth: diameter")?),
            false => cans.mouth(expect_quantity(&size, dim::AREA, "mouth: area")?),
        };
        Ok(found.map_err(raise)?.in_metric(metric))
    }

    /// How long a catch-can test ran; returns the test.
    ///
    /// ```hw
    /// catch_cans([5.mm, 6.mm]).lasted(30.min).application_rate   // => 0.43 in/h
    /// ```
    #[rhai_fn(return_raw)]
    pub fn lasted(cans: CatchCans, time: Dynamic) -> Result<CatchCans, Box<EvalAltResult>> {
        cans.lasted(expect_quantity(&time, dim::TIME, "lasted: time")?).map_err(raise)
    }

    #[rhai_fn(name = "wind", return_raw)]
    pub fn wind_during_test(cans: CatchCans, speed: Dynamic) -> Result<CatchCans, Box<EvalAltResult>> {
        cans.in_wind(expect_quantity(&speed, dim::SPEED, "wind: speed")?).map_err(raise)
    }

    /// DU (low quarter) of a catch-can test by another habit of counting, in percent: "parts" of a can may count (the default of `du`), the number of
    /// cans is "rounded", or "rounded up".
    ///
    /// ```hw
    /// let c = catch_cans([4.mL, 6.mL, 8.mL, 10.mL, 12.mL, 14.mL]);
    /// ["parts", "rounded", "rounded up"].map(|habit| round_to(c.du_by(habit), 0.1))   // => [51.9, 55.6, 55.6]
    /// c.du_by("about")   // => error: du_by: there is no habit 'about'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn du_by(cans: CatchCans, habit: &str) -> Result<f64, Box<EvalAltResult>> {
        let found = LowQuarter::ALL.into_iter().find(|(word, _)| *word == habit);
        let rule = found.ok_or_else(|| {
            let error = ScriptError::new(format!("du_by: there is no habit '{habit}'")).about("habit");
            error.with_hint("use \"parts\", \"rounded\" or \"rounded up\"")
        })?;
        Ok(percent(cans.low_quarter(rule.1)))
    }

    /// The scheduling coefficient of a catch-can test in rows: the mean over the driest window of as many by as many cans; how much longer to run
    /// until that has the mean.
    ///
    /// ```hw
    /// let c = catch_cans([[18.mL, 22.mL, 20.mL], [17.mL, 21.mL, 9.mL], [16.mL, 12.mL, 8.mL]]);
    /// round_to(c.scheduling_coefficient(2), 0.01)   // => 1.27
    /// c.scheduling_coefficient(4)   // => error: catch_cans: a window of 4 by 4 cans does not fit on rows of 3
    /// ```
    #[rhai_fn(name = "scheduling_coefficient", return_raw)]
    pub fn scheduling_coefficient(cans: CatchCans, size: INT) -> Result<f64, Box<EvalAltResult>> {
        let found = cans.scheduling_coefficient(usize::try_from(size).unwrap_or(0)).map_err(raise)?;
        let dry =
            || ScriptError::new("scheduling_coefficient: the driest window caught nothing").with_hint("use a larger window");
        found.ok_or_else(|| dry().into())
    }

    #[rhai_fn(name = "table", return_raw)]
    pub fn cans_table(cans: CatchCans) -> Result<Table, Box<EvalAltResult>> {
        report::cans_table(&cans).map_err(raise)
    }
}
