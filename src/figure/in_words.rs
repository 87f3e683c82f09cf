//! What figures show, in words, for those who cannot see them: the course of a line, where it meets a mark, what share of values lies below.

use super::axis::{Axis, AxisScale, Mark, MarkedAxis, drawable};
use super::description::{Callout, Figure};
use super::marks::label;
use super::text::{tidy, words};
use super::ticks::number;
use crate::limits::while_going_on;
use crate::numeric::lowest_and_highest;

/// Crossings of a mark, and names of points, that are described one by one.
const MOST_CROSSINGS: usize = 4;
const MOST_NAMES: usize = 12;
/// A course is even where it leaves the range of its ends by less than this share of its whole range.
const BEYOND: f64 = 0.02;

/// What the axes are, as `berry pressure (psi) by feed length (ft)`; an axis without words is left out.
pub(super) fn axes(figure: &Figure) -> String {
    let titles: Vec<String> = [figure.y.title(), figure.x.title()].into_iter().filter(|title| !title.is_empty()).collect();
    titles.join(" by ")
}

/// The course of a line through points in the order of x: its ends, where it is lowest and highest in between, and where it meets marks.
pub(super) fn course(points: &[(f64, f64)], figure: &Figure) -> String {
    let (x, y) = (|value: f64| figure.x.text(value), |value: f64| figure.y.text(value));
    let (first, last) = (points[0], points[points.len() - 1]);
    if points.len() == 1 {
        return format!("1 point, {} at {}", y(first.1), x(first.0));
    }
    let mut text = format!("{} points, from {} at {} to {} at {}", points.len(), y(first.1), x(first.0), y(last.1), x(last.0));
    let by_y = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
    let (Some(least), Some(most)) = (while_going_on(points).min_by(by_y), while_going_on(points).max_by(by_y)) else {
        return text;
    };
    let (low_end, high_end) = (first.1.min(last.1), first.1.max(last.1));
    let slack = BEYOND * (most.1 - least.1);
    if least.1 < low_end - slack {
        text += &format!(", lowest {} at {}", y(least.1), x(least.0));
    }
    if most.1 > high_end + slack {
        text += &format!(", highest {} at {}", y(most.1), x(most.0));
    }
    for mark in figure.marks.iter().filter(|mark| mark.axis == MarkedAxis::Y) {
        let meets = crossings(points, mark.at);
        let shown: Vec<String> = meets.iter().take(MOST_CROSSINGS).map(|at| x(*at)).collect();
        let more = meets.len() - shown.len();
        if !shown.is_empty() {
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            text += &format!(", meets '{}' at {}{more}", label(mark, &figure.y), shown.join(" and "));
        }
    }
    text
}

/// Where a line passes a value, from one side to the other.
fn crossings(points: &[(f64, f64)], value: f64) -> Vec<f64> {
    let mut found = Vec::new();
    for pair in while_going_on(points.windows(2)) {
        let (from, to) = (pair[0].1 - value, pair[1].1 - value);
        if (from < 0.0) != (to < 0.0) {
            let share = from / (from - to);
            found.push(pair[0].0 + share * (pair[1].0 - pair[0].0));
        }
    }
    found
}

/// Points that are not joined: how many, and between which values.
pub(super) fn cloud(points: &[(f64, f64)], figure: &Figure) -> String {
    let ends = |value: fn(&(f64, f64)) -> f64, axis: &Axis| {
        let (low, high) = lowest_and_highest(while_going_on(points).map(value));
        if low == high { axis.text(low) } else { format!("{} to {}", axis.text(low), axis.text(high)) }
    };
    let points_in_words = if points.len() == 1 { "1 point".to_string() } else { format!("{} points", points.len()) };
    let (x, y) = (ends(|point| point.0, &figure.x), ends(|point| point.1, &figure.y));
    format!("{points_in_words}, {y}, at {} {x}", words(&figure.x.label))
}

/// The marks, and for values along an axis the share of them that lies below each.
pub(super) fn marks(figure: &Figure, on: MarkedAxis, values: &[f64]) -> String {
    let axis = if on == MarkedAxis::X { &figure.x } else { &figure.y };
    figure.marks.iter().filter(|mark| mark.axis == on).map(|mark| mark_with_share(mark, axis, values)).collect()
}

/// A mark as ` Mark: stalls below 30 psi.`, with the share of the values that lies below it.
pub(super) fn mark_with_share(mark: &Mark, axis: &Axis, values: &[f64]) -> String {
    let known = while_going_on(values).copied().filter_map(drawable);
    let (below, all) = known.fold((0usize, 0usize), |(below, all), value| (below + usize::from(value < mark.at), all + 1));
    let share = if all > 0 {
        format!("; {} % of the values lie below it", number(100.0 * below as f64 / all as f64, 2))
    } else {
        String::new()
    };
    format!(" Mark: {}{share}.", label(mark, axis))
}

/// Names of points with their places.
pub(super) fn names(callouts: &[Callout], figure: &Figure) -> String {
    if callouts.is_empty() {
        return String::new();
    }
    let place = |one: &Callout| format!("{} at {}, {}", tidy(&one.label), figure.x.text(one.at.0), figure.y.text(one.at.1));
    let shown: Vec<String> = callouts.iter().take(MOST_NAMES).map(place).collect();
    let more = callouts.len() - shown.len();
    let more = if more > 0 { format!("; and {more} more") } else { String::new() };
    format!(" Named: {}{more}.", shown.join("; "))
}

/// When something is on, by its spans along an axis.
pub(super) fn spans(spans: &[(f64, f64)], axis: &Axis) -> String {
    let at = |value: f64| match axis.scale {
        AxisScale::Clock => axis.text((value * 60.0).round() / 60.0),
        _ => axis.text(value),
    };
    match spans {
        [] => "never on".into(),
        few if few.len() <= 3 => {
            let spans: Vec<String> = few.iter().map(|(from, to)| format!("{} to {}", at(*from), at(*to))).collect();
            format!("on {}", spans.join(" and "))
        }
        many => format!("on {} times, first at {}, until {}", many.len(), at(many[0].0), at(many[many.len() - 1].1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::{CurveStyle, Series};

    fn figure() -> Figure {
        let (x, y) = (Axis::new("feed.length").unit("ft"), Axis::new("berry.pressure").unit("psi"));
        Figure::curves(x, y, CurveStyle::Lines, vec![Series::new("a", [(0.0, 1.0)])]).marked(MarkedAxis::Y, 30.0, "stalls below")
    }

    #[test]
    fn a_course_is_told_by_its_ends_its_extremes_and_its_marks() {
        let falling = [(25.0, 36.0), (50.0, 33.0), (100.0, 27.0)];
        assert_eq!(course(&falling, &figure()), "3 points, from 36 at 25 to 27 at 100, meets 'stalls below 30 psi' at 75");
        let hump = [(0.0, 10.0), (1.0, 20.0), (2.0, 5.0), (3.0, 12.0)];
        assert_eq!(course(&hump, &figure()), "4 points, from 10 at 0 to 12 at 3, lowest 5 at 2, highest 20 at 1");
        assert_eq!(course(&hump[..1], &figure()), "1 point, 10 at 0");
        let waves: Vec<(f64, f64)> = (0..10).map(|i| (f64::from(i), if i % 2 == 0 { 20.0 } else { 40.0 })).collect();
        assert!(
            course(&waves, &figure()).ends_with("at 0.5 and 1.5 and 2.5 and 3.5 and 5 more"),
            "{}",
            course(&waves, &figure())
        );
    }

    #[test]
    fn a_mark_tells_what_share_of_the_values_lies_below_it() {
        let mark = Mark { at: 30.0, axis: MarkedAxis::X, label: "stalls below".into() };
        let told = mark_with_share(&mark, &figure().y, &[20.0, 30.0, 40.0, 50.0, f64::NAN]);
        assert_eq!(told, " Mark: stalls below 30 psi; 25 % of the values lie below it.");
    }
}
