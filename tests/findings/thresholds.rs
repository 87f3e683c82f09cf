//! Every threshold decides its findings: set right beyond what a garden has it brings one, set right before that it does not.

use super::gallery::sound_with_tank;
use super::trade::{daily, drip, filter, pipe};
use super::*;
use hosewright::findings::limits::Threshold;
use hosewright::findings::{DECIDED, Entry, of_log};
use hosewright::operation::{Log, operate};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// How near both sides lie to a threshold, as a share of it.
const NEAR: f64 = 1e-4;

/// Settings far from what any garden has.
const NEVER: f64 = 1e9;

fn judged(garden: &Garden, set: &[(Threshold, f64)]) -> Garden {
    garden.judged_by(&Arc::new(set.iter().map(|(threshold, si)| (threshold.name, *si)).collect::<BTreeMap<_, _>>()))
}

/// The first of the entries that a threshold decides.
fn decided(threshold: Threshold) -> &'static Entry {
    DECIDED.iter().find(|(other, _)| *other == threshold).expect("every threshold decides something").1[0]
}

/// The findings of a garden.
type Told = dyn Fn(&Garden) -> Vec<Finding>;

/// A garden with what is told of it and, in SI, what it has of that which a threshold limits.
struct Case {
    threshold: Threshold,
    has: f64,
    garden: Garden,
    told: Box<Told>,
}

impl Case {
    fn new(threshold: Threshold, has: f64, garden: Garden, told: impl Fn(&Garden) -> Vec<Finding> + 'static) -> Case {
        Case { threshold, has, garden, told: Box::new(told) }
    }

    fn is_found(&self, si: f64) -> bool {
        let (entry, garden) = (decided(self.threshold), judged(&self.garden, &[(self.threshold, si)]));
        let mut found = (self.told)(&garden);
        found.retain(|finding| finding.entry() == entry);
        // What was decided by it says so.
        for group in grouped(&found, garden.accepted()) {
            let source = group.source(US);
            assert!(source.contains(&format!("set for this garden: {} ", self.threshold.name)), "{source}");
        }
        !found.is_empty()
    }
}

/// Of a steady state with these zones open, and of the garden at rest.
fn of(threshold: Threshold, garden: Garden, zones: &'static [&'static str], has: impl Fn(&Solution) -> f64) -> Case {
    let has = has(&solution(&garden, zones));
    Case::new(threshold, has, garden, |garden| of_run(&solution(garden, zones)))
}

fn of_cover(threshold: Threshold, garden: Garden, cover: fn(&Garden) -> Coverage, has: impl Fn(&Coverage) -> f64) -> Case {
    let has = has(&cover(&garden));
    Case::new(threshold, has, garden, move |garden| of_coverage(&cover(garden)))
}

/// Of a run of a day, where these other settings keep still what would speak first.
fn of_day(threshold: Threshold, others: &'static [(Threshold, f64)], has: impl Fn(&Log) -> f64) -> Case {
    let garden = but(&but(&sound_with_tank(), "pump.input_power", 500.0, "W"), "tank.volume", 0.3, "gal");
    let run = |garden: &Garden| operate(garden, &daily("berries", 12, 620.0, 240.0), 4.0 * 3600.0).expect("runs");
    let has = has(&run(&garden));
    Case::new(threshold, has, garden, move |garden| {
        let own = (threshold, threshold.of(garden));
        of_log(&run(&judged(garden, &[others, &[own]].concat())))
    })
}

fn high_arcs(arc_deg: f64) -> Garden {
    lawn_garden(arc_deg, [20.0; 4])
}

fn square(garden: &Garden) -> Coverage {
    let side_m = 20.0 * FT;
    let bed = Bed { left_m: 0.0, right_m: side_m, bottom_m: 0.0, top_m: side_m };
    Coverage::of(&solution(garden, &[]), Some(bed), Pattern::default()).expect("coverage")
}

fn in_a_breeze(garden: &Garden) -> Coverage {
    square(garden).in_wind(Some(Wind { speed_m_per_s: 3.0, from_deg: 0.0 })).expect("coverage")
}

fn pressure_pa(name: &'static str) -> impl Fn(&Solution) -> f64 {
    move |solution| psi(solution, name) * PSI
}

fn speed(name: &'static str) -> impl Fn(&Solution) -> f64 {
    move |solution| solution.state(name).expect("known").speed_m_per_s.expect("a line")
}

fn loss_share(solution: &Solution) -> f64 {
    let state = solution.state("feed").expect("known");
    state.loss_pa().expect("fed") / (58.0 * PSI)
}

fn cases() -> Vec<Case> {
    let plain = |parts: &[Garden]| line(parts);
    let drawn = |line_of: Garden, gpm: f64| plain(&[tap(), line_of, draw("kitchen", gpm)]);
    let given = |si: f64| move |_: &Solution| si;
    let needy = |low_psi: f64| {
        plain(&[
            tap(),
            part(Kind::Backflow, "preventer", &[]),
            pipe("feed", 20.0, 0.824),
            needy_head("spray", 0.1, low_psi, 90.0),
        ])
    };
    let spread = plain(&[tap(), pipe("feed", 20.0, 0.824)])
        .then_branches(&[head("low", 0.1), line(&[climb("up", 40.0), head("high", 0.1)])])
        .expect("joins");
    let filtered = |mesh: f64| plain(&[tap(), but(&filter("filter"), "filter.mesh", mesh, ""), drip("row")]);
    let rated = |line_of: Garden| plain(&[tap(), line_of, valve("bed"), head("a", 0.1)]);
    let meter = part(Kind::Meter, "meter", &[("loss", q(3.0, "psi")), ("flow", q(10.0, "gpm"))]);
    let balcony = plain(&[
        tap(),
        part(Kind::HoseVacuumBreaker, "breaker", &[]),
        pipe("feed", 20.0, 0.824),
        climb("up", 15.0),
        head("balcony", 0.1),
    ]);
    let regulated = plain(&[
        tap(),
        pipe("feed", 20.0, 0.824),
        filter("filter"),
        part(Kind::Regulator, "keeper", &[("set", q(20.0, "psi"))]),
        drip("row"),
    ]);
    let falling = plain(&[tap(), valve("lawn"), pipe("lateral", 40.0, 1.0), climb("fall", -3.0), head("low", 0.1)]);
    let on_barrel = plain(&[open_tank("barrel", 5.0), bored_check(), head("a", 0.2)]);
    let switched = |path: &str, value: f64| but(&sound(), path, value, "psi");
    let off_pa = solution(&sound(), &["berries"]).switches[0].off_pa;
    let readings = [(2.5e-4, 4e5), (4e-4, 2.5e5)];
    let unsteady = Part::build(Kind::Supply, Some("tap"), &[(Id::StaticPressure, q(60.0, "psi"))]).expect("a tap");
    let unsteady = unsteady.with_readings(&readings, (Preference::Usual, Preference::Usual)).expect("readings");
    let off_curve =
        readings.iter().map(|&(flow, pa)| pa - unsteady_pressure(&unsteady, flow)).fold(0.0, |a: f64, b| a.max(b.abs()));
    let suction = plain(&[open_tank("pond", 3.0), climb("bank", 20.0), pump(), head("a", 0.1)]);
    let inlet_pa = |solution: &Solution| solution.state("pump").expect("known").pressure_in_pa.expect("fed");
    let atmosphere_m = |solution: &Solution| {
        let (garden, inlet_pa) = (&solution.garden, inlet_pa(solution));
        (inlet_pa - garden.vapor_gauge_pa()) / (garden.water().density_kg_per_m3 * 9.80665)
    };
    let needing = but(&suction, "pump.npsh", 3.0, "m");
    let matched = two_heads(20.0, &[("b.arc", q(300.0, ""))]);
    // Like nozzles at one pressure: 1 / 300 and 1 / 360 over their mean.
    let unmatched = (1.0 / 300.0 - 1.0 / 360.0) / ((1.0 / 300.0 + 1.0 / 360.0) / 2.0);
    let precharged = but(&sound_with_tank(), "tank.precharge", 55.0, "psi");
    vec![
        of(limits::HOUSE_PRESSURE, drawn(pipe("feed", 1.0, 2.0), 9.0), &[], pressure_pa("tap")),
        of(limits::LOW_STATIC, needy(20.0), &[], given(58.0 * PSI)),
        of(limits::HIGH_STATIC, needy(20.0), &[], given(58.0 * PSI)),
        of(limits::BEYOND_TEST, drawn(pipe("feed", 1.0, 2.0), 9.0), &[], given(1.5)),
        of(limits::TESTS_APART, plain(&[Garden::of(unsteady), head("a", 0.1)]), &[], given(off_curve)),
        of(limits::METER_FLOW, drawn(meter, 6.0), &[], given(0.6)),
        of(limits::PREVENTER_LOSS, needy(20.0), &[], |solution| psi(solution, "spray") * PSI - 20.0 * PSI),
        of(limits::HOSE_BREAKER_HEIGHT, balcony, &[], given(15.0 * FT)),
        of(limits::LOW_SUCTION, switched("pump.dry_run_cutoff", 8.0), &[], given(8.0 * PSI)),
        of(limits::LOWEST_INLET, suction, &[], inlet_pa),
        of(limits::NPSH_MARGIN, needing, &[], move |solution| atmosphere_m(solution) - 3.0),
        of(limits::SHUT_OFF_MARGIN, switched("switch.cut_out", 90.0), &[], given(8.0 * PSI)),
        of(limits::GAUGE_MARGIN, switched("switch.cut_in", off_pa / PSI + 2.0), &["berries"], given(2.0 * PSI)),
        of(limits::RELIEF_MARGIN, sound(), &[], given(12.0 * PSI)),
        of(limits::PRECHARGE_LOW, precharged, &[], given(5.0 * PSI)),
        of(limits::FAST_IN_HOSE, drawn(hose("feed", 1.0, 0.5), 3.0), &[], speed("feed")),
        of(limits::FAST_IN_PIPE, drawn(pipe("feed", 1.0, 0.5), 3.0), &[], speed("feed")),
        of(limits::TOO_FAST, drawn(pipe("feed", 1.0, 0.5), 3.0), &[], speed("feed")),
        of(limits::HOSE_FRICTION, drawn(hose("feed", 60.0, 0.625), 4.0), &[], loss_share),
        of(limits::HOSE_RATING, rated(rated_hose("feed", 20.0, 0.75, 145.0)), &[], given(0.4)),
        of(limits::PIPE_RATING, rated(rated_pipe("feed", 20.0, 0.824, 145.0)), &[], given(0.4)),
        of(limits::HOSE_LEFT, rated(rated_hose("feed", 20.0, 0.75, 145.0)), &[], given(0.4)),
        of(limits::TIMER_RATING, rated(pipe("feed", 20.0, 0.824)), &[], given(58.0 * PSI / 0.8)),
        of(limits::NEAR_RANGE, needy(40.0), &[], |solution| psi(solution, "spray") / 40.0 - 1.0),
        of(limits::DRIP_PRESSURE, filtered(200.0), &[], pressure_pa("row")),
        of(limits::DRIP_MESH, filtered(120.0), &[], given(120.0)),
        of(limits::ZONE_VARIATION, spread, &[], |solution| {
            let (low, high) = (psi(solution, "high"), psi(solution, "low"));
            (high - low) / ((high + low) / 2.0)
        }),
        of_cover(limits::OFF_BED, high_arcs(120.0), square, |cover| 1.0 - cover.caught_share()),
        of_cover(limits::LEAST_DU, high_arcs(90.0), square, |cover| cover.uniformity.du),
        of_cover(limits::BLOWN, high_arcs(90.0), in_a_breeze, |cover| {
            cover.in_wind(None).expect("calm").caught_share() - cover.caught_share()
        }),
        of_cover(limits::RING, two_heads(20.0, &[("a.radius_pressure", q(75.0, "psi"))]), strip_of, |cover| {
            cover.heads[0].pressure_pa / (75.0 * PSI)
        }),
        of(limits::REACH, two_heads(24.0, &[]), &[], given(20.0 / 24.0)),
        of(limits::UNMATCHED, matched, &[], given(unmatched)),
        of(limits::REGULATOR_FLOW, regulated, &[], |solution| solution.flow_m3_per_s("row").expect("known")),
        of(limits::DRAINAGE_HEIGHT, falling, &["lawn"], given(3.0 * FT)),
        of(limits::WEAK_LINE, on_barrel, &[], |solution| solution.state("check").expect("known").pressure_in_pa.expect("fed")),
        of_day(limits::MOST_STARTS, &[], |log| log.peak_starts_per_hour() as f64),
        of_day(limits::STARTS_PER_HOUR, &[(limits::MOST_STARTS, NEVER), (limits::LEAST_RUN, 0.0)], |log| {
            log.peak_starts_per_hour() as f64
        }),
        of_day(limits::LEAST_RUN, &[(limits::MOST_STARTS, NEVER), (limits::STARTS_PER_HOUR, NEVER)], |log| {
            let pump = log.garden.find("pump").expect("known");
            let later = log.runs(pump).filter(|run| run.from_s > 0.0);
            later.filter_map(|run| Some(run.to_s? - run.from_s)).fold(f64::INFINITY, f64::min)
        }),
        of_day(
            limits::STARTS_PER_DAY,
            &[(limits::MOST_STARTS, NEVER), (limits::STARTS_PER_HOUR, NEVER), (limits::LEAST_RUN, 0.0)],
            |log| log.starts() as f64,
        ),
    ]
}

fn bored_check() -> Garden {
    super::trade::bored(Kind::CheckValve, "check")
}

fn unsteady_pressure(tap: &Part, flow_m3_per_s: f64) -> f64 {
    let garden = line(&[Garden::of(tap.clone()), draw("all", flow_m3_per_s / GPM)]);
    psi(&solution(&garden, &[]), "tap") * PSI
}

#[test]
fn a_threshold_decides_its_findings_on_both_sides_of_what_a_garden_has() {
    let mut wrong = Vec::new();
    for case in cases() {
        let sides = [1.0 - NEAR, 1.0 + NEAR].map(|share| case.is_found(case.has * share));
        if sides[0] == sides[1] {
            wrong.push(format!("{} is {} on both sides of {}", case.threshold.name, sides[0], case.has));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn each_threshold_is_said_to_decide_something_and_has_a_case() {
    let all: Vec<&str> = limits::ALL.iter().map(|threshold| threshold.name).collect();
    assert_eq!(DECIDED.iter().map(|(threshold, _)| threshold.name).collect::<Vec<_>>().len(), all.len());
    assert!(DECIDED.iter().all(|(threshold, entries)| limits::ALL.contains(threshold) && !entries.is_empty()));
    // That of lines which drain is in the tests of runs over time.
    let of_cases: BTreeSet<&str> = cases().iter().map(|case| case.threshold.name).chain([limits::FILL_TIMES.name]).collect();
    assert_eq!(of_cases, all.into_iter().collect());
}

#[test]
fn a_finding_says_which_threshold_was_set_and_what_is_usual() {
    let low = line(&[tap(), hose("feed", 1.0, 1.0), draw("kitchen", 9.0)]);
    let source = |garden: &Garden, system: UnitSystem| {
        let found = of_run(&solution(garden, &[]));
        let groups = grouped(&found, garden.accepted());
        groups.iter().find(|group| group.code() == "low-tap-pressure").map(|group| group.source(system))
    };
    let strict = judged(&low, &[(limits::HOUSE_PRESSURE, 30.0 * PSI)]);
    let said = |system: UnitSystem| source(&strict, system).expect("a finding");
    assert!(
        said(US).ends_with("minimum in the main; set for this garden: house_pressure 30 psi, 20 psi is usual"),
        "{}",
        said(US)
    );
    let metric = said(UnitSystem::Metric);
    assert!(metric.ends_with("; set for this garden: house_pressure 2.07 bar, 1.4 bar is usual"), "{metric}");
    let text = show(&grouped(&of_run(&solution(&strict, &[])), strict.accepted()), US, 1000);
    assert!(text.contains("house_pressure 30 psi, 20 psi is usual)"), "{text}");
    // The usual value is nobody's choice, and another threshold has nothing to do with it.
    let other = line(&[tap(), hose("feed", 1.0, 1.0), draw("kitchen", 10.0)]);
    for plain in [judged(&other, &[(limits::HOUSE_PRESSURE, 20.0 * PSI)]), judged(&other, &[(limits::NEAR_RANGE, 0.3)])] {
        assert!(source(&plain, US).is_some_and(|source| !source.contains("set for")));
    }
}
