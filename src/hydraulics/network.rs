//! A garden made ready for solving: its parts, and the circuit of their laws that is solved.
//!
//! Made once a sweep; a changed parameter of a part only renews the laws that depend on it.

use super::answer::pressures::spread;
use super::answer::probe::{Probe, ProbeKind};
use super::circuit::Circuit;
use super::model::{heights, known};

use super::outcome::{Convergence, SolveError};
use super::setting::Setting;
use super::solve::ahead::Answers;
use super::solve::{self, stores};
use super::tolerances::{Foresight, Tolerances};
use crate::garden::{Garden, GardenError, Layout};
use crate::laws::section::pressure_of_head_pa;
use crate::laws::vessel::Store;
use crate::parts::{Around, Id, Law, Part};
use crate::quantity::dim;
use crate::water::Water;
use std::ops::Deref;
use std::sync::Arc;

/// Whether a booster runs; whoever solves decides, not the solve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PumpState {
    /// It adds the rise of its curve, or with a drive as much of it as the drive lets it.
    Running,
    /// It adds the rise of its curve, whatever its drive would hold.
    FullSpeed,
    /// Water flows through it freely.
    Off,
}

/// What the next solve begins from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Footing {
    /// A guess.
    Guessed,
    /// The last answer.
    Solved,
    /// What a solve that failed left over.
    Astray,
}

/// Whether a change of a part touches its diameter, on which the laws of others may depend.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Diameter {
    Changed,
    Same,
}

/// The parts of a network: those of its garden until one of them is changed.
#[derive(Clone, Debug)]
pub(super) enum Parts {
    Shared(Arc<Vec<Arc<Part>>>),
    Own(Vec<Arc<Part>>),
}

impl Deref for Parts {
    type Target = [Arc<Part>];

    #[inline]
    fn deref(&self) -> &[Arc<Part>] {
        match self {
            Parts::Shared(parts) => parts,
            Parts::Own(parts) => parts,
        }
    }
}

impl Parts {
    /// The parts, to be changed.
    #[inline]
    fn own(&mut self) -> &mut Vec<Arc<Part>> {
        if let Parts::Shared(parts) = self {
            *self = Parts::Own(parts.to_vec());
        }
        match self {
            Parts::Own(parts) => parts,
            Parts::Shared(_) => unreachable!("they have just been made its own"),
        }
    }
}

/// A garden made ready for solving.
#[derive(Clone, Debug)]
pub struct Network {
    pub(super) circuit: Circuit,
    pub(super) parts: Parts,
    layout: Arc<Layout>,
    /// Which places are open.
    open: Arc<[bool]>,
    water: Water,
    footing: Footing,
    /// The boosters that run at full speed though a drive holds their pressure.
    unheld: Vec<usize>,
    /// An elevation change was set: the loops must be checked again.
    climbs_changed: bool,
    /// Gauge pressures at the nodes of the layout, where they have been asked for, Pa.
    node_pa: Vec<f64>,
    /// The last answers on a way in time.
    answers: Answers,
    /// What ends the solves of a step over time.
    foresight: Foresight,
}

impl Network {
    /// A garden with these places open.
    ///
    /// `open` has one entry for each part of the garden. All boosters run.
    ///
    /// Errors: [`GardenError::NotFed`] without a source, [`GardenError::NoBore`] or [`GardenError::NoHose`] for a part that lacks a
    /// diameter, [`GardenError::CrookedLoop`] where the changes of height around a loop do not add up to zero.
    pub fn new(garden: &Garden, open: &[bool]) -> Result<Network, GardenError> {
        if !garden.is_fed() {
            return Err(GardenError::NotFed);
        }
        let structure = known::structure_of(garden, open);
        let (layout, number_of_places) = (garden.shared_layout(), garden.parts().len());
        let mut network = Network {
            circuit: Circuit::new(structure, number_of_places, garden.vapor_gauge_pa()),
            parts: Parts::Shared(garden.shared_parts()),
            open: open.into(),
            water: *garden.water(),
            footing: Footing::Astray,
            unheld: Vec::new(),
            climbs_changed: false,
            node_pa: vec![f64::NAN; layout.number_of_nodes],
            answers: Answers::default(),
            foresight: Foresight::Nothing,
            layout,
        };
        if let Some((place, off_m)) = heights::crooked(&network.parts, &network.layout) {
            let by = garden.quantity(off_m, dim::LENGTH);
            return Err(GardenError::CrookedLoop { name: garden.name(place).to_string(), by });
        }
        for place in 0..number_of_places {
            network.renew_law(place)?;
        }
        network.circuit.renew_all();
        network.start_afresh();
        Ok(network)
    }

    /// Changes a parameter of a part, in SI.
    ///
    /// Errors: the part refuses the value, or needs a diameter that nothing gives; set another before solving.
    pub fn set(&mut self, place: usize, number: Id, si: f64) -> Result<(), GardenError> {
        Arc::make_mut(&mut self.parts.own()[place]).set_si(number, si)?;
        self.renew(place, if number == Id::Diameter { Diameter::Changed } else { Diameter::Same })
    }

    /// Changes a place as axes set it in a case: of each a number in SI, or which of its parts.
    ///
    /// Errors: the part refuses the values, or needs a diameter that nothing gives; set others before solving.
    pub fn put(
        &mut self,
        setting: &Setting,
        si: impl Fn(usize) -> f64,
        index: impl Fn(usize) -> usize,
    ) -> Result<(), GardenError> {
        setting.put(Arc::make_mut(&mut self.parts.own()[setting.place]), si, index)?;
        self.renew(setting.place, if setting.touches(Id::Diameter) { Diameter::Changed } else { Diameter::Same })
    }

    /// Puts another part of the same kind in a place.
    ///
    /// Errors: it needs a diameter that nothing gives; put another before solving.
    pub fn replace(&mut self, place: usize, part: Arc<Part>) -> Result<(), GardenError> {
        let same = part.si(Id::Diameter) == self.parts[place].si(Id::Diameter);
        self.parts.own()[place] = part;
        self.renew(place, if same { Diameter::Same } else { Diameter::Changed })
    }

    /// Makes the next solve begin as the first one did, from a guess and with nothing that laws remember.
    pub(crate) fn forget(&mut self) {
        self.footing = Footing::Astray;
        self.answers.clear();
    }

    /// Keeps the answer just found as that at a time, s, for [`Network::lead_to`].
    pub(crate) fn keep_answer(&mut self, at_s: f64) {
        self.answers.keep(&self.circuit.state, at_s);
    }

    /// Makes the next solve begin where the answers that were kept lead to at a time, s.
    pub(crate) fn lead_to(&mut self, at_s: f64) {
        if self.footing == Footing::Solved {
            self.answers.lead(&mut self.circuit, at_s);
        }
    }

    /// Forgets the answers that were kept: what comes lies on another way.
    pub(crate) fn leave_way(&mut self) {
        self.answers.clear();
    }

    /// Goes over to other parts of the same kinds, given for each place: those that are not the same as before are put in their
    /// places. Errors: as for [`Network::replace`].
    pub(crate) fn go_over_to<'a>(&mut self, part: impl Fn(usize) -> &'a Arc<Part>) -> Result<(), GardenError> {
        for place in 0..self.parts.len() {
            let part = part(place);
            if !Arc::ptr_eq(part, &self.parts[place]) {
                self.replace(place, Arc::clone(part))?;
            }
        }
        Ok(())
    }

    /// Starts or stops a booster.
    pub fn run_pump(&mut self, place: usize, state: PumpState) {
        let runs = state != PumpState::Off;
        let unheld = state == PumpState::FullSpeed && self.layout.drive_of(place).is_some();
        let was_unheld = self.unheld.contains(&place);
        if self.circuit.runs[place] == runs && unheld == was_unheld {
            return;
        }
        self.circuit.runs[place] = runs;
        self.unheld.retain(|&other| other != place);
        self.unheld.extend(unheld.then_some(place));
        let holds = self.held_pa(place);
        if let Law::Booster { holds_pa, .. } = &mut self.circuit.laws[place] {
            *holds_pa = holds;
        }
        self.circuit.renew_link_of(place);
    }

    /// The pressure that a drive holds at the outlet of a booster that runs, Pa.
    fn held_pa(&self, booster: usize) -> Option<f64> {
        let drive = self.layout.drive_of(booster).filter(|_| self.circuit.runs[booster] && !self.unheld.contains(&booster))?;
        self.parts[drive].si(Id::Set)
    }

    /// A law as it is where its part sits: that of a booster with what its drive holds.
    fn driven(&self, place: usize, law: Law) -> Law {
        match law {
            Law::Booster { curve, .. } => Law::Booster { curve, holds_pa: self.held_pa(place) },
            other => other,
        }
    }

    /// Gives a place another law than its part has, until a parameter of the part is set: a source at the pressure of stored
    /// water, a valve that fails.
    pub fn put_law(&mut self, place: usize, law: Law) {
        self.circuit.laws[place] = law;
        self.circuit.renew_link_of(place);
        if self.layout.spec(place).traits.demands {
            self.circuit.change_demands();
        }
    }

    /// Makes a place a store that begins a span of time with this volume of water: [`Law::Stored`].
    pub fn put_store(&mut self, place: usize, store: &Arc<Store>, from_m3: f64, span_s: f64) {
        if !self.circuit.refill(place, store, from_m3, span_s) {
            self.put_law(place, Law::Stored { store: Arc::clone(store), from_m3, span_s });
        }
    }

    /// Makes the solve fit a step over time in which stores fill or empty.
    ///
    /// `span_s` is the length of the step, by which flows are resolved; `m3_per_pa` the most and the least volume that a store takes for a small
    /// rise of pressure. Over the span the first is the slope that takes the place of that of a flat law in a step of the solve.
    pub fn follow_stores(&mut self, span_s: f64, m3_per_pa: [f64; 2]) {
        let [flattest, steepest] = m3_per_pa.map(|m3_per_pa| span_s / m3_per_pa);
        self.circuit.tolerances = Tolerances { foresight: self.foresight, ..Tolerances::of_stores(span_s, flattest, steepest) };
    }

    /// What ends the solves of a step over time.
    pub fn foresee(&mut self, foresight: Foresight) {
        self.foresight = foresight;
    }

    /// Makes the solve give the points of a curve: to rounding, whatever it begins from.
    pub fn follow_curve(&mut self) {
        self.circuit.tolerances = Tolerances::of_curves();
    }

    /// By how much the flow out of each of these stores would change if it had begun with a little more water, m3/s, to first order
    /// around the state just solved. `more` holds places of stores and their volumes, m3.
    pub fn flow_changes(&mut self, more: &[(usize, f64)]) -> Vec<f64> {
        stores::flow_changes(&mut self.circuit, more)
    }

    /// Solves for the steady state, beginning from the last one, or afresh where that leads nowhere. After a failure the next
    /// solve begins afresh.
    ///
    /// Errors: [`SolveError`] names the worst place. Method and sources: `docs/method.md`.
    pub fn solve(&mut self) -> Result<Convergence, SolveError> {
        if self.climbs_changed {
            if let Some((place, off_m)) = heights::crooked(&self.parts, &self.layout) {
                return Err(SolveError::at(place, pressure_of_head_pa(off_m, self.water.density_kg_per_m3), 0));
            }
            self.climbs_changed = false;
        }
        if self.footing == Footing::Astray {
            solve::start_over(&mut self.circuit);
        }
        let mut found = solve::solve(&mut self.circuit);
        if found.is_err() && self.footing == Footing::Solved {
            solve::start_over(&mut self.circuit);
            found = solve::solve(&mut self.circuit);
        }
        self.footing = if found.is_ok() { Footing::Solved } else { Footing::Astray };
        found
    }

    /// Forgets the last state: the next solve begins from a guess. What laws remember is kept, unless it is of a failed solve.
    pub fn start_afresh(&mut self) {
        if self.footing == Footing::Astray {
            solve::start_over(&mut self.circuit);
        } else {
            solve::start_afresh(&mut self.circuit);
        }
        self.footing = Footing::Guessed;
    }

    /// Its parts in the order of the garden, with the parameters as they are set now.
    pub fn parts(&self) -> &[Arc<Part>] {
        &self.parts
    }

    /// Where its parts sit.
    pub(super) fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The circuit of its laws.
    pub(super) fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// The water that flows.
    pub(super) fn water(&self) -> &Water {
        &self.water
    }

    /// The law that a place follows.
    pub fn law(&self, place: usize) -> &Law {
        &self.circuit.laws[place]
    }

    /// True for a place that is open: all but closed valves.
    pub fn is_open(&self, place: usize) -> bool {
        self.open[place]
    }

    /// True when a source reaches this place through open valves.
    pub fn is_fed(&self, place: usize) -> bool {
        self.circuit.structure.fed[self.layout.places[place].from]
    }

    /// True when water can move through a place: it is fed and no dead end.
    pub fn carries(&self, place: usize) -> bool {
        self.circuit.structure.link_of[place].is_some() || self.circuit.structure.drawn[place]
    }

    /// True when a regulator in line with this place holds its setting.
    pub fn is_held(&self, place: usize) -> bool {
        self.circuit.is_regulated(place)
    }

    /// True when water may cavitate as it enters this place: a pump pulls there, or the line goes downhill.
    pub fn may_part(&self, place: usize) -> bool {
        self.circuit.may_part_at(place)
    }

    /// True when water cavitates as it enters this place: it is at vapor pressure there, which limits the flow.
    pub fn is_parted(&self, place: usize) -> bool {
        self.circuit.is_parted(place)
    }

    /// The places that water enters at vapor pressure, ascending: see [`Network::is_parted`].
    pub fn parted(&self) -> Vec<usize> {
        let mut parted: Vec<usize> = self.circuit.parted().collect();
        parted.sort_unstable();
        parted
    }

    /// A pressure (Pa) or flow (m3/s) of the last solve. Pressures where no source is connected are NaN.
    pub fn probe(&mut self, probe: &Probe) -> f64 {
        match probe.kind {
            ProbeKind::Flow => self.flow(probe.place),
            ProbeKind::Pressure => self.pressure(probe.place),
        }
    }

    /// Flow through a part in the last solve, positive in its own direction, m3/s.
    pub fn flow(&self, place: usize) -> f64 {
        self.circuit.flow(place)
    }

    /// Gauge pressures at all nodes of the layout after a solve, Pa; NaN where no source is connected.
    pub fn node_pressures_pa(&mut self) -> &[f64] {
        spread(&self.circuit, &mut self.node_pa);
        &self.node_pa
    }

    /// Flows through all places, positive in their own directions, m3/s.
    pub(super) fn flows(&self) -> Vec<f64> {
        let structure = &self.circuit.structure;
        let mut flows = vec![0.0; self.parts.len()];
        let steps = structure.links.iter().flat_map(|link| &link.steps).map(|step| step.place);
        steps.chain(structure.demands.iter().map(|&(_, place)| place)).for_each(|place| flows[place] = self.flow(place));
        flows
    }

    /// Gauge pressures at some places as a [`Probe`] of each reads them, Pa; NaN where no source is connected.
    pub fn pressures_pa(&mut self, places: impl Iterator<Item = usize>) -> Vec<f64> {
        spread(&self.circuit, &mut self.node_pa);
        places.map(|place| self.spread_pressure(place)).collect()
    }

    /// The pressure at a place as a probe reads it, once [`Network::node_pressures_pa`] has been asked after the solve.
    pub(super) fn spread_pressure(&self, place: usize) -> f64 {
        self.own_pressure(place).unwrap_or_else(|| self.pressure_downstream(place))
    }

    fn pressure(&mut self, place: usize) -> f64 {
        if let Some(pressure_pa) = self.own_pressure(place) {
            return pressure_pa;
        }
        spread(&self.circuit, &mut self.node_pa);
        self.pressure_downstream(place)
    }

    /// The pressure that follows from the law of a part and its flow; `None` where none does.
    fn own_pressure(&self, place: usize) -> Option<f64> {
        let flow = self.flow(place);
        match self.circuit.laws[place] {
            // The flow of an outlet gives its own pressure.
            Law::Orifice { .. } | Law::Power { .. } if flow > 0.0 => Some(self.law(place).loss(true, flow).loss_pa),
            Law::Source { .. } => Some(0.0 - self.law(place).loss(true, flow).loss_pa),
            _ => None,
        }
    }

    /// The pressure downstream of a part, for probes that no law answers; those of all nodes are spread before.
    fn pressure_downstream(&self, place: usize) -> f64 {
        let pressure_pa = self.node_pa[self.node_downstream(place)];
        // `f64::max` would turn "nothing fed" into zero.
        if self.circuit.structure.outlet[place] && pressure_pa < 0.0 { 0.0 } else { pressure_pa }
    }

    /// Gauge pressure where water enters a part in line, Pa; NaN where no source is connected.
    pub(super) fn pressure_upstream(&mut self, place: usize) -> f64 {
        spread(&self.circuit, &mut self.node_pa);
        self.node_pa[self.layout.places[place].from]
    }

    /// The node of the layout downstream of a place.
    pub(super) fn node_downstream(&self, place: usize) -> usize {
        self.layout.places[place].to
    }

    /// Renews the laws and links that depend on a part.
    fn renew(&mut self, place: usize, diameter: Diameter) -> Result<(), GardenError> {
        self.climbs_changed |= self.layout.spec(place).has(Id::Height);
        self.renew_law(place)?;
        if diameter == Diameter::Changed {
            let layout = Arc::clone(&self.layout);
            for &taker in &layout.takers()[place] {
                if self.takes_bore(taker) {
                    self.renew_law(taker)?;
                    self.circuit.renew_link_of(taker);
                }
            }
        }
        self.circuit.renew_link_of(place);
        if let Some(booster) = self.layout.driven_by(place) {
            self.renew_law(booster)?;
            self.circuit.renew_link_of(booster);
        }
        if self.layout.spec(place).traits.demands {
            self.circuit.change_demands();
        }
        Ok(())
    }

    /// The laws that a parameter of a part touches, as they would be at another value: the part's own, for a diameter those of parts that
    /// take theirs from it, and for what a drive holds that of its booster. Errors: the part refuses the value.
    pub(super) fn laws_at(&self, place: usize, number: Id, si: f64) -> Result<Vec<(usize, Law)>, GardenError> {
        let mut part = (*self.parts[place]).clone();
        part.set_si(number, si)?;
        let own = self.driven(place, part.law(&self.around(self.bore_beside(place))));
        let mut laws = vec![(place, self.checked(place, own)?)];
        if number == Id::Set
            && let Some(booster) = self.layout.driven_by(place)
            && let Law::Booster { curve, holds_pa: Some(_) } = self.law(booster)
        {
            laws.push((booster, Law::Booster { curve: Arc::clone(curve), holds_pa: Some(si) }));
        }
        if number == Id::Diameter {
            let around = self.around(si);
            let takers = self.layout.takers()[place].iter().filter(|&&taker| self.takes_bore(taker));
            laws.extend(takers.map(|&taker| (taker, self.parts[taker].law(&around))));
        }
        Ok(laws)
    }

    /// True when the law of a place depends on the diameter of the hose beside it: without that it is not known.
    pub(super) fn takes_bore(&self, place: usize) -> bool {
        self.parts[place].law(&self.around(f64::NAN)).lacks_bore()
    }

    /// The diameter of the hose beside a place, m; not a number where there is none.
    fn bore_beside(&self, place: usize) -> f64 {
        self.layout.diameter_from()[place].map_or(f64::NAN, |hose| self.parts[hose].value(Id::Diameter))
    }

    fn around(&self, diameter_m: f64) -> Around {
        Around { water: self.water, diameter_m }
    }

    /// The law, if it is known. Errors: it needs a diameter that nothing gives.
    fn checked(&self, place: usize, law: Law) -> Result<Law, GardenError> {
        if law.lacks_bore() { Err(self.without_bore(place)) } else { Ok(law) }
    }

    /// The error for a place that needs a diameter.
    fn without_bore(&self, place: usize) -> GardenError {
        let (what, name) = (self.parts[place].spec().word, self.layout.places[place].name.to_string());
        if self.parts[place].spec().has(Id::Nozzle) {
            return GardenError::NoNozzle { name };
        }
        let own = self.parts[place].si(Id::Diameter).is_some();
        if own { GardenError::NoHose { what, name } } else { GardenError::NoBore { what, name } }
    }

    fn renew_law(&mut self, place: usize) -> Result<(), GardenError> {
        let law = self.parts[place].law(&self.around(self.bore_beside(place)));
        // In a sweep this is done for each case: the law is not carried through a result.
        if law.lacks_bore() {
            return Err(self.without_bore(place));
        }
        self.circuit.laws[place] = self.driven(place, law);
        Ok(())
    }
}
