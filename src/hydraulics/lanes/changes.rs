//! From the values of a case to the numbers of its laws: parts take the values, and their laws are asked for again.

use super::bends::{Bend, Bent, PIECE};
use super::model::{LINK, LaneModel, Own, PIPE, Plain, crests, sum_of};
use crate::garden::GardenError;
use crate::hydraulics::model::structure::LinkStep;
use crate::hydraulics::network::Network;
use crate::parts::{Around, Id, Law, Part, Placing};
use crate::water::Water;
use std::mem::discriminant;
use std::sync::Arc;

/// What an axis changes.
#[derive(Clone, Debug)]
pub enum Change {
    /// A parameter of the part in a place.
    Parameter(usize, Id),
    /// The part in a place, by one of these.
    Part(usize, Vec<Arc<Part>>),
    /// Nothing of a part.
    Nothing,
}

/// Where the inside diameter beside a part comes from.
#[derive(Clone, Copy, Debug)]
enum Bore {
    /// Nothing changes it, m; not a number where there is none.
    Fixed(f64),
    /// From a part that changes, by its number among those.
    Of(usize),
}

/// A place whose law may change.
#[derive(Clone, Debug)]
struct Changing {
    place: usize,
    part: Part,
    bore: Bore,
    law: Law,
    /// Its link, and whether that passes it in its own direction.
    link: Option<(usize, bool)>,
    /// The place of the first number of its pipe.
    pipe: Option<usize>,
    /// Its bent term.
    bend: Option<Bend>,
    own: Vec<Own>,
    /// The node whose demand it is part of.
    unknown: Option<usize>,
    /// Offset, factor of the flow and factor of its square, as its link passes it; of a demand its flow.
    terms: [f64; LINK],
    /// The sums that it is part of.
    sums: Vec<usize>,
    /// Its law is to be asked for again.
    renewed: bool,
}

/// What is added up again when one of its laws changes.
#[derive(Clone, Debug)]
struct Sum {
    /// Where its first number stands.
    number: usize,
    /// What does not change of offset, factor of the flow and factor of its square; of a node what its other demands take.
    fixed: [f64; LINK],
    /// Those of its laws that change, by their numbers.
    changing: Vec<usize>,
    /// The link, where its crests have to be found again, with the laws of it that do not change.
    crests: Option<(usize, Vec<(usize, Law)>)>,
    is_demand: bool,
    /// One of its laws has changed.
    is_due: bool,
}

/// The laws that some axes change.
#[derive(Clone, Debug)]
pub struct Changes {
    places: Vec<Changing>,
    /// For each axis the place that it changes and those whose laws depend on it, by their numbers.
    axes: Vec<(Change, Option<usize>, Vec<usize>)>,
    sums: Vec<Sum>,
    water: Water,
    /// The numbers that change, by their places among all; ascending.
    pub numbers: Vec<usize>,
    /// The values of those numbers.
    current: Vec<f64>,
    /// Where each of all numbers stands among those that change.
    columns: Vec<usize>,
}

/// Of a number that does not change.
const NO_COLUMN: usize = usize::MAX;

impl Changes {
    /// The changes that axes make in a network; none where lanes cannot hold one.
    pub fn of(network: &Network, model: &LaneModel, changes: &[Change]) -> Option<Changes> {
        let layout = network.layout();
        let mut places: Vec<usize> = Vec::new();
        for change in changes {
            let (place, takers) = match change {
                Change::Parameter(place, Id::Diameter) | Change::Part(place, _) => (*place, &layout.takers()[*place][..]),
                Change::Parameter(place, _) => (*place, &[][..]),
                Change::Nothing => continue,
            };
            // Whether the loops of a garden still close is not looked at here.
            if layout.spec(place).has(Id::Height) && has_loops(network) {
                return None;
            }
            places.push(place);
            places.extend(takers.iter().copied().filter(|&taker| network.takes_bore(taker)));
        }
        places.sort_unstable();
        places.dedup();
        let number_of = |place: usize| places.binary_search(&place).ok();
        let mut all = Changes {
            places: Vec::new(),
            axes: Vec::new(),
            sums: Vec::new(),
            water: *network.water(),
            numbers: Vec::new(),
            current: Vec::new(),
            columns: vec![NO_COLUMN; model.numbers.len()],
        };
        for &place in &places {
            let bore = match layout.diameter_from()[place] {
                Some(hose) => number_of(hose).map_or(Bore::Fixed(network.parts()[hose].value(Id::Diameter)), Bore::Of),
                None => Bore::Fixed(f64::NAN),
            };
            let structure = &model.structure;
            let link = structure.link_of[place].map(|link| (link, structure.forward[place]));
            all.places.push(Changing {
                place,
                part: (*network.parts()[place]).clone(),
                bore,
                law: network.law(place).clone(),
                link,
                pipe: link.and_then(|(link, _)| pipe_of(network, model, link, place)),
                bend: model.bends.iter().find(|bend| bend.place == place).copied(),
                own: model.own.iter().filter(|(of, _)| *of == place).map(|(_, own)| *own).collect(),
                unknown: structure.demands.iter().find(|(_, of)| *of == place).map(|(unknown, _)| *unknown),
                terms: [0.0; LINK],
                sums: Vec::new(),
                renewed: true,
            });
        }
        for change in changes {
            let (place, bores) = match change {
                Change::Parameter(place, id) => (Some(*place), *id == Id::Diameter),
                Change::Part(place, _) => (Some(*place), true),
                Change::Nothing => (None, false),
            };
            let own = place.and_then(number_of);
            let takes = |taker: &usize| bores && place.is_some() && layout.diameter_from()[all.places[*taker].place] == place;
            let renews = (0..places.len()).filter(|taker| Some(*taker) == own || takes(taker)).collect();
            all.axes.push((change.clone(), own, renews));
        }
        all.find_sums(network, model)?;
        Some(all)
    }

    /// Finds what has to be added up, and the numbers that change with it.
    fn find_sums(&mut self, network: &Network, model: &LaneModel) -> Option<()> {
        let mut changing = Vec::new();
        for link in 0..model.links.len() {
            let of_it: Vec<usize> =
                (0..self.places.len()).filter(|&one| self.places[one].link.is_some_and(|(at, _)| at == link)).collect();
            if of_it.is_empty() {
                continue;
            }
            let number = model.of_link(link);
            let fixed = self.fixed(network, &model.structure.links[link].steps)?;
            let any = |of: fn(&Law) -> bool| of_it.iter().any(|&one| of(&self.places[one].law));
            let offsets =
                any(|law| matches!(law, Law::Climb { .. } | Law::OneWay { .. } | Law::Source { .. } | Law::Relief { .. }));
            let squares = any(|law| !matches!(law, Law::Climb { .. } | Law::Relief { .. } | Law::Free));
            let varied = [offsets, any(|law| matches!(law, Law::Relief { .. })), squares];
            changing.extend((0..LINK).filter(|&term| varied[term]).map(|term| number + term));
            for stretch in model.stretches.iter().filter(|stretch| stretch.link == link) {
                let steps = &model.structure.links[link].steps[stretch.steps.clone()];
                let in_it = |one: &&usize| steps.iter().any(|step| step.place == self.places[**one].place);
                let changing_in_it: Vec<usize> = of_it.iter().filter(in_it).copied().collect();
                if !changing_in_it.is_empty() {
                    let fixed = self.fixed(network, steps)?;
                    changing.extend(stretch.span.terms..stretch.span.terms + LINK);
                    self.sums.push(Sum {
                        number: stretch.span.terms,
                        fixed,
                        changing: changing_in_it,
                        crests: None,
                        is_demand: false,
                        is_due: false,
                    });
                }
            }
            changing.extend(of_it.iter().filter_map(|&one| self.places[one].pipe).flat_map(|pipe| pipe..pipe + PIPE));
            let bends = of_it.iter().filter_map(|&one| self.places[one].bend);
            changing.extend(bends.flat_map(|bend| bend.number..bend.number + PIECE * bend.pieces));
            let crests = model.links[link].crests.filter(|_| offsets);
            changing.extend(crests.into_iter().flat_map(|crest| crest..crest + 2));
            let steps = model.structure.links[link].steps.iter().map(|step| (step.place, network.law(step.place).clone()));
            let crests = crests.map(|_| (link, steps.collect()));
            self.sums.push(Sum { number, fixed, changing: of_it, crests, is_demand: false, is_due: false });
        }
        for unknown in 0..model.structure.unknowns.len() {
            let of_it: Vec<usize> = (0..self.places.len()).filter(|&one| self.places[one].unknown == Some(unknown)).collect();
            if of_it.is_empty() {
                continue;
            }
            let number = model.of_demand(unknown);
            let mine = |law: &Law| if let Law::Demand { flow_m3_per_s } = law { *flow_m3_per_s } else { 0.0 };
            let others = model
                .structure
                .demands
                .iter()
                .filter(|(at, place)| *at == unknown && self.places.iter().all(|one| one.place != *place));
            let fixed = [others.map(|&(_, place)| mine(network.law(place))).sum(), 0.0, 0.0];
            changing.push(number);
            self.sums.push(Sum { number, fixed, changing: of_it, crests: None, is_demand: true, is_due: false });
        }
        for own in self.places.iter().flat_map(|one| &one.own) {
            match own {
                Own::Source(number) | Own::Starter(number) => changing.extend([*number, number + 1]),
                Own::Outlet(number) => changing.extend(*number..number + LINK),
                Own::Demand(number) | Own::Set(number) => changing.push(*number),
            }
        }
        changing.sort_unstable();
        changing.dedup();
        changing.iter().enumerate().for_each(|(column, &number)| self.columns[number] = column);
        self.current = changing.iter().map(|&number| model.numbers[number]).collect();
        self.numbers = changing;
        for (sum, of) in self.sums.iter().enumerate() {
            for &one in &of.changing {
                self.places[one].sums.push(sum);
            }
        }
        Some(())
    }

    /// What the laws of some steps add up to that do not change.
    fn fixed(&self, network: &Network, steps: &[LinkStep]) -> Option<[f64; LINK]> {
        let fixed = |step: &&LinkStep| self.places.iter().all(|one| one.place != step.place);
        sum_of(&steps.iter().filter(fixed).copied().collect::<Vec<_>>(), |place| network.law(place))
    }

    /// Takes the value of an axis in a case: a number in SI, or which of its parts.
    ///
    /// Errors: the part refuses it.
    pub fn take(&mut self, axis: usize, si: f64, index: usize) -> Result<(), GardenError> {
        let (change, own, renews) = &self.axes[axis];
        if let Some(own) = *own {
            for &one in renews {
                self.places[one].renewed = true;
            }
            match change {
                Change::Parameter(_, id) => self.places[own].part.set_si(*id, si)?,
                Change::Part(_, parts) => self.places[own].part = (*parts[index]).clone(),
                Change::Nothing => {}
            }
        }
        Ok(())
    }

    /// Brings the numbers up to date with the values that have been taken, and gives them in the order of [`Changes::numbers`]; none where lanes
    /// cannot hold a law.
    pub fn updated(&mut self, model: &LaneModel) -> Option<&[f64]> {
        for one in 0..self.places.len() {
            if self.places[one].renewed {
                self.renew(one)?;
                self.places[one].renewed = false;
                for &sum in &self.places[one].sums {
                    self.sums[sum].is_due = true;
                }
            }
        }
        for sum in 0..self.sums.len() {
            if std::mem::take(&mut self.sums[sum].is_due) {
                self.add_up(model, sum);
            }
        }
        Some(&self.current)
    }

    /// Asks a part for its law again, and keeps its own numbers.
    fn renew(&mut self, one: usize) -> Option<()> {
        let diameter_m = match self.places[one].bore {
            Bore::Fixed(diameter_m) => diameter_m,
            Bore::Of(other) => self.places[other].part.value(Id::Diameter),
        };
        let Changing { part, law: known, link, pipe, bend, own, terms, .. } = &mut self.places[one];
        let law = part.law(&Around { water: self.water, diameter_m });
        if discriminant(&law) != discriminant(known) {
            return None;
        }
        let mut keep = |number: usize, value: f64| {
            let column = self.columns[number];
            if column != NO_COLUMN {
                self.current[column] = value;
            }
        };
        if let Law::Demand { flow_m3_per_s } = law {
            *terms = [flow_m3_per_s, 0.0, 0.0];
        } else if let Some((_, forward)) = link {
            let plain = Plain::of(&law, *forward)?;
            *terms = [plain.offset_pa, plain.linear, plain.quadratic];
            for (at, value) in plain.pipe.into_iter().flatten().enumerate() {
                keep((*pipe)? + at, value);
            }
            if let Some(bend) = bend {
                let bent = Bent::of(&law).filter(|bent| bent.pieces() <= bend.pieces)?;
                for piece in 0..bend.pieces {
                    let numbers = bent.piece(piece);
                    numbers.into_iter().enumerate().for_each(|(at, value)| keep(bend.number + PIECE * piece + at, value));
                }
            }
        } else if law.lacks_bore() {
            return None;
        }
        for own in own {
            match (own, &law) {
                (Own::Source(number), Law::Source { pressure_pa, resistance }) => {
                    keep(*number, *pressure_pa);
                    keep(*number + 1, *resistance);
                }
                (Own::Outlet(number), _) => terms.iter().enumerate().for_each(|(term, value)| keep(*number + term, *value)),
                (Own::Demand(number), Law::Demand { flow_m3_per_s }) => keep(*number, *flow_m3_per_s),
                (Own::Starter(number), _) => {
                    Own::settings(part).into_iter().enumerate().for_each(|(at, value)| keep(*number + at, value));
                }
                (Own::Set(number), law) => keep(*number, law.holds_pa()?),
                _ => return None,
            }
        }
        *known = law;
        Some(())
    }

    /// Adds up what has changed.
    fn add_up(&mut self, model: &LaneModel, sum: usize) {
        let Sum { number, fixed, changing, crests: with_crests, is_demand, .. } = &self.sums[sum];
        let mut terms = *fixed;
        for &one in changing {
            terms.iter_mut().zip(self.places[one].terms).for_each(|(sum, term)| *sum += term);
        }
        let mut keep = |number: usize, value: f64| {
            let column = self.columns[number];
            if column != NO_COLUMN {
                self.current[column] = value;
            }
        };
        let kept = if *is_demand { 1 } else { LINK };
        terms[..kept].iter().enumerate().for_each(|(term, value)| keep(number + term, *value));
        let Some((link, known)) = with_crests else { return };
        let law = |place: usize| {
            let changed = self.places.iter().find(|one| one.place == place).map(|one| &one.law);
            let known = known.iter().find(|(of, _)| *of == place).map(|(_, law)| law);
            changed.or(known).cloned().unwrap_or(Law::Free)
        };
        let found = crests(&model.structure.links[*link], model.links[*link].one_way, law);
        let at = model.links[*link].crests.unwrap_or_default();
        found.into_iter().enumerate().for_each(|(which, crest)| keep(at + which, crest));
    }
}

/// True where parts in line may close a loop.
fn has_loops(network: &Network) -> bool {
    let layout = network.layout();
    let inline = (0..layout.places.len()).filter(|&place| layout.spec(place).placing == Placing::Inline).count();
    inline >= layout.number_of_nodes
}

/// The place of the first number of the pipe that a place of a link is, if it is one.
fn pipe_of(network: &Network, model: &LaneModel, link: usize, place: usize) -> Option<usize> {
    let is_pipe = |place: usize| matches!(network.law(place), Law::Friction { .. });
    let steps = &model.structure.links[link].steps;
    let before = steps.iter().take_while(|step| step.place != place).filter(|step| is_pipe(step.place)).count();
    is_pipe(place).then(|| model.of_pipe(model.links[link].span.pipes.start + before))
}
