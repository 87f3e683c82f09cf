//! The values of a figure, for the script of a page: who points at one, or asks for it by the keyboard, reads it.

use crate::figure::{Axis, AxisScale, Cells, Drawn, Figure, Graphic, Plot, Told, curves_of};
use serde_json::{Value, json};
use std::collections::{HashMap, VecDeque};

/// Values of a figure; with more, nobody can point at one.
const MOST_VALUES: usize = 600;
/// Cells of a ground; of a finer one some stand for their neighbors.
const MOST_CELLS: usize = 1600;

/// The values of a drawing and where they lie on it, and on the one that a narrow page shows, as JSON; nothing for a drawing whose values
/// have no places, and for one with too many.
///
/// Where both axes have numbers, `series` has them in rows, and the places follow from the axes; elsewhere `told` has each
/// value with its row, its place and its words, and `cells` those of the ground of a map.
pub fn values(drawn: &Drawn, narrow: Option<&Drawn>) -> Option<String> {
    let mut all = json!({ "size": drawn.size() });
    let of_axes = if let Graphic::Figure(figure) = drawn.graphic() { rows(figure).map(|rows| (figure, rows)) } else { None };
    let can_be_read = |rows: &[Row]| rows.iter().map(|(_, points)| points.len()).sum::<usize>() <= MOST_VALUES;
    let Some((figure, rows)) = of_axes.filter(|(_, rows)| can_be_read(rows)) else {
        return told(all, drawn, narrow);
    };
    place(&mut all, drawn)?;
    all["series"] = json!(rows);
    let third = if let Plot::Heat(field) = &figure.plot { Some(("z", &field.axis)) } else { None };
    for (key, axis) in [("x", &figure.x), ("y", &figure.y)].into_iter().chain(third) {
        all[key]["label"] = json!(axis.label);
        all[key]["unit"] = json!(axis.unit);
        all[key]["log"] = json!(axis.scale == AxisScale::Log);
        all[key]["clock"] = json!(is_clock(axis));
    }
    if let Some(narrow) = narrow {
        all["narrow"] = json!({ "size": narrow.size() });
        place(&mut all["narrow"], narrow)?;
    }
    Some(all.to_string())
}

/// The values with words, and those of the ground.
fn told(mut all: Value, drawn: &Drawn, narrow: Option<&Drawn>) -> Option<String> {
    let told = drawn.told();
    let cells = drawn.cells().map(|cells| of_ground(cells, &coarse(cells)));
    if told.len() > MOST_VALUES || (told.is_empty() && cells.is_none()) {
        return None;
    }
    all["told"] = told.iter().map(|told| json!([told.row, short(told.at.0), short(told.at.1), told.words])).collect();
    all["cells"] = json!(cells);
    if let Some(narrow) = narrow
        && let Some(at) = told_again(told, narrow.told())
    {
        all["narrow"] =
            json!({ "size": narrow.size(), "at": at.iter().map(|at| [short(at.0), short(at.1)]).collect::<Vec<_>>() });
        all["narrow"]["cells"] = json!(narrow.cells().map(|cells| coarse(cells).edges.map(short)));
    }
    Some(all.to_string())
}

/// Where the same words stand on another drawing, which may have them in another order; nothing where it has other words.
fn told_again(told: &[Told], there: &[Told]) -> Option<Vec<(f64, f64)>> {
    let mut places: HashMap<&str, VecDeque<(f64, f64)>> = HashMap::new();
    there.iter().for_each(|one| places.entry(one.words.as_str()).or_default().push_back(one.at));
    told.iter().map(|one| places.get_mut(one.words.as_str())?.pop_front()).collect()
}

/// The cells as a page reads them.
fn of_ground(cells: &Cells, shown: &Cells) -> Value {
    let rough = |value: f64| format!("{value:.2e}").parse::<f64>().unwrap_or(value);
    let values: Vec<Option<f64>> = shown.values.iter().map(|value| value.filter(|value| value.is_finite()).map(rough)).collect();
    let ((left, bottom), (right, top)) = shown.ground;
    let (edges, ground) = (shown.edges.map(short), [left, bottom, right, top].map(short));
    json!({
        "edges": edges,
        "columns": shown.columns,
        "values": values,
        "label": cells.axis.label,
        "unit": cells.axis.unit,
        "ground": ground,
        "groundUnit": cells.ground_unit,
    })
}

/// The same ground with few enough cells: each the middle one of a square of them.
fn coarse(cells: &Cells) -> Cells {
    let rows = cells.values.len() / cells.columns.max(1);
    let each = (1..).find(|each| cells.columns.div_ceil(*each) * rows.div_ceil(*each) <= MOST_CELLS).unwrap_or(1);
    let (columns, n_rows) = (cells.columns.div_ceil(each), rows.div_ceil(each));
    let middle = |at: usize, count: usize| (at * each + each / 2).min(count.saturating_sub(1));
    let value = |at: usize| cells.values[middle(at / columns, rows) * cells.columns + middle(at % columns, cells.columns)];
    // The last squares may reach beyond the ground.
    let more = ((columns * each) as f64 / cells.columns.max(1) as f64, (n_rows * each) as f64 / rows.max(1) as f64);
    let [left, top, right, bottom] = cells.edges;
    let (low, high) = cells.ground;
    Cells {
        edges: [left, bottom - more.1 * (bottom - top), left + more.0 * (right - left), bottom],
        columns,
        values: (0..columns * n_rows).map(value).collect(),
        ground: (low, (low.0 + more.0 * (high.0 - low.0), low.1 + more.1 * (high.1 - low.1))),
        ..cells.clone()
    }
}

/// A row of points by its name, each point with its numbers along the axes.
type Row<'a> = (&'a str, Vec<Vec<f64>>);

/// The values of a figure with two axes of numbers: curves, or a row of a field for each of its values along y.
fn rows(figure: &Figure) -> Option<Vec<Row<'_>>> {
    if let Plot::Heat(field) = &figure.plot {
        let row = |(at, y): (usize, &f64)| {
            let values = field.xs.iter().zip(field.values.iter().skip(at * field.xs.len()));
            let point = |(x, value): (&f64, &Option<f64>)| {
                value.filter(|value| value.is_finite()).map(|z| [*x, *y, z].map(short).to_vec())
            };
            ("", values.filter_map(point).collect())
        };
        return Some(field.ys.iter().enumerate().map(row).collect());
    }
    let point = |(x, y): &(f64, Option<f64>)| y.filter(|y| x.is_finite() && y.is_finite()).map(|y| [*x, y].map(short).to_vec());
    Some(
        curves_of(figure)?
            .into_iter()
            .map(|(_, one)| (one.name.as_str(), one.points.iter().filter_map(point).collect()))
            .collect(),
    )
}

fn is_clock(axis: &Axis) -> bool {
    axis.scale == AxisScale::Clock
}

/// Notes where values lie between the axes of a figure; nothing for one without axes of numbers.
fn place(into: &mut Value, drawn: &Drawn) -> Option<()> {
    let found = drawn.reading()?;
    into["plot"] = json!(found.plot.map(short));
    for (key, (low, high)) in [("x", found.x), ("y", found.y)] {
        into[key] = json!({ "low": short(low), "high": short(high) });
    }
    Some(())
}

/// A number with the digits that can be seen.
fn short(number: f64) -> f64 {
    format!("{number:.5e}").parse().unwrap_or(number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::{
        BarSeries, CurveStyle, Field, Map, Series, Span, StripEvent, StripPanel, StripRow, Strips, map_with_water,
    };

    fn drawn(figure: Figure) -> Drawn {
        Graphic::Figure(figure).drawn().expect("a drawing")
    }

    fn found(figure: Figure) -> Value {
        let narrow = drawn(figure.clone().sized(360, 300));
        serde_json::from_str(&values(&drawn(figure), Some(&narrow)).expect("values")).expect("JSON")
    }

    fn curve(count: usize) -> Figure {
        let points = (0..count).map(|n| (n as f64, 2.0 * n as f64));
        let series = vec![Series::new("a", points)];
        Figure::curves(Axis::new("feed.length").unit("ft"), Axis::new("pressure"), CurveStyle::Lines, series)
    }

    #[test]
    fn the_values_of_curves_are_given_with_their_axes_and_of_too_many_points_some() {
        let found = found(curve(3));
        assert_eq!(found["series"], json!([["a", [[0.0, 0.0], [1.0, 2.0], [2.0, 4.0]]]]));
        assert_eq!((&found["x"]["unit"], &found["x"]["high"], &found["size"]), (&json!("ft"), &json!(2.0), &json!([760, 480])));
        assert_eq!(found["narrow"]["size"], json!([360, 300]));
        let many = super::tests::found(curve(MOST_VALUES + 1));
        let told = many["told"].as_array().expect("words");
        assert!((100..=400).contains(&told.len()), "{}", told.len());
        assert_eq!(told[0][3], json!("pressure of a at feed length 0 ft: 0"));
        assert_eq!(many["narrow"]["at"].as_array().map(Vec::len), Some(told.len()));
    }

    #[test]
    fn a_field_has_a_row_of_values_for_each_of_its_places_along_y() {
        let axis = Axis::new("pressure").unit("psi");
        let field = Field {
            xs: vec![1.0, 2.0],
            ys: vec![5.0, 6.0],
            values: vec![Some(10.0), None, Some(12.0), Some(13.0)],
            axis,
            marks: vec![],
        };
        let found = found(Figure::new(Axis::new("a"), Axis::new("b"), Plot::Heat(field)));
        assert_eq!(found["series"], json!([["", [[1.0, 5.0, 10.0]]], ["", [[1.0, 6.0, 12.0], [2.0, 6.0, 13.0]]]]));
        assert_eq!((&found["z"]["unit"], &found["y"]["low"]), (&json!("psi"), &json!(5.0)));
    }

    #[test]
    fn bars_say_what_they_are_where_they_end() {
        let series = ["old", "new"].map(|name| BarSeries { name: name.into(), values: vec![Some(2.0), None] });
        let names = vec!["beds".to_string(), "lawn".to_string()];
        let found = found(Figure::bars(Axis::new("zone"), Axis::new("flow").unit("gpm"), names, series.to_vec()));
        let told = found["told"].as_array().expect("values");
        assert_eq!((told.len(), &told[0][3], &told[1][3]), (2, &json!("beds, old: 2 gpm"), &json!("beds, new: 2 gpm")));
        assert_eq!((&told[0][0], &told[1][0]), (&json!(0), &json!(1)));
        assert_eq!(found["narrow"]["at"].as_array().map(Vec::len), Some(2));
        // They end at the same height.
        assert_eq!(told[0][2], told[1][2]);
    }

    #[test]
    fn panels_and_strips_tell_their_values_in_words() {
        let panels = Plot::Panels { columns: 2, figures: vec![curve(3), curve(2)] };
        let found = found(Figure::new(Axis::new(""), Axis::new(""), panels));
        let told: Vec<(&Value, &Value)> = found["told"].as_array().expect("words").iter().map(|one| (&one[0], &one[3])).collect();
        assert_eq!(told.len(), 5);
        assert_eq!(told[2], (&json!(0), &json!("pressure of a at feed length 2 ft: 4")));
        assert_eq!(told[3].0, &json!(1));
        let span = |from: f64, times: usize| Span { from, to: from + 0.5, times };
        let strips = Strips {
            rows: vec![StripRow { name: "pump".into(), spans: vec![span(5.5, 1), span(7.0, 40)], color: 0 }],
            events: vec![StripEvent { at: 6.0, label: "tank is empty".into() }],
            panels: vec![StripPanel {
                axis: Axis::new("pressure").unit("psi"),
                series: vec![Series::new("switch", vec![(5.0, 40.0), (8.0, 60.0)])],
                ribbons: Vec::new(),
                marks: Vec::new(),
            }],
        };
        let figure = Figure::new(Axis::new("time").clocks(), Axis::new(""), Plot::Strips(strips));
        let found = super::tests::found(figure);
        let told: Vec<&str> = found["told"].as_array().expect("words").iter().filter_map(|one| one[3].as_str()).collect();
        let expected = [
            "pressure of switch at 05:00: 40 psi",
            "pressure of switch at 08:00: 60 psi",
            "pump: on 05:30 to 06:00",
            "pump: on 40 times, 07:00 to 07:30",
            "event at 06:00: tank is empty",
        ];
        assert_eq!(told, expected);
    }

    #[test]
    fn a_map_tells_its_things_and_the_water_on_its_ground() {
        let map = map_with_water();
        let narrow = Graphic::Map(Map { width: 360, ..map.clone() }).drawn().expect("a drawing");
        let drawn = Graphic::Map(map).drawn().expect("a drawing");
        let found: Value = serde_json::from_str(&values(&drawn, Some(&narrow)).expect("values")).expect("JSON");
        assert_eq!((&found["told"][0][3], &found["told"][1][3]), (&json!("southwest"), &json!("can: 0.4 in/h")));
        let cells = &found["cells"];
        assert_eq!((&cells["columns"], &cells["unit"], &cells["groundUnit"]), (&json!(24), &json!("in/h"), &json!("ft")));
        assert_eq!(cells["values"][0], json!(1.0));
        assert_eq!(cells["values"].as_array().map(Vec::len), Some(24 * 16));
        // No ground in the upper right corner.
        assert_eq!(cells["values"][24 * 16 - 1], Value::Null);
        assert_eq!(found["narrow"]["at"].as_array().map(Vec::len), Some(2));
        assert!(found["narrow"]["cells"][2].as_f64() < cells["edges"][2].as_f64());
    }

    #[test]
    fn a_fine_ground_is_told_in_squares_that_stay_where_they_are() {
        let cells = Cells {
            edges: [0.0, 0.0, 101.0, 50.0],
            columns: 101,
            values: (0..101 * 50).map(|at| Some((at % 101) as f64)).collect(),
            axis: Axis::new("depth"),
            ground: ((0.0, 0.0), (101.0, 50.0)),
            ground_unit: "ft".into(),
        };
        let shown = coarse(&cells);
        assert_eq!((shown.columns, shown.values.len(), shown.edges), (51, 51 * 25, [0.0, 0.0, 102.0, 50.0]));
        assert_eq!(shown.values[10], Some(21.0));
    }
}
