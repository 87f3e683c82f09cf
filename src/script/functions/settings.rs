//! Settings of a pressure switch or drive and pressure decay, as scripts see them.
//!
//! The computation is in `crate::settings`.

use super::findings::judged;
use crate::garden::Garden;
use crate::parts::Part;
use crate::quantity::{Preference, Quantity, dim};
use crate::report::{FindingList, settings as report};
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_names, as_quantity, expect_quantity, only_keys};
use crate::settings::{Ask, DriveWindow, Fall, Range, Window, drive_window, leak_down_time, leak_from_decay, switch_window};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, Map};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`switch_window` reports which cut-in and cut-out of a pressure switch work in every zone. `w.verdict` is `works`, `works, no margin` (without
the usual margins) or `does not work`; `w.cut_in` and `w.cut_out` are the lowest and the highest setting, `w.suggested` a pair
that fits common switches (steps of 5 psi, at most 30 psi apart; in metric units 0.5 bar and 2 bar), `w.garden` the garden with
these settings, `w.settles` the pressure at which the pump settles without a switch. The pressure at shut-off is taken at the lowest main pressure: give it as
`supply(58.psi).lowest_static(45.psi)`, or as the option `lowest_static`; without it `w.stops_above` is the main pressure below which the pump does not stop at the suggested cut-out.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (3/4).inch).pressure_rating(150.psi)
    >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).named("pump") >> pressure_switch(30.psi, 50.psi) >> relief(97.psi)
    >> [ valve("beds") >> head("bed", (5/32).inch), valve("berries") >> head("berry", (3/16).inch) ];
let w = plot.switch_window();
w.verdict     // => works
w.cut_in      // => [49.6 psi, 72 psi]
w.cut_out     // => [72.5 psi, 87 psi]
w.suggested   // => [50 psi, 75 psi]
w.stops_above // => 35 psi
```

`leak_down_time` reports when a leak starts the pump: `fall.time` is the time, or `()` if it never starts.
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Window>("a switch window").register_type_with_name::<Fall>("a pressure decay");
    engine.register_type_with_name::<DriveWindow>("a drive window");
    engine.register_get("verdict", |window: &mut DriveWindow| window.verdict.word());
    engine.register_get("set", |window: &mut DriveWindow| {
        let ends = window.range.map(|range| pair(window.pressure(range.low_pa), window.pressure(range.high_pa)));
        ends.map_or(Dynamic::UNIT, Dynamic::from)
    });
    engine.register_get("suggested", |window: &mut DriveWindow| window.suggested.map_or(Dynamic::UNIT, Dynamic::from));
    engine.register_get("garden", |window: &mut DriveWindow| window.settled_garden().map_or(Dynamic::UNIT, Dynamic::from));
    engine.register_get("verdict", |window: &mut Window| window.verdict.word());
    engine.register_get("cut_in", |window: &mut Window| range(window, window.cut_in));
    engine.register_get("cut_out", |window: &mut Window| range(window, window.cut_out));
    engine.register_get("suggested", |window: &mut Window| {
        window.suggestion.map_or(Dynamic::UNIT, |found| pair(found.cut_in, found.cut_out).into())
    });
    engine.register_get("garden", |window: &mut Window| window.settled_garden().map_or(Dynamic::UNIT, Dynamic::from));
    engine.register_get("settles", |window: &mut Window| window.pressure(window.settled.pressure_pa));
    engine.register_get("stops_above", |window: &mut Window| -> Result<Dynamic, Box<EvalAltResult>> {
        let Some(suggestion) = window.suggestion else { return Ok(Dynamic::UNIT) };
        let main_pa = window.stops_down_to_pa(suggestion.cut_out.si).map_err(raise)?;
        Ok(main_pa.map_or(Dynamic::UNIT, |main_pa| Dynamic::from(window.pressure(main_pa))))
    });
    engine.register_get("dead_head", |window: &mut Window| window.pressure(window.dead_head_pa));
    engine.register_get("time", |fall: &mut Fall| report::time_of_fall(fall).map_or(Dynamic::UNIT, Dynamic::from));
    engine.register_get("water", |fall: &mut Fall| fall.units.quantity(fall.water_m3, dim::VOLUME));
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |call: NativeCallContext, window: Window| -> Answer<String> {
                Ok(window.card(look_of(&call)?.system))
            })
            .register_fn(word, |call: NativeCallContext, window: DriveWindow| -> Answer<String> {
                Ok(window.card(look_of(&call)?.system))
            })
            .register_fn(word, |call: NativeCallContext, fall: Fall| -> Answer<String> {
                Ok(report::fall_in_words(&fall, look_of(&call)?.system))
            });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn pair(a: Quantity, b: Quantity) -> Array {
    vec![Dynamic::from(a), Dynamic::from(b)]
}

fn range(window: &Window, range: Option<Range>) -> Dynamic {
    range.map_or(Dynamic::UNIT, |range| pair(window.pressure(range.low_pa), window.pressure(range.high_pa)).into())
}

const KEYS: &[&str] = &["zones", "at", "highest_static", "lowest_static", "least_difference", "most_difference"];
/// The first of them ask for any window, the others for that of a switch.
const DRIVE_KEYS: usize = 4;

/// What is asked of a window, from a map.
fn asked(map: &Map) -> Answer<Ask> {
    asked_by("switch_window", KEYS, map)
}

/// What is asked of a window of a drive, which has no differential.
fn asked_of_drive(map: &Map) -> Answer<Ask> {
    asked_by("drive_window", &KEYS[..DRIVE_KEYS], map)
}

fn asked_by(function: &str, keys: &[&str], map: &Map) -> Answer<Ask> {
    only_keys(map, keys, |other| format!("{function} has no option '{other}'"), &format!("its options are {}", keys.join(", ")))?;
    let mut ask = Ask::default();
    if let Some(name) = map.get("at") {
        ask.switch = as_names(name, &format!("{function}: at"))?.into_iter().next();
    }
    if let Some(zones) = map.get("zones") {
        ask.zones = match zones.read_lock::<Array>() {
            Some(list) => list.iter().map(|zones| as_names(zones, &format!("{function}: zones"))).collect::<Result<_, _>>()?,
            None => vec![as_names(zones, &format!("{function}: zones"))?],
        };
    }
    let pressure =
        |key: &str| map.get(key).map(|value| expect_quantity(value, dim::PRESSURE, &format!("{function}: {key}"))).transpose();
    ask.highest_static_pa = pressure("highest_static")?;
    ask.lowest_static_pa = pressure("lowest_static")?;
    ask.differential_pa = pressure("least_difference")?.map(|least_pa| least_pa.max(0.0));
    ask.widest_pa = pressure("most_difference")?.map(|most_pa| most_pa.max(0.0));
    Ok(ask)
}

/// A pressure as it was written.
fn pressure_of(value: &Dynamic, what: &str) -> Answer<Quantity> {
    let si = expect_quantity(value, dim::PRESSURE, what)?;
    let preference = as_quantity(value).map_or(Preference::Usual, |quantity| quantity.preference);
    Ok(Quantity { si, dimension: dim::PRESSURE, preference })
}

/// The place that a map of options names.
fn place_of(map: &Map, word: &str) -> Answer<Option<String>> {
    if let Some(other) = map.keys().find(|key| key.as_str() != "at") {
        let error = ScriptError::new(format!("{word} has no option '{other}'"));
        return Err(error.with_hint("its option is at, the part where the pressure is read").into());
    }
    let name = map.get("at").map(|at| as_names(at, word)).transpose()?;
    Ok(name.and_then(|names| names.into_iter().next()))
}

fn leak_of(garden: &Garden, pressures: [&Dynamic; 2], time: &Dynamic, at: Option<&str>) -> Answer<Part> {
    let from = pressure_of(pressures[0], "leak_from_decay: first pressure")?;
    let to = pressure_of(pressures[1], "leak_from_decay: second pressure")?;
    leak_from_decay(garden, from, to, expect_quantity(time, dim::TIME, "leak_from_decay: time")?, at).map_err(raise)
}

fn fall_of(garden: &Garden, pressures: [&Dynamic; 2], at: Option<&str>) -> Answer<Fall> {
    let from = pressure_of(pressures[0], "leak_down_time: first pressure")?;
    let to = pressure_of(pressures[1], "leak_down_time: second pressure")?;
    leak_down_time(garden, from, to, at).map_err(raise)
}

#[export_module]
mod functions {
    /// Cut-in and cut-out of a pressure switch that start the pump in every zone, keep it on, and stop it: from the pressure at the switch in
    /// each zone with the pump off and on, at shut-off (dead head), relief settings and ratings, all at the elevation of the switch.
    /// Where no settings work, changes are tried, and those that help are reported as remedies.
    ///
    /// Options: `zones`, a list of zones that run at the same time (default: each valve alone), `highest_static`, main
    /// pressure at night, `lowest_static`, main pressure on a hot evening, at which the pump must still stop (default: the `lowest_static` of the supply), `least_difference` and
    /// `most_difference`, the differential between cut-in and cut-out (default 15 to 30 psi, in metric units 1 to 2 bar), `at`, the name of
    /// the switch.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (3/4).inch)
    ///     >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]) >> pressure_switch(55.psi, 75.psi) >> relief(75.psi)
    ///     >> [ valve("beds") >> head("bed", (5/32).inch), valve("berries") >> head("berry", (3/16).inch) ];
    /// let w = plot.switch_window(#{ highest_static: 66.psi });
    /// w.verdict      // => does not work
    /// w.settles      // => 78.4 psi
    /// plot.with("relief.set", 97.psi).switch_window(#{ lowest_static: 50.psi }).suggested   // => [50 psi, 75 psi]
    /// plot.switch_window(#{ zone: "beds" })   // => error: switch_window has no option 'zone'
    /// ```
    #[rhai_fn(name = "switch_window", return_raw)]
    pub fn switch_window_as_asked(call: NativeCallContext, garden: Garden, options: Map) -> Result<Window, Box<EvalAltResult>> {
        switch_window(&judged(&call, &garden)?, &asked(&options)?).map_err(raise)
    }

    #[rhai_fn(name = "switch_window", return_raw)]
    pub fn switch_window_plain(call: NativeCallContext, garden: Garden) -> Result<Window, Box<EvalAltResult>> {
        switch_window(&judged(&call, &garden)?, &Ask::default()).map_err(raise)
    }

    /// Set pressures of a `drive` that give every head what it needs and none too much, at the outlet of the pump: below what the pump reaches
    /// at full speed, relief settings and ratings. `.set` is the lowest and the highest, `.suggested` the lowest in steps of 1 psi (0.1 bar), which
    /// takes the least power, `.garden` the garden with it, `.table()` the zones with speed and power. Options: `zones`, `highest_static`,
    /// `lowest_static` and `at` as of `switch_window`.
    ///
    /// ```hw
    /// let plot = supply(42.psi).measured(34.psi, 6.gpm).lowest_static(38.psi) >> backflow_preventer() >> hose(20.ft, 1.inch) >> check_valve()
    ///     >> booster([[0.gpm, 45.psi], [8.gpm, 30.psi]]).named("pump").efficiency(0.4) >> pressure_tank(2.gal, 40.psi) >> drive(60.psi) >> relief(90.psi)
    ///     >> [ valve("beds")    >> hose(50.ft, (5/8).inch) >> head("bed", (1/8).inch).operating_range(40.psi, 70.psi),
    ///          valve("berries") >> hose(50.ft, (5/8).inch) >> head("berry", (5/32).inch).operating_range(40.psi, 70.psi) ];
    /// let w = plot.drive_window();
    /// w.verdict      // => works
    /// w.suggested > w.set[0] && w.suggested < w.set[1]        // => true
    /// w.garden.run("berries").pump_speed("pump") < 1          // => true
    /// w.table().names   // => ["zones", "needs", "allows", "full_speed", "off", "flow", "speed", "power"]
    /// plot.switch_window()   // => error: drive 'drive' runs 'pump': there is no cut-in and cut-out to choose, but a set pressure
    /// ```
    #[rhai_fn(name = "drive_window", return_raw)]
    pub fn drive_window_plain(call: NativeCallContext, garden: Garden) -> Result<DriveWindow, Box<EvalAltResult>> {
        drive_window(&judged(&call, &garden)?, &Ask::default()).map_err(raise)
    }

    #[rhai_fn(name = "drive_window", return_raw)]
    pub fn drive_window_as_asked(
        call: NativeCallContext,
        garden: Garden,
        options: Map,
    ) -> Result<DriveWindow, Box<EvalAltResult>> {
        drive_window(&judged(&call, &garden)?, &asked_of_drive(&options)?).map_err(raise)
    }

    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_drive_window(window: DriveWindow) -> Result<Table, Box<EvalAltResult>> {
        report::drive_table(&window).map_err(raise)
    }

    /// Problems found with the present settings of a switch, in all zones of a window.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (3/4).inch)
    ///     >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]) >> pressure_switch(30.psi, 75.psi) >> relief(95.psi) >> valve("beds") >> head("bed", (5/32).inch);
    /// plot.switch_window().findings().table()["code"]   // => ["never-starts", "lowest-main", "highest-main", "main-above-cut-in", "cautions"]
    /// ```
    #[rhai_fn(name = "findings")]
    pub fn findings_of_window(window: Window) -> FindingList {
        let list = window.findings();
        FindingList::of(window.garden, &list)
    }

    /// The zones of a switch window: pressure at the switch with the pump off and on, at usual and at the highest main pressure. Of a drive window:
    /// the pressures at the pump that the heads need and bear, at full speed and without the pump; flow, speed and power at the suggested set pressure.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> backflow_preventer() >> hose(50.ft, (3/4).inch) >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]])
    ///     >> pressure_switch(30.psi, 50.psi) >> relief(95.psi) >> valve("beds") >> head("bed", (5/32).inch);
    /// plot.switch_window().table().names   // => ["zones", "off", "on", "off_highest", "on_highest", "flow", "relieved"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_window(window: Window) -> Result<Table, Box<EvalAltResult>> {
        report::table(&window).map_err(raise)
    }

    /// What limits cut-in and cut-out in a switch window: the setting, its side, the cause, the limit and the usual margin.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> backflow_preventer() >> hose(50.ft, (3/4).inch) >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]])
    ///     >> pressure_switch(30.psi, 50.psi) >> relief(95.psi) >> valve("beds") >> head("bed", (5/32).inch);
    /// plot.switch_window().bounds()["setting"]   // => ["cut-in", "cut-out", "cut-out", "cut-out"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn bounds(call: NativeCallContext, window: Window) -> Result<Table, Box<EvalAltResult>> {
        report::bounds(&window, look_of(&call)?.system).map_err(raise)
    }

    /// Remedies where no switch settings keep all margins: each change with the ranges of cut-in and cut-out it gives.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (3/4).inch)
    ///     >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]) >> pressure_switch(55.psi, 75.psi) >> relief(75.psi)
    ///     >> [ valve("beds") >> head("bed", (5/32).inch), valve("berries") >> head("berry", (3/16).inch) ];
    /// plot.switch_window().remedies()["change"][0]   // => set relief 'relief' at 90 psi instead of 75 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn remedies(call: NativeCallContext, window: Window) -> Result<Table, Box<EvalAltResult>> {
        report::remedies(&window, look_of(&call)?.system).map_err(raise)
    }

    /// The leak rate from a pressure decay test: from one pressure to another in a time, valves closed and pump off. Gives the leak as a part, with its
    /// flow at the first pressure. Tanks (by Boyle's law) and the compliance of hoses supply the water. Close the tap for the test, or stay above
    /// main pressure. Gauge and leak are at the switch, or else at the tank, or at
    /// `#{ at: "feed" }`; leaks already in the garden are included.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (3/4).inch).compliance(3.mL_per_bar_m).named("feed")
    ///     >> pressure_tank(5.gal, 38.psi) >> valve("beds") >> head("bed", (1/8).inch);
    /// let drip = plot.leak_from_decay(80.psi, 60.psi, 3.hours);
    /// drip.flow   // => 0.28 gph
    /// plot.branch("feed", drip).leak_down_time(80.psi, 60.psi).time   // => 3 h
    /// ```
    #[rhai_fn(name = "leak_from_decay", return_raw)]
    pub fn leak_from_fall(garden: Garden, from: Dynamic, to: Dynamic, time: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        leak_of(&garden, [&from, &to], &time, None)
    }

    #[rhai_fn(name = "leak_from_decay", return_raw)]
    pub fn leak_from_fall_at(
        garden: Garden,
        from: Dynamic,
        to: Dynamic,
        time: Dynamic,
        options: Map,
    ) -> Result<Part, Box<EvalAltResult>> {
        leak_of(&garden, [&from, &to], &time, place_of(&options, "leak_from_decay")?.as_deref())
    }

    /// The leak-down time: how long the leaks of the garden take to lower the pressure, valves closed and pump off. From cut-out to cut-in it is
    /// the time until the pump starts with all zones off. If main pressure is above the second pressure, the pressure never falls that
    /// far.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (3/4).inch).compliance(3.mL_per_bar_m).named("feed")
    ///     >> leak("drip", 0.5.gph, 60.psi) >> point("gauge");
    /// plot.leak_down_time(80.psi, 60.psi, #{ at: "gauge" })   // => 3.7 min from 80 psi to 60 psi at 'gauge': 0.033 gal leak away, 0.58 gph at first and 0.5 gph at the end
    /// plot.leak_down_time(80.psi, 40.psi, #{ at: "gauge" })   // => never from 80 psi to 40 psi at 'gauge': main pressure is 58 psi there and supplies the leak
    /// ```
    #[rhai_fn(name = "leak_down_time", return_raw)]
    pub fn time_to_fall_at(garden: Garden, from: Dynamic, to: Dynamic, options: Map) -> Result<Fall, Box<EvalAltResult>> {
        fall_of(&garden, [&from, &to], place_of(&options, "leak_down_time")?.as_deref())
    }

    #[rhai_fn(name = "leak_down_time", return_raw)]
    pub fn time_to_fall_plain(garden: Garden, from: Dynamic, to: Dynamic) -> Result<Fall, Box<EvalAltResult>> {
        fall_of(&garden, [&from, &to], None)
    }
}
