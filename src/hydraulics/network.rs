//! A garden made ready for solving: the structure with numbers in it, and the state of the last solve.
//!
//! Made once a sweep; a changed number of a part only renews the laws that depend on it.

use super::heights;
use super::link::{LEAST_SLOPE, LinkLaw, Rule};
use super::loose::Tie;
use super::outcome::{Convergence, SolveError};
use super::parting::{Supplied, links_part_at_pa};
use super::sparse::Matrix;
use super::structure::Structure;
use super::taps::{self, Tap};
use crate::garden::{Garden, GardenError, Layout};
use crate::laws::section::pressure_of_head_pa;
use crate::parts::{Around, Id, Kind, Law, Part, Placing};
use crate::quantity::{Preference, Quantity, dim};
use crate::water::Water;
use std::sync::Arc;

/// Whether a booster runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PumpState {
    Running,
    Off,
}

/// What the next solve begins from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Footing {
    /// A guess.
    Guessed,
    /// The last answer.
    Solved,
    /// What a solve that failed left behind.
    Astray,
}

/// Whether a change of a part touches its bore, on which the laws of others may depend.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bore {
    Changed,
    Same,
}

/// The state of a link after a solve.
#[derive(Clone, Copy, Debug)]
pub struct LinkState {
    pub flow: f64,
    /// What rules it, if not its whole loss.
    pub holding: Option<Rule>,
    /// A link that nothing flows through: one-way, or parted by a crest that water climbs from neither side.
    pub closed: bool,
}

/// Slope that stands in for none where water parts, which gives pressures on both sides of parts without loss, Pa s/m3.
const PARTING_SLOPE: f64 = 50.0;
/// What a step may change a flow by where hardly anything flows, m3/s.
pub(super) const LEAST_FLOW_CHANGE: f64 = 1e-11;
/// A first flow below this is no help, m3/s.
pub(super) const LEAST_FIRST_FLOW: f64 = 1e-9;
/// Flow to begin with when nothing better is known: about 3 gpm.
pub const FIRST_FLOW: f64 = 2e-4;

/// A garden made ready for solving.
#[derive(Clone, Debug)]
pub struct Network {
    pub(super) structure: Arc<Structure>,
    pub(super) parts: Vec<Arc<Part>>,
    pub(super) laws: Vec<Law>,
    pub(super) runs: Vec<bool>,
    pub(super) link_laws: Vec<LinkLaw>,
    pub(super) states: Vec<LinkState>,
    pub(super) pressures_pa: Vec<f64>,
    pub(super) demands: Vec<f64>,
    /// Draws that take what comes.
    pub(super) taps: Vec<Tap>,
    pub(super) matrix: Matrix,
    pub(super) right: Vec<f64>,
    pub(super) scratch: Vec<f64>,
    pub(super) slopes: Vec<(f64, f64)>,
    /// What the tangents alone have changed the flow of each link by.
    pub(super) moved: Vec<f64>,
    /// How many links a regulator sits in.
    regulating: usize,
    /// How many links have a place at which water may part.
    pub(super) parting: usize,
    /// Slope that stands in for less in a step, Pa s/m3.
    pub(super) least_slope: f64,
    /// Change of a flow that counts as none where hardly anything flows, m3/s.
    pub(super) rests_within: f64,
    /// Where a law is flat a step goes by the chord that a loss with the square of the flow would have.
    pub(super) by_chords: bool,
    /// The largest change of a flow in the last step, m3/s.
    pub(super) flow_change: f64,
    /// How the pressure of each node is known.
    pub(super) ties: Vec<Tie>,
    footing: Footing,
    /// A climb was changed: the loops must be looked at again.
    climbs_changed: bool,
    /// The nodes before and behind each place.
    pub(super) joints: Vec<(usize, usize)>,
    pub(super) node_pa: Vec<f64>,
    layout: Arc<Layout>,
    /// For each hose the places in line that take its bore when they have none of their own.
    takers: Vec<Vec<usize>>,
    water: Water,
    /// Gauge pressure at which water parts, Pa.
    pub(super) vapour_pa: f64,
    /// The last solve looked for places where water parts: see `parting`.
    pub(super) parts_water: bool,
    /// How far the draws at each node are met.
    pub(super) supplied: Vec<Supplied>,
    /// What the draws at each node go without, m3/s.
    pub(super) unmet: Vec<f64>,
}

impl Network {
    /// A garden with these places open.
    ///
    /// Errors: nothing feeds it, a part has no bore to go by, or the climbs around a loop do not add up to nothing.
    pub fn new(garden: &Garden, open: &[bool]) -> Result<Network, GardenError> {
        if !garden.is_fed() {
            return Err(GardenError::NotFed);
        }
        let structure = garden.layout().derived(open, || Structure::of(garden, open));
        let parts = garden.parts().to_vec();
        let n = parts.len();
        let layout = garden.shared_layout();
        let mut takers = vec![Vec::new(); n];
        for (place, hose) in layout.bore_from.iter().enumerate() {
            if let Some(hose) = hose.filter(|&hose| hose != place && parts[place].spec().placing == Placing::Inline) {
                takers[hose].push(place);
            }
        }
        let unknowns = structure.unknowns.len();
        let links = structure.links.len();
        let state = LinkState { flow: FIRST_FLOW, holding: None, closed: false };
        let mut network = Network {
            laws: vec![Law::Free; n],
            runs: vec![true; n],
            link_laws: vec![LinkLaw::new(links_part_at_pa(garden.vapour_gauge_pa())); links],
            states: vec![state; links],
            pressures_pa: vec![0.0; unknowns],
            demands: vec![0.0; unknowns],
            taps: Vec::new(),
            matrix: structure.pattern.matrix(),
            right: vec![0.0; unknowns],
            scratch: vec![0.0; unknowns],
            slopes: vec![(0.0, 0.0); links],
            moved: vec![0.0; links],
            regulating: 0,
            parting: 0,
            flow_change: 0.0,
            least_slope: LEAST_SLOPE,
            rests_within: LEAST_FLOW_CHANGE,
            by_chords: false,
            ties: vec![Tie::Tied; unknowns],
            footing: Footing::Astray,
            climbs_changed: false,
            joints: garden.layout().places.iter().map(|place| (place.from, place.to)).collect(),
            node_pa: vec![f64::NAN; garden.layout().number_of_nodes],
            structure,
            parts,
            layout,
            takers,
            water: *garden.water(),
            vapour_pa: garden.vapour_gauge_pa(),
            parts_water: false,
            supplied: vec![Supplied::Full; unknowns],
            unmet: vec![0.0; unknowns],
        };
        if let Some((place, off_m)) = heights::crooked(&network.parts, &network.joints, network.node_pa.len()) {
            let by = Quantity { si: off_m, dimension: dim::LENGTH, preference: Preference::Usual }.to_string();
            return Err(GardenError::CrookedLoop { name: garden.name(place).to_string(), by });
        }
        for place in 0..n {
            network.renew_law(place)?;
        }
        for link in 0..links {
            network.renew_link(link);
        }
        network.renew_demands();
        network.start_afresh();
        Ok(network)
    }

    /// Changes a number of a part, in SI. Errors: the part refuses the value, or needs a bore that nothing gives; set another
    /// before solving.
    pub fn set(&mut self, place: usize, number: Id, si: f64) -> Result<(), GardenError> {
        Arc::make_mut(&mut self.parts[place]).set_si(number, si)?;
        self.renew(place, if number == Id::Bore { Bore::Changed } else { Bore::Same })
    }

    /// Puts another part of the same kind in a place. Errors: it needs a bore that nothing gives; put another before solving.
    pub fn replace(&mut self, place: usize, part: Arc<Part>) -> Result<(), GardenError> {
        let same = part.si(Id::Bore) == self.parts[place].si(Id::Bore);
        self.parts[place] = part;
        self.renew(place, if same { Bore::Same } else { Bore::Changed })
    }

    /// Starts or stops a booster.
    pub fn run_pump(&mut self, place: usize, state: PumpState) {
        let runs = state == PumpState::Running;
        if self.runs[place] != runs {
            self.runs[place] = runs;
            self.renew_link_of(place);
        }
    }

    /// Gives a place another law than its part has, until a number of the part is set: a source at the pressure of stored
    /// water, a valve that fails.
    pub fn put_law(&mut self, place: usize, law: Law) {
        self.laws[place] = law;
        self.renew_link_of(place);
        if self.parts[place].kind() == Kind::Draw {
            self.renew_demands();
        }
    }

    /// Slope that stands in for less in a step, Pa s/m3.
    pub(super) fn stand_in_slope(&self) -> f64 {
        if self.parts_water { self.least_slope.min(PARTING_SLOPE) } else { self.least_slope }
    }

    /// The law that a place follows.
    pub fn law(&self, place: usize) -> &Law {
        &self.laws[place]
    }

    /// True when water can move through a place: it is fed and no dead end.
    pub fn carries(&self, place: usize) -> bool {
        self.structure.link_of[place].is_some() || self.structure.drawn[place]
    }

    /// True when a regulator in line with this place holds its setting.
    pub fn is_held(&self, place: usize) -> bool {
        let regulates = |link: usize| self.link_laws[link].holds(self.states[link].holding).is_some();
        self.structure.link_of[place].is_some_and(regulates)
    }

    /// True when water may part as it enters this place: a pump pulls there, or the way goes downhill.
    pub fn may_part(&self, place: usize) -> bool {
        self.at_step(place).is_some_and(|(link, step)| self.link_laws[link].may_part_at(step))
    }

    /// True when water parts as it enters this place: it stands at vapour pressure there and no more comes through.
    pub fn is_parted(&self, place: usize) -> bool {
        self.at_step(place).is_some_and(|(link, step)| {
            self.link_laws[link].parted_step(self.states[link].holding).is_some_and(|(parted, _)| parted == step)
        })
    }

    /// The places that water enters at vapor pressure, in order: see [`Network::is_parted`].
    pub fn parted(&self) -> Vec<usize> {
        let links = self.structure.links.iter().enumerate();
        let gaps = links.filter_map(|(index, link)| {
            let (step, _) = self.link_laws[index].parted_step(self.states[index].holding)?;
            Some(link.steps[step].place)
        });
        let mut parted: Vec<usize> = gaps.collect();
        parted.sort_unstable();
        parted
    }

    /// The link of a place and the step that it is there.
    fn at_step(&self, place: usize) -> Option<(usize, usize)> {
        let link = self.structure.link_of[place]?;
        let step = self.structure.links[link].steps.iter().position(|step| step.place == place)?;
        Some((link, step))
    }

    /// Gauge pressures at all nodes of the layout after a solve; NaN where no supply reaches.
    pub fn node_pressures_pa(&mut self) -> &[f64] {
        super::reading::spread(self)
    }

    /// Solves for the steady state, beginning from the last one, or afresh where that leads nowhere. After a failure the next
    /// solve begins afresh.
    ///
    /// Errors: [`SolveError`] names the worst place.
    pub fn solve(&mut self) -> Result<Convergence, SolveError> {
        if self.climbs_changed {
            if let Some((place, off_m)) = heights::crooked(&self.parts, &self.joints, self.node_pa.len()) {
                return Err(SolveError::crooked_loop(place, pressure_of_head_pa(off_m, self.water.density_kg_per_m3)));
            }
            self.climbs_changed = false;
        }
        if self.footing == Footing::Astray {
            self.start_afresh();
        }
        let warm = self.footing == Footing::Solved;
        let mut found = super::newton::solve(self);
        if found.is_err() && warm {
            self.start_over();
            found = super::newton::solve(self);
        }
        self.footing = if found.is_ok() { Footing::Solved } else { Footing::Astray };
        found
    }

    /// Forgets the last state: the next solve begins from a guess. What laws remember is kept, unless it is of a failed solve.
    pub fn start_afresh(&mut self) {
        if self.footing == Footing::Astray {
            self.link_laws.iter_mut().for_each(LinkLaw::forget);
        }
        super::start::start_afresh(self);
        self.footing = Footing::Guessed;
    }

    /// As [`Network::start_afresh`], after a failure: laws remember nothing either.
    pub(super) fn start_over(&mut self) {
        self.footing = Footing::Astray;
        self.start_afresh();
    }

    pub fn parts(&self) -> &[Arc<Part>] {
        &self.parts
    }

    /// True when a source reaches this place through open valves.
    pub fn is_fed(&self, place: usize) -> bool {
        self.structure.fed[self.joints[place].0]
    }

    /// What a sweep wants to know of the last solve. Pressures where nothing is fed are NaN.
    pub fn probe(&mut self, probe: &Probe) -> f64 {
        match probe.kind {
            ProbeKind::Flow => self.flow(probe.place),
            ProbeKind::Pressure => self.pressure(probe.place),
        }
    }

    /// Flow through a part, positive in its own direction, m3/s.
    pub fn flow(&self, place: usize) -> f64 {
        if let Law::Demand { flow_m3_per_s } = self.laws[place] {
            return if self.structure.drawn[place] { self.met_share(place) * flow_m3_per_s } else { 0.0 };
        }
        if let Law::UpTo { .. } = self.laws[place] {
            return taps::flow(self, place);
        }
        let Some(link) = self.structure.link_of[place] else { return 0.0 };
        let flow = self.states[link].flow;
        if flow == 0.0 || self.structure.forward[place] { flow } else { -flow }
    }

    /// The share that a draw gets of its flow: less than all only where water parts.
    fn met_share(&self, place: usize) -> f64 {
        if !self.parts_water {
            return 1.0;
        }
        let unknown = self.structure.draws.iter().find(|(_, draw)| *draw == place).map(|(unknown, _)| *unknown);
        unknown.map_or(1.0, |unknown| 1.0 - self.unmet[unknown] / self.demands[unknown].max(f64::MIN_POSITIVE))
    }

    /// Pressures at all places as a probe of each reads them; NaN where no supply reaches, Pa.
    pub fn place_pressures_pa(&mut self) -> Vec<f64> {
        super::reading::spread(self);
        let at = |place| self.own_pressure(place).unwrap_or_else(|| super::reading::pressure_behind(self, place));
        (0..self.parts.len()).map(at).collect()
    }

    fn pressure(&mut self, place: usize) -> f64 {
        self.own_pressure(place).unwrap_or_else(|| {
            super::reading::spread(self);
            super::reading::pressure_behind(self, place)
        })
    }

    /// The pressure that the law of a part and its flow tell; nothing where they do not.
    fn own_pressure(&self, place: usize) -> Option<f64> {
        let flow = self.flow(place);
        match self.laws[place] {
            // An outlet tells its own pressure while it flows.
            Law::Orifice { .. } | Law::Power { .. } if flow > 0.0 => Some(self.laws[place].loss(true, flow).loss_pa),
            Law::Source { .. } => Some(0.0 - self.laws[place].loss(true, flow).loss_pa),
            _ => None,
        }
    }

    /// True when a regulator sits in some link.
    pub(super) fn regulated(&self) -> bool {
        self.regulating > 0
    }

    /// Renews the laws and links that depend on a part.
    fn renew(&mut self, place: usize, bore: Bore) -> Result<(), GardenError> {
        self.climbs_changed |= self.parts[place].kind() == Kind::Climb;
        self.renew_law(place)?;
        if bore == Bore::Changed {
            for index in 0..self.takers[place].len() {
                let taker = self.takers[place][index];
                if self.takes_bore(taker) {
                    self.renew_law(taker)?;
                    self.renew_link_of(taker);
                }
            }
        }
        self.renew_link_of(place);
        if self.parts[place].kind() == Kind::Draw {
            self.renew_demands();
        }
        Ok(())
    }

    /// The laws that a number of a part touches, as they would be at another value: the part's own, and for a bore those of
    /// parts that take theirs from it. Errors: the part refuses the value.
    pub(super) fn laws_at(&self, place: usize, number: Id, si: f64) -> Result<Vec<(usize, Law)>, GardenError> {
        let mut part = (*self.parts[place]).clone();
        part.set_si(number, si)?;
        let mut laws = vec![(place, self.checked(place, part.law(&self.around(self.bore_beside(place))))?)];
        if number == Id::Bore {
            let around = self.around(si);
            let takers = self.takers[place].iter().filter(|&&taker| self.takes_bore(taker));
            laws.extend(takers.map(|&taker| (taker, self.parts[taker].law(&around))));
        }
        Ok(laws)
    }

    /// True when the law of a place depends on the bore of the hose beside it: without that it is not known.
    fn takes_bore(&self, place: usize) -> bool {
        self.parts[place].law(&self.around(f64::NAN)).lacks_bore()
    }

    /// The bore of the hose beside a place, m; not a number where there is none.
    fn bore_beside(&self, place: usize) -> f64 {
        self.layout.bore_from[place].map_or(f64::NAN, |hose| self.parts[hose].value(Id::Bore))
    }

    fn around(&self, bore_m: f64) -> Around {
        Around { water: self.water, bore_m }
    }

    /// The law, if it is known. Errors: it needs a bore that nothing gives.
    fn checked(&self, place: usize, law: Law) -> Result<Law, GardenError> {
        if law.lacks_bore() { Err(self.without_bore(place)) } else { Ok(law) }
    }

    /// The error for a place that needs a bore.
    fn without_bore(&self, place: usize) -> GardenError {
        let (what, name) = (self.parts[place].spec().word, self.layout.places[place].name.to_string());
        let own = self.parts[place].si(Id::Bore).is_some();
        if own { GardenError::NoHose { what, name } } else { GardenError::NoBore { what, name } }
    }

    fn renew_law(&mut self, place: usize) -> Result<(), GardenError> {
        let law = self.parts[place].law(&self.around(self.bore_beside(place)));
        // In a sweep this is done for each case: the law is not carried through a result.
        if law.lacks_bore() {
            return Err(self.without_bore(place));
        }
        self.laws[place] = law;
        Ok(())
    }

    fn renew_link_of(&mut self, place: usize) {
        if let Some(link) = self.structure.link_of[place] {
            self.renew_link(link);
        }
    }

    pub(super) fn renew_link(&mut self, link: usize) {
        let law = &mut self.link_laws[link];
        let (regulated, parted) = (law.regulates(), law.may_part());
        law.rebuild(&self.structure.links[link], &self.laws, &self.runs);
        self.regulating += usize::from(law.regulates());
        self.regulating -= usize::from(regulated);
        self.parting += usize::from(law.may_part());
        self.parting -= usize::from(parted);
    }

    fn renew_demands(&mut self) {
        self.demands.fill(0.0);
        for &(unknown, place) in &self.structure.draws {
            if let Law::Demand { flow_m3_per_s } = self.laws[place] {
                self.demands[unknown] += flow_m3_per_s;
            }
        }
        taps::renew(self);
    }
}

/// Something to read after a solve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    pub place: usize,
    pub kind: ProbeKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProbeKind {
    /// Pressure behind a part, or before an outlet, Pa.
    Pressure,
    /// Flow through a part, m3/s.
    Flow,
}
