//! The laws that every steady solve must keep, on named gardens and on thousands of random ones.

#[path = "agreement/independent.rs"]
#[allow(dead_code)]
mod independent;
#[path = "solve/iterations.rs"]
mod iterations;
#[path = "solve/march.rs"]
mod march;
#[path = "solve/one_way.rs"]
mod one_way;
#[path = "solve/properties.rs"]
mod properties;
mod support;
#[path = "solve/textbook.rs"]
mod textbook;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Network, Solution, run};
use hosewright::parts::{Id, Kind, Placing};
use proptest::prelude::*;
use support::*;

fn psi(solution: &Solution, name: &str) -> f64 {
    solution.pressure_pa(name).expect("known").expect("fed") / PSI
}

fn gpm(solution: &Solution, name: &str) -> f64 {
    solution.flow_m3_per_s(name).expect("known") / GPM
}

/// Net flow out of every node, and the scale it is measured against.
fn imbalance(solution: &Solution) -> (f64, f64) {
    let layout = solution.garden.layout();
    let mut sums = vec![0.0; layout.number_of_nodes];
    let mut largest: f64 = 0.0;
    for (place, state) in solution.parts.iter().enumerate() {
        let joint = &layout.places[place];
        largest = largest.max(state.flow_m3_per_s.abs());
        match solution.garden.parts()[place].spec().placing {
            Placing::Inline => {
                sums[joint.from] += state.flow_m3_per_s;
                sums[joint.to] -= state.flow_m3_per_s;
            }
            Placing::Source => sums[joint.to] -= state.flow_m3_per_s,
            Placing::Outlet => sums[joint.from] += state.flow_m3_per_s,
            Placing::AtPoint => {}
        }
    }
    (sums.iter().fold(0.0, |most, sum: &f64| most.max(sum.abs())), largest)
}

#[test]
fn the_two_zones_give_what_an_independent_hand_calculation_gives() {
    let garden = two_zones();
    let solution = run(&garden, &["berries"]).expect("a steady state");
    // The far head by bisection on the flow, with every loss written out: friction by its own Colebrook iteration.
    let flow = {
        let (mut low, mut high) = (0.0, 10.0 * GPM);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if margin(middle) > 0.0 { low = middle } else { high = middle }
        }
        low
    };
    assert!((gpm(&solution, "berry") - flow / GPM).abs() < 1e-8, "{} and {}", gpm(&solution, "berry"), flow / GPM);
    assert_eq!(gpm(&solution, "bed"), 0.0);
    assert_eq!(solution.pressure_pa("bed").expect("known"), None);
}

/// Pressure left over at the berry head for a flow.
fn margin(flow: f64) -> f64 {
    let (rho, mu, g) = (999.1, 1.138e-3, 9.80665);
    let friction = |length: f64, diameter: f64| {
        let area = std::f64::consts::PI * diameter * diameter / 4.0;
        let speed = flow / area;
        let re = rho * speed * diameter / mu;
        let cole =
            |re: f64| (0..100).fold(0.02f64, |f, _| (-2.0 * (1.5e-6 / diameter / 3.7 + 2.51 / (re * f.sqrt())).log10()).powi(-2));
        let f = if re <= 2000.0 {
            64.0 / re.max(1e-9)
        } else if re >= 4000.0 {
            cole(re)
        } else {
            0.032 + (cole(4000.0) - 0.032) * (re - 2000.0) / 2000.0
        };
        f * length / diameter * rho * speed * speed / 2.0
    };
    let minor = |k: f64, diameter: f64| k * rho / 2.0 * (flow / (std::f64::consts::PI * diameter * diameter / 4.0)).powi(2);
    let diameter = 0.625 * 0.0254;
    let tap = 58.0 * PSI - 14.0 * PSI * (flow / (6.0 * GPM)).powi(2);
    let nozzle_area = 0.96 * std::f64::consts::PI * (5.0 / 32.0 * 0.0254f64).powi(2) / 4.0;
    let head = rho / 2.0 * (flow / nozzle_area).powi(2);
    tap - friction(100.0 * FT, diameter) - minor(2.3, diameter) - friction(60.0 * FT, diameter) - rho * g * 2.0 * FT - head
}

#[test]
fn a_check_valve_against_the_flow_passes_exactly_nothing() {
    let second =
        line(&[supply("barrel", 20.0, 15.0, 5.0), hose("barrel hose", 30.0, 0.75), part(Kind::CheckValve, "check", &[])]);
    let garden =
        line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), part(Kind::Point, "here", &[]), head("a", 0.1)]);
    let solution = run(&garden.add_source("here", &second).expect("joins"), &[]).expect("a steady state");
    assert_eq!(gpm(&solution, "check"), 0.0);
    assert!(psi(&solution, "here") > 20.0);
    // Behind the shut check valve its own source rules.
    assert!((psi(&solution, "barrel hose") - 20.0).abs() < 1e-9);
}

#[test]
fn a_washer_follows_the_bore_of_the_hose_beside_it_and_needs_one() {
    let restrictor = part(Kind::Restrictor, "coupler", &[("bore", q(0.375, "inch"))]);
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.5), restrictor.clone(), head("a", 0.2)]);
    let mut network = Network::new(&garden, &garden.opened(&[]).expect("no zones")).expect("sound");
    let feed = garden.find("feed").expect("known");
    let diameter = garden.parts()[feed].id_of("diameter").expect("known");
    network.set(feed, diameter, 0.75 * 0.0254).expect("a diameter");
    network.solve().expect("a steady state");
    let rebuilt = run(&garden.with("feed.diameter", q(0.75, "inch")).expect("a diameter"), &[]).expect("a steady state");
    let swept = network.flow(garden.find("a").expect("known"));
    assert!((swept / rebuilt.flow_m3_per_s("a").expect("known") - 1.0).abs() < 1e-9);
    // Without a hose anywhere it is not known what it narrows.
    let alone = line(&[supply("tap", 58.0, 44.0, 6.0), restrictor, head("a", 0.2)]);
    insta::assert_snapshot!(
        run(&alone, &[]).expect_err("no hose"),
        @"restrictor 'coupler' has no diameter and no adjacent hose to take one from"
    );
}

#[test]
fn a_fitting_without_a_bore_is_refused_when_it_begins_to_lose() {
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), part(Kind::Fitting, "elbow", &[("k", q(0.0, ""))]), head("a", 0.2)]);
    let mut network = Network::new(&garden, &garden.opened(&[]).expect("no zones")).expect("sound");
    let error = network.set(garden.find("elbow").expect("known"), Id::K, 2.0).expect_err("no diameter");
    insta::assert_snapshot!(error, @"fitting 'elbow' has no diameter and no adjacent hose to take one from");
}

#[test]
fn a_regulator_holds_its_setting_or_is_wide_open() {
    for (set_psi, holds) in [(30.0, true), (70.0, false)] {
        let regulator = part(Kind::Regulator, "reg", &[("set", q(set_psi, "psi"))]);
        let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), regulator, hose("on", 20.0, 0.75)])
            .then_branches(&[head("a", 0.1), head("b", 0.12)])
            .expect("joins");
        let solution = run(&garden, &[]).expect("a steady state");
        if holds {
            assert!((psi(&solution, "reg") - set_psi).abs() < 1e-9, "{}", psi(&solution, "reg"));
        } else {
            assert!(psi(&solution, "reg") < psi(&solution, "feed"));
        }
    }
}

#[test]
fn a_relief_valve_is_exactly_shut_below_its_setting_and_opens_above() {
    for (set_psi, opens) in [(57.0, false), (40.0, true)] {
        let relief = part(Kind::Relief, "relief", &[("set", q(set_psi, "psi"))]);
        let garden =
            line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), relief, hose("on", 20.0, 0.75), head("a", 0.1)]);
        let solution = run(&garden, &[]).expect("a steady state");
        if opens {
            assert!(gpm(&solution, "relief") > 0.1);
            assert!(psi(&solution, "relief") > 40.0);
        } else {
            assert_eq!(gpm(&solution, "relief"), 0.0);
        }
    }
}

#[test]
fn a_head_above_the_water_is_dry() {
    let garden = line(&[supply("tap", 20.0, 15.0, 5.0), hose("feed", 50.0, 0.75)])
        .then_branches(&[line(&[climb("hill", 60.0), head("high", 0.1)]), head("low", 0.1)])
        .expect("joins");
    let solution = run(&garden, &[]).expect("a steady state");
    assert_eq!(gpm(&solution, "high"), 0.0);
    assert_eq!(psi(&solution, "high"), 0.0);
    assert!(gpm(&solution, "low") > 0.5);
}

#[test]
fn two_regulators_in_a_row_hold_the_lower_setting() {
    for (first, second) in [(30.0, 40.0), (40.0, 30.0)] {
        let regulator = |name: &str, psi: f64| part(Kind::Regulator, name, &[("set", q(psi, "psi"))]);
        let garden = line(&[
            supply("tap", 58.0, 44.0, 6.0),
            hose("feed", 50.0, 0.75),
            regulator("first", first),
            regulator("second", second),
            head("a", 0.1),
        ]);
        let solution = run(&garden, &[]).expect("a steady state");
        assert!(psi(&solution, "first") <= first + 1e-9);
        assert!((psi(&solution, "second") - 30.0).abs() < 0.3, "{}", psi(&solution, "second"));
        assert!((psi(&solution, "a") - psi(&solution, "second")).abs() < 1e-9);
    }
}

#[test]
fn a_regulator_beside_a_hose_shuts_when_the_hose_brings_more() {
    let start = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75)]);
    let both = start
        .then_branches(&[part(Kind::Regulator, "reg", &[("set", q(20.0, "psi"))]), hose("around", 20.0, 0.75)])
        .expect("joins");
    let solution = run(&both.then(&head("a", 0.1)).expect("joins"), &[]).expect("a steady state");
    assert_eq!(gpm(&solution, "reg"), 0.0);
    assert!(psi(&solution, "a") > 40.0);
}

#[test]
fn two_supplies_feed_one_head_and_the_stronger_gives_more() {
    let well = line(&[supply("well", 50.0, 40.0, 6.0), hose("well hose", 50.0, 0.75)]);
    let garden =
        line(&[supply("tap", 58.0, 48.0, 6.0), hose("feed", 50.0, 0.75), part(Kind::Point, "here", &[]), head("a", 0.3)]);
    let solution = run(&garden.add_source("here", &well).expect("joins"), &[]).expect("a steady state");
    let (tap, well, head) = (gpm(&solution, "tap"), gpm(&solution, "well"), gpm(&solution, "a"));
    assert!(tap > well && well > 0.0, "{tap} and {well}");
    assert!((tap + well - head).abs() < 1e-9 * head);
}

#[test]
fn pumps_in_series_add_their_rise_and_pumps_side_by_side_share_the_flow() {
    let points = [(0.0, 40.0), (10.0, 20.0)];
    let before = || line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 20.0, 0.75)]);
    let after = line(&[hose("on", 20.0, 0.75), head("a", 0.15)]);
    let series = line(&[before(), booster("one", &points), booster("two", &points), after.clone()]);
    let solution = run(&series, &[]).expect("a steady state");
    let rise = |solution: &Solution, name: &str| -solution.state(name).expect("known").loss_pa().expect("fed") / PSI;
    let expected = 40.0 - 2.0 * gpm(&solution, "one");
    assert!((rise(&solution, "one") - expected).abs() < 1e-9 && (rise(&solution, "two") - expected).abs() < 1e-9);
    let beside = before().then_branches(&[booster("one", &points), booster("two", &points)]).expect("joins");
    let solution = run(&beside.then(&after).expect("joins"), &[]).expect("a steady state");
    let (one, two, head) = (gpm(&solution, "one"), gpm(&solution, "two"), gpm(&solution, "a"));
    assert!((one - two).abs() < 1e-9 && (one + two - head).abs() < 1e-9, "{one}, {two}, {head}");
}

#[test]
fn a_pump_with_a_flat_curve_drives_its_garden() {
    let garden = line(&[
        supply("tap", 58.0, 44.0, 6.0),
        booster("pump", &[(0.0, 30.0), (8.0, 30.0), (9.0, 0.0)]),
        hose("feed", 20.0, 0.75),
    ])
    .then_branches(&[head("a", 0.1), head("b", 0.12)])
    .expect("joins");
    let solution = run(&garden, &[]).expect("a steady state");
    assert!((psi(&solution, "pump") - psi(&solution, "tap") - 30.0).abs() < 1e-9);
}

#[test]
fn water_is_driven_back_through_a_weak_pump_by_way_of_a_check_valve() {
    let garden_parts = [
        supply("strong", 80.0, 70.0, 10.0),
        hose("a", 20.0, 0.75),
        head("b", 0.1),
        supply("weak", 10.0, 9.0, 10.0),
        hose("c", 20.0, 0.75),
        head("d", 0.1),
        booster("pump", &[(0.0, 5.0), (10.0, 1.0)]),
        part(Kind::CheckValve, "check", &[]),
    ];
    let parts = garden_parts.iter().map(|garden| (*garden.parts()[0]).clone()).collect();
    let joints = [(0, 0), (0, 1), (1, 1), (2, 2), (2, 3), (3, 3), (3, 4), (1, 4)];
    let solution = run(&Garden::from_joints(parts, &joints).expect("joins"), &[]).expect("a steady state");
    assert!(gpm(&solution, "check") > 1.0 && gpm(&solution, "pump") == -gpm(&solution, "check"));
    assert!((psi(&solution, "pump") - psi(&solution, "c") - 5.0).abs() < 1e-6);
}

#[test]
fn a_ring_of_equal_halves_shares_its_flow() {
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 20.0, 0.75), hose("left", 60.0, 0.5)])
        .then(&head("a", 0.15))
        .and_then(|line| line.connect("feed", "left", &hose("right", 60.0, 0.5)))
        .expect("joins");
    let solution = run(&garden, &[]).expect("a steady state");
    assert!((gpm(&solution, "left") - gpm(&solution, "right")).abs() < 1e-9);
    assert!((gpm(&solution, "left") * 2.0 - gpm(&solution, "a")).abs() < 1e-9);
}

#[test]
fn a_hose_across_two_zones_waters_the_one_that_is_shut() {
    let crossed = two_zones().connect("bed line", "berry line", &hose("cross", 20.0, 0.5)).expect("joins");
    let solution = run(&crossed, &["berries"]).expect("a steady state");
    assert!(gpm(&solution, "bed") > 0.5);
    assert!((gpm(&solution, "cross") + gpm(&solution, "bed")).abs() < 1e-9, "{}", gpm(&solution, "cross"));
    assert_eq!(gpm(&solution, "beds"), 0.0);
}

#[test]
fn climbs_that_do_not_close_a_loop_are_refused() {
    let up = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 20.0, 0.75), climb("hill", 10.0)]);
    let bent = up.connect("feed", "hill", &hose("tunnel", 30.0, 0.5)).expect("joins");
    let error = run(&bent, &[]).expect_err("a crooked loop");
    insta::assert_snapshot!(error, @"elevations do not close around the loop through 'tunnel': they are off by 10 ft");
    let both = line(&[hose("tunnel", 30.0, 0.5), climb("stairs", 10.0)]);
    let level = up.connect("feed", "hill", &both).and_then(|garden| garden.branch("hill", &head("a", 0.1))).expect("joins");
    run(&level, &[]).expect("a steady state");
    // A number that bends the loop later is found out by the solve.
    let mut network = Network::new(&level, &level.opened(&[]).expect("no zones")).expect("sound");
    let stairs = level.find("stairs").expect("known");
    network.set(stairs, Id::Height, 5.0).expect("a height");
    assert_eq!(network.solve().expect_err("a crooked loop").worst_place, stairs);
    network.set(stairs, Id::Height, 10.0 * FT).expect("a height");
    network.solve().expect("a steady state");
}

#[test]
fn water_between_shut_valves_has_the_pressure_it_filled_to_or_none() {
    // Two checks against each other's push: what lies between them fills from the tap and goes no further.
    let relief = part(Kind::Relief, "relief", &[("set", q(90.0, "psi"))]);
    let between = line(&[part(Kind::CheckValve, "first", &[]), relief, part(Kind::CheckValve, "second", &[])]);
    let strong = line(&[supply("strong", 80.0, 70.0, 6.0), hose("strong hose", 10.0, 0.75)]);
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 20.0, 0.75), between, head("a", 0.1)])
        .add_source("second", &strong)
        .expect("joins");
    let solution = run(&garden, &[]).expect("a steady state");
    assert_eq!(gpm(&solution, "first"), 0.0);
    assert_eq!(gpm(&solution, "second"), 0.0);
    assert!((psi(&solution, "relief") - 58.0).abs() < 1e-9, "{}", psi(&solution, "relief"));
}

fn close(a: f64, b: f64, relative: f64, absolute: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs()) + absolute
}

/// Pressures at all heads, in order.
fn head_pressures(garden: &Garden) -> Vec<f64> {
    let solution =
        run(garden, &[]).unwrap_or_else(|error| panic!("{error}\n{}", hosewright::garden::drawing(garden, Default::default())));
    (0..garden.parts().len())
        .filter(|&place| garden.parts()[place].kind() == Kind::Head)
        .map(|place| solution.parts[place].pressure_out_pa.unwrap_or(f64::NAN))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn mass_closes_at_every_node(growths in growths(24)) {
        let garden = tree(&growths);
        let solution = run(&garden, &[]).map_err(|error| TestCaseError::fail(format!("{error}\n{}", hosewright::garden::drawing(&garden, Default::default()))))?;
        let (worst, largest) = imbalance(&solution);
        prop_assert!(worst <= 1e-9 * largest + 1e-12, "off by {worst} of {largest}");
    }

    #[test]
    fn more_demand_never_raises_the_pressure_at_another_head(growths in growths(16), diameter_in in 0.05f64..0.3) {
        let garden = tree(&growths);
        let before = head_pressures(&garden);
        let more = garden.branch("feed", &head("thirsty", diameter_in)).expect("joins");
        let after = head_pressures(&more);
        // Where water gets no longer there is no pressure, which is less than any.
        let least = |pressure: f64| if pressure.is_nan() { f64::NEG_INFINITY } else { pressure };
        for (before, after) in before.iter().zip(&after) {
            prop_assert!(least(*after) <= least(*before) + 1e-3, "{before} rose to {after}");
        }
    }

    #[test]
    fn the_order_of_branches_does_not_matter(branches in prop::collection::vec((5.0f64..150.0, 0.3f64..1.0, 0.05f64..0.25), 2..7)) {
        let make = |index: usize, (length, diameter, nozzle): (f64, f64, f64)| {
            line(&[hose(&format!("h{index}"), length, diameter), head(&format!("n{index}"), nozzle)])
        };
        let lines: Vec<Garden> = branches.iter().enumerate().map(|(i, b)| make(i, *b)).collect();
        let turned: Vec<Garden> = lines.iter().rev().cloned().collect();
        let start = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 60.0, 0.75)]);
        let one = run(&start.then_branches(&lines).expect("joins"), &[]).expect("solves");
        let other = run(&start.then_branches(&turned).expect("joins"), &[]).expect("solves");
        for index in 0..lines.len() {
            let name = format!("n{index}");
            prop_assert!(close(psi(&one, &name), psi(&other, &name), 1e-9, 1e-9));
        }
    }

    #[test]
    fn loops_close_too(growths in growths(20), joins in joins()) {
        let flat: Vec<_> = growths.into_iter().filter(|(_, growth)| !matches!(growth, Growth::Climb { .. })).collect();
        let garden = with_loops(tree(&flat), &joins);
        let solution = run(&garden, &[]).map_err(|error| TestCaseError::fail(format!("{error}\n{}", hosewright::garden::drawing(&garden, Default::default()))))?;
        let (worst, largest) = imbalance(&solution);
        prop_assert!(worst <= 1e-9 * largest + 1e-12, "off by {worst} of {largest}");
    }
}

/// How often each method is taken; run with `--ignored --nocapture`. CENSUS says how many gardens.
#[test]
#[ignore = "a census for those who work on the solver"]
fn census_of_methods() {
    use proptest::strategy::{Strategy, ValueTree};
    use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
    let number = |name: &str, default: u64| std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(default);
    let (gardens, seed, show) = (number("CENSUS", 1000), number("SEED", 1), number("SHOW", 2));
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[seed as u8; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let (mut newton, mut one_by_one, mut relaxed, mut failed, mut iterations, mut most) = (0, 0, 0, 0, 0, 0);
    for index in 0..gardens {
        let mut garden = tree(&growths(24).new_tree(&mut runner).expect("a tree").current());
        if index % 2 == 1 {
            garden = with_loops(garden, &joins().new_tree(&mut runner).expect("joins").current());
        }
        if std::env::var("ONLY").is_ok_and(|only| only != index.to_string()) {
            continue;
        }
        match run(&garden, &[]) {
            Ok(solution) => match solution.convergence.method {
                hosewright::hydraulics::Method::OneByOne => one_by_one += 1,
                hosewright::hydraulics::Method::Relaxed => {
                    relaxed += 1;
                    if relaxed <= show {
                        println!("RELAXED {index}\n{}", hosewright::garden::drawing(&garden, Default::default()));
                    }
                }
                _ => {
                    newton += 1;
                    iterations += solution.convergence.iterations;
                    most = most.max(solution.convergence.iterations);
                }
            },
            Err(hosewright::hydraulics::RunError::Garden(_)) => {}
            Err(error) => {
                failed += 1;
                if failed <= show {
                    println!("FAILED {index} {error}\n{}", hosewright::garden::drawing(&garden, Default::default()));
                }
            }
        }
    }
    let mean = iterations as f64 / newton as f64;
    println!(
        "newton {newton} (mean {mean:.1}, most {most} iterations), one by one {one_by_one}, relaxed {relaxed}, failed {failed}"
    );
}
