//! Weather files and reference evapotranspiration against their check values.

use crate::harness::{Answer, Found, Row, check};
use hosewright::moment::Date;
use hosewright::weather::evapotranspiration::*;
use hosewright::weather::{Day, Et0, Field, Gauge, Means, Method, Place, Remark, Settings, Weather, evapotranspiration_of};

fn value(value: f64) -> Answer {
    Some(Ok(Found::InUnitOfRow(value)))
}

/// The day of a row, from the columns that the files share.
fn day(row: &Row) -> Day {
    let columns = [
        (Field::Low, "tmin_C"),
        (Field::High, "tmax_C"),
        (Field::HumidityHigh, "rhmax_pct"),
        (Field::HumidityLow, "rhmin_pct"),
        (Field::Humidity, "rhmean_pct"),
        (Field::DewPoint, "tdew_C"),
        (Field::Wind, "wind_m_per_s"),
        (Field::Sunshine, "sunshine_h"),
        (Field::Radiation, "rs_MJ_per_m2_d"),
    ];
    let mut day = Day::default();
    for (field, column) in columns {
        day.set(field, row.number(column));
    }
    day
}

fn place(row: &Row) -> Place {
    Place::new(row.need("latitude_deg"), row.number("elevation_m").unwrap_or(0.0)).expect("a place")
}

fn settings(row: &Row, method: Method) -> Settings {
    Settings {
        method,
        wind_height_m: row.number("wind_height_m").unwrap_or(2.0),
        radiation_factor: row.number("krs").unwrap_or(INLAND),
    }
}

fn of_day(row: &Row) -> Answer {
    let day = day(row);
    let method = if row.quantity() == "et0_hargreaves" { Method::Hargreaves } else { Method::PenmanMonteith };
    let et0 = || -> Et0 {
        evapotranspiration_of(&day, row.need("day_of_year"), &place(row), &settings(row, method), &Means::default()).expect("ET0")
    };
    let above = || extraterrestrial_mj_per_m2(row.need("latitude_deg"), row.need("day_of_year"));
    let [low_c, high_c] = [Field::Low, Field::High].map(|field| day.get(field).unwrap_or(f64::NAN));
    let vapor_kpa = match (day.get(Field::HumidityHigh), day.get(Field::HumidityLow)) {
        (Some(most), Some(least)) => (saturation_kpa(low_c) * most + saturation_kpa(high_c) * least) / 200.0,
        _ => saturation_kpa(low_c),
    };
    let radiation = || match day.get(Field::Sunshine) {
        Some(hours) => {
            let share = hours / daylight_h(row.need("latitude_deg"), row.need("day_of_year"));
            radiation_by_sunshine_mj_per_m2(above(), share)
        }
        None => radiation_by_temperatures_mj_per_m2(above(), low_c, high_c, row.number("krs").unwrap_or(INLAND)),
    };
    let elevation_m = row.number("elevation_m").unwrap_or(0.0);
    let wind_height_m = row.number("wind_height_m").unwrap_or(2.0);
    let wind_2_m = day.get(Field::Wind).map_or(USUAL_WIND_M_PER_S, |wind| wind_at_2_m(wind, wind_height_m));
    let conditions = || Conditions {
        low_c,
        high_c,
        vapor_kpa,
        wind_m_per_s: wind_2_m,
        radiation_mj_per_m2: radiation(),
        extraterrestrial_mj_per_m2: above(),
        ground_heat_mj_per_m2: 0.0,
        elevation_m,
    };
    value(match row.quantity() {
        "et0_penman_monteith" | "et0_penman_monteith_missing_data" | "et0_hargreaves" | "et0_asce_short" => et0().mm,
        "et0_asce_tall" => Conditions {
            vapor_kpa: day.get(Field::DewPoint).map_or(vapor_kpa, saturation_kpa),
            radiation_mj_per_m2: day.get(Field::Radiation).unwrap_or_else(radiation),
            ..conditions()
        }
        .of_tall_cover_mm(),
        "ra" => above(),
        "daylight_h" => daylight_h(row.need("latitude_deg"), row.need("day_of_year")),
        "rs" | "rs_from_temperature" => radiation(),
        "rso" => clear_sky_mj_per_m2(above(), elevation_m),
        "es" => mean_saturation_kpa(low_c, high_c),
        "ea" | "ea_from_rh" => vapor_kpa,
        "wind_at_2_m" => wind_2_m,
        "rn" => conditions().net_radiation_mj_per_m2(),
        "rns" => (1.0 - ALBEDO) * radiation(),
        "rnl" => (1.0 - ALBEDO) * radiation() - conditions().net_radiation_mj_per_m2(),
        _ => return None,
    })
}

fn of_example(row: &Row) -> Answer {
    let mean_c = || row.need("tmean_C");
    let [low_c, high_c] = ["tmin_C", "tmax_C"].map(|column| row.number(column).unwrap_or(f64::NAN));
    let above = || {
        let known = row.number("ra_MJ_per_m2_d");
        known.unwrap_or_else(|| extraterrestrial_mj_per_m2(row.need("latitude_deg"), row.need("day_of_year")))
    };
    let daylight = || daylight_h(row.need("latitude_deg"), row.need("day_of_year"));
    let radiation = || {
        let known = row.number("rs_MJ_per_m2_d");
        known.unwrap_or_else(|| radiation_by_sunshine_mj_per_m2(above(), row.need("sunshine_h") / daylight()))
    };
    let vapor_kpa = || {
        let of_humidity =
            || (saturation_kpa(low_c) * row.need("rhmax_pct") + saturation_kpa(high_c) * row.need("rhmin_pct")) / 200.0;
        row.number("ea_kPa").unwrap_or_else(of_humidity)
    };
    // Only the month before is known: equation 44.
    let ground_heat = || row.number("t_month_prev_C").map_or(0.0, |before| 0.14 * (row.need("tmean_C") - before));
    value(match row.quantity() {
        "slope" => slope_kpa_per_c(mean_c()),
        "psychrometric_constant" => psychrometric_kpa_per_c(row.need("elevation_m")),
        "pressure_from_elevation" => air_pressure_kpa(row.need("elevation_m")),
        "saturation_vapour_pressure" => saturation_kpa(mean_c()),
        "es" => mean_saturation_kpa(low_c, high_c),
        "ea_from_rh" => vapor_kpa(),
        "ea_from_psychrometer" => vapor_by_psychrometer_kpa(row.need("tdry_C"), row.need("twet_C"), row.need("pressure_kPa")),
        "ra" => above(),
        "daylight_h" => daylight(),
        "rs" => radiation(),
        "rso" => clear_sky_mj_per_m2(above(), row.need("elevation_m")),
        "rns" => (1.0 - ALBEDO) * row.need("rs_MJ_per_m2_d"),
        "rnl" => {
            let share = row.need("rs_MJ_per_m2_d") / row.need("rso_MJ_per_m2_d");
            net_longwave_mj_per_m2(low_c, high_c, vapor_kpa(), share)
        }
        "rn" => {
            let kept = row.number("rns_MJ_per_m2_d").unwrap_or_else(|| (1.0 - ALBEDO) * row.need("rs_MJ_per_m2_d"));
            kept - row.need("rnl_MJ_per_m2_d")
        }
        "soil_heat_monthly_prev_only" => ground_heat(),
        "wind_at_2_m" => wind_at_2_m(row.need("wind_m_per_s"), row.need("wind_height_m")),
        "et0_hargreaves" => hargreaves_mm(above(), low_c, high_c),
        "et0_penman_monteith" => Conditions {
            low_c,
            high_c,
            vapor_kpa: vapor_kpa(),
            wind_m_per_s: wind_at_2_m(row.need("wind_m_per_s"), row.need("wind_height_m")),
            radiation_mj_per_m2: radiation(),
            extraterrestrial_mj_per_m2: above(),
            ground_heat_mj_per_m2: ground_heat(),
            elevation_m: row.need("elevation_m"),
        }
        .evapotranspiration_mm(),
        _ => return None,
    })
}

fn of_month(row: &Row) -> Answer {
    const MIDDLES: [f64; 12] = [15.0, 46.0, 74.0, 105.0, 135.0, 166.0, 196.0, 227.0, 258.0, 288.0, 319.0, 349.0];
    let mut day = Day::default();
    let columns =
        [(Field::Low, "tmin_C"), (Field::High, "tmax_C"), (Field::Humidity, "rhmean_pct"), (Field::Wind, "wind_m_per_s")];
    for (field, column) in columns {
        day.set(field, row.number(column));
    }
    let ground_heat_mj_per_m2 = match (row.need("t_month_prev_C"), row.number("t_month_next_C")) {
        (before, Some(after)) => ground_heat_by_month_mj_per_m2(before, after),
        (before, None) => 0.14 * (row.need("tmean_C") - before),
    };
    let means = Means { ground_heat_mj_per_m2, sunshine_share: Some(row.need("sunshine_pct_of_daylight") / 100.0) };
    let month = row.need("month") as usize;
    let settings = Settings { wind_height_m: row.need("wind_height_m"), ..Settings::default() };
    let et0 = evapotranspiration_of(&day, MIDDLES[month - 1], &place(row), &settings, &means);
    value(et0.expect("ET0").mm)
}

/// A file of `tests/checks/weather`.
pub fn text_of(file: &str) -> String {
    let path = format!("{}/tests/checks/weather/{file}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// The weather of a file.
pub fn weather_of(file: &str) -> Weather {
    Weather::read(file, &text_of(file)).unwrap_or_else(|error| panic!("{file}: {error}"))
}

/// All days of a weather.
fn days(weather: &Weather) -> Vec<(Date, Day)> {
    let (first, last) = weather.span().expect("days");
    (0..=last.since(first)).map(|step| first.plus(step)).map(|date| (date, weather.day(date).expect("a day"))).collect()
}

fn of_file(row: &Row) -> Answer {
    let file = row.text("file");
    if row.quantity() == "readings" || file.ends_with("gauge.csv") {
        let gauge = Gauge::read(file, &text_of(file)).expect("a gauge");
        return value(if row.quantity() == "readings" { gauge.readings.len() as f64 } else { gauge.total_mm() });
    }
    let weather = weather_of(file);
    let date = Date::read(row.text("date"));
    let line = row.number("line").map(|line| line as usize);
    let remarks = &weather.remarks;
    let told = |found: bool| Some(Ok(Found::Word(found.to_string())));
    match row.quantity() {
        "low_above_high" => {
            return told(remarks.iter().any(|remark| {
                matches!(remark, Remark::LowAboveHigh { line: at, date: day, low_c, high_c }
                    if Some(*at) == line && Some(*day) == date && (*low_c, *high_c) == (26.7, 12.8))
            }));
        }
        "out_of_all_reason" => {
            return told(remarks.iter().any(|remark| {
                matches!(remark, Remark::OutOfReason { line: at, date: day, field: Field::High, .. }
                    if Some(*at) == line && Some(*day) == date)
            }));
        }
        "rain_below_zero" => {
            return told(remarks.iter().any(|remark| {
                matches!(remark, Remark::RainBelowZero { line: at, date: day, .. } if Some(*at) == line && Some(*day) == date)
            }));
        }
        "day_twice" => {
            return told(remarks.iter().any(|remark| {
                matches!(remark, Remark::DayTwice { lines, date: day, same: false } if Some(lines.1) == line && Some(*day) == date)
            }));
        }
        "day_missing" => {
            return told(remarks.iter().any(|remark| {
                matches!(remark, Remark::DaysMissing { from, to } if date.is_some_and(|date| (*from..=*to).contains(&date)))
            }));
        }
        "rain_missing" => {
            let count = days(&weather).iter().filter(|(_, day)| day.get(Field::Rain).is_none()).count();
            return value(count as f64);
        }
        "temperature_missing" => {
            let count = days(&weather).iter().filter(|(_, day)| day.get(Field::High).is_none()).count();
            return value(count as f64);
        }
        "rain_traces" => {
            return value(
                remarks.iter().map(|remark| if let Remark::Traces { days } = remark { *days as f64 } else { 0.0 }).sum(),
            );
        }
        "et0_hargreaves_month" => {
            let month: usize = row.text("note").trim_start_matches("middle of month ").parse().expect("a month");
            let weather = weather.at(place(row)).by(Method::Hargreaves);
            return value(weather.by_month()[month - 1].et0.expect("ET0").mm);
        }
        _ => {}
    }
    let all = days(&weather);
    let of = |field: Field| all.iter().filter_map(move |(_, day)| day.get(field));
    let mean = |field: Field| of(field).sum::<f64>() / of(field).count() as f64;
    value(match row.quantity() {
        "days" => all.len() as f64,
        "mean_tmax" => mean(Field::High),
        "mean_tmin" => mean(Field::Low),
        "rain_total" => of(Field::Rain).sum(),
        "rainy_days" => of(Field::Rain).filter(|rain_mm| *rain_mm > 0.0).count() as f64,
        "wettest_day" => {
            let wettest = all.iter().max_by(|a, b| a.1.get(Field::Rain).partial_cmp(&b.1.get(Field::Rain)).expect("numbers"));
            let (day, values) = wettest.expect("days");
            assert_eq!(Some(*day), date, "the wettest day");
            values.get(Field::Rain).expect("rain")
        }
        "et0_total" => {
            let weather = weather.at(place(row)).with_radiation_factor(row.number("krs").unwrap_or(INLAND)).expect("a factor");
            let rule = row.text("rule");
            if rule.starts_with("Hargreaves") || rule.ends_with("temperatures only") || rule.ends_with("wind 2 m/s") {
                let at = if rule.starts_with("Hargreaves") { 2 } else { 1 };
                weather.methods().expect("a place")[at].total_mm
            } else {
                let (first, last) = weather.span().expect("days");
                weather.course(first, last).expect("a course").days.iter().map(|day| day.et0.mm).sum()
            }
        }
        _ => return None,
    })
}

#[test]
fn evapotranspiration_of_days_agrees_with_the_paper_and_with_libraries() {
    check("et0_daily.csv", 113, &[], of_day);
}

#[test]
fn each_step_on_the_way_to_evapotranspiration_agrees() {
    check("et0_steps.csv", 22, &[], of_day);
    check("evapotranspiration.csv", 72, &[], of_example);
}

#[test]
fn evapotranspiration_of_monthly_means_agrees_with_print() {
    check("et0_monthly.csv", 25, &[], of_month);
}

#[test]
fn files_of_weather_are_read_as_they_are_meant_and_their_faults_are_told() {
    check("weather_files.csv", 57, &[], of_file);
}

#[test]
fn a_file_in_other_units_and_signs_gives_the_same_days() {
    let one = days(&weather_of("seattle_2015.csv"));
    let other = days(&weather_of("seattle_2015_semicolon.csv"));
    for ((date, a), (other_date, b)) in one.iter().zip(&other) {
        assert_eq!(date, other_date);
        for field in [Field::Low, Field::High, Field::Rain] {
            assert_eq!(a.get(field), b.get(field), "{date}");
        }
    }
    let us = days(&weather_of("seattle_2015_us_units.csv"));
    for ((date, a), (_, b)) in one.iter().zip(&us) {
        if let Some((high, rounded)) = a.get(Field::High).zip(b.get(Field::High)) {
            assert!((high - rounded).abs() < 0.3, "{date}: whole degrees F");
        }
    }
}

#[test]
fn a_gauge_gives_the_season_the_rain_of_its_readings() {
    let gauge = Gauge::read("gauge", &text_of("seattle_2015_gauge.csv")).expect("a gauge");
    let weather = weather_of("seattle_2015.csv").with_gauge(&gauge);
    let total: f64 = days(&weather).iter().filter_map(|(_, day)| day.get(Field::Rain)).sum();
    assert!((total - gauge.total_mm()).abs() < 1e-9);
}
