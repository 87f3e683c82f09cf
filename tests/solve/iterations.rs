//! The road and the iterations of named gardens: a change of the solver's path is seen here before it costs time.

use crate::support::*;
use hosewright::garden::Garden;
use hosewright::hydraulics::run;
use hosewright::parts::{Kind, Part};

/// A garden and the zones that stand open in it.
struct Named {
    name: &'static str,
    garden: Garden,
    zones: &'static [&'static str],
}

fn of(name: &'static str, garden: Garden) -> Named {
    Named { name, garden, zones: &[] }
}

/// A tap and a hose, 58 psi at rest.
fn fed() -> Garden {
    line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75)])
}

fn point(name: &str) -> Garden {
    part(Kind::Point, name, &[])
}

fn check(name: &str) -> Garden {
    part(Kind::CheckValve, name, &[])
}

fn regulator(name: &str, set_psi: f64) -> Garden {
    part(Kind::Regulator, name, &[("set", q(set_psi, "psi"))])
}

fn emitter(name: &str, exponent: f64) -> Garden {
    part(Kind::Emitter, name, &[("flow", q(1.0, "gph")), ("pressure", q(15.0, "psi")), ("exponent", q(exponent, ""))])
}

fn draw(name: &str, gpm: f64) -> Garden {
    part(Kind::Demand, name, &[("flow", q(gpm, "gpm"))])
}

fn tank(name: &str, level_ft: f64) -> Garden {
    part(Kind::OpenTank, name, &[("level", q(level_ft, "ft"))])
}

/// A garden behind which branches go on.
fn spread(garden: &Garden, branches: &[Garden]) -> Garden {
    garden.then_branches(branches).expect("joins")
}

/// A hose with a head at its end.
fn arm(name: &str, length_ft: f64, diameter_in: f64, nozzle_in: f64) -> Garden {
    line(&[hose(&format!("{name} hose"), length_ft, diameter_in), head(name, nozzle_in)])
}

/// Three levels of forks with eight heads, no two branches alike.
fn tree_of_eight() -> Garden {
    fn fork(name: &str, depth: u32) -> Garden {
        let diameter_in = 0.75 - 0.125 * f64::from(depth);
        let length_ft = 20.0 + 7.0 * name.bytes().map(|byte| f64::from(byte - b'0')).sum::<f64>();
        let limb = hose(&format!("limb {name}"), length_ft, diameter_in);
        if depth == 3 {
            return line(&[limb, head(&format!("head {name}"), 0.09 + 0.002 * length_ft / 7.0)]);
        }
        spread(&limb, &[fork(&format!("{name}1"), depth + 1), fork(&format!("{name}2"), depth + 1)])
    }
    spread(&fed(), &[fork("1", 1), fork("2", 1)])
}

/// A closed ring of hoses with a head at each of its corners; with a brace it has two loops.
fn ring(corners: usize, is_braced: bool) -> Garden {
    let mut garden = line(&[fed(), point("c0")]);
    for index in 0..corners - 1 {
        let side = line(&[hose(&format!("s{index}"), 30.0 + 4.0 * index as f64, 0.5), point(&format!("c{}", index + 1))]);
        garden = garden.branch(&format!("c{index}"), &side).expect("joins");
    }
    for index in 0..corners {
        garden = garden.branch(&format!("c{index}"), &head(&format!("h{index}"), 0.1 + 0.01 * index as f64)).expect("joins");
    }
    garden = garden.connect(&format!("c{}", corners - 1), "c0", &hose("closing", 25.0, 0.5)).expect("joins");
    if is_braced {
        garden = garden.connect("c1", &format!("c{}", corners - 1), &hose("brace", 40.0, 0.375)).expect("joins");
    }
    garden
}

/// Heads one behind the other on a single line.
fn chain(heads: usize) -> Garden {
    let mut garden = fed();
    for index in 0..heads {
        let (piece, nozzle) = (format!("p{index}"), head(&format!("n{index}"), 0.05));
        garden = garden.then(&hose(&piece, 3.0, 0.75)).and_then(|line| line.branch(&piece, &nozzle)).expect("joins");
    }
    garden
}

fn drip(exponent: f64) -> Garden {
    let laterals: Vec<Garden> =
        (0..8).map(|i| line(&[hose(&format!("h{i}"), 10.0 + f64::from(i), 0.25), emitter(&format!("e{i}"), exponent)])).collect();
    spread(&line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.5)]), &laterals)
}

fn with_a_second_source(at: &str, garden: Garden, second: Garden) -> Garden {
    garden.add_source(at, &second).expect("joins")
}

/// Trees, loops, and laws of friction.
fn plain() -> Vec<Named> {
    let zones = two_zones();
    let crossed = zones.connect("bed line", "berry line", &hose("cross", 20.0, 0.5)).expect("joins");
    let hazen =
        part(Kind::Pipe, "main", &[("length", q(120.0, "ft")), ("diameter", q(0.8, "inch")), ("hazen_williams_c", q(150.0, ""))]);
    vec![
        Named { name: "one zone", garden: zones.clone(), zones: &["berries"] },
        Named { name: "two zones", garden: zones.clone(), zones: &["beds", "berries"] },
        Named { name: "zones crossed", garden: crossed, zones: &["berries"] },
        of("all zones closed", zones),
        of("tree of eight heads", tree_of_eight()),
        of("chain of 60 heads", chain(60)),
        of("chain of 320 heads", chain(320)),
        of("ring of four corners", ring(4, false)),
        of("ring of twelve corners", ring(12, false)),
        of("braced ring", ring(6, true)),
        of("Hazen-Williams main", spread(&line(&[supply("tap", 58.0, 44.0, 6.0), hazen]), &[head("a", 0.12), head("b", 0.15)])),
        of(
            "laminar micro tubes",
            spread(
                &fed(),
                &[line(&[hose("tube", 6.0, 0.06), emitter("e", 0.5)]), line(&[hose("thin", 9.0, 0.05), emitter("f", 0.5)])],
            ),
        ),
        of("drip emitters", drip(0.1)),
        of("orifice emitters", drip(0.5)),
        of(
            "wall of a rough old pipe",
            spread(
                &line(&[
                    supply("tap", 58.0, 44.0, 6.0),
                    part(
                        Kind::Pipe,
                        "old",
                        &[("length", q(80.0, "ft")), ("diameter", q(0.6, "inch")), ("roughness", q(0.5, "mm"))],
                    ),
                ]),
                &[head("a", 0.12), head("b", 0.15)],
            ),
        ),
    ]
}

/// Sources that share the work or stand against each other.
fn fed_twice() -> Vec<Named> {
    let barrel = |psi: f64| line(&[supply("barrel", psi, psi - 5.0, 5.0), hose("barrel hose", 30.0, 0.75)]);
    let garden = || line(&[fed(), point("here"), head("a", 0.15)]);
    let behind_check = |psi: f64| line(&[barrel(psi), check("check")]);
    let filled = fed().branch("feed", &arm("spray", 20.0, 0.5, 0.08)).expect("joins");
    let up = line(&[hose("rise", 30.0, 0.6), climb("hill", 30.0), point("top")]);
    let filled = filled.branch("feed", &up).expect("joins");
    vec![
        of("two taps", with_a_second_source("here", garden(), barrel(52.0))),
        of("check valve that lets a second tap in", with_a_second_source("here", garden(), behind_check(56.0))),
        of("check valve shut by the stronger tap", with_a_second_source("here", garden(), behind_check(20.0))),
        of("water into a weaker tap", with_a_second_source("here", garden(), barrel(20.0))),
        of("tank on a tower", spread(&line(&[tank("tower", 30.0), hose("down", 60.0, 1.0)]), &[head("a", 0.2), head("b", 0.15)])),
        of("tank that the tap fills", with_a_second_source("top", filled, line(&[tank("cistern", 3.0), hose("in", 10.0, 0.75)]))),
        of(
            "trapped between two check valves",
            with_a_second_source(
                "second",
                line(&[
                    fed(),
                    check("first"),
                    part(Kind::Relief, "relief", &[("set", q(90.0, "psi"))]),
                    check("second"),
                    head("a", 0.1),
                ]),
                line(&[supply("strong", 80.0, 70.0, 6.0), hose("strong hose", 10.0, 0.75)]),
            ),
        ),
    ]
}

/// Valves that go by pressure, pumps, and outlets of all kinds.
fn worked() -> Vec<Named> {
    let pump = |name: &str| booster(name, &[(0.0, 40.0), (10.0, 20.0)]);
    let relief = |set_psi: f64| part(Kind::Relief, "relief", &[("set", q(set_psi, "psi"))]);
    let heads = || [head("a", 0.1), head("b", 0.12)];
    let side_by_side = spread(
        &fed(),
        &[
            line(&[pump("one"), check("behind one"), hose("out one", 10.0, 0.75)]),
            line(&[booster("two", &[(0.0, 36.0), (6.0, 30.0), (12.0, 12.0)]), check("behind two"), hose("out two", 12.0, 0.75)]),
        ],
    );
    let parabola = {
        let curve = hosewright::parts::Curve::by_three(40.0 * PSI, (8.0 * GPM, 28.0 * PSI), 15.0 * GPM).expect("a curve");
        Garden::of(Part::new(Kind::Booster).named("round").expect("a name").running_on(curve))
    };
    let soaker = part(
        Kind::Soaker,
        "soaker",
        &[("length", q(50.0, "ft")), ("diameter", q(0.5, "inch")), ("flow", q(0.6, "gpm")), ("pressure", q(10.0, "psi"))],
    );
    let table = Part::new(Kind::Head)
        .named("rotor")
        .and_then(|part| part.with_table(&[(20.0 * PSI, 1.0 * GPM), (35.0 * PSI, 1.4 * GPM), (50.0 * PSI, 1.6 * GPM)]));
    let held = part(Kind::Head, "spray", &[("nozzle", q(0.12, "inch")), ("regulated", q(30.0, "psi"))]);
    let filter = part(Kind::Filter, "filter", &[("loss", q(3.0, "psi")), ("flow", q(5.0, "gpm"))]);
    let crack = |name: &str, psi: f64| part(Kind::CheckValve, name, &[("cracking_pressure", q(psi, "psi"))]);
    vec![
        of("regulator that holds", spread(&line(&[fed(), regulator("reg", 30.0), hose("on", 20.0, 0.75)]), &heads())),
        of("regulator wide open", spread(&line(&[fed(), regulator("reg", 70.0), hose("on", 20.0, 0.75)]), &heads())),
        of(
            "two regulators in series",
            spread(
                &line(&[
                    fed(),
                    regulator("first", 45.0),
                    hose("mid", 30.0, 0.5),
                    regulator("second", 20.0),
                    hose("on", 20.0, 0.75),
                ]),
                &heads(),
            ),
        ),
        of(
            "regulator on each branch",
            spread(
                &fed(),
                &[
                    line(&[regulator("low", 15.0), hose("lh", 20.0, 0.5), head("a", 0.15)]),
                    line(&[regulator("high", 50.0), hose("hh", 20.0, 0.5), head("b", 0.2)]),
                ],
            ),
        ),
        of("relief valve shut", line(&[fed(), relief(70.0), head("a", 0.12)])),
        of("relief valve open", line(&[fed(), relief(40.0), head("a", 0.12)])),
        of("booster on the feed", spread(&line(&[fed(), pump("pump"), hose("on", 40.0, 0.75)]), &heads())),
        of("two boosters in series", spread(&line(&[fed(), pump("one"), hose("mid", 10.0, 0.75), pump("two")]), &heads())),
        of("two boosters side by side", spread(&side_by_side, &[head("a", 0.2), head("b", 0.22)])),
        of("booster with a round curve", spread(&line(&[fed(), parabola, hose("on", 40.0, 0.75)]), &heads())),
        of(
            "booster that pulls its feed down to vapor",
            spread(
                &line(&[supply("tap", 20.0, 4.0, 6.0), hose("feed", 200.0, 0.4), booster("pump", &[(0.0, 80.0), (20.0, 60.0)])]),
                &[head("a", 0.3), head("b", 0.3)],
            ),
        ),
        of(
            "heads above what the tap reaches",
            spread(
                &fed(),
                &[
                    line(&[hose("low hose", 20.0, 0.5), head("low", 0.1)]),
                    line(&[hose("high hose", 20.0, 0.5), climb("hill", 200.0), head("high", 0.1)]),
                ],
            ),
        ),
        of(
            "water that parts behind a crest",
            spread(
                &fed(),
                &[
                    line(&[hose("beside hose", 20.0, 0.5), head("beside", 0.15)]),
                    line(&[
                        hose("up hose", 60.0, 0.4),
                        climb("up", 110.0),
                        hose("down hose", 60.0, 1.0),
                        climb("down", -150.0),
                        head("deep", 0.3),
                    ]),
                ],
            ),
        ),
        of("soaker hose", line(&[fed(), regulator("reg", 12.0), soaker])),
        of("draw beside a head", spread(&fed(), &[draw("kitchen", 2.0), head("a", 0.12)])),
        of("draws beyond what the tap gives", spread(&fed(), &[draw("kitchen", 15.0), draw("bath", 10.0), head("a", 0.12)])),
        of("head by a table of its maker", line(&[fed(), Garden::of(table.expect("a sound head"))])),
        of("heads with regulators inside", spread(&fed(), &[held, head("b", 0.12)])),
        of(
            "filter, fittings and cracking pressures",
            spread(
                &line(&[fed(), filter, crack("spring", 2.0), part(Kind::Fitting, "elbows", &[("k", q(6.0, ""))])]),
                &[line(&[crack("stiff", 80.0), head("never", 0.1)]), head("b", 0.15)],
            ),
        ),
        of(
            "leak beside closed zones",
            two_zones()
                .branch("feed", &part(Kind::Leak, "drip", &[("flow", q(5.0, "gph")), ("pressure", q(40.0, "psi"))]))
                .expect("joins"),
        ),
    ]
}

#[test]
fn the_road_and_the_iterations_of_named_gardens_are_known() {
    let named: Vec<Named> = [plain(), fed_twice(), worked()].into_iter().flatten().collect();
    assert!(named.len() >= 40, "{}", named.len());
    let line_of = |Named { name, garden, zones }: &Named| {
        let solution = run(garden, zones).unwrap_or_else(|error| panic!("{name}: {error}"));
        // A path that is told is one that leads to an answer.
        let (off, largest) = super::imbalance(&solution);
        assert!(off <= 1e-9 * largest + 1e-15, "{name}: a node is out of balance by {off} of {largest} m3/s");
        format!("{name}: {:?}, {} iterations", solution.convergence.method, solution.convergence.iterations)
    };
    let text: Vec<String> = named.iter().map(line_of).collect();
    insta::assert_snapshot!(text.join("\n"), @r"
    one zone: Direct, 1 iterations
    two zones: Newton, 5 iterations
    zones crossed: Newton, 5 iterations
    all zones closed: Direct, 1 iterations
    tree of eight heads: Newton, 5 iterations
    chain of 60 heads: Newton, 5 iterations
    chain of 320 heads: Newton, 6 iterations
    ring of four corners: Newton, 6 iterations
    ring of twelve corners: Newton, 8 iterations
    braced ring: Newton, 5 iterations
    Hazen-Williams main: Newton, 4 iterations
    laminar micro tubes: Newton, 4 iterations
    drip emitters: Newton, 4 iterations
    orifice emitters: Newton, 3 iterations
    wall of a rough old pipe: Newton, 6 iterations
    two taps: Newton, 5 iterations
    check valve that lets a second tap in: Newton, 5 iterations
    check valve shut by the stronger tap: Newton, 6 iterations
    water into a weaker tap: Newton, 5 iterations
    tank on a tower: Newton, 3 iterations
    tank that the tap fills: Newton, 7 iterations
    trapped between two check valves: Newton, 6 iterations
    regulator that holds: Newton, 5 iterations
    regulator wide open: Newton, 4 iterations
    two regulators in series: Newton, 5 iterations
    regulator on each branch: Newton, 5 iterations
    relief valve shut: Newton, 5 iterations
    relief valve open: Newton, 5 iterations
    booster on the feed: Newton, 4 iterations
    two boosters in series: Newton, 4 iterations
    two boosters side by side: Newton, 6 iterations
    booster with a round curve: Newton, 4 iterations
    booster that pulls its feed down to vapor: Newton, 6 iterations
    heads above what the tap reaches: Newton, 6 iterations
    water that parts behind a crest: Newton, 6 iterations
    soaker hose: Direct, 1 iterations
    draw beside a head: Newton, 4 iterations
    draws beyond what the tap gives: Newton, 9 iterations
    head by a table of its maker: Direct, 1 iterations
    heads with regulators inside: Newton, 5 iterations
    filter, fittings and cracking pressures: Newton, 6 iterations
    leak beside closed zones: Direct, 1 iterations
    ");
}

#[test]
fn the_named_gardens_stand_as_their_names_say() {
    let named: Vec<Named> = [plain(), fed_twice(), worked()].into_iter().flatten().collect();
    let solution = |name: &str| {
        let Named { garden, zones, .. } = named.iter().find(|named| named.name == name).expect("a garden of that name");
        run(garden, zones).expect("a steady state")
    };
    let gpm = |name: &str, part: &str| super::gpm(&solution(name), part);
    let psi = |name: &str, part: &str| super::psi(&solution(name), part);
    assert!(gpm("check valve that lets a second tap in", "check") > 0.1);
    assert_eq!(gpm("check valve shut by the stronger tap", "check"), 0.0);
    assert!(gpm("water into a weaker tap", "barrel") < -0.1);
    assert!(gpm("tank that the tap fills", "cistern") < -0.1);
    assert!((psi("regulator that holds", "reg") - 30.0).abs() < 1e-9);
    assert!(psi("regulator wide open", "reg") < 58.0);
    assert!((psi("two regulators in series", "second") - 20.0).abs() < 1e-9);
    assert_eq!(gpm("relief valve shut", "relief"), 0.0);
    assert!(gpm("relief valve open", "relief") > 0.1);
    assert_eq!(gpm("heads above what the tap reaches", "high"), 0.0);
    assert_eq!(gpm("filter, fittings and cracking pressures", "never"), 0.0);
    assert!(gpm("draws beyond what the tap gives", "tap") < 25.0);
    for name in ["booster that pulls its feed down to vapor", "water that parts behind a crest"] {
        let solution = solution(name);
        let lowest_pa = solution.node_pa.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((lowest_pa - solution.garden.vapor_gauge_pa()).abs() < 1.0, "{name}: {lowest_pa} Pa");
    }
    let laminar = solution("laminar micro tubes");
    for tube in ["tube", "thin"] {
        let reynolds = laminar.state(tube).expect("known").reynolds.expect("a hose that flows");
        assert!(reynolds < 2000.0, "{tube}: {reynolds}");
    }
}
