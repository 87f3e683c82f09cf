//! A garden drawn in text: one line a part, branches indented, in the way of the water.

use super::Garden;
use crate::parts::{Kind, Part, Placing};
use crate::quantity::UnitSystem;
use std::collections::HashSet;

/// Numbers that stand in the drawing; prices and places in the plan are left to the part itself.
const LEFT_OUT: &[&str] =
    &["price", "x", "y", "elevation", "roughness", "minor_k", "k", "cd", "stretch", "exponent", "speed", "arc", "wear"];

/// The drawing, one line a part, without a line end at the end.
pub fn drawing(garden: &Garden, system: UnitSystem) -> String {
    let mut pen = Pen { garden, system, lines: Vec::new(), drawn: HashSet::new(), been: HashSet::new() };
    let starts: Vec<usize> = (0..garden.parts().len()).filter(|&p| garden.parts()[p].spec().placing == Placing::Source).collect();
    if starts.is_empty() {
        pen.node(garden.layout().inlet.unwrap_or(0), "", "");
    }
    for place in starts {
        pen.node(garden.layout().places[place].to, "", "");
    }
    let width = pen.lines.iter().map(|(left, _)| left.chars().count()).max().unwrap_or(0);
    let lines: Vec<String> =
        pen.lines.iter().map(|(left, right)| format!("{left:<width$}  {right}").trim_end().to_string()).collect();
    lines.join("\n")
}

struct Pen<'a> {
    garden: &'a Garden,
    system: UnitSystem,
    lines: Vec<(String, String)>,
    drawn: HashSet<usize>,
    been: HashSet<usize>,
}

impl Pen<'_> {
    /// Draws what sits at a node and what goes on from it; `first` leads the first line, `rest` the others.
    fn node(&mut self, node: usize, first: &str, rest: &str) {
        let mut lead = first.to_string();
        let mut node = node;
        loop {
            if !self.been.insert(node) {
                self.lines.push((format!("{lead}(joins above)"), String::new()));
                return;
            }
            let places = &self.garden.layout().places;
            let here: Vec<usize> = (0..places.len()).filter(|&p| places[p].from == node && places[p].to == node).collect();
            for place in here {
                self.part(place, &mut lead, rest);
            }
            let onward: Vec<usize> = (0..places.len())
                .filter(|p| places[*p].from == node && places[*p].to != node && !self.drawn.contains(p))
                .collect();
            match onward[..] {
                [] => return,
                [only] => {
                    self.part(only, &mut lead, rest);
                    node = places[only].to;
                    if self.been.contains(&node) {
                        self.lines.push((format!("{rest}(joins above)"), String::new()));
                        return;
                    }
                }
                _ => return self.branches(&onward, rest),
            }
        }
    }

    fn branches(&mut self, onward: &[usize], rest: &str) {
        for (index, &place) in onward.iter().enumerate() {
            let last = index + 1 == onward.len();
            let first = format!("{rest}+-- ");
            let below = format!("{rest}{}", if last { "    " } else { "|   " });
            let mut lead = first;
            self.part(place, &mut lead, &below);
            let to = self.garden.layout().places[place].to;
            if self.been.contains(&to) {
                self.lines.push((format!("{below}(joins above)"), String::new()));
            } else {
                self.node(to, &below, &below);
            }
        }
    }

    fn part(&mut self, place: usize, lead: &mut String, rest: &str) {
        if !self.drawn.insert(place) {
            return;
        }
        let part = &self.garden.parts()[place];
        self.lines.push((format!("{lead}{}", self.garden.name(place)), describe(part, self.system)));
        *lead = rest.to_string();
    }
}

fn describe(part: &Part, system: UnitSystem) -> String {
    let mut words = vec![part.spec().word.replace('_', " ")];
    if let Some(curve) = part.curve() {
        words.push(format!("{} points", curve.points().len()));
    }
    let unsaid = |name: &str| LEFT_OUT.contains(&name) || (part.kind() == Kind::Relief && name != "set");
    for (number, value) in part.given().filter(|(number, _)| !unsaid(number.name)) {
        words.push(format!("{} {}", number.name.replace('_', " "), value.show(system)));
    }
    words.join(", ")
}
