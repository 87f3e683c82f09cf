//! The kinds of parts, how each sits in a line, and what is asked of each.

use super::error::PartError;
use super::id::{Id, Places};
use super::law::Law;
use super::number::Number;
use super::part::Part;
use super::{booster, hose, inline, outlets, soaker, source, storage};
use crate::water::Water;

/// The kinds of parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    Supply,
    OpenTank,
    Hose,
    Pipe,
    Fitting,
    Filter,
    Meter,
    Washer,
    Climb,
    Valve,
    CheckValve,
    Regulator,
    Relief,
    Booster,
    PressureSwitch,
    PressureTank,
    Head,
    Emitter,
    Soaker,
    Draw,
    Leak,
    Backflow,
    Point,
}

/// How a part sits in a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placing {
    /// It starts a line: water comes from it.
    Source,
    /// Water flows through it.
    Inline,
    /// Water leaves the garden by it; the line may go on past it.
    Outlet,
    /// It sits at a point of the line and takes no water in a steady state.
    AtPoint,
}

/// How near to the soil an outlet lies, through which dirty water can come back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Soil {
    /// Nowhere near.
    Away,
    /// At grade or above it: a puddle can reach it.
    Near,
    /// On or in the soil.
    In,
}

/// What a part does about water that would run back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Backward {
    /// It lets it through.
    Passes,
    /// It stops it by the way, as a regulator does.
    Stops,
    /// It is there to stop it.
    Keeps,
    /// It is approved to keep it out of the drinking water.
    Protects,
}

/// What judgements about safety and use ask of a kind of part. Rules ask for these and for the numbers that a part has, never
/// for lists of kinds.
#[derive(Clone, Copy, Debug)]
pub struct Traits {
    /// Water leaves by it because somebody wants it to: zones run for its sake.
    pub gives_water: bool,
    /// It waters the ground; without it something stays dry.
    pub waters: bool,
    pub soil: Soil,
    /// Small passages on barbed fittings: made for low pressure.
    pub drips: bool,
    /// Its wall is what bursts first: its rating is asked for.
    pub bursts: bool,
    /// It can push the water that it holds back against a weaker source.
    pub pushes_back: bool,
    /// A source that water may run into: it is filled. Into other sources it must not run back.
    pub fills: bool,
    pub backward: Backward,
}

impl Traits {
    /// A part of which nothing particular is to be said.
    pub const PLAIN: Traits = Traits {
        gives_water: false,
        waters: false,
        soil: Soil::Away,
        drips: false,
        bursts: false,
        pushes_back: false,
        fills: false,
        backward: Backward::Passes,
    };
}

impl Spec {
    /// True for a kind that has a number of this name.
    pub fn has(&self, id: Id) -> bool {
        self.numbers.iter().any(|known| known.id == id)
    }

    /// A number of the kind.
    pub fn number(&self, id: Id) -> Option<&'static Number> {
        self.numbers.iter().find(|number| number.id == id)
    }

    /// True for hoses, pipes and the like: water runs a length through them.
    pub fn is_line(&self) -> bool {
        self.placing == Placing::Inline && self.has(Id::Length)
    }

    /// True for a part through which water goes one way only.
    pub fn is_one_way(&self) -> bool {
        self.traits.backward != Backward::Passes
    }

    /// True for a part that is there to keep water from coming back.
    pub fn keeps_back(&self) -> bool {
        matches!(self.traits.backward, Backward::Keeps | Backward::Protects)
    }

    /// True for an outlet by which water is lost: nobody wants it to come out there.
    pub fn loses_water(&self) -> bool {
        self.placing == Placing::Outlet && !self.traits.gives_water
    }
}

/// What a kind is: one constant in its file, the only home of these facts.
pub struct Spec {
    /// The word for it in scripts, names and messages.
    pub word: &'static str,
    pub about: &'static str,
    pub placing: Placing,
    pub numbers: &'static [Number],
    /// What judgements ask of it.
    pub traits: Traits,
    /// Checks that concern more than one number.
    pub check: fn(&Part) -> Result<(), PartError>,
    /// The law in numbers, for water and surroundings as given.
    pub law: fn(&Part, &Around) -> Law,
}

/// What a law needs to know of the surroundings of its part.
#[derive(Clone, Copy, Debug)]
pub struct Around {
    pub water: Water,
    /// Bore of the nearest hose, for parts whose law depends on it; not a number where there is none.
    pub bore_m: f64,
}

/// The places of numbers, for each kind.
static PLACES: [Places; Kind::ALL.len()] = {
    let mut places = [Places::of(&[]); Kind::ALL.len()];
    let mut index = 0;
    while index < Kind::ALL.len() {
        let kind = Kind::ALL[index];
        places[kind as usize] = Places::of(kind.spec().numbers);
        index += 1;
    }
    places
};

impl Kind {
    /// All kinds, in the order of the reference.
    pub const ALL: &'static [Kind] = &[
        Kind::Supply,
        Kind::OpenTank,
        Kind::Hose,
        Kind::Pipe,
        Kind::Fitting,
        Kind::Filter,
        Kind::Meter,
        Kind::Washer,
        Kind::Climb,
        Kind::Valve,
        Kind::CheckValve,
        Kind::Backflow,
        Kind::Regulator,
        Kind::Relief,
        Kind::Booster,
        Kind::PressureSwitch,
        Kind::PressureTank,
        Kind::Head,
        Kind::Emitter,
        Kind::Soaker,
        Kind::Draw,
        Kind::Leak,
        Kind::Point,
    ];

    /// Where a number stands in the list of the kind, if it has it.
    #[inline]
    pub fn place_of(self, id: Id) -> Option<usize> {
        PLACES[self as usize].find(id)
    }

    pub const fn spec(self) -> &'static Spec {
        match self {
            Kind::Supply => &source::SUPPLY,
            Kind::OpenTank => &source::OPEN_TANK,
            Kind::Hose => &hose::HOSE,
            Kind::Pipe => &hose::PIPE,
            Kind::Fitting => &inline::FITTING,
            Kind::Filter => &inline::FILTER,
            Kind::Meter => &inline::METER,
            Kind::Washer => &inline::WASHER,
            Kind::Climb => &inline::CLIMB,
            Kind::Valve => &inline::VALVE,
            Kind::CheckValve => &inline::CHECK_VALVE,
            Kind::Backflow => &inline::BACKFLOW_PREVENTER,
            Kind::Regulator => &inline::REGULATOR,
            Kind::Relief => &outlets::RELIEF,
            Kind::Booster => &booster::BOOSTER,
            Kind::PressureSwitch => &storage::PRESSURE_SWITCH,
            Kind::PressureTank => &storage::PRESSURE_TANK,
            Kind::Head => &outlets::HEAD,
            Kind::Emitter => &outlets::EMITTER,
            Kind::Soaker => &soaker::SOAKER,
            Kind::Draw => &outlets::DRAW,
            Kind::Leak => &outlets::LEAK,
            Kind::Point => &storage::POINT,
        }
    }
}
