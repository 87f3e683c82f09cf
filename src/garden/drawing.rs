//! A garden drawn in text: one line a part, branches indented, in the way of the water.

use super::Garden;
use crate::parts::{Id, Part, Placing};
use crate::quantity::UnitSystem;
use std::collections::HashSet;

/// Numbers that stand in the drawing; prices and places in the plan are left to the part itself.
const LEFT_OUT: &[Id] = &[
    Id::Price,
    Id::X,
    Id::Y,
    Id::Elevation,
    Id::Roughness,
    Id::MinorK,
    Id::K,
    Id::Cd,
    Id::Compliance,
    Id::Exponent,
    Id::Speed,
    Id::Arc,
    Id::Wear,
    Id::StaticAtTest,
];

/// Numbers that make one thing together, and the words before and between them.
const PAIRS: &[(Id, Id, &str, &str)] = &[
    (Id::MeasuredPressure, Id::MeasuredFlow, "measured", "at"),
    (Id::RatedFlow, Id::RatedFlowPressure, "rated flow", "at"),
    (Id::RangeLow, Id::RangeHigh, "operating range", "to"),
    (Id::Radius, Id::RadiusPressure, "throws", "at"),
];

/// The least room for what is said of a part, in characters.
const LEAST_ROOM: usize = 24;

/// The drawing, one line a part, without a line end at the end.
pub fn drawing(garden: &Garden, system: UnitSystem) -> String {
    drawing_within(garden, system, usize::MAX)
}

/// The same at most `most` characters wide, where names leave room for it: what is said of a part goes on below itself.
pub fn drawing_within(garden: &Garden, system: UnitSystem, most: usize) -> String {
    let system = system.or_own(garden.units());
    let lines = tree(garden);
    let width = lines.iter().map(|line| line.text.chars().count()).max().unwrap_or(0);
    let room = most.saturating_sub(width + 2).max(LEAST_ROOM);
    let rows = lines.iter().flat_map(|TreeLine { text: left, place }| {
        // Below a part the lines of the branches go on, but not what leads to the part itself.
        let go_on = |c: char| if c == '|' { '|' } else { ' ' };
        let below: String = left.chars().take_while(|c| matches!(c, '|' | '+' | '-' | ' ')).map(go_on).collect();
        let row = move |(number, text): (usize, String)| {
            let lead = if number == 0 { left } else { &below };
            format!("{lead:<width$}  {text}").trim_end().to_string()
        };
        let right = place.map_or_else(String::new, |place| describe(&garden.parts()[place], system));
        broken(&right, room).into_iter().enumerate().map(row).collect::<Vec<_>>()
    });
    rows.collect::<Vec<_>>().join("\n")
}

/// A line of the tree: a name after the lines of the branches.
#[derive(Clone, Debug, PartialEq)]
pub struct TreeLine {
    /// What stands there.
    pub text: String,
    /// The part; none where a branch joins what stands above.
    pub place: Option<usize>,
}

/// The parts as a tree in the way of the water, branches indented.
pub fn tree(garden: &Garden) -> Vec<TreeLine> {
    let mut pen = Pen { garden, lines: Vec::new(), drawn: HashSet::new(), been: HashSet::new() };
    let starts: Vec<usize> = (0..garden.parts().len()).filter(|&p| garden.spec(p).placing == Placing::Source).collect();
    if starts.is_empty() {
        pen.node(garden.layout().inlet.unwrap_or(0), "", "");
    }
    for place in starts {
        pen.node(garden.layout().places[place].to, "", "");
    }
    pen.lines
}

/// A list in pieces of at most `room` characters, broken after commas.
fn broken(text: &str, room: usize) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for word in text.split_inclusive(", ") {
        let last = pieces.last().map_or(0, |piece| piece.chars().count());
        if last > 0 && last + word.trim_end().chars().count() > room {
            pieces.push(String::new());
        }
        if let Some(piece) = pieces.last_mut() {
            piece.push_str(word);
        }
    }
    pieces
}

struct Pen<'a> {
    garden: &'a Garden,
    lines: Vec<TreeLine>,
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
                self.joins(&lead);
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
                        self.joins(rest);
                        return;
                    }
                }
                _ => return self.branches(&onward, rest),
            }
        }
    }

    fn joins(&mut self, lead: &str) {
        self.lines.push(TreeLine { text: format!("{lead}(joins above)"), place: None });
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
                self.joins(&below);
            } else {
                self.node(to, &below, &below);
            }
        }
    }

    fn part(&mut self, place: usize, lead: &mut String, rest: &str) {
        if !self.drawn.insert(place) {
            return;
        }
        self.lines.push(TreeLine { text: format!("{lead}{}", self.garden.name(place)), place: Some(place) });
        *lead = rest.to_string();
    }
}

pub(super) fn describe(part: &Part, system: UnitSystem) -> String {
    let mut words = vec![part.spec().word.replace('_', " ")];
    if let Some(curve) = part.curve() {
        words.push(curve.described());
    }
    let unsaid = |id: Id| {
        LEFT_OUT.contains(&id)
            || (part.traits().relieves && id != Id::Set)
            || (id == Id::CrackingPressure && part.value(id) == 0.0)
            || (id == Id::OpenArea && part.value(id) == 1.0)
            || PAIRS.iter().any(|&(first, second, ..)| second == id && part.si(first).is_some())
    };
    let shown = |id: Id| part.shown(id, system).map_or_else(String::new, |value| value.show(system));
    for (known, _) in part.given().filter(|(known, _)| !unsaid(known.id)) {
        let pair = PAIRS.iter().find(|&&(first, second, ..)| first == known.id && part.si(second).is_some());
        words.push(match pair {
            Some(&(first, second, lead, between)) => format!("{lead} {} {between} {}", shown(first), shown(second)),
            None => format!("{} {}", known.name().replace('_', " "), shown(known.id)),
        });
    }
    words.join(", ")
}
