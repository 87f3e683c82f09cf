//! Weather as scripts see it: files, gauges, monthly means, evapotranspiration.
//!
//! The computation is in `crate::weather`.

use crate::findings::of_weather;
use crate::garden::Accepted;
use crate::quantity::dim;
use crate::report::FindingList;
use crate::report::watering as report;
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{expect_number, expect_quantity};
use crate::table::Table;
use crate::weather::evapotranspiration::COAST;
use crate::weather::{Day, Field, Gauge, Method, Place, Weather, WeatherError, sunrise_and_sunset_s};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`weather("file.csv")` reads what weather services export: one line a day with `date`, `tmin`, `tmax` and, where known, `rain`, humidity (`rh`,
`rh_max`, `rh_min`, `dew_point`), `wind`, sun (`sunshine` in h, `radiation` in MJ/m2 or W/m2) or `et0`. Names are read in many forms (`Low`,
`Max Temp (F)`, `Precip`), with the unit in brackets or after an underscore; without a unit the size of the numbers decides, and `findings()` reports it.
Separators, decimal commas, comment lines and three orders of dates are understood; what cannot be decided is an error. A line with a
fault is reported by its number and not used; up to three days in a row are filled. A file with a column `month` has monthly means.

Reference evapotranspiration (ET0) is by Penman-Monteith of FAO paper 56 where wind, humidity or sun is known, missing ones by its rules, else by
Hargreaves-Samani; `how` in the table names which. It is an estimate: from temperatures alone single days are off by 15 to 30 %.

```hw
let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
w.by_month()["et0_per_day"][6]   // => 0.206 in
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Weather>("a weather");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |weather: Weather| report::weather_in_words(&weather));
    }
    engine.register_global_module(exported_module!(functions).into());
}

/// A text file of the folder of the script.
fn text_of(call: &NativeCallContext, file: &str) -> Answer<String> {
    let context = context_of(call)?;
    let bytes = context.folder.read(file).map_err(raise)?;
    context.note_input(file, &bytes).map_err(raise)?;
    // Exports of older programs are not in UTF-8; their numbers and dates are.
    Ok(String::from_utf8(bytes).unwrap_or_else(|error| error.into_bytes().iter().map(|byte| char::from(*byte)).collect()))
}

/// A month from a row of its mean low, mean high and rain.
fn month(row: &Dynamic) -> Answer<Day> {
    let row = row.clone().into_array().unwrap_or_default();
    let [low, high, rain] = row.as_slice() else {
        let error = ScriptError::new(format!(
            "months: a row has {} values; expected mean low, mean high and rain of the month",
            row.len()
        ));
        return Err(error.with_hint("give it as in [{45.degF, 60.degF, 2.inch|7.degC, 15.degC, 50.mm}]").into());
    };
    let temperature = |value: &Dynamic, what: &str| expect_quantity(value, dim::TEMPERATURE, what).map(|kelvin| kelvin - 273.15);
    let (low_c, high_c) = (temperature(low, "months: low")?, temperature(high, "months: high")?);
    if low_c > high_c {
        return Err(ScriptError::new("months: a mean low is above its mean high").into());
    }
    let rain_mm = 1000.0 * expect_quantity(rain, dim::LENGTH, "months: rain")?;
    Ok(Day::default().with(Field::Low, low_c).with(Field::High, high_c).with(Field::Rain, rain_mm.max(0.0)))
}

/// The place of a weather. Errors: none is given.
fn place_of(weather: &Weather) -> Answer<Place> {
    weather.place.ok_or_else(|| raise(WeatherError::NoPlace { name: weather.name.clone() }))
}

/// Sunrise or sunset on the clock.
fn sun_at(weather: &Weather, day: &Dynamic, word: &str, which: usize) -> Answer<String> {
    let day = super::watering::day_of(day, word)?;
    let minutes = (sunrise_and_sunset_s(&place_of(weather)?, day)[which] / 60.0).round() as i64;
    let minutes = minutes.rem_euclid(24 * 60);
    Ok(format!("{:02}:{:02}", minutes / 60, minutes % 60))
}

#[export_module]
mod functions {
    /// Weather from a file of a weather service in the folder of the script: one line a day, or twelve lines with monthly means.
    ///
    /// ```hw
    /// table([#{ date: "2015-07-01", tmin: 14.degC, tmax: 29.degC, rain: 0.mm }, #{ date: "2015-07-02", tmin: 16.degC, tmax: 31.degC, rain: 4.mm }]).save("july.csv");
    /// weather("july.csv")   // => july.csv: 2 days, 2015-07-01 to 2015-07-02
    /// weather("july.csv").place(47.45, 430.ft).table()["et0"]   // => [0.234 in, 0.245 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn weather(call: NativeCallContext, file: &str) -> Result<Weather, Box<EvalAltResult>> {
        Weather::read(file, &text_of(&call, file)?).map_err(raise)
    }

    /// Weather from monthly means: a row for each month from January with mean low, mean high and rain of the month, or one row for all months.
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).by_month()["rain"][0]   // => 0.787 in
    /// months([[12.degC, 26.degC, 20.mm], [12.degC, 26.degC, 20.mm]])   // => error: months: 2 rows; expected 12, or one for all
    /// ```
    #[rhai_fn(return_raw)]
    pub fn months(rows: Array) -> Result<Weather, Box<EvalAltResult>> {
        let days = rows.iter().map(month).collect::<Answer<Vec<Day>>>()?;
        let months = match days.as_slice() {
            [all] => [*all; 12],
            days => days
                .try_into()
                .map_err(|_| ScriptError::new(format!("months: {} rows; expected 12, or one for all", days.len())))?,
        };
        Ok(Weather::of_months("months", months))
    }

    /// The same weather at a place: latitude in degrees (south below zero) and elevation above sea level. Sun and air pressure depend on it.
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).place(-33.9, 200.ft).by_month()["et0_per_day"][0]   // => 0.22 in
    /// months([[12.degC, 26.degC, 20.mm]]).place(147.4, 200.ft)   // => error: the latitude of the place is 147.4; expected degrees from -90 in the south to 90 in the north
    /// ```
    #[rhai_fn(return_raw)]
    pub fn place(weather: Weather, latitude: Dynamic, elevation: Dynamic) -> Result<Weather, Box<EvalAltResult>> {
        let latitude_deg = expect_number(&latitude, "place: latitude")?;
        let elevation_m = expect_quantity(&elevation, dim::LENGTH, "place: elevation")?;
        Ok(weather.at(Place::new(latitude_deg, elevation_m).map_err(raise)?))
    }

    /// The clock of the place: its longitude in degrees (west below zero) and the hours that its clock is ahead of universal time on the days that matter
    /// (summer time included). Sunrise is by the sun without it.
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft).clock(-122.3, -7).sunrise("2015-07-13")   // => 05:25
    /// months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft).clock(122.3, -7)   // => error: the clock of the place is -7; expected hours ahead of universal time, within 4 h of the longitude over 15
    /// ```
    #[rhai_fn(return_raw)]
    pub fn clock(weather: Weather, longitude: Dynamic, ahead: Dynamic) -> Result<Weather, Box<EvalAltResult>> {
        let place = place_of(&weather)?;
        let ahead_h = expect_number(&ahead, "clock: ahead")?;
        let place = place.with_zone(expect_number(&longitude, "clock: longitude")?, ahead_h).map_err(raise)?;
        Ok(weather.at(place))
    }

    /// When the sun rises at the place of a weather, within minutes.
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft).sunrise("2015-07-13")   // => 04:11
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sunrise(weather: Weather, day: Dynamic) -> Result<String, Box<EvalAltResult>> {
        sun_at(&weather, &day, "sunrise", 0)
    }

    /// When the sun sets at the place of a weather, within minutes.
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft).clock(-122.3, -7).sunset("2015-07-13")   // => 21:04
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sunset(weather: Weather, day: Dynamic) -> Result<String, Box<EvalAltResult>> {
        sun_at(&weather, &day, "sunset", 1)
    }

    /// The height at which the wind was measured; default that of the heading (`wind_10m_mph`), else 10 m.
    ///
    /// ```hw
    /// table([#{ date: "2015-07-01", tmin: 14.degC, tmax: 29.degC, rain: 0.mm, wind_mph: 6 }]).save("windy.csv");
    /// weather("windy.csv").place(47.45, 430.ft).table()["et0"][0]               // => 0.215 in
    /// weather("windy.csv").place(47.45, 430.ft).wind_at(2.m).table()["et0"][0]   // => 0.226 in
    /// ```
    #[rhai_fn(return_raw)]
    pub fn wind_at(weather: Weather, height: Dynamic) -> Result<Weather, Box<EvalAltResult>> {
        weather.with_wind_height(expect_quantity(&height, dim::LENGTH, "wind_at: height")?).map_err(raise)
    }

    /// The same weather on a coast, where the sun is estimated from temperatures by another factor (0.19 instead of 0.16).
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).place(40.0, 10.ft).method("Penman-Monteith").coast().by_month()["et0_per_day"][6]   // => 0.209 in
    /// ```
    #[rhai_fn(return_raw)]
    pub fn coast(weather: Weather) -> Result<Weather, Box<EvalAltResult>> {
        weather.with_radiation_factor(COAST).map_err(raise)
    }

    /// The same weather with the rain of your own gauge: a file with a date and the rain since the last look in each line. It is put on
    /// the days on which it rained by the weather, else evenly.
    ///
    /// ```hw
    /// table([#{ date: "2015-07-01", tmin: 14.degC, tmax: 29.degC, rain: 2.mm }, #{ date: "2015-07-02", tmin: 16.degC, tmax: 31.degC, rain: 6.mm }]).save("july.csv");
    /// table([#{ date: "2015-06-30", rain: 0.mm }, #{ date: "2015-07-02", rain: 12.mm }]).save("gauge.csv");
    /// weather("july.csv").rain_from("gauge.csv").table()["rain"]   // => [0.118 in, 0.354 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rain_from(call: NativeCallContext, weather: Weather, file: &str) -> Result<Weather, Box<EvalAltResult>> {
        let gauge = Gauge::read(file, &text_of(&call, file)?).map_err(raise)?;
        Ok(weather.with_gauge(&gauge))
    }

    /// The method of evapotranspiration: "by data" (the default), "Penman-Monteith" or "Hargreaves".
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).place(40.0, 10.ft).method("Penman-Monteith").by_month()["et0_per_day"][6]   // => 0.19 in
    /// ```
    #[rhai_fn(return_raw)]
    pub fn method(weather: Weather, name: &str) -> Result<Weather, Box<EvalAltResult>> {
        let Some((_, method)) = Method::ALL.into_iter().find(|(word, _)| word.eq_ignore_ascii_case(name)) else {
            let error = ScriptError::new(format!("method: there is no method '{name}'"));
            return Err(error.with_hint("use \"by data\", \"Penman-Monteith\" or \"Hargreaves\"").into());
        };
        Ok(weather.by(method))
    }

    /// Evapotranspiration of all days by all data and by temperatures alone: totals, percent of the first, and the scatter of single days.
    ///
    /// ```hw
    /// table([#{ date: "2015-07-01", tmin: 14.degC, tmax: 29.degC, rain: 0.mm, rh: 50, wind_mph: 6 }]).save("humid.csv");
    /// weather("humid.csv").place(47.45, 430.ft).methods()["percent"]   // => [100, 96.0222, 104.588]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn methods(weather: Weather) -> Result<Table, Box<EvalAltResult>> {
        report::methods_table(&weather).map_err(raise)?.map_err(raise)
    }

    /// The days of a weather: date, tmin, tmax, rain, et0 and how it was determined; of monthly means the months.
    ///
    /// ```hw
    /// table([#{ date: "2015-07-01", tmin: 14.degC, tmax: 29.degC, rain: 0.mm }]).save("day.csv");
    /// weather("day.csv").place(47.45, 430.ft).table()["how"]   // => ["Hargreaves"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn weather_table(weather: Weather) -> Result<Table, Box<EvalAltResult>> {
        report::weather_table(&weather).map_err(raise)
    }

    /// The months of a weather: mean lows and highs, rain of the month, evapotranspiration of a day.
    ///
    /// ```hw
    /// months([[12.degC, 26.degC, 20.mm]]).by_month()["month"][11]   // => 12
    /// ```
    #[rhai_fn(name = "by_month", return_raw)]
    pub fn weather_by_month(weather: Weather) -> Result<Table, Box<EvalAltResult>> {
        report::months_table(&weather).map_err(raise)
    }

    /// What is wrong with a weather file, line by line, and what was assumed.
    ///
    /// ```hw
    /// table([#{ date: "2015-07-01", tmin: 34.degC, tmax: 29.degC, rain: -3.mm }]).save("wrong.csv");
    /// weather("wrong.csv").findings().table()["code"]   // => ["weather-rain-below-zero", "weather-low-above-high"]
    /// ```
    #[rhai_fn(name = "findings")]
    pub fn weather_findings(weather: Weather) -> FindingList {
        FindingList::of_ground(&Accepted::default(), &of_weather(&weather))
    }
}
