//! A change that opens a window, and its words.

use super::case::Range;
use super::scale::Suggestion;
use super::words::zones_in_words;
use crate::findings::phrase::{Phrase, Value};
use crate::garden::Garden;
use crate::quantity::{Quantity, UnitSystem};

/// A change that opens the window, and the ranges it gives.
#[derive(Clone, Debug)]
pub struct Remedy {
    /// What is changed to open the window.
    pub change: Change,
    /// The garden with that change.
    pub garden: Garden,
    /// Cut-in pressures that then work, with all margins.
    pub cut_in: Range,
    /// Cut-out pressures that then work, with all margins.
    pub cut_out: Range,
    /// Settings that can be bought in the window it opens.
    pub suggestion: Suggestion,
}

/// What is changed.
#[derive(Clone, Debug)]
pub enum Change {
    /// Another setting of a relief valve.
    Relief { name: String, from: Quantity, to: Quantity },
    /// Parts of a higher rating.
    Ratings { names: Vec<String>, to: Quantity },
    /// A pump with this dead-head rise and this share of the flow at every rise.
    Pump { dead_head: Quantity, flow_share: f64 },
    /// A regulator upstream of the pump.
    Regulator { set: Quantity },
    /// A zone that is run without the pump.
    LeaveOut { zones: Vec<String> },
    /// A zone that runs together with another.
    Together { zones: Vec<String>, with: Vec<String> },
    /// Several of them at once.
    Several(Vec<Change>),
}

impl Change {
    /// The change as an advice in words.
    pub fn words(&self, system: UnitSystem) -> String {
        self.phrase().show(system)
    }

    /// The change as an advice.
    pub fn phrase(&self) -> Phrase {
        match self {
            Change::Relief { name, from, to } => {
                let phrase = Phrase::new("set relief '{name}' at {to} instead of {from}").with("name", name.as_str());
                phrase.with("to", *to).with("from", *from)
            }
            Change::Ratings { names, to } => {
                let names: Vec<String> = names.iter().map(|name| format!("'{name}'")).collect();
                Phrase::new("use parts rated {to} or more for {names}").with("to", *to).with("names", names.join(", "))
            }
            Change::Pump { dead_head, flow_share } if *flow_share == 1.0 => {
                Phrase::new("use a pump with {dead_head} at shut-off and the same flows").with("dead_head", *dead_head)
            }
            Change::Pump { dead_head, flow_share } => {
                let pattern = "use a pump with {dead_head} at shut-off and {percent}% of the flow at each share of its boost";
                Phrase::new(pattern).with("dead_head", *dead_head).with("percent", Value::percent(*flow_share))
            }
            Change::Regulator { set } => Phrase::new("fit a regulator set to {set} upstream of the pump").with("set", *set),
            Change::LeaveOut { zones } => {
                Phrase::new("connect {zones} upstream of the pump").with("zones", zones_in_words(zones))
            }
            Change::Together { zones, with } => {
                let phrase = Phrase::new("run {zones} only together with {others}").with("zones", zones_in_words(zones));
                phrase.with("others", zones_in_words(with))
            }
            Change::Several(changes) => {
                let items = changes.iter().map(|change| change.phrase().into()).collect();
                Phrase::new("{changes}").with("changes", Value::List { items, between: ", and " })
            }
        }
    }

    /// The single changes of it.
    pub(super) fn each(self) -> Vec<Change> {
        if let Change::Several(changes) = self { changes } else { vec![self] }
    }

    /// True when a later change makes this one idle.
    pub(super) fn is_replaced_by(&self, later: &Change) -> bool {
        match (self, later) {
            (Change::Relief { name: a, .. }, Change::Relief { name: b, .. }) => a == b,
            (Change::Ratings { names: a, .. }, Change::Ratings { names: b, .. }) => a.iter().all(|name| b.contains(name)),
            _ => false,
        }
    }
}
