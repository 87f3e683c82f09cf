//! Numbers of a season by their paths, and the studies that vary them.

use super::ground::day_of;
use super::runs::SeasonAnswer;
use crate::moment::Moment;
use crate::quantity::{Quantity, dim};
use crate::report::Saved;
use crate::script::functions::answers::{ranges, sobol_of};
use crate::script::functions::study::{sweep_native, sweep_native_into};
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_as};
use crate::script::language::values::{as_names, as_quantity, describe, expect_number, expect_quantity, only_keys, value_of};
use crate::season::{Scenario, Setting};
use crate::study::fit::{FingerTest, Fit, SoilReading, SoilState, fit_season};
use crate::study::{Axes, SeasonSweep, SweepOptions, season_answers};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, Map};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_indexer_get(|season: &mut SeasonAnswer, path: &str| -> Answer<Dynamic> {
        value_of(season.scenario.number(path).map_err(raise)?)
    });
    engine.register_get("season", |fit: &mut Fit| -> Answer<SeasonAnswer> {
        let scenario = fit.season().cloned();
        SeasonAnswer::of(
            scenario.ok_or_else(|| ScriptError::new("this calibration is one of a garden").with_hint("ask for fit.garden"))?,
        )
    });
    engine.register_global_module(exported_module!(functions).into());
}

/// What a script sets a path to.
fn setting(path: &str, value: &Dynamic) -> Answer<Setting> {
    if let Some(quantity) = as_quantity(value) {
        return Ok(Setting::Number(quantity));
    }
    if let Some(moment) = value.read_lock::<Moment>() {
        return Ok(Setting::Day(moment.date()));
    }
    match value.as_immutable_string_ref() {
        Ok(name) => Ok(Setting::Name(name.to_string())),
        Err(_) => Err(ScriptError::new(format!("'{path}' cannot be {}", describe(value))).about("value").into()),
    }
}

fn changed(scenario: Scenario, path: &str, value: &Dynamic) -> Answer<Scenario> {
    scenario.with(path, &setting(path, value)?).map_err(raise)
}

/// The keys of a reading of a soil.
const KEYS: &[&str] = &["bed", "on", "finger", "left", "depletion", "moisture", "error"];

/// A reading of a soil from a map.
fn reading(value: &Dynamic) -> Answer<SoilReading> {
    const EXAMPLE: &str = "write #{ bed: \"tomatoes\", on: \"2015-07-13\", finger: \"moist\" }";
    let wrong = |what: String| ScriptError::new(format!("calibrate: {what}")).with_hint(EXAMPLE);
    let Some(map) = value.read_lock::<Map>() else {
        return Err(wrong(format!("a reading is a map, found {}", describe(value))).into());
    };
    only_keys(&map, KEYS, |other| format!("calibrate: a reading has no '{other}'"), EXAMPLE)?;
    let need = |key: &str, what: &str| map.get(key).ok_or_else(|| wrong(format!("a reading needs '{key}', {what}")));
    let bed = need("bed", "the bed where it was taken")?.to_string();
    let day = day_of(need("on", "the day of its morning")?, "calibrate: on")?;
    let given: Vec<&str> = ["finger", "left", "depletion", "moisture"].into_iter().filter(|key| map.contains_key(*key)).collect();
    let [key] = given.as_slice() else {
        return Err(wrong("a reading needs one of 'finger', 'left', 'depletion' and 'moisture'".into()).into());
    };
    let found = &map[*key];
    let (state, value) = match *key {
        "finger" => {
            let word = found.to_string();
            let found = FingerTest::ALL.into_iter().find(|(name, _)| *name == word).map(|(_, found)| found);
            let words = || FingerTest::ALL.map(|(name, _)| format!("\"{name}\"")).join(", ");
            (SoilState::Left, found.ok_or_else(|| wrong(format!("finger is one of {}, found '{word}'", words())))?.left_pct())
        }
        "left" => (SoilState::Left, expect_number(found, "calibrate: left")?),
        "moisture" => (SoilState::Volume, expect_number(found, "calibrate: moisture")?),
        _ => (SoilState::Depletion, expect_quantity(found, dim::LENGTH, "calibrate: depletion")?),
    };
    let error = map.get("error").map(|error| match state {
        SoilState::Depletion => expect_quantity(error, dim::LENGTH, "calibrate: error"),
        _ => expect_number(error, "calibrate: error"),
    });
    Ok(SoilReading { bed, day, state, value, error: error.transpose()? })
}

#[export_module]
mod functions {
    #[rhai_fn(name = "with", return_raw)]
    pub fn season_with(season: SeasonAnswer, path: &str, value: Dynamic) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        SeasonAnswer::of(changed(season.scenario, path, &value)?)
    }

    #[rhai_fn(name = "with", return_raw)]
    pub fn season_with_all(season: SeasonAnswer, values: Map) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        let mut scenario = season.scenario;
        for (path, value) in &values {
            scenario = changed(scenario, path, value)?;
        }
        SeasonAnswer::of(scenario)
    }

    /// Computes a season for all cases of the axes: numbers, soils, crops, days of planting and years of the weather, by path. Of each bed the table
    /// has `given`, `used`, `percolated`, `waterings`, `stress_days`, and where they are known `run_time` and `water`.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let s = season([bed("beans", crop("bean").planted("2015-05-15"), soil("loam"))], w);
    /// sweep(s, vary("beans.soil", ["sand", "loam"]).vary("weather.rain", [50, 150]))["beans.waterings"]   // => [18, 14, 10, 8]
    /// sweep(s, vary("beans.crop.planted", [date("2015-05-01"), date("2015-08-01")]))["beans.given"]       // => [11.8 in, 5.61 in]
    /// sweep(s, vary("beans.crop.kc_mid", normal(1.05, 0.1))).rows   // => 1000
    /// ```
    #[rhai_fn(name = "sweep", return_raw)]
    pub fn sweep_season(call: NativeCallContext, season: SeasonAnswer, axes: Axes) -> Result<Table, Box<EvalAltResult>> {
        let sweep = SeasonSweep::new(&season.scenario, &axes).map_err(raise_as("sweep"))?;
        sweep_native(&call, &sweep)
    }

    /// The same as `sweep` of a season, into a parquet file, for millions of cases.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let s = season([bed("beans", crop("bean").planted("2015-05-15"), soil("loam"))], w);
    /// sweep_to("beans.parquet", s, vary("beans.mulch", steps(0, 100, 1)))   // => saved beans.parquet: 101 cases
    /// ```
    #[rhai_fn(name = "sweep_to", return_raw)]
    pub fn sweep_season_to(
        call: NativeCallContext,
        file: &str,
        season: SeasonAnswer,
        axes: Axes,
    ) -> Result<Saved, Box<EvalAltResult>> {
        let sweep = SeasonSweep::new(&season.scenario, &axes).map_err(raise_as("sweep_to"))?;
        sweep_native_into(&call, file, &sweep)
    }

    /// A tornado study of a season: one number at a time over its range, and what a column of its sweep, such as `beans.given`, makes of it.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let s = season([bed("beans", crop("bean").planted("2015-05-15"), soil("loam"))], w);
    /// s.tornado("beans.given", #{ "beans.crop.kc_mid": [0.95, 1.15], "weather.et0": [80, 120], "beans.mulch": [0, 80] })["parameter"]   // => ["weather.et0", "beans.crop.kc_mid", "beans.mulch"]
    /// ```
    #[rhai_fn(name = "tornado", return_raw)]
    pub fn tornado_of_season(
        call: NativeCallContext,
        season: SeasonAnswer,
        what: &str,
        ranges_of: Map,
    ) -> Result<Table, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let ranges: Vec<(String, Quantity, Quantity)> =
            ranges(&ranges_of, "tornado", 2)?.into_iter().map(|(name, ends)| (name, ends[0], ends[1])).collect();
        let options = SweepOptions { threads: context.threads(), ..SweepOptions::default() };
        let usual = |name: &str| Ok(season.scenario.number(name)?);
        let answers = |axes: &Axes| season_answers(&season.scenario, what, axes, &options);
        crate::study::tornado(&ranges, context.units(), usual, answers).map_err(raise_as("tornado"))
    }

    /// The share of each number in the spread of a column of a sweep of a season (Sobol indices).
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let s = season([bed("beans", crop("bean").planted("2015-05-15"), soil("loam"))], w);
    /// let spread = vary("beans.mulch", between(0, 80)).vary("weather.et0", between(80, 120)).samples(64);
    /// sobol_indices(s, "beans.used", spread)["parameter"]   // => ["weather.et0", "beans.mulch"]
    /// ```
    #[rhai_fn(name = "sobol_indices", return_raw)]
    pub fn sobol_of_season(
        call: NativeCallContext,
        season: SeasonAnswer,
        what: &str,
        axes: Axes,
    ) -> Result<Table, Box<EvalAltResult>> {
        sobol_of(&call, &axes, |cases| {
            let sweep = SeasonSweep::new(&season.scenario, cases).map_err(raise_as("sobol_indices"))?;
            sweep_native(&call, &sweep)?.column(what).map_err(raise)
        })
    }

    /// Calibrates numbers of a season to readings of its soil, each in the morning of a day: `finger` ("dry", "slightly moist", "moist", "wet": a handful
    /// of soil from the root zone, squeezed), `left` (percent of the water that plants can take), `depletion` (a depth), or `moisture` (percent of the volume,
    /// by a probe); `error` is optional. It works best on beds whose waterings are known by `gave`. `fit.season` is the calibrated season.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 0.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).gave("2015-06-02", 1.inch);
    /// let readings = [#{ bed: "beans", on: "2015-06-02", left: 40 }, #{ bed: "beans", on: "2015-06-08", finger: "moist" }];
    /// let fit = season([beans], w).calibrate(readings, "beans.exposure");
    /// fit["beans.exposure"]          // => 0.694919
    /// fit.season["beans.exposure"]   // => 0.694919
    /// ```
    #[rhai_fn(name = "calibrate", return_raw)]
    pub fn calibrate_season(season: SeasonAnswer, readings: Array, what: Dynamic) -> Result<Fit, Box<EvalAltResult>> {
        let readings: Vec<SoilReading> = readings.iter().map(reading).collect::<Answer<_>>()?;
        let paths = as_names(&what, "calibrate")?;
        let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
        fit_season(&season.scenario, &readings, &paths).map_err(raise)
    }
}
