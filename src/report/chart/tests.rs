//! What stands on which axis of a figure, in which unit, and which charts are refused.

use super::*;
use crate::figure::{CurveStyle, Plot};
use crate::quantity::find_unit;
use crate::support::q;
use crate::table::{Column, Table};

const US: UnitSystem = UnitSystem::Us;

/// Lengths of a feed with the pressure and the flow at its end, in two diameters; one flow is missing.
fn table() -> Table {
    let unit = |name: &str| find_unit(name).expect("a unit");
    let psi = crate::quantity::PSI_PA;
    Table::new(vec![
        Column::texts("diameter", ["wide", "narrow", "wide", "narrow"]),
        Column::written("length", [100.0, 100.0, 50.0, 50.0], unit("ft")),
        Column::written("head.pressure", [40.0, 20.0, 45.0, 30.0], unit("psi")),
        Column::quantities(
            "low",
            [Some(10.0 * psi), None, Some(30.0 * psi), Some(5.0 * psi)],
            q(1.0, "psi").dimension,
            q(1.0, "psi").preference,
        ),
        Column::written("head.flow", [2.0, 1.0, 2.2, 1.3], unit("gpm")),
    ])
    .expect("a table")
}

fn chart(x: &str, y: &[&str]) -> Chart {
    Chart { x: Some(x.into()), y: y.iter().map(|name| name.to_string()).collect(), ..Chart::of(table()) }
}

fn figure(chart: &Chart) -> Figure {
    chart.figure(US).expect("a figure")
}

/// The name of a curve and its points.
type Curve = (String, Vec<(f64, Option<f64>)>);

/// Names and points of the curves of a figure.
fn curves(figure: &Figure) -> Vec<Curve> {
    let round = |value: f64| (value * 1e6).round() / 1e6;
    let Plot::Curves { series, .. } = &figure.plot else { panic!("curves, found {:?}", figure.plot) };
    series.iter().map(|one| (one.name.clone(), one.points.iter().map(|(x, y)| (round(*x), y.map(round))).collect())).collect()
}

#[test]
fn lines_run_along_numbers_sorted_and_bars_stand_over_texts() {
    let wide = table().filter(&[true, false, true, false]).expect("two rows");
    let lines = figure(&Chart { table: wide, ..chart("length", &["head.pressure"]) });
    assert_eq!(curves(&lines), [("head.pressure".to_string(), vec![(50.0, Some(45.0)), (100.0, Some(40.0))])]);
    assert_eq!((lines.x.label.as_str(), lines.x.unit.as_deref()), ("length", Some("ft")));
    assert_eq!((lines.y.label.as_str(), lines.y.unit.as_deref()), ("head.pressure", Some("psi")));
    let bars = figure(&chart("diameter", &["head.pressure"]));
    let Plot::Bars { categories, series } = &bars.plot else { panic!("bars") };
    assert_eq!(categories, &["wide", "narrow"]);
    // Of a name that stands twice the first row counts.
    assert_eq!(series[0].values.iter().map(|value| value.map(f64::round)).collect::<Vec<_>>(), [Some(40.0), Some(20.0)]);
}

#[test]
fn a_column_that_tells_lines_apart_makes_one_of_each_of_its_values() {
    let by = Chart { by: Some("diameter".into()), ..chart("length", &["head.flow"]) };
    let drawn = figure(&by);
    assert_eq!(drawn.legend_title.as_deref(), Some("diameter"));
    assert_eq!(
        curves(&drawn),
        [
            ("wide".to_string(), vec![(50.0, Some(2.2)), (100.0, Some(2.0))]),
            ("narrow".to_string(), vec![(50.0, Some(1.3)), (100.0, Some(1.0))]),
        ]
    );
    let two = figure(&Chart { by: Some("diameter".into()), ..chart("length", &["head.pressure", "low"]) });
    let names: Vec<String> = curves(&two).into_iter().map(|(name, _)| name).collect();
    assert_eq!(names, ["head.pressure, wide", "low, wide", "head.pressure, narrow", "low, narrow"]);
    assert_eq!(two.y.label, "head.pressure, low");
    assert_eq!(curves(&two)[3].1, [(50.0, Some(5.0)), (100.0, None)], "what is missing is a gap");
}

#[test]
fn units_go_by_the_system_that_is_asked_for() {
    let wide = table().filter(&[true, false, false, false]).expect("a row");
    let metric = Chart { table: wide, ..chart("length", &["head.pressure"]) }.figure(UnitSystem::Metric).expect("a figure");
    assert_eq!((metric.x.unit.as_deref(), metric.y.unit.as_deref()), (Some("m"), Some("bar")));
    assert_eq!(curves(&metric)[0].1, [(30.48, Some(2.757_903))]);
}

#[test]
fn a_mark_stands_on_the_axis_of_its_dimension_in_its_unit() {
    use crate::figure::MarkedAxis;
    let marks = vec![(q(2.0, "bar"), "least".to_string()), (q(20.0, "m"), "fence".to_string())];
    let drawn = figure(&Chart { marks, ..chart("length", &["head.pressure"]) });
    assert_eq!(drawn.marks.len(), 2);
    assert_eq!((drawn.marks[0].axis, drawn.marks[0].label.as_str()), (MarkedAxis::Y, "least"));
    assert!((drawn.marks[0].at - 29.007_547).abs() < 1e-5, "{}", drawn.marks[0].at);
    assert_eq!(drawn.marks[1].axis, MarkedAxis::X);
    assert!((drawn.marks[1].at - 65.616_798).abs() < 1e-5, "{}", drawn.marks[1].at);
}

#[test]
fn histograms_boxes_heat_maps_and_swings_take_their_columns() {
    let styled = |style: Style, chart: Chart| Chart { style: Some(style), ..chart };
    let histogram = figure(&styled(Style::Histogram, chart("head.pressure", &[])));
    let Plot::Histogram(groups) = &histogram.plot else { panic!("a histogram") };
    assert_eq!(groups[0].1.iter().map(|value| value.round()).collect::<Vec<_>>(), [40.0, 20.0, 45.0, 30.0]);
    let boxes = figure(&styled(Style::Boxes, chart("diameter", &["head.flow"])));
    let Plot::Boxes(groups) = &boxes.plot else { panic!("boxes") };
    assert_eq!(groups.iter().map(|row| (row.name.as_str(), row.values.len())).collect::<Vec<_>>(), [("wide", 2), ("narrow", 2)]);
    // A column that has groups makes several of each.
    let by = |chart: Chart| Chart { by: Some("diameter".into()), ..chart };
    let by_diameter = figure(&by(styled(Style::Histogram, chart("head.pressure", &[]))));
    let Plot::Histogram(groups) = &by_diameter.plot else { panic!("a histogram") };
    let counts = groups.iter().map(|(name, values)| (name.as_str(), values.len())).collect::<Vec<_>>();
    assert_eq!(counts, [("wide", 2), ("narrow", 2)]);
    let by_both = figure(&by(styled(Style::Boxes, chart("length", &["head.flow"]))));
    let Plot::Boxes(groups) = &by_both.plot else { panic!("boxes") };
    let names: Vec<(&str, usize)> = groups.iter().map(|row| (row.name.as_str(), row.color)).collect();
    assert_eq!(names, [("100 ft, wide", 0), ("100 ft, narrow", 1), ("50 ft, wide", 0), ("50 ft, narrow", 1)]);
    let shares = figure(&styled(Style::Ecdf, chart("head.pressure", &[])));
    let points = [(20.0, 0.0), (20.0, 25.0), (30.0, 50.0), (40.0, 75.0), (45.0, 100.0), (45.0, 100.0)];
    assert_eq!(curves(&shares)[0].1, points.map(|(x, share)| (x, Some(share))));
    let heat = figure(&styled(Style::Heat("head.pressure".into()), chart("length", &["head.flow"])));
    let Plot::Heat(field) = &heat.plot else { panic!("a heat map") };
    assert_eq!((field.xs.len(), field.ys.len()), (2, 4));
    assert_eq!(field.values.iter().flatten().count(), 4, "a cell for each row, the others blank");
    let bars = figure(&styled(Style::Tornado(q(25.0, "psi")), chart("diameter", &["low", "head.pressure"])));
    let Plot::Tornado { base, bars } = &bars.plot else { panic!("bars") };
    assert!((base - 25.0).abs() < 1e-9);
    assert_eq!((bars.len(), bars[1].low, bars[1].high.map(f64::round)), (4, None, Some(20.0)));
}

#[test]
fn the_front_is_drawn_below_the_points() {
    let front = Some(ParetoFront { x: Better::Less, y: Better::More });
    let drawn =
        figure(&Chart { front, style: Some(Style::Curves(CurveStyle::Points)), ..chart("head.flow", &["head.pressure"]) });
    let Plot::Layers(layers) = &drawn.plot else { panic!("layers") };
    assert_eq!(layers[0].0, CurveStyle::Lines);
    let line: Vec<f64> = layers[0].1.points.iter().map(|(x, _)| (x * 10.0).round() / 10.0).collect();
    // By rising flow each has more pressure than all before it.
    assert_eq!(line, [1.0, 1.3, 2.0, 2.2]);
}

#[test]
fn five_values_of_a_column_of_numbers_have_colors_of_their_order() {
    let rows = |count: usize| {
        let unit = find_unit("ft").expect("a unit");
        let of = |value: fn(usize) -> f64| (0..2 * count).map(value).collect::<Vec<f64>>();
        Table::new(vec![
            Column::written("diameter", of(|row| (row / 2) as f64), unit),
            Column::written("length", of(|row| (row % 2) as f64), unit),
            Column::numbers("loss", of(|row| row as f64)),
        ])
        .expect("a table")
    };
    let drawn = |count: usize| figure(&Chart { table: rows(count), by: Some("diameter".into()), ..chart("length", &["loss"]) });
    assert!(drawn(4).shades.is_none());
    let shades = drawn(5).shades.expect("colors");
    assert_eq!(shades.axis.unit.as_deref(), Some("ft"));
    assert_eq!(shades.values.iter().map(|value| value.round()).collect::<Vec<_>>(), [0.0, 1.0, 2.0, 3.0, 4.0]);
    // More lines than colors of their own can distinguish.
    crate::figure::svg(&drawn(60)).expect("a drawing");
}

#[test]
fn panels_have_one_range_and_a_figure_for_each_value() {
    let drawn = figure(&Chart { panels: Some("diameter".into()), ..chart("length", &["head.pressure"]) });
    let Plot::Panels { columns, figures } = &drawn.plot else { panic!("panels") };
    assert_eq!((*columns, figures.len()), (2, 2));
    assert_eq!(figures.iter().filter_map(|figure| figure.title.as_deref()).collect::<Vec<_>>(), ["wide", "narrow"]);
    let reach = |figure: &Figure| figure.y.reach.map(|(low, high)| (low.round(), high.round()));
    assert!(figures.iter().all(|figure| reach(figure) == Some((20.0, 45.0))));
}

#[test]
fn options_without_a_meaning_are_refused_with_the_charts_that_have_one() {
    use crate::told::Told;
    let styled = |style: Style, chart: Chart| Chart { style: Some(style), ..chart };
    let histogram = || styled(Style::Histogram, chart("length", &[]));
    let charts = [
        Chart { names: Some("diameter".into()), ..chart("diameter", &["head.flow"]) },
        Chart { bands: vec![("on".into(), vec![])], ..histogram() },
        Chart { fan: true, ..histogram() },
        Chart { y_limits: Some((q(0.0, "psi"), q(1.0, "psi"))), ..histogram() },
        styled(Style::Histogram, chart("length", &["head.flow"])),
        Chart { x_limits: Some((q(0.0, "psi"), q(1.0, "psi"))), ..chart("length", &["head.flow"]) },
        Chart { by: Some("diameter".into()), ..styled(Style::Heat("low".into()), chart("length", &["head.flow"])) },
        styled(Style::Boxes, chart("diameter", &["head.flow", "head.flow"])),
    ];
    let told = |chart: &Chart| {
        let error = chart.figure(US).expect_err("refused");
        format!("{error}; {}", error.hint().unwrap_or_default())
    };
    insta::assert_snapshot!(charts.iter().map(told).collect::<Vec<_>>().join("\n"), @r"
    names_from has no meaning for bars; leave .names_from(..) out; it is for lines or points
    bands has no meaning for a histogram; leave .bands(..) out; it is for lines or points
    fan has no meaning for a histogram; leave .fan(..) out; it is for lines or points
    y_limits has no meaning for a histogram; leave .y_limits(..) out; it is for lines or points, bars, boxes, a tornado
    y has no meaning for a histogram; leave .y(..) out; it is for lines or points, bars, boxes, a heat map, a tornado
    x_limits: 0 psi (a pressure) does not fit the column on x; give both ends in a unit of the column
    by has no meaning for a heat map; leave .by(..) out; it is for lines or points, bars, a histogram, an ecdf, boxes, a tornado
    boxes show one column on y, found 2; draw a chart for each column
    ");
}

#[test]
fn charts_that_cannot_be_drawn_say_why() {
    let marked = |value, chart: Chart| Chart { marks: vec![(value, "here".into())], ..chart };
    let styled = |style: Style, chart: Chart| Chart { style: Some(style), ..chart };
    let charts = [
        Chart::of(table()),
        Chart { x: Some("length".into()), ..Chart::of(table()) },
        chart("lenght", &["head.flow"]),
        styled(Style::Curves(CurveStyle::Lines), chart("diameter", &["head.flow"])),
        chart("length", &["diameter"]),
        chart("length", &["head.flow", "head.pressure"]),
        styled(Style::Histogram, chart("diameter", &[])),
        styled(Style::Tornado(q(1.0, "psi")), chart("diameter", &["head.pressure"])),
        styled(Style::Tornado(q(1.0, "gpm")), chart("diameter", &["low", "head.pressure"])),
        marked(q(1.0, "gpm"), chart("length", &["head.pressure"])),
        marked(q(1.0, "gpm"), styled(Style::Histogram, chart("length", &[]))),
        marked(q(1.0, "gpm"), styled(Style::Heat("head.pressure".into()), chart("length", &["head.flow"]))),
        Chart { bands: vec![("on".into(), vec![(q(1.0, "h"), q(2.0, "h"))])], ..chart("length", &["head.flow"]) },
    ];
    let told: Vec<String> = charts.iter().map(|chart| chart.figure(US).expect_err("refused").to_string()).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    the chart has no column on its x axis
    the chart has no column on its y axis
    no column 'lenght' in this table
    the column 'diameter' holds strings; lines need numbers on x
    the column 'diameter' holds no numbers and cannot be on the y axis
    'head.flow' and 'head.pressure' are of different dimensions and cannot share the y axis
    the column 'diameter' holds no numbers
    a tornado needs two columns on y: the value at the low and at the high end of each parameter
    tornado: the present value is 1 gpm (a flow), the columns are not
    mark: 1 gpm (a flow) fits neither axis: x is a length, y is a pressure
    mark: 1 gpm (a flow) does not fit the values of the chart
    mark: 1 gpm (a flow) does not fit the colors of the chart
    bands: 1 h (a time) is not on the axis of 'length'
    ");
}
