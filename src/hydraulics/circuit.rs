//! What a solve works on: the structure of a garden for a set of open valves, the laws of its places, and the state they are in.
//!
//! It knows no parts, only the laws that they follow. `solve` changes its state, `answer` reads it.

use super::model::link::LinkLaw;
use super::model::structure::Structure;
use super::state::{Gives, LinkState, State, Supplied, Tap, Work};
use super::tolerances::{
    CEILING, CLOSES_TO, LEAST_SCALE_PA, LEAST_SLOPE, LINKS_GIVE_WAY_PA, LINKS_IN_A_ROW, PARTING_SLOPE, Tolerances,
};
use crate::laws::vessel::Store;
use crate::parts::Law;
use std::sync::Arc;

/// A structure with laws and a state.
#[derive(Clone, Debug)]
pub struct Circuit {
    pub structure: Arc<Structure>,
    /// The law that each place follows.
    pub laws: Vec<Law>,
    /// Which boosters run.
    pub runs: Vec<bool>,
    pub link_laws: Vec<LinkLaw>,
    /// What the demands at each unknown ask for, m3/s.
    pub demands: Vec<f64>,
    /// Laws of demands have changed since `demands` and the taps were gathered.
    demands_changed: bool,
    /// How many links a regulator sits in.
    regulating: usize,
    /// How many links have a place at which water may part.
    parting: usize,
    /// Gauge pressure at which water parts, Pa.
    pub vapor_pa: f64,
    pub tolerances: Tolerances,
    pub state: State,
    pub work: Work,
}

impl Circuit {
    /// A circuit without laws, whose water parts at this gauge pressure.
    pub fn new(structure: Arc<Structure>, number_of_places: usize, vapor_pa: f64) -> Circuit {
        Circuit {
            laws: vec![Law::Free; number_of_places],
            runs: vec![true; number_of_places],
            link_laws: vec![LinkLaw::new(links_part_at_pa(vapor_pa)); structure.links.len()],
            demands: vec![0.0; structure.unknowns.len()],
            demands_changed: true,
            regulating: 0,
            parting: 0,
            vapor_pa,
            tolerances: Tolerances::default(),
            state: State::new(&structure),
            work: Work::new(&structure),
            structure,
        }
    }

    /// Adds up the laws of all links and demands anew.
    pub fn renew_all(&mut self) {
        (0..self.link_laws.len()).for_each(|link| self.renew_link(link));
        self.demands_changed = true;
    }

    /// Makes the next solve gather what demands ask for.
    pub fn change_demands(&mut self) {
        self.demands_changed = true;
    }

    /// Adds up the laws of the link that a place is part of.
    pub fn renew_link_of(&mut self, place: usize) {
        if let Some(link) = self.structure.link_of[place] {
            self.renew_link(link);
        }
    }

    /// Gives a place that is this store already another content and span; false where it is not.
    pub fn refill(&mut self, place: usize, store: &Arc<Store>, new_from_m3: f64, new_span_s: f64) -> bool {
        let Law::Stored { store: own, from_m3, span_s } = &mut self.laws[place] else { return false };
        if !Arc::ptr_eq(own, store) {
            return false;
        }
        (*from_m3, *span_s) = (new_from_m3, new_span_s);
        if let Some(link) = self.structure.link_of[place] {
            self.link_laws[link].refill(store, new_from_m3, new_span_s);
        }
        true
    }

    fn renew_link(&mut self, link: usize) {
        let law = &mut self.link_laws[link];
        let (regulated, parted) = (law.regulates(), law.may_part());
        law.rebuild(&self.structure.links[link], &self.laws, &self.runs);
        self.regulating += usize::from(law.regulates());
        self.regulating -= usize::from(regulated);
        self.parting += usize::from(law.may_part());
        self.parting -= usize::from(parted);
    }

    /// Gathers what demands ask for, where that has changed; taps that were there keep their state.
    pub fn renew_demands(&mut self) {
        if !std::mem::take(&mut self.demands_changed) {
            return;
        }
        self.demands.fill(0.0);
        // Taps stand in the order of the demands, and so did those that were there.
        let mut known = std::mem::take(&mut self.state.taps).into_iter().peekable();
        for (demand, &(unknown, place)) in self.structure.demands.iter().enumerate() {
            let was = known.next_if(|tap| tap.demand == demand);
            match self.laws[place] {
                Law::Demand { flow_m3_per_s } => self.demands[unknown] += flow_m3_per_s,
                Law::UpTo { flow_m3_per_s } => {
                    let gives = was.map_or(Gives::All, |tap| tap.gives);
                    self.state.taps.push(Tap { unknown, demand, most_m3_per_s: flow_m3_per_s, gives });
                }
                _ => {}
            }
        }
        // What got nothing still gets nothing: it goes without all that it asks for now.
        let demands = self.state.supplied.iter().zip(&mut self.state.unmet).zip(&self.demands);
        for ((_, unmet), demand) in demands.filter(|((supplied, _), _)| **supplied == Supplied::Dry) {
            *unmet = *demand;
        }
    }

    /// True when a regulator sits in some link.
    pub fn regulated(&self) -> bool {
        self.regulating > 0
    }

    /// True when there is a place at which water may part.
    pub fn may_part(&self) -> bool {
        self.parting > 0 || !self.structure.demands.is_empty()
    }

    /// True when a regulator in line with this place holds its setting.
    pub fn is_regulated(&self, place: usize) -> bool {
        let holds = |link: usize| self.link_laws[link].holds(self.state.links[link].holding).is_some();
        self.structure.link_of[place].is_some_and(holds)
    }

    /// True when water may part as it enters this place: a pump pulls there, or the way goes downhill.
    pub fn may_part_at(&self, place: usize) -> bool {
        self.at_step(place).is_some_and(|(link, step)| self.link_laws[link].may_part_at(step))
    }

    /// True when water parts as it enters this place: it is at vapor pressure there and no more comes through.
    pub fn is_parted(&self, place: usize) -> bool {
        self.at_step(place).is_some_and(|(link, step)| {
            self.link_laws[link].parted_step(self.state.links[link].holding).is_some_and(|(parted, _)| parted == step)
        })
    }

    /// The places that water enters at vapor pressure, link by link.
    pub fn parted(&self) -> impl Iterator<Item = usize> + '_ {
        self.structure.links.iter().enumerate().filter_map(|(index, link)| {
            let (step, _) = self.link_laws[index].parted_step(self.state.links[index].holding)?;
            Some(link.steps[step].place)
        })
    }

    /// The link of a place and the step that it is there.
    fn at_step(&self, place: usize) -> Option<(usize, usize)> {
        let link = self.structure.link_of[place]?;
        let step = self.structure.links[link].steps.iter().position(|step| step.place == place)?;
        Some((link, step))
    }

    /// Slope that stands in for less in a step, Pa s/m3.
    pub fn stand_in_slope(&self) -> f64 {
        let in_a_row = LEAST_SLOPE * LINKS_IN_A_ROW as f64 / self.link_laws.len().max(LINKS_IN_A_ROW) as f64;
        let least = self.tolerances.least_slope.min(in_a_row);
        if self.state.parts_water { least.min(PARTING_SLOPE) } else { least }
    }

    /// Lets water part at this gauge pressure, Pa.
    pub fn part_at(&mut self, vapor_pa: f64) {
        self.vapor_pa = vapor_pa;
        self.link_laws.iter_mut().for_each(|law| law.vapor_pa = links_part_at_pa(vapor_pa));
    }

    /// Gauge pressure up to which water is at that of its vapor: what pulls harder has given way there, Pa.
    pub fn at_vapor_below_pa(&self) -> f64 {
        self.vapor_pa + 2.0 * LINKS_GIVE_WAY_PA
    }

    /// Pressures at the ends of a link; the air is at none.
    pub fn ends_pa(&self, link: usize) -> (f64, f64) {
        let at = |end: Option<usize>| end.map_or(0.0, |unknown| self.state.pressures_pa[unknown]);
        let ends = self.structure.ends[link];
        (at(ends.from()), at(ends.to()))
    }

    /// The pressure that misfits are measured against, Pa.
    pub fn scale_pa(&self) -> f64 {
        self.state.pressures_pa.iter().fold(LEAST_SCALE_PA, |most, pressure| most.max(pressure.abs()))
    }

    /// How far off a pressure may be that counts as right, Pa.
    pub fn allowed_pa(&self) -> f64 {
        CLOSES_TO * self.scale_pa()
    }

    /// The highest pressure of a source, or the least given if none has more, Pa.
    pub fn highest_source_pa(&self, least_pa: f64) -> f64 {
        self.laws.iter().fold(least_pa, |most, law| match law {
            Law::Source { pressure_pa, .. } => most.max(*pressure_pa),
            Law::Stored { store, from_m3, span_s } => most.max(store.stand(*from_m3, *span_s).pressure_pa),
            _ => most,
        })
    }

    /// A pressure that no node reaches in a steady state, far enough out to limit only nodes that a step has thrown away while
    /// nothing tied them to the rest; from further out they would take too many steps to come back.
    pub fn ceiling_pa(&self) -> f64 {
        let mut added_pa = 0.0;
        for law in &self.laws {
            match law {
                Law::Climb { rise_pa } => added_pa += rise_pa.abs(),
                Law::Booster { curve, .. } => added_pa += curve.rise(0.0).0.abs(),
                _ => {}
            }
        }
        CEILING * (self.highest_source_pa(0.0) + added_pa + LEAST_SCALE_PA)
    }

    /// Of a valve that passes nothing only the way forward counts, whether it was pushed closed or has come to rest.
    pub fn is_closed(&self, link: usize) -> bool {
        let state = &self.state.links[link];
        state.closed || (state.flow == 0.0 && self.link_laws[link].one_way)
    }

    /// The state of the link that a place is part of; none where nothing can flow.
    fn link_state(&self, place: usize) -> Option<&LinkState> {
        self.structure.link_of[place].map(|link| &self.state.links[link])
    }

    /// Flow through a place, positive in its own direction, m3/s.
    pub fn flow(&self, place: usize) -> f64 {
        match self.laws[place] {
            Law::Demand { flow_m3_per_s } if self.structure.drawn[place] => return self.met_share(place) * flow_m3_per_s,
            Law::Demand { .. } => return 0.0,
            Law::UpTo { .. } => {
                return self.tap(place).map_or(0.0, |tap| tap.flow(self.state.pressures_pa[tap.unknown]));
            }
            _ => {}
        }
        let flow = self.link_state(place).map_or(0.0, |state| state.flow);
        if flow == 0.0 || self.structure.forward[place] { flow } else { -flow }
    }

    /// The tap in a place.
    fn tap(&self, place: usize) -> Option<&Tap> {
        let demand = self.structure.draw_at(place)?;
        let taps = &self.state.taps;
        taps.binary_search_by_key(&demand, |tap| tap.demand).ok().map(|index| &taps[index])
    }

    /// The share that a demand gets of its flow: less than all only where water parts.
    fn met_share(&self, place: usize) -> f64 {
        if !self.state.parts_water {
            return 1.0;
        }
        let unknown = self.structure.draw_at(place).map(|demand| self.structure.demands[demand].0);
        unknown.map_or(1.0, |unknown| 1.0 - self.state.unmet[unknown] / self.demands[unknown].max(f64::MIN_POSITIVE))
    }
}

/// Gauge pressure at which links part that stand in water of this vapor pressure, Pa.
fn links_part_at_pa(vapor_pa: f64) -> f64 {
    vapor_pa + LINKS_GIVE_WAY_PA
}
