//! The water hammer against its formulas: Korteweg, Joukowsky, Michaud, scaling, thresholds of ratings, and what is refused.

use super::*;
use crate::findings::Finding;
use crate::garden::Garden;
use crate::laws::section::area_m2;
use crate::parts::Kind;
use crate::quantity::UnitSystem;
use crate::support::*;
use crate::told::Told;
use crate::water::Water;
use approx::assert_relative_eq;
use proptest::prelude::*;

fn stiff(psi: f64) -> Garden {
    part(Kind::Supply, "tap", &[("static_pressure", q(psi, "psi"))])
}

/// A hose with a smooth wall that gives way by so many mL/bar/m.
fn stretchy(name: &str, length_m: f64, diameter_m: f64, stretch: f64) -> Garden {
    let numbers = [
        ("length", q(length_m, "m")),
        ("diameter", q(diameter_m, "m")),
        ("compliance", q(stretch, "mL/bar/m")),
        ("roughness", q(0.0, "mm")),
    ];
    part(Kind::Hose, name, &numbers)
}

/// A stiff tap, one hose, a valve without loss and a small head.
fn plain(length_m: f64, diameter_m: f64, stretch: f64, nozzle_m: f64) -> Garden {
    let free = part(Kind::Valve, "beds", &[("k", q(0.0, ""))]);
    line(&[
        stiff(58.0),
        stretchy("feed", length_m, diameter_m, stretch),
        free,
        part(Kind::Head, "bed", &[("nozzle", q(nozzle_m, "m"))]),
    ])
}

fn struck(garden: &Garden, time_s: f64) -> WaterHammer {
    water_hammer(garden, &["beds"], Some(time_s)).expect("a water hammer")
}

fn rise_pa(water_hammer: &WaterHammer) -> f64 {
    let valve = water_hammer.at_valve().expect("the valve");
    valve.highest_pa - valve.before_pa
}

#[test]
fn the_wave_speed_is_that_of_sound_in_a_rigid_wall_and_kortewegs_in_one_that_gives() {
    let water = Water::default();
    let (density, bulk) = (water.density_kg_per_m3, water.bulk_modulus_pa());
    assert_relative_eq!(wave_speed(density, bulk, 0.02, 0.0), (bulk / density).sqrt(), max_relative = 1e-12);
    assert_relative_eq!(wave_speed(density, bulk, 0.02, 0.0), water.sound_speed_m_per_s, max_relative = 1e-9);
    // Korteweg's formula, from memory: a = sqrt((K/rho) / (1 + K D / (E e))).
    for (diameter_m, wall) in
        [(0.0127, DEFAULT_HOSE_WALL), (0.025, DEFAULT_PIPE_WALL), (0.1, Wall { thickness_m: 5e-3, modulus_pa: 2e11 })]
    {
        let korteweg = ((bulk / density) / (1.0 + bulk * diameter_m / (wall.modulus_pa * wall.thickness_m))).sqrt();
        assert_relative_eq!(
            wave_speed(density, bulk, diameter_m, compliance_of_wall(diameter_m, wall)),
            korteweg,
            max_relative = 1e-12
        );
    }
    // Soft garden hoses carry waves at some hundred m/s, rigid plastic pipe at some five hundred. Common practice, no source.
    let of = |wall: Wall| wave_speed(density, bulk, 0.019, compliance_of_wall(0.019, wall));
    assert!((80.0..200.0).contains(&of(DEFAULT_HOSE_WALL)), "{}", of(DEFAULT_HOSE_WALL));
    assert!((400.0..800.0).contains(&of(DEFAULT_PIPE_WALL)), "{}", of(DEFAULT_PIPE_WALL));
}

#[test]
fn formulas_meet_at_the_reflection_time() {
    let (length_m, speed, a) = (30.0, 1.2, 300.0);
    let reflection_s = reflection_time_s([(length_m, a)]);
    assert_eq!(reflection_s, 0.2);
    assert_relative_eq!(
        michaud_pa(1000.0, [(length_m, speed)], reflection_s),
        joukowsky_pa(1000.0, a, speed),
        max_relative = 1e-12
    );
    assert_relative_eq!(joukowsky_pa(1000.0, a, speed), 3.6e5, max_relative = 1e-12);
    // Lines in series: times add up, and so do moving masses.
    assert_relative_eq!(reflection_time_s([(30.0, 300.0), (10.0, 100.0)]), 0.4, max_relative = 1e-12);
    let both = michaud_pa(1000.0, [(30.0, 1.2), (10.0, 2.0)], 0.5);
    let apart = michaud_pa(1000.0, [(30.0, 1.2)], 0.5) + michaud_pa(1000.0, [(10.0, 2.0)], 0.5);
    assert_relative_eq!(both, apart, max_relative = 1e-12);
}

#[test]
fn the_textbook_rise_is_joukowskys_up_to_the_reflection_time_and_michauds_beyond() {
    let garden = plain(30.0, 0.05, 2.0, 0.003);
    let reflection_s = struck(&garden, 0.0).reflection_time_s;
    let formula = |times: f64| {
        let water_hammer = struck(&garden, times * reflection_s);
        (water_hammer.formula_pa() / water_hammer.joukowsky_pa, water_hammer.closing_time_s)
    };
    assert_eq!(formula(0.0).0, 1.0);
    assert_eq!(formula(0.99).0, 1.0);
    assert_relative_eq!(formula(2.0).0, 0.5, max_relative = 1e-9);
    assert_relative_eq!(formula(10.0).0, 0.1, max_relative = 1e-9);
    assert_relative_eq!(formula(10.0).1, 10.0 * reflection_s, max_relative = 1e-12);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    #[test]
    fn at_once_the_rise_is_density_times_wave_speed_times_speed(
        length_m in 5.0f64..60.0, diameter_m in 0.02f64..0.06, stretch in 0.5f64..8.0, nozzle_m in 0.001f64..0.004,
    ) {
        let garden = plain(length_m, diameter_m, stretch, nozzle_m);
        let found = struck(&garden, 0.0);
        let water = Water::default();
        let (density, stretch_si) = (water.density_kg_per_m3, stretch * 1e-6 / 1e5);
        let a = (1.0 / (density * (1.0 / water.bulk_modulus_pa() + stretch_si / area_m2(diameter_m)))).sqrt();
        let flow = found.solution.flow_m3_per_s("bed").expect("known");
        let expected_pa = density * a * flow / area_m2(diameter_m);
        prop_assert!((found.joukowsky_pa / expected_pa - 1.0).abs() < 1e-9);
        prop_assert!((found.reflection_time_s / (2.0 * length_m / a) - 1.0).abs() < 1e-9);
        let friction_pa = 58.0 * PSI - found.at_valve().expect("the valve").before_pa;
        let excess_pa = rise_pa(&found) - expected_pa;
        prop_assert!(excess_pa > -1e-6 * expected_pa && excess_pa <= 1.01 * friction_pa + 1.0, "{excess_pa} Pa of {friction_pa}");
        // Nothing but the valve is struck harder than the hose before it.
        prop_assert!(found.hardest().expect("parts").highest_pa <= found.at_valve().expect("the valve").highest_pa + 1.0);
    }

    #[test]
    fn a_slower_closing_never_strikes_harder(first_s in 0.0f64..1.0, more_s in 0.01f64..2.0) {
        let garden = plain(30.0, 0.03, 2.0, 0.003);
        let (fast, slow) = (struck(&garden, first_s), struck(&garden, first_s + more_s));
        prop_assert!(rise_pa(&slow) <= rise_pa(&fast) * (1.0 + 1e-3) + 10.0, "{} and {}", rise_pa(&fast), rise_pa(&slow));
        prop_assert_eq!(fast.shut_in(first_s + more_s).expect("a water hammer").parts, slow.parts);
    }
}

#[test]
fn twice_the_length_doubles_the_times_and_leaves_the_rise() {
    let (short, long) = (struck(&plain(20.0, 0.05, 2.0, 0.002), 0.0), struck(&plain(40.0, 0.05, 2.0, 0.002), 0.0));
    assert_relative_eq!(long.reflection_time_s, 2.0 * short.reflection_time_s, max_relative = 1e-9);
    assert_relative_eq!(rise_pa(&long), rise_pa(&short), max_relative = 1e-2);
}

#[test]
fn without_friction_the_pressure_falls_as_far_as_it_rose() {
    let found = struck(&plain(30.0, 0.1, 2.0, 0.002), 0.0);
    let valve = found.at_valve().expect("the valve");
    assert_relative_eq!(valve.before_pa - valve.lowest_pa, valve.highest_pa - valve.before_pa, max_relative = 2e-2);
    let trace = &found.trace;
    assert_eq!(trace.time_s.len(), trace.valve_pa.len());
    assert!(trace.time_s.windows(2).all(|two| two[0] < two[1]));
    assert!(trace.check_pa.is_empty(), "without a check valve there is nothing to tell of one");
    // Until the wave is back the pressure stands.
    let until = trace.time_s.iter().position(|&time_s| time_s > 0.9 * found.reflection_time_s).expect("followed so long");
    for &pressure_pa in &trace.valve_pa[2..until] {
        assert_relative_eq!(pressure_pa, trace.valve_pa[2], max_relative = 1e-3);
    }
}

#[test]
fn a_part_is_told_over_or_near_its_rating_right_at_the_pressure_that_strikes_it() {
    let garden = plain(30.0, 0.05, 2.0, 0.003);
    let struck_pa = struck(&garden, 0.0).parts.iter().find(|part| part.hose.is_some()).expect("a hose").highest_pa;
    let codes = |share: f64| -> Vec<&'static str> {
        let rated = garden.with("feed.pressure_rating", q(share * struck_pa / PSI, "psi")).expect("sound");
        struck(&rated, 0.0).findings().iter().map(Finding::code).collect()
    };
    assert!(codes(0.999).contains(&"water-hammer-over-rating"));
    assert!(codes(1.001).contains(&"water-hammer-near-rating") && !codes(1.001).contains(&"water-hammer-over-rating"));
    assert!(codes(1.0 / 0.8 * 0.999).contains(&"water-hammer-near-rating"));
    assert!(codes(1.0 / 0.8 * 1.001).is_empty(), "{:?}", codes(1.0 / 0.8 * 1.001));
    // Without a rating that is what is said.
    assert!(struck(&garden, 0.0).findings().iter().any(|finding| finding.code() == "water-hammer-no-rating"));
}

#[test]
fn suction_is_told_when_the_pressure_swings_below_the_air_and_parting_when_below_vapor() {
    // The fall is as large as the rise: 58 psi of main bear a surge of 58 psi.
    let codes = |nozzle_m: f64| {
        let garden = plain(30.0, 0.02, 0.2, nozzle_m);
        let found = struck(&garden, 0.0);
        let lowest_pa = found.parts.iter().map(|part| part.lowest_pa).fold(f64::INFINITY, f64::min);
        let codes: Vec<&'static str> = found.findings().iter().map(Finding::code).collect();
        (lowest_pa, codes.contains(&"water-hammer-downsurge"), codes.contains(&"water-hammer-column-separation"))
    };
    let mut seen = [false; 3];
    for step in 0..26 {
        let (lowest_pa, sucks, parts) = codes(0.003 + 0.0001 * f64::from(step));
        let vapor_pa = plain(30.0, 0.02, 0.2, 0.001).vapor_gauge_pa();
        let expected = if lowest_pa >= 0.0 {
            0
        } else if lowest_pa > vapor_pa {
            1
        } else {
            2
        };
        assert_eq!((sucks, parts), (expected == 1, expected == 2), "{lowest_pa} Pa");
        seen[expected] = true;
    }
    assert_eq!(seen, [true; 3], "all three were tried");
}

#[test]
fn only_what_lies_on_the_way_is_marked_so_and_comes_first_in_its_order() {
    let garden = stiff(58.0)
        .then(&stretchy("feed", 20.0, 0.03, 2.0))
        .and_then(|garden| {
            let free = |name: &str| part(Kind::Valve, name, &[("k", q(0.0, ""))]);
            garden.then_branches(&[
                line(&[free("beds"), stretchy("bed hose", 10.0, 0.02, 2.0), head("bed", 0.1)]),
                line(&[stretchy("side", 15.0, 0.02, 2.0), free("rows"), head("row", 0.1)]),
            ])
        })
        .expect("joins");
    let found = struck(&garden, 0.0);
    let on_the_way: Vec<&str> = found.parts.iter().filter(|part| part.on_the_way).map(|part| garden.name(part.place)).collect();
    assert_eq!(on_the_way, ["tap", "feed", "beds"]);
    assert!(found.parts.iter().skip_while(|part| part.on_the_way).all(|part| !part.on_the_way));
    let side = found.parts.iter().find(|part| garden.name(part.place) == "side").expect("struck too");
    assert!(side.highest_pa > side.before_pa, "a side branch feels the surge");
    assert!(found.parts.iter().all(|part| garden.name(part.place) != "bed hose"), "what lies downstream the valve empties");
}

#[test]
fn the_card_tells_time_formulas_and_the_hardest_place() {
    let garden = plain(30.0, 0.05, 2.0, 0.003);
    insta::assert_snapshot!(struck(&garden, 0.1).card(UnitSystem::Metric), @r"
    Valve 'beds' closes in 0.1 s: pressure upstream of it goes from 4 bar up to 4.3 bar and down to 3.7 bar
    That is faster than a wave takes to the source and back, 0.2 s; the formula gives 0.3 bar.
    The highest pressure is 4.3 bar, at 'beds'.
    ");
    let assumed = garden.with("feed.length", q(12.0, "m")).expect("sound");
    insta::assert_snapshot!(struck(&assumed, 2.0).card(UnitSystem::Us), @r"
    Valve 'beds' closes in 2 s: pressure upstream of it goes from 58 psi up to 58.2 psi and down to 57.9 psi
    That is slower than a wave takes to the source and back, 0.078 s; the formula gives 0.17 psi, and 4.3 psi if it closed at once.
    The highest pressure is 58.2 psi, at 'beds'.
    ");
}

#[test]
fn water_hammers_that_cannot_be_told_say_why() {
    let garden = plain(30.0, 0.05, 2.0, 0.003);
    let shut =
        line(&[stiff(58.0), stretchy("feed", 5.0, 0.02, 2.0), part(Kind::Valve, "beds", &[]), part(Kind::Point, "end", &[])]);
    let bare = line(&[stiff(58.0), part(Kind::Valve, "beds", &[("k", q(0.0, ""))]), head("bed", 0.1)]);
    let errors = [
        water_hammer(&garden, &[], None).expect_err("no zone"),
        water_hammer(&garden, &["rows"], None).expect_err("unknown"),
        water_hammer(&garden, &["beds"], Some(-0.1)).expect_err("no time"),
        water_hammer(&garden, &["beds"], Some(f64::NAN)).expect_err("no time"),
        water_hammer(&shut, &["beds"], None).expect_err("no flow"),
        water_hammer(&bare, &["beds"], None).expect_err("no hose"),
    ];
    assert!(errors.iter().all(|error| error.hint().is_some()));
    let told: Vec<String> = errors.iter().map(WaterHammerError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    no zone is named, so no valve closes
    there is no valve called 'rows' in this garden
    the closing time must be zero or above, found -0.1 s
    the closing time must be zero or above, found not a number s
    valve 'beds' has no flow, so closing it makes no water hammer
    no hose or pipe leads to valve 'beds'
    ");
}
