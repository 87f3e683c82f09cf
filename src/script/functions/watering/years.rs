//! What dry and wet years need.

use super::runs::SeasonAnswer;
use crate::report::watering as report;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{describe, expect_number};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// Percent of the years of a wet, a usual and a dry year.
const USUAL: [f64; 3] = [20.0, 50.0, 80.0];

fn percents(list: &Array) -> Answer<Vec<f64>> {
    let percent = |value: &Dynamic| {
        let percent = expect_number(value, "yearly_need: percent")?;
        if (0.0..=100.0).contains(&percent) {
            return Ok(percent);
        }
        let error = ScriptError::new(format!("yearly_need: a share of the years is 0 to 100 percent, found {}", describe(value)));
        Err(error.with_hint("80 is a dry year, which four years of five do not exceed").into())
    };
    list.iter().map(percent).collect()
}

fn need(season: &SeasonAnswer, percents: &[f64]) -> Answer<Table> {
    report::need_table(&season.scenario.years().map_err(raise)?, percents).map_err(raise)
}

#[export_module]
mod functions {
    /// A season planted in every year of its weather, a row for each year and bed: rain, use, water given, days of stress, first and last day of
    /// watering. Years of which the weather has a part only are left out.
    ///
    /// ```hw
    /// let days = dates(date("2013-01-01"), date("2015-06-30"), 1.day);
    /// table(days.map(|day| #{ date: day, tmin: 12.degC, tmax: 26.degC, rain: (day.year - 2013) * 1.mm })).save("years.csv");
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// season([beans], weather("years.csv").place(47.45, 430.ft)).by_year()["year"]       // => [2013, 2014]
    /// season([beans], weather("years.csv").place(47.45, 430.ft)).by_year()["waterings"]   // => [11, 8]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn by_year(season: SeasonAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::years_table(&season.scenario.years().map_err(raise)?).map_err(raise)
    }

    /// The water that beds need in a wet, a usual and a dry year of their weather: a need that 20, 50 and 80 percent of the years do not exceed,
    /// or other percentages.
    ///
    /// ```hw
    /// let days = dates(date("2012-01-01"), date("2015-12-31"), 1.day);
    /// table(days.map(|day| #{ date: day, tmin: 12.degC, tmax: 26.degC, rain: (day.year - 2012) * 1.mm })).save("years.csv");
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// let s = season([beans], weather("years.csv").place(47.45, 430.ft));
    /// s.yearly_need()["given"]       // => [5.7 in, 8.67 in, 12.4 in]
    /// s.yearly_need([90])["given"]   // => [13.7 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn yearly_need(season: SeasonAnswer) -> Result<Table, Box<EvalAltResult>> {
        need(&season, &USUAL)
    }

    #[rhai_fn(name = "yearly_need", return_raw)]
    pub fn yearly_need_of(season: SeasonAnswer, percent: Array) -> Result<Table, Box<EvalAltResult>> {
        need(&season, &percents(&percent)?)
    }
}
