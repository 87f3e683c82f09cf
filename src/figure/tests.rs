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
    let text = svg(&figure).expect("a figure");
    // The font is tested where it is made.
    let (before, rest) = text.split_once("@font-face").expect("a font");
    let (_, after) = rest.split_once("@media").expect("dark colors");
    insta::assert_snapshot!(format!("{before}@media{after}"));
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

/// The boxes of a color.
fn boxes_of(scene: &Scene, color: super::scene::Ink) -> Vec<Rect> {
    let rect = |shape: &Shape| match shape {
        Shape::Box { rect, ink } if *ink == color => Some(*rect),
        _ => None,
    };
    scene.shapes.iter().filter_map(rect).collect()
}

fn texts(scene: &Scene) -> Vec<&str> {
    scene
        .shapes
        .iter()
        .filter_map(|shape| if let Shape::Text(text) = shape { Some(text.content.as_str()) } else { None })
        .collect()
}

#[test]
fn a_waterfall_begins_each_step_where_the_one_above_ends() {
    let rows = [Fall::Total(58.0), Fall::Change(-14.0), Fall::Change(6.0), Fall::Total(50.0)].map(Some).to_vec();
    let names = ["main", "feed", "pump", "left"].map(String::from).to_vec();
    let waterfall = Waterfall { names, things: vec![Falls { name: String::new(), rows }] };
    let figure = Figure::new(Axis::new("pressure").unit("psi"), Axis::new(""), Plot::Waterfall(waterfall));
    let scene = compose(&figure).expect("a figure");
    let (totals, falls, rises) = (
        boxes_of(&scene, super::palette::look(7).ink),
        boxes_of(&scene, super::palette::look(1).ink),
        boxes_of(&scene, super::palette::look(3).ink),
    );
    assert_eq!((totals.len(), falls.len(), rises.len()), (2, 1, 1));
    assert!((falls[0].right - totals[0].right).abs() < 1e-9 && (rises[0].left - falls[0].left).abs() < 1e-9);
    assert!((rises[0].right - totals[1].right).abs() < 1e-9, "58 - 14 + 6 is 50");
    let shown = texts(&scene);
    for text in ["58.0", "-14.0", "+6.0", "50.0"] {
        assert!(shown.contains(&text), "{text} in {shown:?}");
    }
    assert_eq!(scene.description, "pressure (psi), step by step. main: 58.0. feed: -14.0. pump: +6.0. left: 50.0.");
}

fn strips(times: usize) -> Figure {
    let span = Span { from: 5.5, to: 6.5, times };
    let rows = vec![StripRow { name: "pump".into(), spans: vec![span], color: 7 }];
    let series = vec![Series::new("switch", [(5.0, 50.0), (5.5, 70.0), (7.0, 60.0)])];
    let marks = vec![Mark { at: 50.0, axis: MarkedAxis::Y, label: "cut-in".into() }];
    let panels = vec![StripPanel { axis: Axis::new("pressure").unit("psi"), series, ribbons: Vec::new(), marks }];
    let events = vec![StripEvent { at: 29.5, label: "tank is empty".into() }];
    Figure::new(Axis::new("time").clocks(), Axis::new(""), Plot::Strips(Strips { rows, events, panels }))
}

#[test]
fn what_goes_on_and_off_too_fast_is_one_block_with_its_count() {
    let plain = compose(&strips(1)).expect("a figure");
    let many = compose(&strips(48)).expect("a figure");
    assert!(texts(&many).contains(&"48 times") && !texts(&plain).iter().any(|text| text.contains("times")));
    let veils = |scene: &Scene| scene.shapes.iter().filter(|shape| matches!(shape, Shape::Veil { .. })).count();
    assert_eq!((veils(&plain), veils(&many)), (0, 1));
    // Times are those of a clock, and the next midnight is the second day.
    let ticks = texts(&plain);
    assert!(ticks.contains(&"day 2") && ticks.contains(&"12:00"), "{ticks:?}");
    assert!(ticks.contains(&"1: day 2, 05:30 tank is empty"), "{ticks:?}");
    assert!(many.description.contains("pump: on 48 times, first at 05:30."), "{}", many.description);
}

#[test]
fn panels_stand_beside_each_other_and_are_all_described() {
    let small = || hose_figure();
    let figures = vec![small().titled("one"), small().titled("two"), small().titled("three")];
    let figure = Figure::new(Axis::new("x"), Axis::new("y"), Plot::Panels { columns: 2, figures }).titled("All").sized(800, 700);
    let scene = compose(&figure).expect("a figure");
    let place = |word: &str| {
        let found = scene.shapes.iter().find_map(|shape| match shape {
            Shape::Text(text) if text.content == word => Some(text.at),
            _ => None,
        });
        found.unwrap_or_else(|| panic!("{word}"))
    };
    assert_eq!((place("one").1, place("one").0), (place("two").1, place("three").0));
    assert!(place("two").0 > place("one").0 + 300.0 && place("three").1 > place("one").1 + 250.0);
    assert!(["one. ", "two. ", "three. "].iter().all(|name| scene.description.contains(name)));
    assert_eq!((scene.width, scene.height), (800, 700));
}

#[test]
fn a_mark_beyond_an_axis_has_an_arrow_at_its_end() {
    let mut figure = hose_figure();
    figure.y.range = Some((32.0, 60.0));
    let scene = compose(&figure).expect("a figure");
    let label = scene.shapes.iter().find_map(|shape| match shape {
        Shape::Text(text) if text.content == "stalls below 30 psi" => Some(text.at),
        _ => None,
    });
    let arrows =
        scene.shapes.iter().filter(|shape| matches!(shape, Shape::Area { ink, .. } if *ink == super::palette::MARK)).count();
    assert_eq!(arrows, 1);
    // At the lower edge of the plot.
    assert!(label.expect("a label").1 > 350.0, "{label:?}");
    assert!(!scene.description.contains("outside the axes") || scene.description.contains("points lie outside the axes"));
}

/// A dense cloud leaves no place free: the label stands there without a box, and what lies below stays visible.
#[test]
fn the_label_of_a_mark_hides_nothing() {
    let points = (0..4000).map(|i| (f64::from(i % 80), Some(f64::from(i / 80)))).collect();
    let mut figure = points_figure(points).marked(MarkedAxis::Y, 25.0, "stalls below");
    figure.plot = match figure.plot {
        Plot::Curves { series, .. } => Plot::Curves { style: CurveStyle::Points, series },
        other => other,
    };
    let scene = compose(&figure).expect("a figure");
    assert!(boxes_of(&scene, MARK_PAPER).is_empty());
    assert!(texts(&scene).contains(&"stalls below 25"));
}

#[test]
fn values_of_bars_stand_clear_of_the_names() {
    let long: Vec<String> = (0..8).map(|i| format!("the change of number {i}, with all that belongs to it")).collect();
    let long: Vec<&str> = long.iter().map(String::as_str).collect();
    let values = [-6.1, 1.2, -8.7, 3.3, -2.5, 0.4, 5.6, -7.8];
    let printed: Vec<String> = values.iter().map(|value| format!("{value:.1}")).collect();
    for (names, lying) in [(&long[..], true), (&["a", "b", "c", "d", "e", "f", "g", "h"][..], false)] {
        let scene = compose(&bar_figure(names, &values)).expect("a figure");
        let boxes: Vec<(&str, Rect)> = scene
            .shapes
            .iter()
            .filter_map(|shape| if let Shape::Text(text) = shape { Some((text.content.as_str(), text.bounds())) } else { None })
            .collect();
        let of_values: Vec<_> = boxes.iter().filter(|(text, _)| printed.iter().any(|value| value == text)).collect();
        assert_eq!(of_values.len(), values.len(), "lying: {lying}");
        for (value, rect) in of_values {
            for (other, taken) in boxes.iter().filter(|(text, _)| text != value) {
                assert!(rect.shared_area(taken) < 1.0, "{value} on {other}, lying: {lying}");
            }
        }
    }
}

#[test]
fn lines_that_coincide_are_both_seen() {
    let (one, other) =
        (Series::new("a", [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0)]), Series::new("b", [(0.0, 1.0), (1.0, 2.0), (2.0, 5.0)]));
    let apart = Series::new("b", [(0.0, 4.0), (1.0, 7.0), (2.0, 5.0)]);
    let widths = |second: Series| {
        let figure = Figure::curves(Axis::new("x"), Axis::new("y"), CurveStyle::Lines, vec![one.clone(), second]);
        let scene = compose(&figure).expect("a figure");
        let of = |index: usize| {
            scene.shapes.iter().find_map(|shape| match shape {
                Shape::Line { ink, width, .. } if *ink == super::palette::look(index).ink && *width > 2.0 => Some(*width),
                _ => None,
            })
        };
        (of(0).expect("a line"), of(1).expect("a line"))
    };
    let (above, below) = widths(other);
    assert!(below > above + 2.0, "{below} below {above}");
    let (first, second) = widths(apart);
    assert_eq!(first, second);
}

#[test]
fn a_fan_and_the_line_of_equality_are_drawn_below_the_points() {
    let mut figure = points_figure(vec![(10.0, Some(11.0)), (20.0, Some(19.0)), (30.0, Some(33.0))]);
    figure.equality = true;
    figure.ribbons = vec![Ribbon { series: 0, points: vec![(10.0, 8.0, 14.0), (30.0, 28.0, 40.0)], opacity: 0.2 }];
    let scene = compose(&figure).expect("a figure");
    let veil = scene.shapes.iter().position(|shape| matches!(shape, Shape::Veil { .. })).expect("a band");
    let point = scene.shapes.iter().position(|shape| matches!(shape, Shape::Disc { .. })).expect("a point");
    assert!(veil < point);
    assert!(texts(&scene).contains(&"equal"));
    // The axis holds the band too.
    assert!(texts(&scene).contains(&"40"), "{:?}", texts(&scene));
}

#[test]
fn a_picture_has_as_many_pixels_as_asked_and_a_dark_one_other_colors() {
    let size = |bytes: &[u8]| {
        let number = |at: usize| u32::from_be_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
        (number(16), number(20))
    };
    let figure = hose_figure().sized(400, 300);
    let plain = png(&figure).expect("a picture");
    let sharp = png(&Figure { pixel_ratio: 2, ..figure.clone() }).expect("a picture");
    assert_eq!((size(&plain), size(&sharp)), ((400, 300), (800, 600)));
    let dark = png(&Figure { dark: true, ..figure.clone() }).expect("a picture");
    assert!(size(&dark) == (400, 300) && dark != plain);
    assert!(matches!(png(&Figure { pixel_ratio: 5, ..figure }), Err(FigureError::PixelRatio { found: 5, most: 4 })));
}

/// Every color of a drawing has its dark counterpart in it, for screens only.
#[test]
fn a_drawing_holds_its_font_and_its_dark_colors() {
    let text = svg(&hose_figure()).expect("a drawing");
    assert_eq!(text.matches("@font-face").count(), 2, "a regular and a bold one");
    assert_eq!(text.matches("@media screen and (prefers-color-scheme:dark)").count(), 1);
    assert!(text.contains("[fill=\"#ffffff\"]{fill:#161616}") && text.contains("font-family=\"hosewright, Noto Sans"));
    assert!(text.len() < 30_000, "{} bytes", text.len());
}

#[test]
fn every_figure_has_a_description() {
    for (name, figure) in super::gallery::gallery() {
        let told = description(&figure).expect(name);
        assert!(told.len() > 20 && told.ends_with('.'), "{name}: {told}");
    }
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
            ..Axis::default()
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
