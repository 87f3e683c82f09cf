//! Soil, crops, water balances, runs and pauses against their check values.

use crate::harness::{Answer, Found, Row, check};
use crate::weather::{text_of, weather_of};
use hosewright::moment::Date;
use hosewright::season::*;
use hosewright::soil::*;
use hosewright::weather::{Air, CourseDay, Et0, Method, Place, Weather};
use std::collections::HashMap;

fn value(value: f64) -> Answer {
    Some(Ok(Found::InUnitOfRow(value)))
}

/// A soil with these numbers.
fn soil(field_capacity: f64, wilting_point: f64) -> Soil {
    Soil { field_capacity, wilting_point, ..Soil::named("loam").expect("a texture") }
}

/// A crop that keeps a coefficient.
fn steady(coefficient: f64, share: f64, roots_m: f64) -> Crop {
    let crop = Crop::named("lawn", None).expect("a crop");
    Crop { coefficients: [coefficient; 3], share, roots_m: [roots_m; 2], ..crop }
}

fn of_crop(row: &Row) -> Answer {
    let name = row.text("crop");
    let find = || CROPS.iter().find(|crop| crop.name == name);
    let of_stages = |at: usize| match find()?.stages {
        Stages::Printed(days) => value(f64::from(days[at])),
        _ => None,
    };
    match row.quantity() {
        "kc_initial" => value(find()?.coefficients[0]),
        "kc_mid" => value(find()?.coefficients[1]),
        "kc_end" => value(find()?.coefficients[2]),
        "crop_height" => value(find()?.height_m?),
        "root_depth_mid" => value(find()?.roots_m),
        "depletion_fraction" => value(find()?.share),
        "stage_initial" => of_stages(0),
        "stage_development" => of_stages(1),
        "stage_mid" => of_stages(2),
        "stage_late" => of_stages(3),
        "kc_mid_adjusted" => value(middle_coefficient_in_climate(
            row.need("kc_table"),
            row.need("height_m"),
            row.need("wind_m_per_s"),
            row.need("rhmin_pct"),
        )),
        "kc_of_day" => {
            let crop = Crop { coefficients: list(row.text("kcs")), ..Crop::named(name, Some(lengths(row))).expect("a crop") };
            value(crop.coefficient(row.need("day_of_crop") as u32))
        }
        _ => None,
    }
}

fn list<const N: usize>(text: &str) -> [f64; N] {
    let numbers: Vec<f64> = text.split(' ').map(|number| number.parse().expect("a number")).collect();
    numbers.try_into().expect("as many numbers")
}

fn lengths(row: &Row) -> [u32; 4] {
    list::<4>(row.text("lengths_d")).map(|days| days as u32)
}

fn of_texture(row: &Row) -> Answer {
    let texture = TEXTURES.iter().find(|texture| texture.name == row.text("texture"))?;
    match row.quantity() {
        "field_capacity" => value(texture.field_capacity),
        "wilting_point" => value(texture.wilting_point),
        "available_water" => value(texture.field_capacity - texture.wilting_point),
        _ => None,
    }
}

fn of_reservoir(row: &Row) -> Answer {
    if row.quantity() == "available_water" {
        let names: Vec<&str> = row.text("texture").split(", ").collect();
        let known = TEXTURES.iter().filter(|texture| names.contains(&texture.name));
        let water: Vec<f64> = known.map(|texture| 12.0 * (texture.field_capacity - texture.wilting_point)).collect();
        return value(water.iter().sum::<f64>() / water.len() as f64);
    }
    let [field_capacity, wilting_point] = ["field_capacity_m3_m3", "wilting_point_m3_m3"].map(|column| row.need(column));
    let reservoir_mm = soil(field_capacity, wilting_point).reservoir_mm(row.need("root_depth_m"));
    let limit_mm = || reservoir_mm * adjusted_share(row.need("p_table"), row.need("etc_mm_d"));
    let bed = || Bed { area_m2: row.number("ground_area_m2"), ..Bed::new("bed", steady(1.0, 0.5, 0.3), soil(0.3, 0.1)) };
    match row.quantity() {
        "taw" => value(reservoir_mm),
        "raw" => value(limit_mm()),
        "days_to_raw" => value(limit_mm() / row.need("etc_mm_d")),
        "refill_volume" => value(1000.0 * bed().volume_m3(limit_mm()).expect("an area")),
        _ => None,
    }
}

fn of_soil_water(row: &Row) -> Answer {
    match row.quantity() {
        "taw" | "raw" => {
            let reservoir_mm =
                soil(row.need("field_capacity_m3_m3"), row.need("wilting_point_m3_m3")).reservoir_mm(row.need("root_depth_m"));
            value(if row.quantity() == "taw" { reservoir_mm } else { reservoir_mm * row.need("depletion_fraction") })
        }
        "adjusted_p" => value(adjusted_share(row.number("table_p").or(row.number("depletion_fraction"))?, row.need("etc_mm_d"))),
        "ks_water_stress" => value(stress(row.need("taw_mm"), row.need("depletion_fraction"), row.need("depletion_mm"))),
        _ => None,
    }
}

/// A day of weather by its numbers.
fn weather_day(at: i32, et0_mm: f64, rain_mm: f64) -> CourseDay {
    CourseDay { date: Date::from_days(at), rain_mm, et0: Et0 { mm: et0_mm, how: Air::Given }, filled: false }
}

/// A bed whose roots reach a reservoir, and which loses rain by a curve number.
fn bed_of(reservoir_mm: f64, share: f64, coefficient: f64, curve_number: Option<f64>) -> Bed {
    let crop = steady(coefficient, share, reservoir_mm / 200.0);
    let ground = Soil { curve_number, ..soil(0.3, 0.1) };
    Bed { ground_m: 10.0, ..Bed::new("bed", crop, ground) }
}

/// One day: what was missing, the weather of the day, what is given in the evening. A share that is fixed is the adjusted one.
fn one_day(row: &Row, missing_mm: f64, share: f64, is_fixed: bool) -> BedDay {
    let (et0_mm, coefficient) = (row.need("et0_mm_d"), row.need("kc"));
    let share = if is_fixed { share - 0.04 * (5.0 - coefficient * et0_mm) } else { share };
    // Only one of the two files has rules for rain.
    let has_rules = row.case().starts_with("BC");
    let bed = bed_of(row.need("taw_mm"), share, coefficient, has_rules.then(|| row.number("curve_number")).flatten());
    let light_rain_counts = !has_rules || row.text("rain_rule") != "ignore light";
    let given = row.need("irrigation_mm");
    let rule = if given > 0.0 { Rule::Every { days: 1, mm: Some(given) } } else { Rule::NoWater };
    let weather = [weather_day(0, et0_mm, row.need("rain_mm"))];
    balance(&bed, &Plan { rule, light_rain_counts, ..Plan::default() }, Date::from_days(0), missing_mm, &weather)[0]
}

fn of_day(row: &Row, day: &BedDay) -> Answer {
    assert!(day.imbalance_mm().abs() < 1e-9, "{}: {}", row.case(), day.imbalance_mm());
    match row.quantity() {
        "raw" => value(day.limit_mm()),
        "ks_start_of_day" => value(day.stress),
        "actual_et" => value(day.used_mm),
        "deep_percolation" => value(day.percolated_mm),
        "runoff" => value(day.runoff_mm),
        "end_depletion" => value(day.end_mm),
        _ => None,
    }
}

/// The rows of a scenario come day by day, several a day: what is missing is carried from one to the next.
#[derive(Default)]
struct Carried {
    scenario: String,
    day: u32,
    missing_mm: f64,
    next_mm: f64,
}

fn of_case(row: &Row, carried: &mut Carried) -> Answer {
    let day = row.need("day") as u32;
    if carried.scenario != row.text("scenario") {
        *carried =
            Carried { scenario: row.text("scenario").into(), day, missing_mm: row.need("initial_depletion_mm"), next_mm: 0.0 };
    } else if carried.day != day {
        assert_eq!(carried.day + 1, day, "{}", row.case());
        (carried.day, carried.missing_mm) = (day, carried.next_mm);
    }
    let found = one_day(row, carried.missing_mm, row.need("p_table"), row.text("p_rule") == "fixed");
    carried.next_mm = found.end_mm;
    of_day(row, &found)
}

fn of_intake(row: &Row) -> Answer {
    let intake = match row.number("kostiakov_k_mm") {
        Some(factor_mm) => {
            Intake::Kostiakov { factor_mm, exponent: row.need("kostiakov_a"), final_mm_per_h: row.need("final_rate_mm_h") }
        }
        None => Intake::GreenAmpt {
            conductivity_mm_per_h: row.need("conductivity_mm_h"),
            suction_mm: row.need("suction_mm"),
            deficit: row.need("moisture_deficit"),
        },
    };
    if let Some(depth_mm) = row.number("front_depth_mm") {
        let [conductivity, suction_mm, head_mm] =
            ["conductivity_mm_h", "suction_mm", "ponded_head_mm"].map(|column| row.need(column));
        return match row.quantity() {
            "front_rate" => value(front_rate_mm_per_h(conductivity, suction_mm, head_mm, depth_mm)),
            "front_time" => value(front_time_h(conductivity, suction_mm, head_mm, row.need("moisture_deficit"), depth_mm)),
            _ => None,
        };
    }
    let rate = row.need("rate_mm_h");
    match row.quantity() {
        "never_ponds" => Some(Ok(Found::Word(intake.ponding_h(rate).is_none().to_string()))),
        "time_to_ponding" => {
            let time_h = intake.ponding_h(rate)?;
            value(if row.text("expected_unit") == "h" { time_h } else { 60.0 * time_h })
        }
        "depth_infiltrated" => value(intake.taken_mm(rate, row.need("time_h"))),
        _ => None,
    }
}

fn of_cycles(row: &Row) -> Answer {
    let [rate, intake, puddle] = ["rate_mm_h", "intake_mm_h", "surface_storage_mm"].map(|column| row.need(column));
    let found = cycles(rate, intake, puddle, row.need("depth_mm"));
    value(match row.quantity() {
        "cycles" => found.count as f64,
        "cycle" => found.run_s / 60.0,
        "soak" => found.soak_s / 60.0,
        "total_elapsed" => found.elapsed_s() / 60.0,
        "longest_cycle" => found.longest_s? / 60.0,
        _ => return None,
    })
}

fn of_minutes(row: &Row) -> Answer {
    let area_m2 = row.number("area_m2");
    let of_flow = |flow: f64| 60.0 * flow / area_m2.expect("an area");
    let rate =
        row.number("rate_mm_h").or(row.number("rate_in_h").map(|rate| 25.4 * rate)).or(row.number("flow_L_min").map(of_flow))?;
    if row.quantity() == "rate_from_flow" {
        return value(rate);
    }
    let net_mm = row.number("net_depth_mm").or(row.number("net_depth_in").map(|depth| 25.4 * depth))?;
    let (_, counts_on) = CountsOn::ALL.into_iter().find(|(name, _)| *name == row.text("count_on"))?;
    let bed = Bed {
        water: Some(Water { rate_mm_per_h: rate, du: row.need("du_low_quarter") }),
        lost_share: row.need("loss_share"),
        counts_on,
        area_m2,
        ..bed_of(100.0, 0.5, 1.0, None)
    };
    let gross_mm = bed.gross_mm(net_mm);
    match row.quantity() {
        "gross_depth" => value(gross_mm),
        "run_time" => value(60.0 * gross_mm / rate),
        "water_used" => value(1000.0 * bed.volume_m3(gross_mm)?),
        _ => None,
    }
}

fn of_runoff(row: &Row) -> Answer {
    if row.quantity() == "curve_number" {
        return value(cover_number(row.text("cover"), row.text("soil_group").chars().next()?)?);
    }
    let number = row.need("curve_number");
    let value = |mm: f64| value(if row.text("expected_unit") == "in" { mm / 25.4 } else { mm });
    match row.quantity() {
        "runoff" => value(curve_number_runoff_mm(number, row.number("rain_mm").unwrap_or_else(|| 25.4 * row.need("rain_in")))),
        "retention" => value(retention_mm(number)),
        "rain_before_runoff" => value(rain_before_runoff_mm(number)),
        _ => None,
    }
}

fn weather_of_run(row: &Row) -> Weather {
    let place = Place::new(row.need("latitude_deg"), row.need("elevation_m")).expect("a place");
    let weather = weather_of(row.text("weather_file")).at(place);
    match row.number("krs") {
        Some(factor) => weather.with_radiation_factor(factor).expect("a factor").by(Method::PenmanMonteith),
        None => weather.by(Method::Hargreaves),
    }
}

fn season_of_run(row: &Row) -> BedSeason {
    let name = if row.text("crop") == "cool-season turf" { "lawn" } else { row.text("crop") };
    let crop = Crop {
        coefficients: list(row.text("kcs")),
        roots_m: [row.need("root_first_m"), row.need("root_full_m")],
        share: row.need("p_table"),
        planted: Date::read(row.text("plant_date")),
        ..Crop::named(name, Some(lengths(row))).expect("a crop")
    };
    let bed = Bed {
        ground_m: 5.0,
        missing_mm: row.number("initial_depletion_mm"),
        ..Bed::new("bed", crop, soil(row.need("field_capacity_m3_m3"), row.need("wilting_point_m3_m3")))
    };
    let rule = match row.text("watering_rule") {
        "refill at RAW" => Rule::Refill,
        "fixed at RAW" => Rule::Fixed { mm: row.need("amount_mm") },
        "none" => Rule::NoWater,
        other => panic!("{other}"),
    };
    let plan = Plan { rule, ..Plan::default() };
    season(&[bed], &weather_of_run(row), &plan).expect("a season").beds.remove(0)
}

/// The days of a run in a file of `tests/checks/season`, each number to a millionth or to its last printed digit.
fn compare_days(run: &str, days: &[BedDay]) {
    let path = format!("{}/tests/checks/season/{run}.csv", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    let rows: Vec<HashMap<String, String>> = reader.deserialize().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), days.len(), "{run}");
    for (row, day) in rows.iter().zip(days) {
        assert_eq!(row["date"], day.date.to_string());
        for (column, found) in [
            ("day_of_crop", f64::from(day.day_of_crop)),
            ("rain_mm", day.rain_mm),
            ("et0_mm", day.et0_mm),
            ("kc", day.coefficient),
            ("root_m", day.roots_m),
            ("taw_mm", day.reservoir_mm),
            ("p", day.share),
            ("raw_mm", day.limit_mm()),
            ("start_depletion_mm", day.start_mm),
            ("irrigation_mm", day.given_mm),
            ("ks", day.stress),
            ("et_crop_mm", day.used_mm),
            ("percolation_mm", day.percolated_mm),
            ("end_depletion_mm", day.end_mm),
        ] {
            let printed: f64 = row[column].parse().expect("a number");
            // Four digits are printed.
            assert!((printed - found).abs() <= 0.5e-4 + 1e-6, "{run}, {}: {column} is {found}, not {printed}", day.date);
        }
        assert!(day.imbalance_mm().abs() < 1e-9);
    }
}

fn of_run(row: &Row) -> Answer {
    let totals = season_of_run(row).totals();
    value(match row.quantity() {
        "season_days" => totals.days as f64,
        "season_rain" => totals.rain_mm,
        "season_et0" => totals.et0_mm,
        "season_et_crop" => totals.used_mm,
        "season_irrigation" => totals.given_mm,
        "season_waterings" => totals.waterings as f64,
        "season_percolation" => totals.percolated_mm,
        "season_end_depletion" => totals.end_mm,
        "season_lowest_ks" => totals.lowest_stress,
        "season_days_of_stress" => totals.stress_days as f64,
        "season_first_watering" => f64::from(totals.first_watering.unwrap_or(0)),
        "season_largest_depletion" => totals.most_missing_mm,
        _ => return None,
    })
}

#[test]
fn crops_agree_with_the_tables() {
    check("crop_tables.csv", 258, &[], of_crop);
    check("crop_coefficients.csv", 40, &[], of_crop);
}

#[test]
fn textures_and_their_reservoirs_agree_with_the_tables() {
    check("soil_texture_table.csv", 21, &[], of_texture);
    check("infiltration_limits.csv", 3, &[], |row| {
        // Textures have the low end of the range, on the safe side.
        let found = Soil::named(row.text("soil")).expect("a texture").intake.final_mm_per_h();
        assert_eq!(found, row.need("lower"), "{}", row.case());
        value((found + row.need("upper")) / 2.0)
    });
    check("soil_reservoir.csv", 53, &[], of_reservoir);
    check("soil_water.csv", 25, &[], of_soil_water);
}

#[test]
fn balances_of_some_days_agree() {
    let carried = std::cell::RefCell::new(Carried::default());
    check("soil_balance_cases.csv", 180, &[], |row| of_case(row, &mut carried.borrow_mut()));
    check("soil_water_balance.csv", 56, &[], |row| {
        of_day(row, &one_day(row, row.need("start_depletion_mm"), row.need("depletion_fraction"), true))
    });
}

#[test]
fn light_rain_counts_for_nothing_where_that_is_asked_for() {
    check("effective_rain.csv", 20, &[], |row| {
        let rain_mm = row.need("rain_mm");
        match row.text("rule") {
            "monthly, simple" => return value(effective_rain_of_month_mm(rain_mm)),
            "monthly, SCS" => {
                return value(effective_rain_of_month_scs_mm(rain_mm, row.need("etc_mm"), row.need("storage_mm")));
            }
            _ => {}
        }
        let weather = [weather_day(0, row.need("et0_mm"), row.need("rain_mm"))];
        let day = balance(
            &bed_of(60.0, 0.5, 1.0, None),
            &Plan { rule: Rule::NoWater, light_rain_counts: false, ..Plan::default() },
            Date::from_days(0),
            20.0,
            &weather,
        )[0];
        value(day.rain_mm - day.lost_mm)
    });
}

#[test]
fn rain_that_runs_off_agrees_with_the_curve_number_method() {
    check("runoff_curve_number.csv", 63, &[], of_runoff);
}

#[test]
fn the_time_until_water_stands_agrees() {
    check("ponding.csv", 38, &[], of_intake);
}

#[test]
fn runs_and_pauses_agree() {
    check("cycle_and_soak.csv", 34, &[], of_cycles);
    check("run_minutes.csv", 18, &[], of_minutes);
}

#[test]
fn whole_seasons_agree_in_their_sums() {
    check("season_runs.csv", 56, &[], of_run);
}

#[test]
fn whole_seasons_agree_day_by_day() {
    let path = format!("{}/tests/checks/season_runs.csv", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("the runs");
    assert!(text.contains("season_days"));
    let compared = std::cell::Cell::new(0);
    check("season_runs.csv", 56, &[], |row| {
        let run = row.text("run");
        if row.quantity() == "season_days" {
            compare_days(run, &season_of_run(row).days);
            compared.set(compared.get() + 1);
        }
        Some(Ok(Found::InUnitOfRow(row.need("expected"))))
    });
    assert_eq!(compared.get(), 4);
    assert!(text_of("README.md").contains("licence"));
}

/// What is common practice is what defaults and findings stand on: each row with the number of the program that it backs.
#[test]
fn defaults_and_findings_of_watering_are_common_practice() {
    use hosewright::findings::catalog;
    use hosewright::weather::evapotranspiration::{COAST, INLAND, USUAL_WIND_M_PER_S};
    let path = format!("{}/tests/checks/common_practice_watering.csv", env!("CARGO_MANIFEST_DIR"));
    let rows: Vec<HashMap<String, String>> =
        csv::Reader::from_path(path).expect("the file").deserialize().map(|row| row.expect("a row")).collect();
    let says = |code: &str, words: &[&str]| {
        let entry = catalog::all().find(|entry| entry.code == code).unwrap_or_else(|| panic!("no finding {code}"));
        words.iter().all(|word| entry.why.contains(word))
    };
    let loam = Soil::named("loam").expect("a soil");
    for row in &rows {
        let end = |name: &str| row[name].parse::<f64>().expect("a number");
        let (low, high) = (end("low"), end("high"));
        let within = |value: f64| (low..=high).contains(&value);
        let sound = match row["case_id"].as_str() {
            "CW-01" | "CW-02" => says("evapotranspiration-unusual", &[&format!("{low} to {high} mm")]),
            "CW-03" => says(
                "evapotranspiration-from-temperatures",
                &[&format!("{} % high", high - 100.0), &format!("{} % low", 100.0 - low)],
            ),
            "CW-04" => says("evapotranspiration-from-temperatures", &[&format!("{low} to {high} %")]),
            "CW-05" => within(USUAL_WIND_M_PER_S) && says("weather-wind-assumed", &["2 m/s"]),
            "CW-06" => (low, high) == (INLAND, COAST) && says("weather-sun-assumed", &["0.16", "0.19"]),
            "CW-07" => says("crop-coefficient-unusual", &[&format!("{low} to {high}")]),
            "CW-08" => says("crop-coefficient-unusual", &[&format!("{low} to {high}")]),
            "CW-09" => {
                says("allowed-depletion-unusual", &["a fifth", "half of it"])
                    && CROPS.iter().any(|crop| crop.share * 100.0 == low)
            }
            "CW-10" => (within(GARDEN_ROOTS_M) && within(LAWN_ROOTS_M)) && says("soil-depth-unusual", &["0.2 m to 0.6 m"]),
            "CW-11" => {
                let day = |rain_mm: f64| {
                    let plan = Plan { rule: Rule::NoWater, light_rain_counts: false, ..Plan::default() };
                    let weather = [weather_day(0, 5.0, rain_mm)];
                    balance(&bed_of(60.0, 0.5, 1.0, None), &plan, Date::from_days(0), 20.0, &weather)[0].lost_mm
                };
                day(0.999 * 5.0 * low / 100.0) > 0.0 && day(1.001 * 5.0 * high / 100.0) == 0.0
            }
            "CW-12" => says("weather-gauge-in-wind", &[&format!("{low} to {high} %")]),
            "CW-13" => {
                puddle_by_slope_mm(0.0) == high && puddle_by_slope_mm(15.0) == low && puddle_by_slope_mm(5.0) == loam.puddle_mm
            }
            "CW-14" => {
                let rawls = loam.green_ampt_of_texture().expect("numbers").final_mm_per_h();
                rawls == low && says("soil-by-name", &["fourfold"])
            }
            "CW-15" => says("watering-long-soak", &[&format!("{low} to {high} minutes")]),
            "CW-27" => says("watering-air-losses", &["3 to 49 %"]) && (low.round(), high.round()) == (3.0, 49.0),
            "CW-28" => says("watering-air-losses", &["1 to 18 %"]) && (low.round(), high.round()) == (1.0, 18.0),
            other => panic!("{other} backs nothing"),
        };
        assert!(sound, "{}: {}", row["case_id"], row["statement"]);
    }
    assert_eq!(rows.len(), 17);
}
