//! The state of a solve: flows, pressures and the states of all that opens and closes, and the working memory of a step.
//!
//! Plain data that `solve` changes and `answer` reads. It knows which rule holds a link, and no law.

use super::model::link::{LinkLaw, Rule};
use super::model::sparse::Matrix;
use super::model::square::Own;
use super::model::structure::Structure;
use super::tolerances::{FIRST_FLOW, TAP_FULL_PA, TAP_PAST_PA};

/// The state of a link after a solve.
#[derive(Clone, Copy, Debug)]
pub struct LinkState {
    /// From its `from` end to its `to` end, m3/s.
    pub flow: f64,
    /// What rules it, if not its whole loss.
    pub holding: Option<Rule>,
    /// A link that nothing flows through: one-way, or parted by a crest that water passes from neither side.
    pub closed: bool,
}

impl LinkState {
    /// An open link with this flow.
    pub fn open(flow: f64) -> LinkState {
        LinkState { flow, holding: None, closed: false }
    }

    /// True for a link whose flow has turned round, though the rule that it follows lets nothing through that way. A flow below the one given,
    /// m3/s, is none.
    pub fn has_turned(&self, law: &LinkLaw, closes_below: f64) -> bool {
        match law.parted_step(self.holding) {
            Some((_, true)) => self.flow < closes_below,
            Some((_, false)) => self.flow > -closes_below,
            None => law.one_way && self.flow < closes_below,
        }
    }

    /// True when a regulator holds its setting.
    pub fn is_held(&self) -> bool {
        matches!(self.holding, Some(Rule::Regulator(_)))
    }
}

/// How the pressure of a node is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tie {
    /// Open links tie it to a source or the air.
    Tied,
    /// Trapped, at the pressure to which it filled.
    Filled,
    /// In a ring that no open link waters, where a regulator, a tap or water that parts fixes the pressure once something fills it.
    Ruled,
    /// Trapped, and nothing fills it.
    Loose,
}

/// How far the demands at a node are met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Supplied {
    Full,
    /// The node is at vapor pressure, and the demands get what comes.
    Short,
    /// Nothing comes.
    Dry,
}

/// What happens to the states of one-way links, regulators and taps in a step.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum States {
    /// They follow flows and pressures.
    Follow,
    /// They stay as they are.
    Hold,
}

/// What a tap gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gives {
    Nothing,
    /// In proportion to its pressure.
    Part,
    All,
}

/// A demand that takes what comes.
#[derive(Clone, Copy, Debug)]
pub struct Tap {
    pub unknown: usize,
    /// Its number among the demands of the structure.
    pub demand: usize,
    pub most_m3_per_s: f64,
    pub gives: Gives,
}

impl Tap {
    /// Whether it holds its node near no pressure.
    pub fn runs(&self) -> bool {
        self.gives != Gives::Nothing
    }

    /// What it takes at a pressure, in its present state, m3/s.
    pub fn flow(&self, pressure_pa: f64) -> f64 {
        match self.gives {
            Gives::Nothing => 0.0,
            Gives::Part => self.most_m3_per_s * pressure_pa / TAP_FULL_PA,
            Gives::All => self.most_m3_per_s,
        }
    }

    /// How its flow rises with the pressure, m3/s/Pa.
    pub fn conductance(&self) -> f64 {
        if self.gives == Gives::Part { self.most_m3_per_s / TAP_FULL_PA } else { 0.0 }
    }

    /// The state that a pressure leads to from the present one.
    pub fn next(&self, pressure_pa: f64) -> Gives {
        match self.gives {
            Gives::Nothing if pressure_pa > TAP_PAST_PA => Gives::Part,
            Gives::All if pressure_pa < TAP_FULL_PA - TAP_PAST_PA => Gives::Part,
            Gives::Part if pressure_pa < 0.0 => Gives::Nothing,
            Gives::Part if pressure_pa > TAP_FULL_PA => Gives::All,
            same => same,
        }
    }
}

/// What a solve changes. Lists of nodes follow the unknowns, those of links the links of the structure.
#[derive(Clone, Debug)]
pub struct State {
    pub links: Vec<LinkState>,
    /// Gauge pressures of the unknowns, Pa.
    pub pressures_pa: Vec<f64>,
    /// How the pressure of each node is known.
    pub ties: Vec<Tie>,
    /// How far the demands at each node are met.
    pub supplied: Vec<Supplied>,
    /// What the demands at each node go without, m3/s.
    pub unmet: Vec<f64>,
    /// Demands that take what comes, in the order of the demands.
    pub taps: Vec<Tap>,
    /// The last solve looked for places where water parts: see `solve::parting`.
    pub parts_water: bool,
}

impl State {
    /// The state before any solve.
    pub fn new(structure: &Structure) -> State {
        let unknowns = structure.unknowns.len();
        State {
            links: vec![LinkState::open(FIRST_FLOW); structure.links.len()],
            pressures_pa: vec![0.0; unknowns],
            ties: vec![Tie::Tied; unknowns],
            supplied: vec![Supplied::Full; unknowns],
            unmet: vec![0.0; unknowns],
            taps: Vec::new(),
            parts_water: false,
        }
    }
}

/// The working memory of a step; nothing of it outlives a solve.
#[derive(Clone, Debug)]
pub struct Work {
    pub matrix: Matrix,
    /// The imbalance of each node, and after a step the change of its pressure.
    pub right: Vec<f64>,
    /// Sums or marks of nodes.
    pub scratch: Vec<f64>,
    /// What each node exchanges with sources and the air, while a start is guessed.
    pub own: Vec<Own>,
    /// How the flow of each link follows the pressures at its ends.
    pub slopes: Vec<(f64, f64)>,
    /// What the tangents alone have changed the flow of each link by.
    pub moved: Vec<f64>,
    /// The largest change of a flow in the last step, m3/s.
    pub flow_change: f64,
    /// Something has opened, closed or come under another rule in the last step.
    pub turned: bool,
}

impl Work {
    pub fn new(structure: &Structure) -> Work {
        let (unknowns, links) = (structure.unknowns.len(), structure.links.len());
        Work {
            matrix: structure.pattern.matrix(),
            right: vec![0.0; unknowns],
            scratch: vec![0.0; unknowns],
            own: vec![Own::default(); unknowns],
            slopes: vec![(0.0, 0.0); links],
            moved: vec![0.0; links],
            flow_change: 0.0,
            turned: false,
        }
    }
}
