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
    /// The things of a scheme from top to bottom, for a page too narrow for it.
    pub in_rows: Option<InRows>,
    /// The table of what has a number on the map; none where all labels stand on the map.
    pub roster: Option<Roster>,
    /// Sentences printed below the map, before the notes.
    pub caption: Option<String>,
    /// Width of the sheet in pixels; a scheme that needs more takes more.
    pub width: u32,
    /// Pixels of a picture each way for one of the width; 1 to 4.
    pub pixel_ratio: u32,
    /// Whether a picture or a document is drawn on dark paper. A drawing has both and shows what its reader prefers.
    pub dark: bool,
}

/// Usual width of a map in pixels: that of other figures.
pub const USUAL_WIDTH: u32 = 760;

impl Map {
    /// A map with nothing on it.
    pub fn empty(ground: Ground) -> Map {
        Map {
            title: String::new(),
            ground,
            routes: Vec::new(),
            symbols: Vec::new(),
            throws: Vec::new(),
            rain: None,
            tees: Vec::new(),
            key: None,
            notes: Vec::new(),
            remarks: String::new(),
            in_rows: None,
            roster: None,
            caption: None,
            width: USUAL_WIDTH,
            pixel_ratio: 1,
            dark: false,
        }
    }
}

/// The same things in rows, on [`Ground::Rows`].
#[derive(Clone, Debug, Default)]
pub struct InRows {
    /// The lines.
    pub routes: Vec<Route>,
    /// The things with labels.
    pub symbols: Vec<Symbol>,
    /// Places where lines meet.
    pub tees: Vec<(f64, f64)>,
}

/// A table beside a map, in groups; its first column is the number on the map.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Roster {
    /// Titles of the columns after the number: first that of the names, then those of the values, which are aligned to the right.
    pub columns: Vec<String>,
    /// The groups in order.
    pub groups: Vec<RosterGroup>,
}

/// Rows that belong together.
#[derive(Clone, Debug, PartialEq)]
pub struct RosterGroup {
    /// Above the rows.
    pub title: String,
    /// Number and cells of each, as many as the columns.
    pub rows: Vec<(usize, Vec<String>)>,
    /// Whether numbers and names alone stand there, one after another: of what does nothing.
    pub folded: bool,
}

/// What the places of a map are.
#[derive(Clone, Debug, PartialEq)]
pub enum Ground {
    /// x counts layers, y counts rows downwards; distances mean nothing.
    Grid,
    /// x counts lanes, y counts lines of text downwards; every label stands right of its symbol.
    Rows,
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
    /// The name, then what is to be said of it, for the description.
    pub lines: Vec<String>,
    /// What of it stands on the map.
    pub label: Label,
}

/// What stands beside a symbol.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Label {
    /// Lines that are needed: the name, then the rest.
    Lines(Vec<String>),
    /// Lines that are left out where there is little room.
    Spare(Vec<String>),
    /// Its number in the roster, inside the symbol.
    Number(usize),
    /// Nothing.
    Nothing,
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
    /// The driest spot, and what it gets.
    pub driest: Option<((f64, f64), String)>,
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
