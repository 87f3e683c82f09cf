//! A gallery of varied figures to look at, as SVG and PNG: `cargo test --lib gallery -- --ignored`.
//! They land in the folder `hosewright-gallery` among the temporary files. All data are made up.

use super::*;
use crate::parts::SymbolShape;

fn axis(label: &str, unit: &str) -> Axis {
    Axis::new(label).unit(unit)
}

fn falling(start: f64, slope: f64, xs: impl Iterator<Item = f64>) -> Vec<(f64, f64)> {
    xs.map(|x| (x, start / (1.0 + slope * x))).collect()
}

fn lengths() -> impl Iterator<Item = f64> {
    (1..=12).map(|i| 25.0 * f64::from(i))
}

fn names(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| text.to_string()).collect()
}

/// A number in 0 to 1 that looks random and is the same each time.
fn noise(index: usize) -> f64 {
    (index as f64 * 12.9898).sin().mul_add(43758.5453, 0.0).rem_euclid(1.0)
}

fn hoses(count: usize, style: CurveStyle) -> Figure {
    let series = (0..count).map(|i| {
        let diameter = 0.375 + 0.125 * i as f64;
        Series::new(format!("{diameter} in"), falling(54.0, 0.02 / (diameter * 2.0).powi(5), lengths()))
    });
    Figure::curves(axis("feed.length", "ft"), axis("berry.pressure", "psi"), style, series.collect())
        .titled("How long may the feed hose be?")
        .legend("feed.diameter")
        .marked(MarkedAxis::Y, 30.0, "stalls below")
}

fn switching() -> Figure {
    let log = (0..4000).map(|i| {
        let phase = f64::from(i % 800) / 800.0;
        (f64::from(i) / 10.0, if phase < 0.3 { 40.0 + 20.0 * phase / 0.3 } else { 60.0 - 20.0 * (phase - 0.3) / 0.7 })
    });
    Figure::curves(
        axis("time", "s"),
        axis("manifold.pressure", "psi"),
        CurveStyle::Lines,
        vec![Series::new("manifold.pressure", log)],
    )
    .titled("The pump starts five times in 400 s")
    .marked(MarkedAxis::Y, 40.0, "cut-in")
    .marked(MarkedAxis::Y, 60.0, "cut-out")
    .marked(MarkedAxis::Y, 80.0, "relief valve opens")
    .marked(MarkedAxis::X, 180.0, "kitchen tap")
}

fn cloud() -> Figure {
    let points = |shift: f64, from: usize| {
        (from..from + 500).map(move |i| (4.0 + 2.0 * noise(i), shift + 30.0 + 8.0 * noise(i + 7000) + 3.0 * noise(i + 9000)))
    };
    let series = vec![Series::new("now", points(0.0, 0)), Series::new("worn nozzle", points(-6.0, 1000))];
    Figure::curves(axis("flow", "gpm"), axis("berry.pressure", "psi"), CurveStyle::Points, series)
        .titled("A thousand gardens like this one")
        .marked(MarkedAxis::Y, 30.0, "stalls below")
}

fn gaps_and_logs() -> Figure {
    let points = (0..30).map(|i| {
        let x = 10f64.powf(2.0 + f64::from(i) / 6.0);
        (x, if (10..14).contains(&i) { None } else { Some(if x < 2000.0 { 64.0 / x } else { 0.316 / x.powf(0.25) }) })
    });
    let series = Series { name: "smooth hose".into(), points: points.collect() };
    Figure::curves(
        Axis::new("Reynolds number").log(),
        Axis::new("friction factor").log(),
        CurveStyle::LinesAndPoints,
        vec![series],
    )
    .titled(
        "Friction in a smooth hose; the law is not known between 2000 and 4000, and this title is long enough to need two lines",
    )
    .marked(MarkedAxis::X, 2000.0, "laminar up to")
}

fn steps() -> Figure {
    let on = |times: &[f64]| times.iter().enumerate().map(|(i, t)| (*t, (i % 2) as f64 * 6.2)).collect::<Vec<_>>();
    let series = vec![
        Series::new("beds", on(&[0.0, 5.0, 25.0, 40.0, 60.0])),
        Series::new("berries", on(&[0.0, 25.0, 45.0, 52.0, 60.0]).into_iter().map(|(t, q)| (t, q * 0.7))),
    ];
    Figure::curves(axis("time", "min"), axis("flow", "gpm"), CurveStyle::Steps, series).titled("Schedule of the morning")
}

fn bars(categories: &[&str], rows: &[(&str, &[Option<f64>])], label: &str, unit: &str) -> Figure {
    let series = rows.iter().map(|(name, values)| BarSeries { name: name.to_string(), values: values.to_vec() }).collect();
    Figure::bars(Axis::new("head"), axis(label, unit), names(categories), series)
}

/// Near the normal distribution: the sum of twelve even ones.
fn bell(index: usize) -> f64 {
    32.0 + 3.0 * ((0..12).map(|i| noise(12 * index + i)).sum::<f64>() - 6.0)
}

fn field() -> Figure {
    let xs: Vec<f64> = (0..24).map(|i| 12.5 * f64::from(i + 1)).collect();
    let ys: Vec<f64> = (0..16).map(|i| 0.4 + 0.025 * f64::from(i)).collect();
    let value = |x: f64, y: f64| if x > 250.0 && y > 0.7 { None } else { Some(46.0 - 0.012 * x / y.powi(4)) };
    let values = ys.iter().flat_map(|y| xs.iter().map(|x| value(*x, *y)).collect::<Vec<_>>()).collect();
    let field = Field { xs, ys, values, axis: axis("berry.pressure", "psi"), marks: vec![(30.0, "stalls below".into())] };
    Figure::new(axis("feed.length", "ft"), axis("feed.diameter", "in"), Plot::Heat(field)).titled("Where the berry stalls")
}

fn boxes() -> Figure {
    let row = |name: &str, values: Vec<f64>, color: usize| BoxRow { name: name.into(), values, color };
    let group = |name: &str, shift: f64, from: usize| row(name, (from..from + 200).map(|i| bell(i) + shift).collect(), 4);
    let groups = vec![group("1/2 in", -5.0, 0), group("5/8 in", 0.0, 500), group("3/4 in", 4.0, 900), row("none", Vec::new(), 4)];
    let figure = Figure::new(axis("pressure", "psi"), Axis::new("diameter"), Plot::Boxes(groups));
    figure.titled("Spread of the pressure").marked(MarkedAxis::X, 30.0, "stalls below")
}

fn tornado() -> Figure {
    let bar = |name: &str, low: f64, high: f64| TornadoBar { name: name.into(), low: Some(low), high: Some(high) };
    let bars = vec![
        bar("length of the feed hose", 42.0, 35.0),
        bar("main pressure at six in the evening, as the neighbor read it", 30.0, 44.0),
        bar("nozzle", 37.0, 37.5),
        TornadoBar { name: "leak".into(), low: None, high: Some(36.0) },
    ];
    Figure::new(axis("pressure", "psi"), Axis::new(""), Plot::Tornado { base: 38.0, bars }).titled("What matters most")
}

fn layers() -> Figure {
    let points = (0..40).map(|i| (20.0 + 80.0 * noise(i), 30.0 + 14.0 * noise(i + 100)));
    let line = vec![(20.0, 33.0), (50.0, 42.0), (98.0, 44.0)];
    let layers = vec![(CurveStyle::Lines, Series::new("front", line)), (CurveStyle::Points, Series::new("hoses", points))];
    let figure = Figure::new(axis("price", "$"), axis("pressure", "psi"), Plot::Layers(layers));
    figure.titled("Which hose for the money").callout((50.0, 42.0), "5/8 in, 75 ft")
}

pub(super) fn gallery() -> Vec<(&'static str, Figure)> {
    let some = |values: &[f64]| values.iter().copied().map(Some).collect::<Vec<_>>();
    let long = [
        "tomatoes along the southern fence",
        "strawberries beside the garden shed",
        "beans",
        "the dry corner under the walnut tree",
        "roses",
    ];
    let histogram: Vec<String> = (0..48).map(|i| format!("{:.1}", 28.0 + 0.25 * f64::from(i))).collect();
    let heights: Vec<f64> = (0..48).map(|i| 90.0 * (-((f64::from(i) - 22.0) / 9.0).powi(2)).exp()).collect();
    let wide = "a very long series name that goes on about the hose, the fence and the weather of the year before last";
    vec![
        ("01-three-lines", hoses(3, CurveStyle::Lines)),
        ("02-four-lines-points", hoses(4, CurveStyle::LinesAndPoints)),
        ("03-seven-lines", hoses(7, CurveStyle::LinesAndPoints)),
        ("04-switching", switching()),
        ("05-cloud", cloud()),
        ("06-gaps-logs", gaps_and_logs()),
        ("07-steps", steps()),
        (
            "08-bars",
            bars(&["bed", "berry", "lawn", "far corner"], &[("pressure", &some(&[41.2, 33.5, 38.0, 24.9]))], "pressure", "psi")
                .titled("What reaches each head")
                .marked(MarkedAxis::Y, 30.0, "stalls below"),
        ),
        (
            "09-groups",
            bars(
                &["bed", "berry", "lawn"],
                &[
                    ("no pump", &some(&[41.2, 33.5, 38.0])),
                    ("small pump", &some(&[55.1, 47.9, 52.0])),
                    ("big pump", &[Some(70.2), None, Some(66.0)]),
                ],
                "pressure",
                "psi",
            )
            .legend("booster")
            .marked(MarkedAxis::Y, 60.0, "fogs above"),
        ),
        (
            "10-lying",
            bars(&long, &[("change", &some(&[12.5, -4.2, 3.3, 8.8, -0.4]))], "change of pressure", "psi")
                .titled("Which change helps most")
                .marked(MarkedAxis::Y, 10.0, "worth it"),
        ),
        (
            "16-many-names",
            bars(
                &[
                    "tomatoes along the fence",
                    "strawberries_behind_the_shed",
                    "beans",
                    "the dry corner under the walnut tree",
                    "roses",
                    "lawn, north",
                    "lawn, south",
                    "herbs by the kitchen door",
                ],
                &[
                    ("now", &some(&[42.5, 24.2, 33.3, 8.8, 40.4, 31.0, 35.5, 51.2])),
                    ("wider hose", &some(&[47.5, 29.2, 37.3, 18.8, 44.4, 36.0, 39.5, 52.2])),
                ],
                "pressure",
                "psi",
            )
            .titled("What reaches each head")
            .marked(MarkedAxis::Y, 30.0, "stalls below"),
        ),
        (
            "11-histogram",
            Figure::bars(axis("berry.pressure", "psi"), Axis::new("gardens"), histogram, vec![BarSeries::new("n", heights)]),
        ),
        (
            "12-one-point",
            Figure::curves(
                axis("flow", "gpm"),
                axis("pressure", "psi"),
                CurveStyle::Lines,
                vec![Series::new("tap", [(6.0, 44.0)])],
            ),
        ),
        (
            "13-equal-long-name",
            Figure::curves(
                axis("flow", "gpm"),
                axis("pressure", "psi"),
                CurveStyle::Lines,
                vec![Series::new(wide, [(0.0, 44.0), (6.0, 44.0)]), Series::new("short", [(0.0, 43.9), (6.0, 44.1)])],
            ),
        ),
        ("14-twenty-lines", hoses(20, CurveStyle::Lines).sized(900, 520)),
        ("15-small", hoses(3, CurveStyle::Lines).sized(360, 260)),
        (
            "17-bands",
            switching().band("pump", vec![(0.0, 24.0), (80.0, 104.0), (160.0, 184.0)]).band("beds", vec![(40.0, 300.0)]),
        ),
        ("18-heat", field()),
        (
            "19-histogram",
            Figure::new(
                axis("pressure", "psi"),
                Axis::new("cases"),
                Plot::Histogram(vec![(String::new(), (0..3000).map(bell).collect())]),
            ),
        ),
        ("20-boxes", boxes()),
        ("21-tornado", tornado()),
        ("22-layers", layers()),
    ]
}

/// Twelve heads of a lawn in two zones: to scale with their throws, or as a scheme.
fn lawn(to_scale: bool) -> Map {
    let mut map = Map::empty(if to_scale { Ground::Real { unit: "ft".into() } } else { Ground::Grid });
    let mut put = |shape, at, seat, label: Label| {
        let lines = if let Label::Lines(lines) = &label { lines.clone() } else { Vec::new() };
        map.symbols.push(Symbol { shape, at, toward: (1.0, 0.0), seat, active: Activity::Active, lines, label });
    };
    let texts = |texts: &[&str]| Label::Lines(names(texts));
    let (tap, valves) =
        if to_scale { ((-20.0, 25.0), [(-4.0, 25.0), (-4.0, 25.0)]) } else { ((0.0, 6.5), [(1.5, 3.5), (1.5, 9.5)]) };
    put(SymbolShape::Tap, tap, Seat::AtStart, texts(&["tap", "58 psi", "51.2 psi, 6.4 gpm"]));
    put(SymbolShape::Valve, valves[0], Seat::OnLine, texts(&["south", "1 to 6, 6.4 gpm"]));
    put(SymbolShape::Valve, valves[1], Seat::OnLine, texts(&["north", "7 to 12, closed"]));
    let mut row = Vec::new();
    for index in 0..12 {
        let number = index + 1;
        let (x, y) = if to_scale { (20.0 * (index % 6) as f64, 50.0 * (index / 6) as f64) } else { (3.0, number as f64) };
        put(SymbolShape::Head, (x, y), Seat::AtEnd, Label::Number(number));
        let cells = ["strawberries", "42.1", "1.07", "21.5", "in range"].map(String::from).to_vec();
        row.push((number, cells));
    }
    for index in 0..12_usize {
        let (valve, head) = (valves[index / 6], map.symbols[3 + index].at);
        let water = if index < 6 { Water::Flows(42.0 + index as f64) } else { Water::Still };
        let points = if to_scale { vec![valve, head] } else { vec![valve, (2.0, valve.1), (2.0, head.1), head] };
        map.routes.push(Route { points, width: 4.0, water });
        if to_scale {
            let active = if index < 6 { Activity::Active } else { Activity::Idle };
            map.throws.push(Throw {
                center: head,
                radius: 21.5,
                middle_deg: if index < 6 { 90.0 } else { -90.0 },
                arc_deg: 180.0,
                active,
            });
        }
    }
    for valve in valves {
        let points = if to_scale { vec![tap, valve] } else { vec![tap, (1.0, tap.1), (1.0, valve.1), valve] };
        map.routes.insert(0, Route { points, width: 6.0, water: Water::Flows(50.0) });
    }
    let north = row.split_off(6);
    let group = |title: &str, rows| RosterGroup { title: title.into(), rows, folded: title.ends_with("closed") };
    map.roster = Some(Roster {
        columns: names(&["head", "pressure (psi)", "flow (gpm)", "throw (ft)", "state"]),
        groups: vec![group("south: 6.4 gpm", row), group("north: closed", north)],
    });
    map.title = "Twelve heads of a lawn".into();
    map.key = Some(axis("pressure", "psi"));
    map
}

fn maps() -> Vec<(&'static str, Map)> {
    vec![
        ("30-map", lawn(true)),
        ("31-scheme", lawn(false)),
        ("32-map-narrow", Map { width: 390, ..lawn(true) }),
        ("33-water", map_with_water()),
    ]
}

#[test]
#[ignore = "writes pictures to look at"]
fn gallery_is_drawn() {
    let folder = std::env::temp_dir().join("hosewright-gallery");
    std::fs::create_dir_all(&folder).expect("a folder");
    for (name, map) in maps() {
        let map = Graphic::Map(map).drawn().expect(name);
        std::fs::write(folder.join(format!("{name}.svg")), map.svg().expect(name)).expect("a file");
        std::fs::write(folder.join(format!("{name}.png")), map.png().expect(name)).expect("a file");
    }
    for (name, figure) in gallery() {
        std::fs::write(folder.join(format!("{name}.svg")), svg(&figure).expect(name)).expect("a file");
        std::fs::write(folder.join(format!("{name}.png")), png(&figure).expect(name)).expect("a file");
    }
}

#[test]
fn every_figure_of_the_gallery_can_be_drawn() {
    for (name, figure) in gallery() {
        let text = svg(&figure).expect(name);
        assert!(text.contains("</svg>"), "{name}");
    }
    for (name, map) in maps() {
        assert_eq!(faults_of_map(&map), Vec::<String>::new(), "{name}");
    }
}
