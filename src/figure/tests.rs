//! Whole figures: what must be in them, and that no data make the drawing fail.

use super::geometry::{Rect, Spot, clip_segment};
use super::palette::MARK_PAPER;
use super::scene::Shape;
use super::*;
use crate::told::Told;
use proptest::prelude::*;

/// Head pressure against hose length for three diameters; numbers of the shape that Darcy-Weisbach gives, made up.
fn hose_figure() -> Figure {
    let lengths = (1..=12).map(|i| 25.0 * f64::from(i));
    let series = [("1/2 in", 0.30), ("5/8 in", 0.11), ("3/4 in", 0.045)]
        .map(|(name, slope)| Series::new(name, lengths.clone().map(|length| (length, 54.0 / (1.0 + slope * length / 25.0)))));
    Figure::curves(
        Axis::new("feed.length").unit("ft"),
        Axis::new("berry.pressure").unit("psi"),
        CurveStyle::Lines,
        series.to_vec(),
    )
    .titled("How long may the feed hose be?")
    .legend("feed.diameter")
    .marked(MarkedAxis::Y, 30.0, "stalls below")
}

fn bar_figure(names: &[&str], values: &[f64]) -> Figure {
    Figure::bars(
        Axis::new("head"),
        Axis::new("pressure").unit("psi"),
        names.iter().map(|name| name.to_string()).collect(),
        vec![BarSeries::new("pressure", values.iter().copied())],
    )
}

fn points_figure(points: Vec<(f64, Option<f64>)>) -> Figure {
    let series = Series { name: "tap".into(), points };
    Figure::curves(Axis::new("flow"), Axis::new("pressure"), CurveStyle::LinesAndPoints, vec![series])
}

#[test]
fn a_small_figure_is_this_svg() {
    let points = vec![(0.0, Some(58.0)), (3.0, Some(54.5)), (6.0, Some(44.0))];
    let figure = Figure {
        x: Axis::new("flow").unit("gpm"),
        y: Axis::new("tap.pressure").unit("psi"),
        ..points_figure(points).titled("Supply & demand").marked(MarkedAxis::X, 4.0, "one zone").sized(400, 300)
    };
    insta::assert_snapshot!(svg(&figure).expect("a figure"));
}

#[test]
fn bars_from_above_reach_down_from_the_upper_edge_and_the_longest_is_named() {
    let points = vec![(50.0, 0.5), (100.0, 0.0), (150.0, 2.0), (900.0, 9.0), (200.0, f64::NAN)];
    let above = |points: &[(f64, f64)]| FromAbove { name: "rain".into(), unit: Some("in".into()), points: points.to_vec() };
    let with = compose(&Figure { above: Some(above(&points)), ..hose_figure() }).expect("a figure");
    let plain = compose(&hose_figure()).expect("a figure");
    let boxes = |scene: &Scene| {
        let rect = |shape: &Shape| if let Shape::Box { rect, .. } = shape { Some(*rect) } else { None };
        scene.shapes.iter().filter_map(rect).collect::<Vec<_>>()
    };
    let bars: Vec<_> = boxes(&with).into_iter().filter(|rect| !boxes(&plain).contains(rect)).collect();
    // What is zero, outside of the axis or no number has no bar.
    assert_eq!(bars.len(), 2);
    assert_eq!(bars[0].top, bars[1].top);
    let height = |at: usize| bars[at].bottom - bars[at].top;
    assert!((height(1) - 4.0 * height(0)).abs() < 1e-9 && bars.iter().all(|bar| bar.right > bar.left));
    assert!(svg(&Figure { above: Some(above(&points)), ..hose_figure() }).expect("a figure").contains("rain, up to 2 in"));
    assert_eq!(svg(&Figure { above: Some(above(&[])), ..hose_figure() }), svg(&hose_figure()));
}

#[test]
fn the_same_figure_gives_the_same_bytes() {
    let figure = hose_figure();
    assert_eq!(svg(&figure), svg(&figure));
    assert_eq!(png(&figure), png(&figure));
}

#[test]
fn axis_titles_marks_and_names_are_text_in_the_svg() {
    let text = svg(&hose_figure()).expect("a figure");
    for wanted in [
        "role=\"img\" aria-label=\"How long may the feed hose be?\"",
        "<title>How long may the feed hose be?</title>",
        ">feed length (ft)</text>",
        ">berry pressure (psi)</text>",
        ">stalls below 30 psi</text>",
        ">3/4 in</text>",
        ">feed diameter</text>",
    ] {
        assert!(text.contains(wanted), "{wanted} is not in\n{text}");
    }
}

#[test]
fn a_png_has_the_size_of_the_figure() {
    let bytes = png(&hose_figure().sized(500, 320)).expect("a picture");
    assert_eq!(&bytes[1..4], b"PNG");
    // The header chunk holds width and height, big-endian (PNG specification, 11.2.2).
    assert_eq!(&bytes[16..24], &[0, 0, 1, 244, 0, 0, 1, 64]);
}

#[test]
fn missing_values_make_gaps_and_a_note() {
    let points = vec![(0.0, Some(5.0)), (1.0, Some(6.0)), (2.0, None), (3.0, Some(f64::NAN)), (4.0, Some(7.0)), (5.0, Some(8.0))];
    let text = svg(&points_figure(points)).expect("a figure");
    assert!(text.contains("2 missing values are left out"));
    assert_eq!(text.matches("stroke-width=\"2.3\"").count(), 2, "{text}");
}

#[test]
fn a_missing_bar_is_not_drawn_as_zero() {
    let mut figure = bar_figure(&["bed", "berry"], &[40.0, 31.0]);
    if let Plot::Bars { series, .. } = &mut figure.plot {
        series[0].values[1] = None;
    }
    let text = svg(&figure).expect("a figure");
    assert_eq!(text.matches("<rect").count(), 2, "the paper and one bar");
    assert!(text.contains(">–</text>") && text.contains("1 missing value is shown as –"));
}

#[test]
fn values_below_zero_on_a_logarithmic_axis_are_named_in_a_note() {
    let mut figure = points_figure(vec![(0.0, Some(1.0)), (1.0, Some(100.0)), (2.0, Some(-4.0))]);
    figure.y.scale = AxisScale::Log;
    assert!(svg(&figure).expect("a figure").contains("1 value at or below zero is left out"));
}

#[test]
fn numbers_next_to_nothing_count_as_zero_and_huge_ones_as_missing() {
    let mut figure = points_figure(vec![(0.0, Some(1e-309)), (1.0, Some(394.0)), (2.0, Some(1e200))]);
    assert!(svg(&figure).expect("a figure").contains("1 missing value is left out"));
    figure.y.scale = AxisScale::Log;
    assert!(svg(&figure).expect("a figure").contains("1 value at or below zero is left out"));
}

#[test]
fn long_names_make_the_bars_lie() {
    let names = ["tomatoes along the southern fence", "strawberries_behind_the_shed", "beans"];
    let text = svg(&bar_figure(&names, &[40.0, 31.0, 28.0])).expect("a figure");
    assert!(text.contains(">strawberries_behind_the_shed</text>"));
}

#[test]
fn what_lies_outside_a_given_range_is_cut_and_counted() {
    let mut figure = hose_figure();
    figure.y.range = Some((20.0, 40.0));
    figure.x.range = Some((0.0, 200.0));
    let scene = compose(&figure).expect("a figure");
    assert!(scene.description.contains("points lie outside the axes"), "{}", scene.description);
    let spots = curve_segments(&scene);
    let top = spots.iter().map(|(from, to)| from.1.min(to.1)).fold(f64::INFINITY, f64::min);
    let right = spots.iter().map(|(from, to)| from.0.max(to.0)).fold(0.0, f64::max);
    assert!(top > 60.0 && right < 700.0, "{top} {right}");
}

#[test]
fn the_label_of_a_mark_covers_no_line_when_there_is_room() {
    for at in [5.0, 12.0, 20.0, 30.0, 40.0] {
        let scene =
            compose(&Figure { marks: vec![], ..hose_figure() }.marked(MarkedAxis::Y, at, "stalls below")).expect("a figure");
        let boxes: Vec<Rect> = scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Box { rect, ink } if *ink == MARK_PAPER => Some(*rect),
                _ => None,
            })
            .collect();
        assert_eq!(boxes.len(), 1);
        let covered = curve_segments(&scene).iter().filter(|(from, to)| clip_segment(*from, *to, &boxes[0]).is_some()).count();
        assert_eq!(covered, 0, "the mark at {at}");
    }
}

/// The segments of the data's lines, told by their width.
fn curve_segments(scene: &Scene) -> Vec<(Spot, Spot)> {
    let lines = scene.shapes.iter().filter_map(|shape| match shape {
        Shape::Line { points, width, .. } if *width == 2.3 => Some(points),
        _ => None,
    });
    lines.flat_map(|points| points.windows(2).map(|pair| (pair[0], pair[1]))).collect()
}

#[test]
fn figures_that_cannot_be_drawn_say_why() {
    let nothing = points_figure(vec![]);
    let many = Figure {
        plot: Plot::Curves { style: CurveStyle::Lines, series: vec![Series::new("a", [(0.0, 1.0)]); 40] },
        ..nothing.clone()
    };
    let mut log_bars = bar_figure(&["a"], &[1.0]);
    log_bars.y.scale = AxisScale::Log;
    let mut below = points_figure(vec![(1.0, Some(-1.0))]);
    below.y.scale = AxisScale::Log;
    let figures = [
        nothing.clone(),
        Figure { plot: Plot::Curves { style: CurveStyle::Lines, series: vec![] }, ..nothing.clone() },
        points_figure(vec![(1.0, None), (f64::NAN, Some(2.0)), (2.0, Some(f64::INFINITY))]),
        many,
        log_bars,
        below,
        bar_figure(&["a", "b"], &[1.0]),
        bar_figure(&["a"], &[1.0]).marked(MarkedAxis::X, 1.0, "here"),
        hose_figure().sized(5000, 100),
        hose_figure().marked(MarkedAxis::Y, f64::NAN, "lost"),
        Figure { y: Axis::new("berry.pressure").within(60.0, 20.0), ..hose_figure() },
        Figure { y: Axis::new("berry.pressure").within(-1.0, 20.0).log(), ..hose_figure() },
    ];
    let told: Vec<String> = figures
        .iter()
        .map(|figure| {
            let error = svg(figure).expect_err("cannot be drawn");
            format!("{error}\n  {}", error.hint().unwrap_or_default())
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}

/// No text or number of the figure may break the SVG: balanced quotes and brackets, no NaN, nothing infinite.
fn assert_sound(text: &str) {
    for shape in text.lines().filter(|line| line.starts_with("<poly") || line.starts_with("<rect") || line.starts_with("<circle"))
    {
        assert!(!shape.contains("NaN") && !shape.contains("inf"), "{shape}");
    }
    assert_eq!(text.matches('<').count(), text.matches('>').count());
    assert_eq!(text.matches("<text").count(), text.matches("</text>").count());
}

fn awkward_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => -1e3..1e3f64,
        1 => prop::num::f64::ANY,
        1 => Just(0.0),
        1 => Just(42.0),
        1 => (-300.0..300.0f64).prop_map(|power| 10f64.powf(power)),
    ]
}

fn awkward_axis() -> impl Strategy<Value = Axis> {
    (".{0,40}", prop::option::of(".{0,6}"), any::<bool>(), prop::option::of((awkward_number(), awkward_number()))).prop_map(
        |(label, unit, log, range)| Axis {
            label,
            unit,
            scale: if log { AxisScale::Log } else { AxisScale::Linear },
            range,
            zero: Zero::WhenNear,
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_curves_make_the_drawing_fail(
        x in awkward_axis(),
        y in awkward_axis(),
        data in prop::collection::vec((".{0,60}", prop::collection::vec((awkward_number(), prop::option::weighted(0.8, awkward_number())), 0..30)), 0..8),
        style in prop_oneof![Just(CurveStyle::Lines), Just(CurveStyle::Points), Just(CurveStyle::LinesAndPoints), Just(CurveStyle::Steps)],
        marks in prop::collection::vec((awkward_number(), any::<bool>(), ".{0,50}"), 0..3),
        size in (320u32..900, 240u32..700),
    ) {
        let series = data.into_iter().map(|(name, points)| Series { name, points }).collect();
        let mut figure = Figure::curves(x, y, style, series).sized(size.0, size.1);
        for (at, upright, label) in marks {
            figure = figure.marked(if upright { MarkedAxis::X } else { MarkedAxis::Y }, at, label);
        }
        match svg(&figure) {
            Ok(text) => assert_sound(&text),
            Err(error) => prop_assert!(!error.to_string().is_empty() && error.hint().is_some_and(|hint| !hint.is_empty())),
        }
    }

    #[test]
    fn no_bars_make_the_drawing_fail(
        names in prop::collection::vec(".{0,50}", 1..30),
        seed in prop::collection::vec(prop::option::weighted(0.9, awkward_number()), 120),
        n_series in 1usize..5,
        range in prop::option::of((awkward_number(), awkward_number())),
    ) {
        let series = (0..n_series)
            .map(|index| BarSeries { name: format!("s{index}"), values: (0..names.len()).map(|group| seed[(index * 29 + group) % 120]).collect() })
            .collect();
        let y = Axis { range, ..Axis::new("pressure") };
        match svg(&Figure::bars(Axis::new("head"), y, names, series)) {
            Ok(text) => assert_sound(&text),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    #[test]
    fn no_curves_make_the_picture_fail(
        points in prop::collection::vec((awkward_number(), prop::option::weighted(0.8, awkward_number())), 0..30),
        title in ".{0,80}",
    ) {
        let figure = points_figure(points).titled(title).sized(320, 240);
        prop_assert_eq!(svg(&figure).is_ok(), png(&figure).is_ok());
    }
}
