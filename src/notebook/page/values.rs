//! The values of a figure, for the script of a page: who points at one, or asks for it by the keyboard, reads it.

use crate::figure::{Axis, AxisScale, Drawn, Figure, Graphic, Plot, curves_of};
use serde_json::{Value, json};

/// Values of a figure; with more, nobody can point at one.
const MOST_VALUES: usize = 600;

/// The values of a figure and where they lie on it, and on the one that a narrow page shows, as JSON; nothing for a drawing whose values
/// have no places, and for one with too many.
///
/// Where both axes have numbers, `series` has them in rows, and the places follow from the axes; elsewhere `told` has each
/// value with its row, its place and its words.
pub fn values(drawn: &Drawn, narrow: Option<&Drawn>) -> Option<String> {
    let Graphic::Figure(figure) = drawn.graphic() else { return None };
    let rows = rows(figure);
    if rows.iter().flatten().map(|(_, points)| points.len()).sum::<usize>() > MOST_VALUES {
        return None;
    }
    let mut all = json!({ "size": drawn.size() });
    let Some(rows) = rows else {
        if !(1..=MOST_VALUES).contains(&drawn.told().len()) {
            return None;
        }
        all["told"] = drawn.told().iter().map(|told| json!([told.row, short(told.at.0), short(told.at.1), told.words])).collect();
        if let Some(narrow) = narrow.filter(|narrow| narrow.told().len() == drawn.told().len()) {
            let at: Vec<Value> = narrow.told().iter().map(|told| json!([short(told.at.0), short(told.at.1)])).collect();
            all["narrow"] = json!({ "size": narrow.size(), "at": at });
        }
        return Some(all.to_string());
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
    use crate::figure::{BarSeries, CurveStyle, Field, Series};

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
    fn the_values_of_curves_are_given_with_their_axes_and_those_of_too_many_points_are_not() {
        let found = found(curve(3));
        assert_eq!(found["series"], json!([["a", [[0.0, 0.0], [1.0, 2.0], [2.0, 4.0]]]]));
        assert_eq!((&found["x"]["unit"], &found["x"]["high"], &found["size"]), (&json!("ft"), &json!(2.0), &json!([760, 480])));
        assert_eq!(found["narrow"]["size"], json!([360, 300]));
        assert_eq!(values(&drawn(curve(MOST_VALUES + 1)), None), None);
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
}
