//! What changes in the laws of a network from case to case: which numbers, and what they are added up from.

use super::bends::{Bend, PIECE};
use super::model::{LINK, LaneModel, Own, PIPE, sum_of};
use crate::hydraulics::model::structure::LinkStep;
use crate::hydraulics::network::Network;
use crate::hydraulics::setting::{Change, Setting};
use crate::parts::{Id, Law, Part, Placing};
use crate::water::Water;

/// Where the inside diameter beside a part comes from.
#[derive(Clone, Copy, Debug)]
pub enum Bore {
    /// Nothing changes it, m; not a number where there is none.
    Fixed(f64),
    /// From a part that changes, by its number among those.
    Of(usize),
}

/// A place whose law may change.
#[derive(Clone, Debug)]
pub struct Changing {
    pub place: usize,
    /// The part as the network has it.
    pub part: Part,
    /// What axes set of it.
    pub setting: Option<Setting>,
    pub bore: Bore,
    /// The law as the network has it: that of every case is of the same kind.
    pub law: Law,
    /// Its link, and whether that passes it in its own direction.
    pub link: Option<(usize, bool)>,
    /// The place of the first number of its pipe.
    pub pipe: Option<usize>,
    /// Its bent term.
    pub bend: Option<Bend>,
    pub own: Vec<Own>,
    /// The node whose demand it is part of.
    unknown: Option<usize>,
    /// Where its own numbers stand among those that change: of its pipe, its bent term, then the others.
    pub columns: Vec<usize>,
}

impl Changing {
    /// True where its law may be no more than offset, factor of the flow, factor of its square and a pipe, in all cases.
    pub fn is_plain(&self) -> bool {
        let takes_numbers = self.setting.as_ref().is_none_or(|setting| setting.parameters().is_some());
        let plain = |own: &Own| matches!(own, Own::Source(_) | Own::Outlet(_));
        takes_numbers && self.link.is_some() && self.bend.is_none() && self.own.iter().all(plain)
    }
}

/// What is added up of laws that change and others.
#[derive(Clone, Debug)]
pub struct Sum {
    /// What does not change of offset, factor of the flow and factor of its square; of a node what its other demands take.
    pub fixed: [f64; LINK],
    /// Those of its laws that change, by their numbers.
    pub changing: Vec<usize>,
    /// Which of the three change, and where they stand among the numbers that do.
    pub columns: Vec<(usize, usize)>,
    /// The crests of its link, where they have to be found again.
    pub crests: Option<Crests>,
}

/// The crests of a link that change.
#[derive(Clone, Debug)]
pub struct Crests {
    /// Where both stand among the numbers that change.
    pub columns: [usize; 2],
    /// Its steps: the offset of each, or which of the laws that change it is, and whether it is a change of height.
    pub steps: Vec<(StepOffset, bool)>,
    pub one_way: bool,
}

/// The offset of a step of a link.
#[derive(Clone, Copy, Debug)]
pub enum StepOffset {
    /// As the link passes it, Pa.
    Fixed(f64),
    /// Of a place that changes, by its number among those.
    Of(usize),
}

/// The laws that some axes change.
#[derive(Clone, Debug)]
pub struct Changes {
    pub places: Vec<Changing>,
    pub sums: Vec<Sum>,
    pub water: Water,
    /// The numbers that change, by their places among all; ascending.
    pub numbers: Vec<usize>,
}

/// A sum before it is known where its numbers stand among those that change.
struct Found {
    /// Where its first number stands.
    number: usize,
    /// How many it has.
    terms: usize,
    fixed: [f64; LINK],
    changing: Vec<usize>,
    /// The link whose crests change with it.
    crests: Option<usize>,
}

impl Changes {
    /// The changes that axes make in a network; none where lanes cannot hold one.
    pub fn of(network: &Network, model: &LaneModel, changes: &[Change]) -> Option<Changes> {
        let layout = network.layout();
        let settings = Setting::of(changes);
        let mut places: Vec<usize> = Vec::new();
        for setting in &settings {
            let place = setting.place;
            // Whether the loops of a garden still close is not looked at here.
            if layout.spec(place).has(Id::Height) && has_loops(network) {
                return None;
            }
            places.push(place);
            if setting.touches(Id::Diameter) {
                places.extend(layout.takers()[place].iter().copied().filter(|&taker| network.takes_bore(taker)));
            }
        }
        places.sort_unstable();
        places.dedup();
        let number_of = |place: usize| places.binary_search(&place).ok();
        let mut all = Changes { places: Vec::new(), sums: Vec::new(), water: *network.water(), numbers: Vec::new() };
        for &place in &places {
            // A line has a diameter of its own.
            let bore = match layout.diameter_from()[place].filter(|_| !layout.spec(place).is_line()) {
                Some(hose) => number_of(hose).map_or(Bore::Fixed(network.parts()[hose].value(Id::Diameter)), Bore::Of),
                None => Bore::Fixed(f64::NAN),
            };
            let structure = &model.structure;
            let link = structure.link_of[place].map(|link| (link, structure.forward[place]));
            all.places.push(Changing {
                place,
                part: (*network.parts()[place]).clone(),
                setting: settings.iter().find(|setting| setting.place == place).cloned(),
                bore,
                law: network.law(place).clone(),
                link,
                pipe: link.and_then(|(link, _)| pipe_of(network, model, link, place)),
                bend: model.bends.iter().find(|bend| bend.place == place).copied(),
                own: model.own.iter().filter(|(of, _)| *of == place).map(|(_, own)| *own).collect(),
                unknown: structure.demands.iter().find(|(_, of)| *of == place).map(|(unknown, _)| *unknown),
                columns: Vec::new(),
            });
        }
        let found = all.find_sums(network, model)?;
        all.find_columns(network, model, found);
        Some(all)
    }

    /// Finds what has to be added up, and the numbers that change with it.
    fn find_sums(&mut self, network: &Network, model: &LaneModel) -> Option<Vec<Found>> {
        let (mut changing, mut sums) = (Vec::new(), Vec::new());
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
                    sums.push(Found { number: stretch.span.terms, terms: LINK, fixed, changing: changing_in_it, crests: None });
                }
            }
            changing.extend(of_it.iter().filter_map(|&one| self.places[one].pipe).flat_map(|pipe| pipe..pipe + PIPE));
            let bends = of_it.iter().filter_map(|&one| self.places[one].bend);
            changing.extend(bends.flat_map(|bend| bend.number..bend.number + PIECE * bend.pieces));
            let crests = model.links[link].crests.filter(|_| offsets);
            changing.extend(crests.into_iter().flat_map(|crest| crest..crest + 2));
            sums.push(Found { number, terms: LINK, fixed, changing: of_it, crests: crests.map(|_| link) });
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
            sums.push(Found { number, terms: 1, fixed, changing: of_it, crests: None });
        }
        changing.extend(self.places.iter().flat_map(|one| &one.own).flat_map(Own::numbers));
        changing.sort_unstable();
        changing.dedup();
        self.numbers = changing;
        Some(sums)
    }

    /// Finds where the numbers of places and sums stand among those that change.
    fn find_columns(&mut self, network: &Network, model: &LaneModel, sums: Vec<Found>) {
        let Changes { places, numbers, .. } = self;
        let column_of = |number: usize| numbers.binary_search(&number).ok();
        for one in places.iter_mut() {
            let pipe = one.pipe.into_iter().flat_map(|pipe| pipe..pipe + PIPE);
            let bend = one.bend.into_iter().flat_map(|bend| bend.number..bend.number + PIECE * bend.pieces);
            one.columns = pipe.chain(bend).chain(one.own.iter().flat_map(Own::numbers)).filter_map(column_of).collect();
        }
        let offset_of = |step: &LinkStep| match places.iter().position(|one| one.place == step.place) {
            Some(one) => StepOffset::Of(one),
            None => StepOffset::Fixed(sum_of(&[*step], |place| network.law(place)).map_or(f64::NAN, |[offset_pa, ..]| offset_pa)),
        };
        let crests = |link: usize| {
            let first = model.links[link].crests?;
            let is_climb = |step: &LinkStep| matches!(network.law(step.place), Law::Climb { .. });
            let steps = model.structure.links[link].steps.iter().map(|step| (offset_of(step), is_climb(step))).collect();
            Some(Crests { columns: [column_of(first)?, column_of(first + 1)?], steps, one_way: model.links[link].one_way })
        };
        self.sums = sums
            .into_iter()
            .map(|Found { number, terms, fixed, changing, crests: link }| Sum {
                fixed,
                changing,
                columns: (0..terms).filter_map(|term| Some((term, column_of(number + term)?))).collect(),
                crests: link.and_then(crests),
            })
            .collect();
    }

    /// What the laws of some steps add up to that do not change.
    fn fixed(&self, network: &Network, steps: &[LinkStep]) -> Option<[f64; LINK]> {
        let fixed = |step: &&LinkStep| self.places.iter().all(|one| one.place != step.place);
        sum_of(&steps.iter().filter(fixed).copied().collect::<Vec<_>>(), |place| network.law(place))
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
