//! The plan: a garden, or a solution of it, as a map with symbols, labels and circles of throw; with many heads they have numbers and a table.
//!
//! Beside it stand charts that need the garden and not only its numbers: along the hose, where the pressure goes, at the tap, at the pump,
//! the course of a run and of a water hammer.
//!
//! With places given to heads the map is to scale; without any it is a tidy scheme of the network, layered by distance
//! from the supply. Here are only places and words; drawing is the work of `figure`. It knows nothing of scripts or files.

mod budget;
mod grade;
mod hammer;
mod numbers;
mod pump;
mod rain;
mod real;
mod rows;
mod schematic;
mod tap;
mod timeline;
mod tree;
mod view;
mod words;

pub use budget::budget_figure;
pub use grade::grade_figure;
pub use hammer::hammer_figure;
pub use pump::{PumpError, PumpPoint, operating_point, pump_figure, system_curve};
pub use rain::{Wet, put_rain};
pub use tap::tap_figure;
pub use timeline::timeline_figure;

pub use view::Color;

use crate::coverage::CanError;
use crate::figure::Map;
use crate::findings::CautionSet;
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::quantity::UnitSystem;
use crate::told::Told;
use numbers::Numbers;
use thiserror::Error;
use tree::Tree;
use view::View;

/// More parts than this cannot be distinguished on a sheet.
pub const MOST_PARTS: usize = 400;

/// Why a plan cannot be drawn.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum PlanError {
    /// The garden has more than [`MOST_PARTS`] parts.
    #[error("a plan of {found} parts cannot be read; expected {most} at most")]
    TooManyParts {
        /// How many it has.
        found: usize,
        /// How many a plan shows.
        most: usize,
    },
    /// Water on the ground of a garden without two places.
    #[error("the plan is not to scale, so no coverage can be drawn on it")]
    NotToScale,
    /// Cans that cannot be drawn.
    #[error("{0}")]
    Cans(CanError),
}

impl Told for PlanError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            PlanError::TooManyParts { .. } => "draw one zone by itself, or print show(garden)".into(),
            PlanError::NotToScale => "give places to two parts at least with .at(x, y)".into(),
            PlanError::Cans(error) => return error.hint(),
        })
    }
}

/// The plan of a garden; with its solution, lines are colored by pressure or flow, drawn wider where more flows, and dashed
/// where nothing does.
///
/// Errors: more than [`MOST_PARTS`] parts.
pub fn plan(garden: &Garden, solution: Option<&Solution>, color: Color, system: UnitSystem) -> Result<Map, PlanError> {
    let found = garden.parts().len();
    if found > MOST_PARTS {
        return Err(PlanError::TooManyParts { found, most: MOST_PARTS });
    }
    let view = View { garden, solution, color, system: system.or_own(garden.units()) };
    let mut numbers = Numbers::of(&view);
    let mut map = match real::has_places(garden) {
        true => real::lay_out(&view, &numbers),
        false => {
            let tree = Tree::of(&view).with_folded(&view, &numbers.idle);
            numbers = numbers.without_folded(&tree.folded);
            let in_rows = Some(rows::lay_out(&view, &numbers, &tree));
            Map { in_rows, ..schematic::lay_out(&view, &numbers, &tree) }
        }
    };
    map.roster = numbers.roster;
    map.notes.extend(numbers.left_out);
    map.remarks = CautionSet::of(garden).in_sentences();
    map.key = solution.is_some().then(|| view.key());
    Ok(map)
}

#[cfg(test)]
mod tests;
