//! Labels of random charts of every kind.

use super::geometry::{Rect, clip_segment};
use super::palette::MARK_PAPER;
use super::scene::Shape;
use super::*;
use proptest::prelude::*;
use proptest::test_runner::{TestError, TestRunner};

const NAMES: [&str; 10] = [
    "bed",
    "berry",
    "stalls below",
    "the dry corner under the walnut",
    "cut-out",
    "lawn, north",
    "3/4 in",
    "tomatoes along the southern fence",
    "tank",
    "mists above",
];

fn name(index: usize) -> String {
    NAMES[index % NAMES.len()].into()
}

/// Numbers in one range, now and then far away or missing.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![12 => 0.0..60.0f64, 2 => -30.0..0.0f64, 1 => 0.0..900.0f64, 1 => Just(f64::NAN)]
}

fn axis(label: usize, unit: &str) -> impl Strategy<Value = Axis> {
    let unit = unit.to_string();
    (any::<bool>(), 0.0..40.0f64, 5.0..80.0f64).prop_map(move |(cut, low, length)| {
        let axis = Axis::new(["feed.length", "berry.pressure"][label]).unit(&unit);
        if cut { axis.within(low, low + length) } else { axis }
    })
}

type Points = Vec<(f64, f64)>;

fn curves(lines: &[Points], style: CurveStyle) -> Plot {
    let series = lines.iter().enumerate().map(|(index, points)| {
        let mut points: Points = points.iter().copied().filter(|(x, _)| x.is_finite()).collect();
        if style != CurveStyle::Points {
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        Series { name: name(index), points: points.into_iter().map(|(x, y)| (x, Some(y))).collect() }
    });
    Plot::Curves { style, series: series.collect() }
}

/// The kinds of plots; the last is a field.
const KINDS: usize = 13;
const STRIPS: usize = 9;
const BARS: usize = 8;

/// A plot of one of all kinds.
fn plot(kind: usize, lines: &[Points]) -> Plot {
    let ys = |line: &Points| line.iter().map(|point| point.1).collect::<Vec<f64>>();
    let groups = || lines.iter().enumerate().map(|(index, line)| (name(index), ys(line))).collect();
    match kind {
        0 => curves(lines, CurveStyle::Lines),
        1 => curves(lines, CurveStyle::Points),
        2 => curves(lines, CurveStyle::LinesAndPoints),
        3 => curves(lines, CurveStyle::Steps),
        4 => Plot::Histogram(groups()),
        5 => {
            let row = |(index, line): (usize, &Points)| BoxRow { name: name(index), values: ys(line), color: index };
            Plot::Boxes(lines.iter().enumerate().map(row).collect())
        }
        6 => {
            let bar =
                |(index, line): (usize, &Points)| TornadoBar { name: name(index), low: Some(line[0].0), high: Some(line[0].1) };
            Plot::Tornado { base: 30.0, bars: lines.iter().enumerate().map(bar).collect() }
        }
        7 => {
            let things = lines.iter().take(3).enumerate().map(|(index, line)| {
                let falls = ys(line).into_iter().map(|value| Some(Fall::Change(value - 30.0)));
                Falls { name: name(index), rows: std::iter::once(Some(Fall::Total(58.0))).chain(falls).collect() }
            });
            Plot::Waterfall(Waterfall { names: (0..9).map(name).collect(), things: things.collect() })
        }
        BARS => {
            let count = lines[0].len();
            let series = lines.iter().map(|line| BarSeries {
                name: name(line.len()),
                values: (0..count).map(|at| line.get(at).map(|point| point.1)).collect(),
            });
            Plot::Bars { categories: (0..count).map(|at| format!("{} {at}", name(at))).collect(), series: series.collect() }
        }
        STRIPS => {
            let row = |(index, line): (usize, &Points)| {
                let spans = line.iter().enumerate().map(|(at, (x, _))| Span {
                    from: *x,
                    to: x + 1.0,
                    times: if at % 2 == 0 { 1 } else { 48 },
                });
                StripRow { name: name(index), spans: spans.collect(), color: index }
            };
            let mut events: Vec<_> = lines[0].iter().map(|(x, _)| StripEvent { at: *x, label: "tank is empty".into() }).collect();
            events.sort_by(|a, b| a.at.total_cmp(&b.at));
            let marks = ys(&lines[0]).into_iter().take(3).filter(|at| at.is_finite());
            let marks = marks.map(|at| Mark { at, axis: MarkedAxis::Y, label: name(2) }).collect();
            let series = lines.iter().enumerate().map(|(index, line)| Series::new(name(index), line.iter().copied())).collect();
            let panel = StripPanel { axis: Axis::new("pressure").unit("psi"), series, ribbons: Vec::new(), marks };
            Plot::Strips(Strips { rows: lines.iter().enumerate().map(row).collect(), events, panels: vec![panel] })
        }
        10 => {
            let styles = [CurveStyle::Points, CurveStyle::Lines, CurveStyle::Steps, CurveStyle::LinesAndPoints];
            let layer = |(index, line): (usize, &Points)| {
                let style = styles[index % styles.len()];
                let Plot::Curves { mut series, .. } = curves(std::slice::from_ref(line), style) else { unreachable!("curves") };
                (style, Series { name: name(index), ..series.remove(0) })
            };
            Plot::Layers(lines.iter().enumerate().map(layer).collect())
        }
        11 => {
            let figure = |(index, line): (usize, &Points)| {
                let panel = Figure::new(
                    Axis::new("feed.length").unit("ft"),
                    Axis::new(name(index)),
                    plot((index + line.len()) % 7, lines),
                );
                panel.titled(name(line.len())).marked(MarkedAxis::Y, 30.0, name(index + 2))
            };
            Plot::Panels { columns: 1 + lines[0].len() % 3, figures: lines.iter().enumerate().map(figure).collect() }
        }
        _ => {
            let (xs, ys): (Vec<f64>, Vec<f64>) = ((0..9).map(f64::from).collect(), (0..7).map(f64::from).collect());
            let all: Vec<f64> = lines.iter().flatten().map(|point| point.1).collect();
            let values = (0..63).map(|at| Some(all[at % all.len()] + 3.0 * (at % 9) as f64)).collect();
            let marks = vec![(30.0, name(2)), (33.0, name(7))];
            Plot::Heat(Field { xs, ys, values, axis: Axis::new("berry.pressure").unit("psi"), marks })
        }
    }
}

fn chart() -> impl Strategy<Value = Figure> {
    (0..KINDS).prop_flat_map(chart_of)
}

/// A chart of one kind.
fn chart_of(kind: usize) -> impl Strategy<Value = Figure> {
    let points = prop_oneof![3 => 1usize..12, 1 => 12usize..40];
    let lines = points.prop_flat_map(|most| prop::collection::vec(prop::collection::vec((number(), number()), 1..=most), 1..6));
    let marks = prop::collection::vec((-20.0..90.0f64, any::<bool>(), 0usize..10), 0..5);
    let names = prop::collection::vec((number(), number(), 0usize..10), 0..12);
    let options = (any::<bool>(), any::<bool>(), any::<bool>(), 320u32..900, 240u32..640);
    (lines, marks, names, (axis(0, "ft"), axis(1, "psi")), options).prop_map(
        move |(lines, marks, names, (x, y), (titled, equality, above, width, height))| {
            let mut figure = Figure::new(x, y, plot(kind, &lines)).sized(width, height).legend("feed.diameter");
            figure.equality = equality;
            if kind == STRIPS {
                figure.x = Axis::new("time").clocks();
            }
            for (at, upright, label) in marks.into_iter().filter(|_| kind != STRIPS) {
                // Bars have names along x.
                figure = figure.marked(if upright && kind != BARS { MarkedAxis::X } else { MarkedAxis::Y }, at, name(label));
            }
            for (x, y, label) in names {
                figure = figure.callout((x, y), name(label));
            }
            if above {
                let points = lines[0].iter().filter(|(x, y)| x.is_finite() && *y > 0.0).copied().collect();
                figure.above = Some(FromAbove { name: "rain".into(), unit: Some("in".into()), points });
            }
            if titled { figure.titled("How long may the feed hose be before the last head stalls?") } else { figure }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(250) })]

    /// A mark whose label has a box hides nothing: no line of the data runs below it.
    #[test]
    fn a_label_in_a_box_covers_no_line(figure in chart()) {
        let Plot::Curves { style, .. } = &figure.plot else { return Ok(()) };
        let (Ok(scene), true) = (compose(&figure), *style != CurveStyle::Points) else { return Ok(()) };
        let boxes = scene.shapes.iter().filter_map(|shape| match shape {
            Shape::Box { rect, ink } if *ink == MARK_PAPER => Some(*rect),
            _ => None,
        });
        let lines: Vec<_> = scene.shapes.iter().filter_map(|shape| match shape {
            Shape::Line { points, width, .. } if *width > 1.6 => Some(points),
            _ => None,
        }).collect();
        for rect in boxes {
            let crossed = lines.iter().flat_map(|line| line.windows(2)).any(|pair| clip_segment(pair[0], pair[1], &rect).is_some());
            prop_assert!(!crossed, "{:?}", rect);
        }
    }
}

/// What is wrong with the texts of a chart; the letters of a text reach less far up and down than its line.
fn fault_of_texts(figure: &Figure) -> Option<String> {
    let scene = compose(figure).ok()?;
    let sheet = Rect { left: 0.0, top: 0.0, right: f64::from(scene.width), bottom: f64::from(scene.height) };
    let mut before: Vec<(&str, Rect)> = Vec::new();
    for shape in &scene.shapes {
        let Shape::Text(text) = shape else { continue };
        let bounds = text.bounds();
        let rect = Rect { top: bounds.top + 0.2 * text.size, bottom: bounds.bottom - 0.1 * text.size, ..bounds };
        if !(sheet.holds((rect.left, rect.top)) && sheet.holds((rect.right, rect.bottom))) {
            return Some(format!("'{}' leaves the sheet: {rect:?} of {sheet:?}", text.content));
        }
        if let Some((other, its)) = before.iter().find(|(_, its)| rect.shared_area(its) > 0.5) {
            return Some(format!("'{}' covers '{other}': {rect:?} and {its:?}", text.content));
        }
        before.push((&text.content, rect));
    }
    None
}

#[test]
fn no_text_of_a_chart_of_any_kind_covers_another_or_leaves_the_sheet() {
    let mut faults = Vec::new();
    for kind in 0..KINDS {
        let config = ProptestConfig { failure_persistence: None, max_shrink_iters: 64, ..ProptestConfig::with_cases(40) };
        let judged = |figure: Figure| fault_of_texts(&figure).map_or(Ok(()), |fault| Err(TestCaseError::fail(fault)));
        match TestRunner::new(config).run(&chart_of(kind), judged) {
            Err(TestError::Fail(fault, figure)) => faults.push(format!("kind {kind}: {fault}\n{figure:?}")),
            found => assert!(found.is_ok(), "kind {kind}: {found:?}"),
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
