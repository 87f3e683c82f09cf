//! Soils, crops and beds.

use crate::coverage::Coverage;
use crate::moment::{Date, Moment};
use crate::quantity::{Preference, Quantity, dim, find_unit};
use crate::report::watering::minutes;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, describe, expect_number, expect_quantity, value_of};
use crate::season::{Bed, CountsOn, SeasonError, Water};
use crate::soil::{COVERS, Climate, Crop, Cycles, Intake, Soil, Tilth, cover_number};
use crate::weather::Weather;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Soil>("a soil").register_type_with_name::<Crop>("a crop");
    engine.register_type_with_name::<Bed>("a bed").register_type_with_name::<Cycles>("cycles");
    engine
        .register_get("count", |cycles: &mut Cycles| cycles.count as INT)
        .register_get("run", |cycles: &mut Cycles| minutes(cycles.run_s))
        .register_get("soak", |cycles: &mut Cycles| minutes(cycles.soak_s))
        .register_get("elapsed", |cycles: &mut Cycles| minutes(cycles.elapsed_s()));
    engine.register_indexer_get(|bed: &mut Bed, path: &str| -> Answer<Dynamic> {
        let parameter = Bed::parameter(path).map_err(raise)?;
        let Some(si) = parameter.get(bed) else {
            return Err(ScriptError::new(format!("bed '{}' has no {path} yet", bed.name)).into());
        };
        let preference = parameter.unit.and_then(find_unit).map_or(Preference::Usual, Preference::Written);
        value_of(Quantity { preference, ..Quantity::new(si, parameter.dimension) })
    });
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |soil: Soil| soil.name)
            .register_fn(word, |crop: Crop| match crop.planted {
                Some(planted) => format!("{}, planted {planted}", crop.name),
                None => crop.name,
            })
            .register_fn(word, |bed: Bed| format!("{}: {} on {}", bed.name, bed.crop.name, bed.soil.name))
            .register_fn(word, |cycles: Cycles| match cycles.count {
                1 => format!("1 run of {}", minutes(cycles.run_s)),
                count => format!("{count} runs of {} with pauses of {}", minutes(cycles.run_s), minutes(cycles.soak_s)),
            });
    }
    engine.register_global_module(exported_module!(functions).into());
}

const MM_PER_H: f64 = 1e-3 / 3600.0;

/// A day of the calendar: a date, or text with the year first. Errors: anything else.
pub fn day_of(value: &Dynamic, word: &str) -> Answer<Date> {
    if let Some(moment) = value.read_lock::<Moment>() {
        return Ok(moment.date());
    }
    let text = value.as_immutable_string_ref().ok();
    text.and_then(|text| Date::read(&text)).ok_or_else(|| {
        let found = value.as_immutable_string_ref().map_or_else(|_| describe(value), |text| format!("'{}'", *text));
        let error = ScriptError::new(format!("{word}: {found} is not a day"));
        error.with_hint("write year, month and day, as in \"2015-05-15\" or date(\"2015-05-15\")").into()
    })
}

/// A depth of water in mm.
pub fn depth_mm(value: &Dynamic, what: &str) -> Answer<f64> {
    expect_quantity(value, dim::LENGTH, what).map(|depth_m| 1000.0 * depth_m)
}

/// Four whole numbers of days.
fn stages(list: &Array) -> Answer<[u32; 4]> {
    let day = |value: &Dynamic| value.as_int().ok().and_then(|days| u32::try_from(days).ok());
    let days: Option<Vec<u32>> = list.iter().map(day).collect();
    days.and_then(|days| days.try_into().ok()).ok_or_else(|| {
        let error = ScriptError::new("stages: expected four numbers of days");
        error.with_hint("give initial, development, middle and late stage, as in [30, 40, 45, 30]").into()
    })
}

#[export_module]
mod functions {
    /// A soil by its texture: "sand", "loamy sand", "sandy loam", "loam", "silt loam", "silt", "sandy clay loam", "clay loam", "silt clay loam", "sandy
    /// clay", "silty clay", "clay", or "potting mix".
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("clay"))["soil.intake"]   // => 0.039 in/h
    /// soil("sandy lom")   // => error: no soil is called 'sandy lom'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn soil(name: &str) -> Result<Soil, Box<EvalAltResult>> {
        Soil::named(name).map_err(raise)
    }

    /// What a soil holds at field capacity and at the wilting point, in percent of its volume.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam").holds(28, 12))["soil.field_capacity"]   // => 28
    /// ```
    #[rhai_fn(return_raw)]
    pub fn holds(soil: Soil, field_capacity: Dynamic, wilting_point: Dynamic) -> Result<Soil, Box<EvalAltResult>> {
        let field_capacity = expect_number(&field_capacity, "holds: field_capacity")? / 100.0;
        let wilting_point = expect_number(&wilting_point, "holds: wilting_point")? / 100.0;
        Soil { field_capacity, wilting_point, ..soil }.checked().map_err(raise)
    }

    /// The steady intake (basic infiltration rate) of a soil, by a ring test that was left to run.
    ///
    /// ```hw
    /// soil("clay").takes_in(0.1.in_per_h).cycles(0.6.in_per_h, 0.5.inch)   // => 3 runs of 16.7 min with pauses of 83.3 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn takes_in(soil: Soil, rate: Dynamic) -> Result<Soil, Box<EvalAltResult>> {
        let mm_per_h = expect_quantity(&rate, dim::SPEED, "takes_in: rate")? / MM_PER_H;
        Soil { intake: Intake::Steady { mm_per_h }, ..soil }.checked().map_err(raise)
    }

    /// Intake that falls as soil gets wet, by Green and Ampt: with the numbers of its texture for soil that is half empty, or with conductivity, suction
    /// and the percentage of the volume that is empty. Conductivities of one texture differ fourfold between tables: a ring test knows better.
    ///
    /// ```hw
    /// soil("loam").green_ampt().cycles(0.8.in_per_h, 0.5.inch)   // => 2 runs of 18.75 min with pauses of 25.7 min
    /// soil("loam").green_ampt(0.2.in_per_h, 4.inch, 20).cycles(0.8.in_per_h, 0.5.inch).count   // => 1
    /// ```
    #[rhai_fn(return_raw)]
    pub fn green_ampt(soil: Soil) -> Result<Soil, Box<EvalAltResult>> {
        let Some(intake) = soil.green_ampt_of_texture() else {
            let error = ScriptError::new(format!("green_ampt: the table has no numbers for {}", soil.name));
            return Err(error.with_hint("give them, as in .green_ampt({0.2.in_per_h, 4.inch|5.mm_per_h, 100.mm}, 20)").into());
        };
        Soil { intake, ..soil }.checked().map_err(raise)
    }

    #[rhai_fn(name = "green_ampt", return_raw)]
    pub fn green_ampt_of(
        soil: Soil,
        conductivity: Dynamic,
        suction: Dynamic,
        empty: Dynamic,
    ) -> Result<Soil, Box<EvalAltResult>> {
        let intake = Intake::GreenAmpt {
            conductivity_mm_per_h: expect_quantity(&conductivity, dim::SPEED, "green_ampt: conductivity")? / MM_PER_H,
            suction_mm: depth_mm(&suction, "green_ampt: suction")?,
            deficit: expect_number(&empty, "green_ampt: empty")? / 100.0,
        };
        Soil { intake, ..soil }.checked().map_err(raise)
    }

    /// Intake by a ring test that was fitted, F = k t^a + f t with t in hours (Kostiakov with a final rate): the depth k of the first hour, the exponent a,
    /// the final rate f.
    ///
    /// ```hw
    /// soil("loam").ring_test(0.8.inch, 0.5, 0.3.in_per_h).cycles(1.in_per_h, 0.5.inch).count   // => 1
    /// soil("loam").ring_test(0.8.inch, 1.5, 0.3.in_per_h)   // => error: the exponent of intake is 1.5; expected 0.01 to 0.99
    /// ```
    #[rhai_fn(return_raw)]
    pub fn ring_test(soil: Soil, first: Dynamic, exponent: Dynamic, last: Dynamic) -> Result<Soil, Box<EvalAltResult>> {
        let intake = Intake::Kostiakov {
            factor_mm: depth_mm(&first, "ring_test: first")?,
            exponent: expect_number(&exponent, "ring_test: exponent")?,
            final_mm_per_h: expect_quantity(&last, dim::SPEED, "ring_test: last")? / MM_PER_H,
        };
        Soil { intake, ..soil }.checked().map_err(raise)
    }

    /// The slope of the ground in percent: what stands on it is less, and from 5 % on it takes in less before water runs down (common practice).
    ///
    /// ```hw
    /// soil("clay loam").slope(10).cycles(0.6.in_per_h, 0.5.inch)   // => 3 runs of 16.7 min with pauses of 75.7 min
    /// soil("clay loam").slope(1).cycles(0.6.in_per_h, 0.5.inch).count   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn slope(soil: Soil, percent: Dynamic) -> Result<Soil, Box<EvalAltResult>> {
        soil.on_slope(expect_number(&percent, "slope: percent")?).map_err(raise)
    }

    /// How the surface lies: "compacted" (takes in 0.3 of its texture), "crusted" (0.5), "settled" (all) or "loosened" (1.5). Common practice.
    ///
    /// ```hw
    /// soil("loam").tilth("crusted").cycles(0.6.in_per_h, 0.5.inch).count    // => 2
    /// soil("loam").tilth("loosened").cycles(0.6.in_per_h, 0.5.inch).count   // => 1
    /// ```
    #[rhai_fn(return_raw)]
    pub fn tilth(soil: Soil, state: &str) -> Result<Soil, Box<EvalAltResult>> {
        let Some((_, tilth)) = Tilth::ALL.into_iter().find(|(word, _)| *word == state) else {
            let error = ScriptError::new(format!("tilth: there is no state '{state}'")).about("state");
            return Err(error.with_hint("use \"compacted\", \"crusted\", \"settled\" or \"loosened\"").into());
        };
        Ok(soil.with_tilth(tilth))
    }

    /// The curve number by which rain runs off a bed (NRCS), for ground whose number is known, or by its cover and its soil group, A for sand to D for clay;
    /// without one no rain runs off.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("clay").curve_number(85))["soil.curve_number"]               // => 85
    /// bed("lawn", crop("lawn"), soil("clay").curve_number("good lawn", "D"))["soil.curve_number"]   // => 80
    /// ```
    #[rhai_fn(return_raw)]
    pub fn curve_number(soil: Soil, number: Dynamic) -> Result<Soil, Box<EvalAltResult>> {
        let curve_number = Some(expect_number(&number, "curve_number: number")?);
        Soil { curve_number, ..soil }.checked().map_err(raise)
    }

    #[rhai_fn(name = "curve_number", return_raw)]
    pub fn curve_number_of_cover(soil: Soil, cover: &str, group: &str) -> Result<Soil, Box<EvalAltResult>> {
        let letter = group.chars().next().filter(|_| group.len() == 1);
        let Some(number) = letter.and_then(|letter| cover_number(cover, letter)) else {
            let names: Vec<String> = COVERS.iter().map(|cover| format!("\"{}\"", cover.name)).collect();
            let error = ScriptError::new(format!("curve_number: there is no cover '{cover}' on a soil of group '{group}'"));
            return Err(error.with_hint(format!("covers are {}; groups are \"A\" to \"D\"", names.join(", "))).into());
        };
        Soil { curve_number: Some(number), ..soil }.checked().map_err(raise)
    }

    /// The depth of a puddle that does not run off: 8 mm on level ground, 5 mm on gentle slopes (the default), 2 mm on steep ones.
    ///
    /// ```hw
    /// soil("clay").puddle(2.mm).cycles(0.6.in_per_h, 0.5.inch).count   // => 6
    /// ```
    #[rhai_fn(return_raw)]
    pub fn puddle(soil: Soil, depth: Dynamic) -> Result<Soil, Box<EvalAltResult>> {
        Soil { puddle_mm: depth_mm(&depth, "puddle: depth")?, ..soil }.checked().map_err(raise)
    }

    /// Runs and pauses (cycle and soak) that give a depth at a rate without runoff. `c.count`, `c.run`, `c.soak`, `c.elapsed`.
    ///
    /// ```hw
    /// soil("clay").cycles(0.6.in_per_h, 0.5.inch)         // => 3 runs of 16.7 min with pauses of 237.3 min
    /// soil("sandy loam").cycles(0.6.in_per_h, 0.5.inch)   // => 1 run of 50 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn cycles(soil: Soil, rate: Dynamic, depth: Dynamic) -> Result<Cycles, Box<EvalAltResult>> {
        let rate = expect_quantity(&rate, dim::SPEED, "cycles: rate")? / MM_PER_H;
        let depth = depth_mm(&depth, "cycles: depth")?;
        if rate > 0.0 && depth >= 0.0 {
            return Ok(soil.cycles(rate, depth));
        }
        Err(ScriptError::new("cycles: expected a rate above zero and a depth of zero or above").into())
    }

    /// A crop by its name, in singular or plural, with coefficients, stages, roots and allowed depletion of FAO paper 56; "lawn" stays all year. A list
    /// of days gives the initial, development, middle and late stage in place of those of the table.
    ///
    /// ```hw
    /// crop("tomatoes").planted("2015-05-15")   // => tomato, planted 2015-05-15
    /// crop("tomatto")   // => error: no crop is called 'tomatto'
    /// ```
    #[rhai_fn(name = "crop", return_raw)]
    pub fn crop_of_table(name: &str) -> Result<Crop, Box<EvalAltResult>> {
        Crop::named(name, None).map_err(raise)
    }

    #[rhai_fn(name = "crop", return_raw)]
    pub fn crop_with_stages(name: &str, days: Array) -> Result<Crop, Box<EvalAltResult>> {
        Crop::named(name, Some(stages(&days)?)).and_then(Crop::checked).map_err(raise)
    }

    /// The day on which a crop was planted; a lawn needs none.
    ///
    /// ```hw
    /// crop("garlic", [30, 60, 90, 30]).planted("2015-03-01")   // => garlic, planted 2015-03-01
    /// crop("lettuce").planted(date("2015-05-01") + 2.weeks)    // => lettuce, planted 2015-05-15
    /// crop("lettuce").planted("1 May")   // => error: planted: '1 May' is not a day
    /// ```
    #[rhai_fn(return_raw)]
    pub fn planted(crop: Crop, day: Dynamic) -> Result<Crop, Box<EvalAltResult>> {
        Ok(Crop { planted: Some(day_of(&day, "planted")?), ..crop })
    }

    /// A crop whose coefficients of the middle stage and of the end are those of a climate (FAO-56 equations 62 and 65): of a weather on the days of
    /// these stages, or of a mean wind at 2 m and a lowest humidity in percent. The tables are for 2 m/s and 45 %.
    ///
    /// ```hw
    /// let dry = crop("sweet corn").planted("2015-05-15").in_climate(9.mph, 20);
    /// bed("corn", dry, soil("loam"))["crop.kc_mid"]   // => 1.29696
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// bed("corn", crop("sweet corn").planted("2015-05-15").in_climate(w), soil("loam"))["crop.kc_mid"]   // => 1.16064
    /// ```
    #[rhai_fn(name = "in_climate", return_raw)]
    pub fn in_climate_of(crop: Crop, weather: Weather) -> Result<Crop, Box<EvalAltResult>> {
        crate::season::in_climate_of(crop, &weather).map_err(raise)
    }

    #[rhai_fn(name = "in_climate", return_raw)]
    pub fn in_climate(crop: Crop, wind: Dynamic, humidity: Dynamic) -> Result<Crop, Box<EvalAltResult>> {
        let climate = Climate {
            wind_m_per_s: expect_quantity(&wind, dim::SPEED, "in_climate: wind")?,
            lowest_humidity_pct: expect_number(&humidity, "in_climate: humidity")?,
        };
        crop.in_climate([climate; 2]).checked().map_err(raise)
    }

    /// A bed, lawn or pot: name, crop and soil. Without more it is full of water on the first day, in the open, with roots to 0.6 m at most (0.3 m below
    /// a lawn).
    ///
    /// ```hw
    /// bed("basil pot", crop("mint"), soil("potting mix")).soil_depth(10.inch)   // => basil pot: mint on potting mix
    /// ```
    #[rhai_fn(return_raw)]
    pub fn bed(name: &str, crop: Crop, soil: Soil) -> Result<Bed, Box<EvalAltResult>> {
        let bed = Bed::new(name, crop, soil);
        bed.check().map_err(raise)?;
        Ok(bed)
    }

    /// The water of a bed by the coverage of its zone: application rate, low-quarter uniformity and ground, as its heads really give them; a second
    /// name is that of the valve, default that of the bed.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch) >> valve("lawn")
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let b = bed("lawn", crop("lawn"), soil("loam")).watered_by(lawn.run("lawn").coverage([0.ft, 30.ft], [0.ft, 20.ft]));
    /// [b["rate"], round_to(b["du"], 0.1), b["area"]]   // => [0.33 in/h, 83.1, 600 ft2]
    /// ```
    #[rhai_fn(name = "watered_by")]
    pub fn watered_by(bed: Bed, coverage: Coverage) -> Bed {
        let rate_mm_per_h = coverage.uniformity.mean / MM_PER_H;
        let water = Water { rate_mm_per_h, du: coverage.uniformity.du.max(0.01) };
        // Where all heads stall there is no rate.
        Bed { water: (rate_mm_per_h > 0.0).then_some(water), area_m2: Some(coverage.area_m2()), ..bed }
    }

    #[rhai_fn(name = "watered_by")]
    pub fn watered_by_valve(bed: Bed, coverage: Coverage, valve: &str) -> Bed {
        Bed { zone: Some(valve.into()), ..watered_by(bed, coverage) }
    }

    /// The water of a bed by numbers: application rate and low-quarter uniformity (DU) in percent, from a catch-can test or a table.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam")).rate(0.5.in_per_h, 70)["du"]   // => 70
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rate(bed: Bed, rate: Dynamic, du: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        let rate_mm_per_h = expect_quantity(&rate, dim::SPEED, "rate: rate")? / MM_PER_H;
        let bed = Bed { water: Some(Water { rate_mm_per_h, du: expect_number(&du, "rate: du")? / 100.0 }), ..bed };
        bed.check().map_err(raise)?;
        Ok(bed)
    }

    /// A bed watered by drip lines: the flow of an emitter, their spacing along a line, and the distance of the lines. New lines are even to 90 %, lose
    /// nothing in the air and wet 40 % of the ground, so that less evaporates while plants are small (common practice, FAO-56 equation 60).
    ///
    /// ```hw
    /// let beans = bed("beans", crop("bean"), soil("loam")).drip(0.5.gal_per_h, 12.inch, 18.inch);
    /// [beans["rate"], beans["du"], beans["wets"]]   // => [0.53 in/h, 90, 40]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn drip(bed: Bed, flow: Dynamic, along: Dynamic, between: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        let flow_m3_per_s = expect_quantity(&flow, dim::FLOW, "drip: flow")?;
        let along_m = expect_quantity(&along, dim::LENGTH, "drip: along")?;
        let bed = bed.with_drip(flow_m3_per_s, along_m, expect_quantity(&between, dim::LENGTH, "drip: between")?);
        bed.check().map_err(raise)?;
        Ok(bed)
    }

    /// The percentage of its water that a bed loses in the air: none by default. Heads lose 5 to 15 by day and about 5 at night, drip lines nothing
    /// (common practice); published formulas give 1 to 18 for one case.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam")).losses(8)["losses"]   // => 8
    /// ```
    #[rhai_fn(return_raw)]
    pub fn losses(bed: Bed, percent: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        bed.with("losses", expect_number(&percent, "losses: percent")?).map_err(raise)
    }

    /// The percentage of the ground under a mulch of straw or leaves: 5 % less of the initial coefficient for each tenth (common practice).
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam")).mulch(80)["mulch"]   // => 80
    /// ```
    #[rhai_fn(return_raw)]
    pub fn mulch(bed: Bed, percent: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        bed.with("mulch", expect_number(&percent, "mulch: percent")?).map_err(raise)
    }

    /// The percentage of the sun that is kept off a bed: full shade halves what it uses (common practice). `exposure` is the factor.
    ///
    /// ```hw
    /// bed("lettuce", crop("lettuce"), soil("loam")).shade(40)["exposure"]   // => 0.8
    /// ```
    #[rhai_fn(return_raw)]
    pub fn shade(bed: Bed, percent: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        let share = expect_number(&percent, "shade: percent")? / 100.0;
        if !(0.0..=1.0).contains(&share) {
            return Err(
                ScriptError::new(format!("shade: 0 to 100 percent of the sun can be kept off, found {}", 100.0 * share)).into()
            );
        }
        Ok(bed.in_shade(share))
    }

    /// A watering that was really given: its day with the depth on the mean of the ground, or how long it ran. Until the last of them the log of a bed
    /// counts in place of the rule.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 0.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70);
    /// week([beans.gave("2015-06-20", 1.inch).gave("2015-07-05", 2.h)], w, "2015-07-13").table()["short_by"]   // => [2.67 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn gave(bed: Bed, day: Dynamic, amount: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        let day = day_of(&day, "gave")?;
        let amount = as_quantity(&amount).ok_or_else(|| {
            ScriptError::new(format!("gave: expected a depth or a time, found {}", describe(&amount))).about("amount")
        })?;
        let gross_mm = match (amount.dimension, bed.water) {
            (dim::LENGTH, _) => 1000.0 * amount.si,
            (dim::TIME, Some(water)) => water.rate_mm_per_h * amount.si / 3600.0,
            (dim::TIME, None) => return Err(raise(SeasonError::NoRate { bed: bed.name.clone() })),
            _ => {
                let error = ScriptError::new(format!("gave: expected a depth or a time, found {}", amount.described()));
                return Err(error.about("amount").into());
            }
        };
        let mut bed = bed;
        bed.log.push((day, bed.net_mm(gross_mm)));
        bed.check().map_err(raise)?;
        Ok(bed)
    }

    /// A pot: name, crop, diameter and depth; potting mix in the open.
    ///
    /// ```hw
    /// let basil = pot("basil", crop("mint"), 12.inch, 10.inch);
    /// [basil["area"], basil["soil_depth"]]   // => [0.79 ft2, 10 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pot(name: &str, crop: Crop, diameter: Dynamic, depth: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        let diameter_m = expect_quantity(&diameter, dim::LENGTH, "pot: diameter")?;
        let ground_m = expect_quantity(&depth, dim::LENGTH, "pot: depth")?;
        let area_m2 = Some(std::f64::consts::PI / 4.0 * diameter_m * diameter_m);
        let soil = Soil::named("potting mix").map_err(raise)?;
        let pot = Bed { ground_m, area_m2, ..Bed::new(name, crop, soil) };
        pot.check().map_err(raise)?;
        Ok(pot)
    }

    /// The ground of a bed, by which its volume of water is computed.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam")).area(60.ft2)["area"]   // => 60 ft2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn area(bed: Bed, ground: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        bed.with("area", expect_quantity(&ground, dim::AREA, "area: ground")?).map_err(raise)
    }

    /// The depth to which roots can go: of loose soil, or of a pot.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam")).soil_depth(1.ft)["soil_depth"]   // => 1 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn soil_depth(bed: Bed, depth: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        bed.with("soil_depth", expect_quantity(&depth, dim::LENGTH, "soil_depth: depth")?).map_err(raise)
    }

    /// What a bed is short by (its soil water depletion) on the first morning of a season or of a week.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam")).depletion(0.5.inch)["depletion"]   // => 1/2 in
    /// ```
    #[rhai_fn(return_raw)]
    pub fn depletion(bed: Bed, depth: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        bed.with("depletion", expect_quantity(&depth, dim::LENGTH, "depletion: depth")?).map_err(raise)
    }

    /// The day in whose evening a bed was last full: after a soaking rain, or a long watering. A week counts from it.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 0.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).full_on("2015-07-09");
    /// week([beans], w, "2015-07-13").table()["short_by"]   // => [0.655 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn full_on(bed: Bed, day: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        Ok(Bed { full_on: Some(day_of(&day, "full_on")?), ..bed })
    }

    /// Which part of the ground must get the depth: "low quarter" (the default), "low half" or "mean".
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 0.mm]]).place(47.45, 430.ft);
    /// let lawn = bed("lawn", crop("lawn").planted("2015-04-01"), soil("loam")).rate(0.5.in_per_h, 70).depletion(1.inch);
    /// ["mean", "low half", "low quarter"].map(|part| week([lawn.counts_on(part)], w, "2015-07-13").waterings()["run_time"][0])   // => [133.7 min, 163.9 min, 191 min]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn counts_on(bed: Bed, part: &str) -> Result<Bed, Box<EvalAltResult>> {
        let Some((_, counts_on)) = CountsOn::ALL.into_iter().find(|(name, _)| *name == part) else {
            let error = ScriptError::new(format!("counts_on: there is no part '{part}'"));
            return Err(error.with_hint("use \"mean\", \"low half\" or \"low quarter\"").into());
        };
        Ok(Bed { counts_on, ..bed })
    }

    /// The same bed or season with one of its numbers by path, of a season also with a soil, a crop or a day, or with several by a map;
    /// `bed["crop.kc_mid"]` and `season["tomatoes.crop.kc_mid"]` read a number. `seek`, `best` and `compare` try seasons with it.
    ///
    /// ```hw
    /// bed("beans", crop("bean"), soil("loam")).with("mulch", 80)["mulch"]   // => 80
    /// bed("beans", crop("bean"), soil("loam")).with("mulch", 130)   // => error: the share under mulch of bed 'beans' is 1.3; expected 0 to 1
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let s = season([bed("beans", crop("bean").planted("2015-05-15"), soil("loam"))], w);
    /// s.with("beans.crop.kc_mid", 0.9).table()["given"]                       // => [10.96 in]
    /// s.with(#{ "beans.soil": "clay", "*.mulch": 60 }).table()["waterings"]   // => [7]
    /// s.with("beans.crop.kc_midd", 1)   // => error: a season has nothing called 'beans.crop.kc_midd'
    /// ```
    #[rhai_fn(name = "with", return_raw)]
    pub fn bed_with(bed: Bed, path: &str, value: Dynamic) -> Result<Bed, Box<EvalAltResult>> {
        let parameter = Bed::parameter(path).map_err(raise)?;
        let si = if parameter.dimension.is_number() {
            expect_number(&value, path)?
        } else {
            expect_quantity(&value, parameter.dimension, path)?
        };
        bed.with(path, si).map_err(raise)
    }
}
