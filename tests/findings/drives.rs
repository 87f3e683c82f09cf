//! Variable-speed drives, and what relays and controls cannot do: each finding on both sides of what decides it.

use super::*;

fn tank(precharge_psi: f64) -> Garden {
    part(Kind::PressureTank, "tank", &[("volume", q(2.0, "gal")), ("precharge", q(precharge_psi, "psi"))])
}

/// The pump with a drive, a tank and a zone.
fn driven(set_psi: f64) -> Garden {
    started(&[drive(set_psi), tank(40.0)], &zone())
}

/// What the pump gives the zone at full speed, psi.
fn at_full_speed_psi() -> f64 {
    psi(&solution(&started(&[], &zone()), &["berries"]), "pump")
}

#[test]
fn a_drive_set_above_what_full_speed_gives_cannot_hold_it() {
    let full_psi = at_full_speed_psi();
    let finding = one(&driven(full_psi + 0.5), &["berries"], "drive-cannot-hold");
    assert_eq!(finding.level(), Level::Warning);
    assert!(finding.what(US).starts_with("drive 'drive' cannot hold"), "{}", finding.what(US));
    assert_none(&driven(full_psi - 0.5), &["berries"], "drive-cannot-hold");
    assert_none(&driven(full_psi + 0.5), &[], "drive-cannot-hold");
}

#[test]
fn a_drive_set_above_shut_off_saves_nothing_and_further_above_takes_the_pump_for_dry() {
    // Against shut valves the pump stands at 58 + 40 psi.
    let shut_off_psi = 98.0;
    // It starts 5 psi below its set pressure.
    assert_none(&driven(shut_off_psi - 0.1), &["berries"], "drive-above-shut-off");
    let above = one(&driven(shut_off_psi + 0.1), &["berries"], "drive-above-shut-off");
    assert!(above.what(US).contains("is set at"), "{}", above.what(US));
    assert!(one(&driven(shut_off_psi + 4.9), &["berries"], "drive-above-shut-off").what(US).contains("is set at"));
    let dry = one(&driven(shut_off_psi + 5.1), &["berries"], "drive-above-shut-off");
    assert!(dry.what(US).contains("starts booster 'pump' at") && dry.why(US).contains("locks it out"), "{}", dry.what(US));
    // At the lowest pressure of the main the pump reaches less.
    let low = but(&driven(shut_off_psi - 0.1), "tap.lowest_static", 50.0, "psi");
    assert!(one(&low, &["berries"], "drive-above-shut-off").what(US).contains("with the main at 50 psi"));
}

#[test]
fn a_drive_that_the_main_keeps_asleep_never_starts_unless_the_heads_have_enough() {
    let off_psi = solution(&driven(60.0), &["berries"]).switches[0].off_pa / PSI;
    let hungry = |set_psi: f64| but(&driven(set_psi), "berry.range_low", 70.0, "psi");
    let finding = one(&hungry(off_psi + 4.9), &["berries"], "never-starts");
    assert!(finding.what(US).contains("5 psi below its set pressure"), "{}", finding.what(US));
    assert_none(&hungry(off_psi + 5.1), &["berries"], "never-starts");
    let fed = but(&driven(off_psi + 4.9), "berry.range_low", 10.0, "psi");
    one(&fed, &["berries"], "zone-needs-no-pump");
    assert_none(&fed, &["berries"], "never-starts");
}

#[test]
fn a_drive_with_less_flow_than_it_feels_cycles() {
    let drip = |gph: f64| started(&[drive(70.0), tank(40.0)], &[valve("drip"), emitter(gph)]);
    let flow = |gph: f64| solution(&drip(gph), &["drip"]).flow_m3_per_s("emitter").expect("known") / q(1.0, "gpm").si;
    let (less, more) = (27.0, 28.5);
    assert!(flow(less) < 0.5 && flow(more) > 0.5, "{} and {}", flow(less), flow(more));
    one(&drip(less), &["drip"], "below-least-flow");
    assert_none(&drip(more), &["drip"], "below-least-flow");
}

#[test]
fn a_leak_makes_a_drive_cycle_or_keeps_it_running() {
    let leaking = |gph: f64| started(&[drive(75.0), tank(40.0), leak("drip", gph)], &zone());
    assert!(one(&leaking(2.0), &["berries"], "leak-cycles-pump").what(US).contains("times an hour"));
    assert!(one(&leaking(80.0), &["berries"], "leak-cycles-pump").what(US).contains("keeps booster 'pump' running"));
    assert_none(&driven(75.0), &["berries"], "leak-cycles-pump");
}

#[test]
fn a_drive_without_tank_or_check_valve_or_away_from_its_pump_is_told() {
    one(&started(&[drive(70.0)], &zone()), &["berries"], "no-pressure-tank");
    assert_none(&driven(70.0), &["berries"], "no-pressure-tank");
    let bare = line(&[&[tap(), hose("service", 10.0, 0.75), pump(), drive(75.0), tank(40.0)][..], &zone()].concat());
    one(&bare, &["berries"], "cycles-without-demand");
    assert_none(&driven(75.0), &["berries"], "cycles-without-demand");
    // Where the main alone holds the line above the pressure at which it starts, it sleeps.
    assert_none(&but(&bare, "drive.set", 60.0, "psi"), &["berries"], "cycles-without-demand");
    let far = |between: Garden| started(&[between, drive(70.0), tank(40.0)], &zone());
    let finding = one(&far(hose("long", 30.0, 0.75)), &["berries"], "drive-away-from-pump");
    assert!(finding.what(US).contains("hose 'long' lies between"), "{}", finding.what(US));
    assert_none(&far(relief("relief", 120.0)), &["berries"], "drive-away-from-pump");
    assert_none(&driven(70.0), &["berries"], "drive-away-from-pump");
}

#[test]
fn the_tank_of_a_drive_has_its_precharge_below_the_pressure_at_which_the_pump_starts() {
    let with_precharge = |psi: f64| started(&[drive(70.0), tank(psi)], &zone());
    let finding = one(&with_precharge(65.5), &["berries"], "precharge-high");
    assert!(finding.what(US).contains("at which drive 'drive' starts the pump, 65 psi"), "{}", finding.what(US));
    assert_none(&with_precharge(64.5), &["berries"], "precharge-high");
    assert_none(&with_precharge(10.0), &["berries"], "precharge-low");
}

#[test]
fn a_relief_valve_at_the_set_pressure_of_a_drive_weeps() {
    let relieved = |set_psi: f64| started(&[drive(70.0), tank(40.0), relief("relief", set_psi)], &zone());
    one(&relieved(69.5), &["berries"], "relief-weeps");
    one(&relieved(75.0), &["berries"], "relief-near-cut-out");
    assert_none(&relieved(80.5), &["berries"], "relief-near-cut-out");
    assert_none(&relieved(80.5), &["berries"], "relief-weeps");
}

#[test]
fn a_drive_starts_a_large_motor_softly() {
    let large = |starters: &[Garden]| but(&started(starters, &zone()), "pump.input_power", 1_500.0, "W");
    one(&large(&[relay()]), &["berries"], "start-current");
    assert_none(&large(&[drive(70.0), tank(40.0)]), &["berries"], "start-current");
}

#[test]
fn a_relay_knows_nothing_of_a_timer_on_a_hose_thread() {
    let with_valve =
        |kind: Kind| started(&[relay()], &[part(kind, "berries", &[]), hose("line", 20.0, 0.75), head("spray", 0.1)]);
    let finding = one(&with_valve(Kind::HoseTimer), &["berries"], "relay-without-terminal");
    assert!(finding.what(US).contains("'berries', which has a timer of its own"), "{}", finding.what(US));
    assert_none(&with_valve(Kind::DiaphragmValve), &["berries"], "relay-without-terminal");
    let control =
        started(&[flow_control(70.0)], &[part(Kind::HoseTimer, "berries", &[]), hose("line", 20.0, 0.75), head("spray", 0.1)]);
    assert_none(&control, &["berries"], "relay-without-terminal");
}

#[test]
fn a_control_above_shut_off_takes_the_pump_for_dry() {
    let control = |cut_in_psi: f64| started(&[flow_control(cut_in_psi)], &zone());
    one(&control(98.1), &["berries"], "control-above-shut-off");
    assert_none(&control(97.9), &["berries"], "control-above-shut-off");
    let low = but(&control(97.9), "tap.lowest_static", 50.0, "psi");
    assert!(one(&low, &["berries"], "control-above-shut-off").what(US).contains("with the main at 50 psi: 90 psi"));
    assert_none(&but(&control(89.9), "tap.lowest_static", 50.0, "psi"), &["berries"], "control-above-shut-off");
}

#[test]
fn a_control_or_drive_is_held_against_the_lowest_pressure_that_the_main_has_by_the_clock() {
    let clocked = |starter: Garden, lowest_psi: f64| {
        let clock = [(0.0, 58.0 * PSI), (18.0 * 3600.0, lowest_psi * PSI), (22.0 * 3600.0, 62.0 * PSI)];
        let tap = tap().part("tap").expect("a tap").clone().with_clock(&clock).expect("a clock");
        line(&[&[Garden::of(tap)], &protected_tap()[1..], &[pump(), starter], &zone()].concat())
    };
    for (starter, code, starts_psi) in
        [(flow_control(85.0), "control-above-shut-off", 85.0), (drive(90.0), "drive-above-shut-off", 90.0)]
    {
        // The pump adds 40 psi against closed valves.
        let finding = one(&clocked(starter.clone(), starts_psi - 40.0 - 0.1), &["berries"], code);
        assert!(finding.what(US).contains("with the main at"), "{}", finding.what(US));
        assert_none(&clocked(starter, starts_psi - 40.0 + 0.1), &["berries"], code);
    }
    // The lower of what is given and what the clock has counts.
    let both = but(&clocked(flow_control(85.0), 44.0), "tap.lowest_static", 50.0, "psi");
    one(&both, &["berries"], "control-above-shut-off");
}
