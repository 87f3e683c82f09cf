//! What holds for every kind of part and every number of it, and the laws of parts by their formulas.

use super::*;
use crate::garden::Garden;
use crate::quantity::{Preference, Quantity, find_unit};
use crate::support::*;
use crate::told::Told;
use crate::water::Water;
use approx::assert_relative_eq;
use proptest::prelude::*;

const DENSITY: f64 = 999.1;
const GRAVITY: f64 = 9.80665;

fn around(diameter_m: f64) -> Around {
    Around { water: Water::default(), diameter_m }
}

fn alone(garden: &Garden) -> Part {
    (*garden.parts()[0]).clone()
}

fn law(garden: &Garden) -> Law {
    alone(garden).law(&around(f64::NAN))
}

/// The resistance of a law that loses with the square of the flow.
fn resistance(law: &Law) -> f64 {
    match law {
        Law::Quadratic { resistance } | Law::OneWay { resistance, .. } | Law::Regulator { resistance, .. } => *resistance,
        Law::Orifice { resistance } | Law::RegulatedOrifice { resistance, .. } | Law::Source { resistance, .. } => *resistance,
        other => panic!("no law with a resistance: {other:?}"),
    }
}

/// A part of each kind that is sound, with a name.
fn sound(kind: Kind) -> Part {
    let hose = &[("length", q(10.0, "ft")), ("diameter", q(0.5, "inch"))][..];
    let parameters: &[(&str, Quantity)] = match kind {
        Kind::Supply => {
            &[("static_pressure", q(58.0, "psi")), ("measured_pressure", q(44.0, "psi")), ("measured_flow", q(6.0, "gpm"))]
        }
        Kind::OpenTank => &[("level", q(5.0, "ft")), ("volume", q(50.0, "gal"))],
        Kind::Hose | Kind::Pipe => hose,
        Kind::Filter | Kind::Meter | Kind::Injector => &[("loss", q(2.0, "psi")), ("flow", q(5.0, "gpm"))],
        Kind::Restrictor => &[("bore", q(0.25, "inch"))],
        Kind::Uphill | Kind::Downhill => &[("height", q(3.0, "ft"))],
        Kind::Regulator => &[("set", q(30.0, "psi"))],
        Kind::Relief => &[("set", q(80.0, "psi"))],
        Kind::PressureSwitch => &[("cut_in", q(30.0, "psi")), ("cut_out", q(50.0, "psi"))],
        Kind::PumpControl => &[("cut_in", q(30.0, "psi"))],
        Kind::Drive => &[("set", q(60.0, "psi"))],
        Kind::PumpStart => &[],
        Kind::PressureTank | Kind::ExpansionTank => &[("volume", q(20.0, "gal")), ("precharge", q(28.0, "psi"))],
        Kind::Head => &[("nozzle", q(0.125, "inch"))],
        Kind::Emitter => &[("flow", q(1.0, "gph")), ("pressure", q(15.0, "psi"))],
        Kind::Soaker => {
            &[("length", q(50.0, "ft")), ("diameter", q(0.5, "inch")), ("flow", q(0.6, "gpm")), ("pressure", q(10.0, "psi"))]
        }
        Kind::Demand => &[("flow", q(2.0, "gpm"))],
        Kind::Leak => &[("flow", q(1.0, "gph")), ("pressure", q(40.0, "psi"))],
        Kind::Booster => return alone(&booster("part", &[(0.0, 40.0), (10.0, 20.0)])),
        Kind::Dripline => &[("length", q(50.0, "ft")), ("spacing", q(12.0, "inch")), ("flow", q(0.6, "gph"))],
        Kind::Fitting | Kind::Valve | Kind::CheckValve | Kind::Point => &[],
        Kind::DiaphragmValve | Kind::HoseTimer | Kind::FootValve | Kind::DrainValve => &[],
        Kind::Backflow | Kind::DoubleCheck | Kind::ReducedPressure => &[],
        Kind::PressureVacuumBreaker | Kind::AtmosphericVacuumBreaker | Kind::HoseVacuumBreaker => &[],
    };
    Part::of_words(kind, Some("part"), parameters).unwrap_or_else(|error| panic!("{kind:?}: {error}"))
}

fn unit_of(number: &Parameter) -> Quantity {
    if number.unit.is_empty() { Quantity::number(1.0) } else { Quantity::written(1.0, find_unit(number.unit).expect("a unit")) }
}

// ---- what holds for every kind and number

#[test]
fn every_number_has_a_unit_of_its_dimension_a_line_of_help_and_a_default_that_its_rule_allows() {
    for kind in Kind::ALL {
        for number in kind.spec().parameters.iter() {
            let what = format!("{}.{}", kind.spec().word, number.name());
            assert!(number.dimension().takes(unit_of(number).dimension), "{what}");
            assert!(!number.help.is_empty() && !number.help.ends_with('.'), "{what}");
            assert!(number.default.is_none_or(|default| number.rule.allows(default)), "{what}");
        }
    }
}

#[test]
fn every_number_reads_back_as_it_was_written() {
    for &kind in Kind::ALL {
        let part = sound(kind);
        for number in kind.spec().parameters.iter() {
            // What a part has already is set again; what it has not, to its default or to a little.
            let value = part.quantity(number.id).unwrap_or(Quantity { si: 0.5 * unit_of(number).si, ..unit_of(number) });
            let mut changed = part.clone();
            match changed.set(number.id, value) {
                Ok(()) => {
                    let back = changed.get(number.id).expect("given");
                    assert_eq!((back.si, back.dimension), (value.si, value.dimension), "{}.{}", kind.spec().word, number.name());
                    assert_eq!(changed.value(number.id), value.si);
                }
                // Pairs that only make sense together.
                Err(PartError::Contradiction { .. }) => assert_eq!(changed, part, "an error leaves the part as it was"),
                Err(error) => panic!("{}.{}: {error}", kind.spec().word, number.name()),
            }
        }
    }
}

#[test]
fn every_number_refuses_what_breaks_its_rule_and_names_itself() {
    for &kind in Kind::ALL {
        for number in kind.spec().parameters.iter() {
            let unit = unit_of(number);
            for si in [f64::NAN, f64::INFINITY, -1.0, 0.0, 1e-40, 1e40, 2.0] {
                let mut part = sound(kind);
                let before = part.clone();
                let result = part.set(number.id, Quantity { si, ..unit });
                let what = format!("{}.{} = {si}", kind.spec().word, number.name());
                if number.rule.allows(si) {
                    assert!(!matches!(result, Err(PartError::OutOfRange { .. })), "{what}: {result:?}");
                    continue;
                }
                let error = result.expect_err(&what);
                assert!(matches!(error, PartError::OutOfRange { .. }), "{what}: {error}");
                assert_eq!(error.about().as_deref(), Some(number.name()), "{what}");
                assert_eq!(part, before, "{what}");
            }
        }
    }
}

#[test]
fn every_number_refuses_another_dimension() {
    for &kind in Kind::ALL {
        for number in kind.spec().parameters.iter() {
            let wrong = if number.dimension() == q(1.0, "degC").dimension {
                q(1.0, "s")
            } else {
                Quantity { si: 300.0, ..q(1.0, "degC") }
            };
            let mut part = sound(kind);
            let error = part.set(number.id, wrong).expect_err("a temperature");
            assert!(matches!(error, PartError::WrongDimension { .. }), "{}.{}: {error}", kind.spec().word, number.name());
        }
        let absent: Vec<&Id> = Id::ALL.iter().filter(|id| !kind.spec().has(**id)).collect();
        let part = sound(kind);
        for &&id in &absent {
            assert!(part.value(id).is_nan() && part.si(id).is_none() && part.quantity(id).is_none());
            assert!(matches!(part.get(id), Err(PartError::UnknownParameter { .. })));
        }
        assert_eq!(absent.len() + kind.spec().parameters.len(), Id::ALL.len());
    }
}

#[test]
fn rules_allow_exactly_their_range() {
    let allowed = |rule: Rule| {
        let values =
            [-1e16, -1.0, -1e-31, 0.0, 1e-31, 1e-30, 1e-7, 1e-6, 0.5, 1.0, 1.0 + 1e-9, 1e15, 1e16, f64::NAN, f64::INFINITY];
        values.map(|value| if rule.allows(value) { 'x' } else { '.' }).iter().collect::<String>()
    };
    assert_eq!(allowed(Rule::Any), ".x.x.xxxxxxx...");
    assert_eq!(allowed(Rule::Positive), ".....xxxxxxx...");
    assert_eq!(allowed(Rule::NotNegative), "...x.xxxxxxx...");
    assert_eq!(allowed(Rule::Share), ".....xxxxx.....");
    assert_eq!(allowed(Rule::Diameter), ".......xxx.....");
    for rule in [Rule::Any, Rule::Positive, Rule::NotNegative, Rule::Share, Rule::Ratio, Rule::Diameter] {
        assert!(rule.allows(rule.most()), "{rule:?}");
        assert!(!rule.allows(rule.most() * 1.01), "{rule:?}");
    }
    assert_eq!(Rule::Positive.words_for(-1.0), "above zero");
    assert_eq!(Rule::Positive.words_for(1e40), "within the range of calculation");
}

#[test]
fn what_judgments_ask_of_kinds_hangs_together() {
    for &kind in Kind::ALL {
        let (spec, word) = (kind.spec(), kind.spec().word);
        assert_eq!(spec.is_main() || spec.is_tank(), spec.placing == Placing::Source, "{word}");
        assert!(!(spec.is_main() && spec.is_tank()), "{word}");
        assert!(!spec.keeps_back() || spec.is_one_way(), "{word} keeps water back, so it passes one way");
        assert!(!spec.traits.gives_water || spec.placing == Placing::Outlet, "{word}");
        assert!(!spec.traits.waters || spec.traits.gives_water, "{word} waters with water that it gives");
        assert!(!spec.traits.relieves || spec.loses_water(), "{word}");
        assert!(!spec.regulates() || spec.is_one_way(), "{word}");
        assert!(!spec.throws() || spec.traits.waters, "{word}");
        assert!(spec.traits.starts.is_none() || spec.placing == Placing::AtPoint, "{word}");
        assert!(!spec.traits.pumps || spec.traits.pushes_back, "{word}");
        assert_eq!(spec.has_cushion(), sound(kind).vessel().is_some(), "{word}: only an air cushion stores without a stretch");
        assert!(spec.headline.iter().all(|&id| spec.has(id)), "{word} shows numbers that it has");
        assert!(!spec.about.is_empty());
    }
    let of = |is_so: fn(&Spec) -> bool| -> Vec<&str> {
        Kind::ALL.iter().map(|kind| kind.spec()).filter(|spec| is_so(spec)).map(|spec| spec.word).collect()
    };
    assert_eq!(of(Spec::is_line), ["hose", "pipe"]);
    let preventers = of(|spec| spec.traits.backward == Backward::Protects);
    assert_eq!(of(Spec::keeps_back), [&["check_valve", "foot_valve"], &*preventers].concat());
    assert_eq!(of(|spec| spec.traits.guard.is_some()), preventers[1..], "only the first has no type");
    assert_eq!(of(Spec::throws), ["head"]);
    assert_eq!(of(Spec::loses_water), ["relief", "leak"]);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

    #[test]
    fn a_name_is_taken_as_it_is_or_refused(name in "\\PC{0,120}") {
        match Part::new(Kind::Point).named(&name) {
            Ok(part) => {
                let taken = part.name().expect("a name");
                prop_assert_eq!(taken, name.trim());
                prop_assert!(!taken.is_empty() && !taken.contains('.') && taken.chars().count() <= 100);
                prop_assert_eq!(part.title(), format!("point '{}'", taken));
            }
            Err(PartError::LongName { most, .. }) => prop_assert!(name.chars().count() > most),
            Err(PartError::BadName { .. }) => prop_assert!(name.contains('.') || name.trim().is_empty()),
            Err(PartError::InvisibleSign { .. }) => prop_assert!(crate::visible::first_unseen(&name).is_some()),
            Err(error) => prop_assert!(false, "{error}"),
        }
    }
}

// ---- laws by their formulas

#[test]
fn a_tap_loses_by_its_bucket_test_and_holds_without_one() {
    let tap = law(&supply("tap", 58.0, 44.0, 6.0));
    assert_relative_eq!(resistance(&tap), 14.0 * PSI / (6.0 * GPM).powi(2), max_relative = 1e-12);
    let stiff = law(&part(Kind::Supply, "tap", &[("static_pressure", q(58.0, "psi"))]));
    assert_eq!(resistance(&stiff), 0.0);
    let Law::Source { pressure_pa, .. } = law(&part(Kind::OpenTank, "tank", &[("level", q(2.0, "m"))])) else {
        panic!("a source")
    };
    assert_relative_eq!(pressure_pa, DENSITY * GRAVITY * 2.0, max_relative = 1e-12);
}

#[test]
fn a_flow_coefficient_is_the_gallons_at_a_loss_of_one_psi() {
    // Definition of Cv: gpm of water of 60 degF at 1 psi; loss with the square, and with density over that of 60 degF.
    for cv in [0.5, 3.0, 12.0] {
        let fitting = law(&part(Kind::Fitting, "f", &[("cv", q(cv, ""))]));
        assert_relative_eq!(resistance(&fitting) * (cv * GPM).powi(2), PSI, max_relative = 2e-3);
    }
    let both = part(Kind::Valve, "v", &[("cv", q(3.0, "")), ("k", q(9.0, "")), ("diameter", q(0.5, "inch"))]);
    let only = part(Kind::Valve, "v", &[("cv", q(3.0, ""))]);
    assert_eq!(resistance(&law(&both)), resistance(&law(&only)), "cv takes the place of k");
}

#[test]
fn a_loss_coefficient_refers_to_its_own_bore_or_to_that_of_the_hose_beside_it() {
    let k = 4.0;
    let formula = |diameter_m: f64| k * DENSITY / 2.0 / (std::f64::consts::PI * diameter_m * diameter_m / 4.0).powi(2);
    let own = alone(&part(Kind::Fitting, "f", &[("k", q(k, "")), ("diameter", q(0.02, "m"))]));
    assert_relative_eq!(resistance(&own.law(&around(0.05))), formula(0.02), max_relative = 1e-12);
    let beside = alone(&part(Kind::Fitting, "f", &[("k", q(k, ""))]));
    assert_relative_eq!(resistance(&beside.law(&around(0.05))), formula(0.05), max_relative = 1e-12);
    assert!(beside.law(&around(f64::NAN)).lacks_bore());
    let free = alone(&part(Kind::Fitting, "f", &[("k", q(0.0, ""))]));
    assert!(!free.law(&around(f64::NAN)).lacks_bore(), "what loses nothing needs no diameter");
    assert_eq!(resistance(&free.law(&around(f64::NAN))), 0.0);
}

#[test]
fn a_washer_loses_by_contraction_and_borda_carnot_and_nothing_where_it_is_the_wider() {
    let restrictor = alone(&part(Kind::Restrictor, "w", &[("bore", q(0.01, "m"))]));
    let k = |hose_m: f64| {
        let scale = DENSITY / 2.0 / (std::f64::consts::PI * 0.01f64.powi(2) / 4.0).powi(2);
        resistance(&restrictor.law(&around(hose_m))) / scale
    };
    // Expansion on the narrow side: (1 - beta^2)^2 (Borda-Carnot), contraction: 0.5 (1 - beta^2) (Crane TP-410, sudden).
    for hose_m in [0.012, 0.02, 0.05] {
        let beta2 = (0.01f64 / hose_m).powi(2);
        assert_relative_eq!(k(hose_m), (1.0 - beta2).powi(2) + 0.5 * (1.0 - beta2), max_relative = 1e-9);
    }
    assert_eq!(k(0.01), 0.0);
    assert_eq!(k(0.008), 0.0);
}

#[test]
fn outlets_give_their_rated_flow_at_their_rated_pressure() {
    let head = alone(&part(Kind::Head, "h", &[("rated_flow", q(1.5, "gpm")), ("rated_flow_pressure", q(30.0, "psi"))]));
    let plain = resistance(&head.law(&around(f64::NAN)));
    assert_relative_eq!(plain * (1.5 * GPM).powi(2), 30.0 * PSI, max_relative = 1e-12);
    // Wear of 1.2 gives 1.2 times the flow at the same pressure.
    let worn = head.clone().with(&[(Id::Wear, q(1.2, ""))]).expect("sound");
    assert_relative_eq!(resistance(&worn.law(&around(f64::NAN))) * 1.44, plain, max_relative = 1e-12);
    let held = head.with(&[(Id::Regulated, q(40.0, "psi"))]).expect("sound");
    assert!(matches!(held.law(&around(f64::NAN)), Law::RegulatedOrifice { set_pa, .. } if (set_pa / PSI - 40.0).abs() < 1e-9));
    let emitter =
        law(&part(Kind::Emitter, "e", &[("flow", q(1.0, "gph")), ("pressure", q(15.0, "psi")), ("exponent", q(0.3, ""))]));
    let Law::Power { coefficient, exponent } = emitter else { panic!("a power law") };
    assert_relative_eq!(coefficient * (15.0 * PSI).powf(exponent), GPM / 60.0, max_relative = 1e-12);
    assert!(matches!(law(&part(Kind::Leak, "l", &[("flow", q(0.0, "gph")), ("pressure", q(15.0, "psi"))])), Law::Closed));
}

#[test]
fn a_relief_passes_its_flow_at_its_overpressure_a_tenth_of_its_setting_unless_said() {
    let opened = |parameters: &[(&str, Quantity)]| match law(&part(Kind::Relief, "r", parameters)) {
        Law::Relief { set_pa, resistance } => (set_pa / PSI, resistance * GPM / PSI),
        other => panic!("a relief: {other:?}"),
    };
    let (set_psi, psi_per_gpm) = opened(&[("set", q(80.0, "psi"))]);
    assert_relative_eq!(set_psi, 80.0, max_relative = 1e-12);
    assert_relative_eq!(psi_per_gpm, 8.0 / 10.0, max_relative = 1e-12);
    let (_, psi_per_gpm) = opened(&[("set", q(80.0, "psi")), ("flow", q(4.0, "gpm")), ("overpressure", q(2.0, "psi"))]);
    assert_relative_eq!(psi_per_gpm, 0.5, max_relative = 1e-12);
}

#[test]
fn a_pump_at_another_speed_follows_the_affinity_laws() {
    let pump = alone(&booster("pump", &[(0.0, 40.0), (10.0, 20.0)]));
    let rise = |part: &Part, gpm: f64| match part.law(&around(f64::NAN)) {
        Law::Booster { curve, .. } => curve.rise(gpm * GPM).0 / PSI,
        other => panic!("a booster: {other:?}"),
    };
    for speed in [0.5, 0.9, 1.3] {
        let other = pump.clone().with(&[(Id::Speed, q(speed, ""))]).expect("sound");
        for gpm in [0.0, 3.0, 8.0, 12.0] {
            assert_relative_eq!(rise(&other, speed * gpm), speed * speed * rise(&pump, gpm), max_relative = 1e-12);
        }
    }
}

#[test]
fn electrical_power_is_what_is_said_or_water_power_over_efficiency() {
    let pump =
        |parameters: &[(Id, Quantity)]| alone(&booster("pump", &[(0.0, 40.0), (10.0, 20.0)])).with(parameters).expect("sound");
    let running = |rise_psi: f64| Running { flow_m3_per_s: 5.0 * GPM, rise_pa: rise_psi * PSI, drive: None };
    let watts = |part: &Part| part.electric_power_w(running(30.0));
    assert_eq!(watts(&pump(&[])), None);
    let by_efficiency = watts(&pump(&[(Id::Efficiency, q(0.25, ""))])).expect("known");
    assert_relative_eq!(by_efficiency, 5.0 * GPM * 30.0 * PSI / 0.25, max_relative = 1e-12);
    assert_eq!(watts(&pump(&[(Id::Efficiency, q(0.25, "")), (Id::InputPower, q(500.0, "W"))])), Some(500.0));
    let back = pump(&[(Id::Efficiency, q(0.25, ""))]).electric_power_w(running(-30.0));
    assert_eq!(back, Some(0.0), "a pump that is driven by the water gives no current");
}

#[test]
fn a_soaker_of_one_outlet_loses_as_its_hose_and_one_of_many_a_third() {
    let soaker = |outlets: f64, exponent: f64| {
        let parameters = [
            ("length", q(30.0, "m")),
            ("diameter", q(0.012, "m")),
            ("flow", q(2.0, "gpm")),
            ("pressure", q(10.0, "psi")),
            ("outlets", q(outlets, "")),
            ("exponent", q(exponent, "")),
            ("hazen_williams_c", q(150.0, "")),
        ];
        alone(&part(Kind::Soaker, "s", &parameters))
    };
    // Outlets that give alike whatever the pressure: by Christiansen (1942) F = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6N^2), m = 1.852.
    let whole = soaker(1.0, 1e-6).soaker_loss_pa(10.0 * PSI).expect("a soaker");
    let m: f64 = 1.852;
    for outlets in [5.0, 20.0, 100.0] {
        let share = soaker(outlets, 1e-6).soaker_loss_pa(10.0 * PSI).expect("a soaker") / whole;
        let christiansen = 1.0 / (m + 1.0) + 1.0 / (2.0 * outlets) + (m - 1.0).sqrt() / (6.0 * outlets * outlets);
        assert!((share - christiansen).abs() < 2e-3, "{outlets}: {share} and {christiansen}");
    }
    assert_eq!(sound(Kind::Hose).soaker_loss_pa(10.0 * PSI), None);
}

#[test]
fn what_holds_water_does_so_by_cushion_or_stretch() {
    let hose = alone(&part(
        Kind::Hose,
        "h",
        &[("length", q(30.0, "m")), ("diameter", q(0.02, "m")), ("compliance", q(2.0, "mL/bar/m"))],
    ));
    assert_relative_eq!(hose.vessel().expect("a stretch").volume_m3(3e5), 2e-6 * 30.0 * 3.0, max_relative = 1e-12);
    let stiff = hose.with(&[(Id::Compliance, q(0.0, "mL/bar/m"))]).expect("sound");
    assert_eq!(stiff.vessel(), None);
    // Boyle: at twice the absolute precharge half of the tank is water.
    let tank = sound(Kind::PressureTank);
    let twice_pa = 2.0 * (28.0 * PSI + crate::laws::vessel::ATMOSPHERE_PA) - crate::laws::vessel::ATMOSPHERE_PA;
    assert_relative_eq!(tank.vessel().expect("a cushion").volume_m3(twice_pa), 0.5 * 20.0 * 3.785411784e-3, max_relative = 1e-9);
}

// ---- what is refused

#[test]
fn numbers_that_contradict_each_other_are_told_with_both() {
    let build = |kind: Kind, parameters: &[(&str, Quantity)]| Part::of_words(kind, Some("x"), parameters).expect_err("refused");
    let psi = |value: f64| q(value, "psi");
    let errors = [
        build(
            Kind::Supply,
            &[("static_pressure", psi(40.0)), ("measured_pressure", psi(50.0)), ("measured_flow", q(5.0, "gpm"))],
        ),
        build(Kind::Supply, &[("static_pressure", psi(40.0)), ("measured_pressure", psi(30.0))]),
        build(Kind::PressureSwitch, &[("cut_in", psi(50.0)), ("cut_out", psi(50.0))]),
        build(Kind::Head, &[("nozzle", q(0.1, "inch")), ("arc", q(361.0, ""))]),
        build(Kind::Head, &[("rated_flow", q(1.0, "gpm"))]),
        build(Kind::Head, &[("nozzle", q(0.1, "inch")), ("range_low", psi(40.0)), ("range_high", psi(30.0))]),
        build(Kind::Hose, &[("length", q(1.0, "ft")), ("diameter", q(2.0, "mm")), ("roughness", q(1.0, "mm"))]),
        build(Kind::Soaker, &[("outlets", q(2.5, ""))]),
        build(Kind::Booster, &[]),
        build(Kind::Hose, &[("lenght", q(1.0, "ft"))]),
        Part::new(Kind::Hose).with_table(&[(1e5, 1e-4), (2e5, 2e-4)]).expect_err("a hose"),
        Part::new(Kind::Booster).with_curve(&[(0.0, 1e5)]).expect_err("one point"),
        Part::new(Kind::Head).with_table(&[(1e5, 1e-4)]).expect_err("one point"),
    ];
    for error in &errors {
        assert!(error.hint().is_some(), "{error}");
    }
    let told: Vec<String> = errors.iter().map(PartError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    supply 'x': the working pressure (50 psi) is above the static pressure (40 psi)
    supply 'x': a measurement needs both a pressure and a flow
    pressure_switch 'x': cut-in (50 psi) must be below cut-out (50 psi)
    head 'x': its arc is 361 degrees
    head 'x': a rated flow needs both a flow and a pressure
    head 'x': its operating range from 40 psi to 30 psi is empty
    hose 'x': roughness 1 mm fills the inside diameter of 2 mm
    soaker 'x': it must have a whole number of outlets from 1 to 10000, found 2.5
    booster 'x': it has no curve
    hose has no parameter 'lenght'
    hose: a table of pressure and flow belongs to a head
    booster: its curve needs at least two points, found 1
    head: its table needs at least two points, found 1
    ");
}

#[test]
fn a_copy_for_another_thread_is_equal_and_a_refused_sweep_value_can_be_put_right() {
    for &kind in Kind::ALL {
        let part = sound(kind);
        assert_eq!(part.detached(), part);
    }
    let mut hose = sound(Kind::Hose);
    let before = hose.clone();
    assert!(hose.set_si(Id::Length, -1.0).is_err());
    hose.set_si(Id::Length, before.value(Id::Length)).expect("the old length");
    assert_eq!(hose, before);
    assert_eq!(before.given().count(), before.spec().parameters.iter().filter(|number| before.si(number.id).is_some()).count());
}

#[test]
fn a_supply_keeps_the_resistance_of_its_service_line_until_it_is_measured_again() {
    let tap = |static_psi: f64| {
        let numbers = [
            (Id::StaticPressure, q(static_psi, "psi")),
            (Id::MeasuredPressure, q(44.0, "psi")),
            (Id::MeasuredFlow, q(6.0, "gpm")),
        ];
        Part::build(Kind::Supply, None, &numbers).expect("a tap")
    };
    let resistance = |part: &Part| match part.law(&Around { water: Water::default(), diameter_m: f64::NAN }) {
        Law::Source { resistance, .. } => resistance,
        law => panic!("a source, found {law:?}"),
    };
    let usual = tap(58.0);
    let mut weak = usual.clone();
    weak.set(Id::StaticPressure, q(50.0, "psi")).expect("a weaker main");
    approx::assert_relative_eq!(resistance(&weak), resistance(&usual));
    weak.set(Id::StaticPressure, q(40.0, "psi")).expect("below the reading of the test");
    approx::assert_relative_eq!(resistance(&weak), resistance(&usual));
    weak.set(Id::StaticPressure, q(50.0, "psi"))
        .and_then(|()| weak.set(Id::MeasuredPressure, q(43.0, "psi")))
        .expect("measured again");
    approx::assert_relative_eq!(resistance(&weak), resistance(&tap(58.0)) * 7.0 / 14.0, max_relative = 1e-12);
    // In place, as sweeps set it, only what is asked for changes.
    let mut varied = usual.clone();
    varied.set_si(Id::StaticPressure, 2.0 * usual.value(Id::StaticPressure)).expect("a pressure");
    assert!(resistance(&varied) > 2.0 * resistance(&usual));
}

#[test]
fn several_bucket_tests_give_the_resistance_of_least_squares() {
    let tap = Part::build(Kind::Supply, None, &[(Id::StaticPressure, q(4.0, "bar"))]).expect("a tap");
    let square = 4e12;
    let exact: Vec<(f64, f64)> = [1e-4, 2e-4, 2.5e-4].map(|flow| (flow, 4e5 - square * flow * flow)).to_vec();
    let resistance = |readings: &[(f64, f64)]| {
        let part = tap.clone().with_readings(readings, (Preference::Usual, Preference::Usual)).expect("readings");
        assert_eq!(part.readings(), readings);
        (4e5 - part.value(Id::MeasuredPressure)) / part.value(Id::MeasuredFlow).powi(2)
    };
    approx::assert_relative_eq!(resistance(&exact), square, max_relative = 1e-12);
    // Where readings scatter, no other resistance has a smaller sum of squares.
    let scattered: Vec<(f64, f64)> = exact.iter().zip([6e3, -9e3, 4e3]).map(|((flow, pa), off)| (*flow, pa + off)).collect();
    let sum = |square: f64| scattered.iter().map(|(flow, pa)| (4e5 - square * flow * flow - pa).powi(2)).sum::<f64>();
    let found = resistance(&scattered);
    assert!(sum(found) < sum(found * 1.001) && sum(found) < sum(found * 0.999));
    assert!(
        tap.with_readings(&[(1e-4, 5e5)], (Preference::Usual, Preference::Usual)).is_err(),
        "a gauge that rises with flow is refused"
    );
}

/// A value of a parameter in a row: mostly a sound one, or one of those that its rule may refuse.
fn value_of(id: Id) -> impl Strategy<Value = f64> {
    let usual = match id {
        Id::Length => 0.1..100.0,
        Id::Diameter => 0.004..0.06,
        Id::Roughness => 0.0..2e-4,
        Id::StaticPressure | Id::StaticAtTest | Id::LowestStatic => 3e5..6e5,
        Id::MeasuredPressure => 1e5..4e5,
        Id::MeasuredFlow => 1e-5..1e-3,
        _ => 0.0..5.0,
    };
    let odd = prop::sample::select(vec![0.0, -1.0, 1e-7, 0.02, 0.03, 5e5, 1e16, 1e-31, f64::NAN, f64::INFINITY]);
    prop_oneof![60 => usual, 1 => odd]
}

/// Parts whose laws in many cases are worked out by numbers alone, and what of them changes from case to case.
fn many_cases() -> impl Strategy<Value = (Part, Vec<Id>, Vec<Vec<f64>>, Vec<f64>)> {
    let cases = |kind: Kind, ids: &'static [Id]| {
        let given = prop::sample::subsequence(ids, 0..=ids.len().min(2));
        let changed = prop::sample::subsequence(ids, 0..=ids.len());
        (Just(kind), given, changed)
    };
    let hose = &[Id::Length, Id::Diameter, Id::Roughness, Id::MinorK, Id::HazenWilliamsC];
    let supply = &[Id::StaticPressure, Id::MeasuredPressure, Id::MeasuredFlow, Id::StaticAtTest, Id::LowestStatic];
    let valve = &[Id::K, Id::Cv, Id::Diameter];
    let kinds =
        prop_oneof![cases(Kind::Hose, hose), cases(Kind::Supply, supply), cases(Kind::Valve, valve), cases(Kind::Fitting, valve)];
    kinds.prop_flat_map(|(kind, given, changed)| {
        let values: Vec<_> = given.iter().map(|id| value_of(*id)).collect();
        let rows: Vec<_> = changed.iter().map(|id| prop::collection::vec(value_of(*id), 9)).collect();
        let beside = prop::collection::vec(prop_oneof![30 => 0.004..0.06, 1 => Just(f64::NAN)], 9);
        (values, rows, beside).prop_map(move |(values, rows, beside)| {
            let mut part = sound(kind);
            for (id, si) in given.iter().zip(values) {
                let before = part.clone();
                if part.set_si(*id, si).is_err() {
                    part = before;
                }
            }
            (part, changed.clone(), rows, beside)
        })
    })
}

proptest! {
    #[test]
    fn laws_in_many_cases_have_the_bits_of_each_by_itself((part, ids, rows, beside) in many_cases()) {
        let place = |id: &Id| part.spec().parameters.place_of(*id).expect("a parameter of its kind");
        let changed: Vec<(usize, &[f64])> = ids.iter().map(place).zip(rows.iter().map(Vec::as_slice)).collect();
        let kind = std::mem::discriminant(&part.law(&around(0.02)));
        let one_by_one: Option<Vec<[f64; 6]>> = (0..beside.len()).map(|row| {
            let mut one = part.clone();
            one.set_all_si(ids.iter().copied().zip(rows.iter().map(|values| values[row]))).ok()?;
            let law = one.law(&around(beside[row]));
            let terms = law.terms(true).filter(|_| std::mem::discriminant(&law) == kind && !law.lacks_bore())?;
            let pipe = match terms.curved {
                None => [0.0; 3],
                Some(Curved::Pipe(pipe)) => pipe.numbers(),
                Some(_) => return None,
            };
            Some([terms.offset_pa, terms.linear, terms.quadratic, pipe[0], pipe[1], pipe[2]])
        }).collect();
        let mut out = LawRows::default();
        let asked = Rows { changed: &changed, beside: Beside::Each(&beside), water: Water::default(), count: beside.len(), kind };
        let found = part.clone().law_rows(&asked, &mut out);
        prop_assert_eq!(found, one_by_one.is_some());
        for (row, expected) in one_by_one.iter().flatten().enumerate() {
            let [walls, reynolds, factor] = &out.pipe;
            let found = [out.offset_pa[row], out.linear[row], out.quadratic[row], walls[row], reynolds[row], factor[row]];
            prop_assert_eq!(found.map(f64::to_bits), expected.map(f64::to_bits), "row {}: {:?} and {:?}", row, found, expected);
        }
    }
}
