//! What a map is made of: lines, symbols with labels, ground that heads wet.

use crate::figure::Axis;
use crate::parts::SymbolShape;

/// A map: lines, symbols with labels, circles of throw.
#[derive(Clone, Debug)]
pub struct Map {
    /// Printed above the map and read aloud by screen readers; empty for none.
    pub title: String,
    /// What the places on it are.
    pub ground: Ground,
    /// The lines.
    pub routes: Vec<Route>,
    /// The things with labels; at least one.
    pub symbols: Vec<Symbol>,
    /// The ground that heads wet.
    pub throws: Vec<Throw>,
    /// Water on the ground in colors; none for a plan without.
    pub rain: Option<Rain>,
    /// Places where lines meet; where lines only cross there is none.
    pub tees: Vec<(f64, f64)>,
    /// What the colors of the lines are values of, with their unit.
    pub key: Option<Axis>,
    /// What to mind, a line each below the map.
    pub notes: Vec<String>,
    /// Sentences for the description alone, which is read aloud and not drawn; empty for none.
    pub remarks: String,
}

/// What the places of a map are.
#[derive(Clone, Debug, PartialEq)]
pub enum Ground {
    /// x counts layers, y counts rows downwards; distances mean nothing.
    Grid,
    /// x to the right and y upwards, both in this unit of length.
    Real {
        /// Symbol of the unit.
        unit: String,
    },
}

/// A line through places.
#[derive(Clone, Debug)]
pub struct Route {
    /// The places through which it goes, in the order of the flow.
    pub points: Vec<(f64, f64)>,
    /// Thickness in pixels.
    pub width: f64,
    /// What moves in it.
    pub water: Water,
}

/// What moves in a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Water {
    /// Nothing is known of it.
    Unknown,
    /// It stands.
    Still,
    /// It flows, with this value for its color.
    Flows(f64),
}

/// A thing on the map with its label.
#[derive(Clone, Debug)]
pub struct Symbol {
    /// What it looks like.
    pub shape: SymbolShape,
    /// Where it is.
    pub at: (f64, f64),
    /// The way of the water through it, on the map.
    pub toward: (f64, f64),
    /// Where it sits in its line, by which its label is placed.
    pub seat: Seat,
    /// Open, running or wet.
    pub active: Activity,
    /// The name, then what is to be said of it.
    pub lines: Vec<String>,
}

/// Whether a thing on the map does what it is there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Activity {
    /// It does: open, running or wet.
    Active,
    /// It does not.
    Idle,
}

/// Where a symbol sits and where its label goes on a grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seat {
    /// On a level line: the name above it, the rest below.
    OnLine,
    /// At the end of a line: the label to its right.
    AtEnd,
    /// At the start of a line: the label to its left.
    AtStart,
}

/// Water on the ground, cell by cell.
#[derive(Clone, Debug)]
pub struct Rain {
    /// The lower left and the upper right corner of the cells.
    pub frame: ((f64, f64), (f64, f64)),
    /// Cells from left to right.
    pub columns: usize,
    /// Values of the cells, row by row from the bottom; missing where there is no ground to water.
    pub values: Vec<Option<f64>>,
    /// What the values are, with their unit.
    pub axis: Axis,
    /// Outlines of the beds.
    pub beds: Vec<Vec<(f64, f64)>>,
    /// Outlines of what takes no water.
    pub obstacles: Vec<Vec<(f64, f64)>>,
    /// The driest spot.
    pub driest: Option<(f64, f64)>,
    /// The direction in which wind blows, of length one, with its text.
    pub wind: Option<((f64, f64), String)>,
    /// Places of cans with their values.
    pub cans: Vec<((f64, f64), f64)>,
}

/// The ground that a head wets: a circle, or a sector of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Throw {
    /// Where the head stands.
    pub center: (f64, f64),
    /// How far it throws, in the unit of the ground.
    pub radius: f64,
    /// Where the middle of the sector points, in degrees from x toward y.
    pub middle_deg: f64,
    /// 360 for the whole circle.
    pub arc_deg: f64,
    /// Idle when it does not throw as it should.
    pub active: Activity,
}

impl Rain {
    /// All places that a sheet must hold.
    pub(super) fn places(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        [self.frame.0, self.frame.1].into_iter().chain(self.cans.iter().map(|can| can.0))
    }
}
