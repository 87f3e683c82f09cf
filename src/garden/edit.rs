//! Editing: the same garden without some parts, with a line put in or laid in parallel, or one zone of it alone.
//!
//! What is left keeps its names, also the generated ones, so that paths lead to the same parts before and after.

use super::join::Merge;
use super::layout::Tail;
use super::path::fits;
use super::{Garden, GardenError};
use crate::parts::{Id, Kind, Part, Placing};
use std::collections::HashMap;
use std::sync::Arc;

/// On which side of a part a line is put in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Upstream of it.
    Before,
    /// Downstream of it.
    After,
}

impl Garden {
    /// The places of a name, or of all parts whose name a pattern with `*` matches.
    ///
    /// Errors: an unknown name, or a pattern that matches none.
    pub fn named_like(&self, pattern: &str) -> Result<Vec<usize>, GardenError> {
        if !pattern.contains('*') {
            return Ok(vec![self.find(pattern)?]);
        }
        let found: Vec<usize> = (0..self.parts().len()).filter(|&place| fits(pattern, self.name(place))).collect();
        if found.is_empty() {
            let known = self.layout().places.iter().map(|place| place.name.to_string()).collect();
            return Err(GardenError::NoNameMatches { pattern: pattern.into(), known });
        }
        Ok(found)
    }

    /// The same garden without the named parts; a name may be a pattern.
    ///
    /// A part in line is bridged: what is downstream of it continues from what is upstream. One side of a loop is opened instead,
    /// since a bridge would short-circuit the other side. A branch without any outlet left goes too, except where it was a dead end before.
    /// Errors: an unknown name, or nothing is left that is fed or gives water although there was.
    pub fn without(&self, names: &[&str]) -> Result<Garden, GardenError> {
        let mut gone = Vec::new();
        for name in names {
            gone.extend(self.named_like(name)?);
        }
        gone.sort_unstable();
        gone.dedup();
        let mut cut = Cut::of(self);
        for &place in &gone {
            if crate::limits::ended() {
                break;
            }
            cut.take_out(place);
        }
        cut.finish(names.iter().map(|name| (*name).to_string()).collect())
    }

    /// Some zones of the garden alone, with all that serves them: the sources, the way from there, valves upstream of them, and what
    /// runs whenever they do. All other zones are left out.
    ///
    /// A part that took its diameter from a hose that is left out keeps that diameter.
    /// Errors: a name that is no valve, or no source reaches a zone.
    pub fn zone(&self, zones: &[&str]) -> Result<Garden, GardenError> {
        let mut open = Vec::new();
        for zone in zones {
            let valve = self.valve(zone)?;
            open.push(valve);
            open.extend(self.valves_upstream(valve).ok_or_else(|| GardenError::ZoneNotFed { zone: (*zone).to_string() })?);
        }
        let mut cut = Cut::of(self);
        self.valves().filter(|valve| !open.contains(valve)).for_each(|valve| cut.kept[valve] = false);
        let starts: Vec<usize> = open.iter().flat_map(|&valve| [cut.ends[valve].0, cut.ends[valve].1]).collect();
        let mut walk = self.walk();
        walk.from(starts, |passage| cut.kept[passage.place].then_some(())).for_each(drop);
        let seen = walk.seen();
        (0..cut.kept.len()).for_each(|place| cut.kept[place] &= seen[cut.ends[place].1]);
        cut.keeps_diameters = true;
        cut.finish(Vec::new())
    }

    /// The valves on the shortest way from a source to a valve; none where no source leads to it.
    pub(crate) fn valves_upstream(&self, valve: usize) -> Option<Vec<usize>> {
        let sources = self.of_spec(|spec| spec.placing == Placing::Source);
        let starts: Vec<usize> = sources.map(|place| self.layout().places[place].to).collect();
        let mut came = vec![None; self.layout().number_of_nodes];
        let mut walk = self.walk();
        walk.from(starts.iter().copied(), |passage| (passage.place != valve).then_some(()))
            .for_each(|(passage, ())| came[passage.to] = Some(passage));
        let ends = &self.layout().places[valve];
        let mut node = [ends.from, ends.to].into_iter().find(|&node| walk.has_seen(node))?;
        let mut passed = Vec::new();
        while let Some(passage) = came[node] {
            passed.extend(Some(passage.place).filter(|&place| self.spec(place).traits.opens));
            node = passage.from;
        }
        Some(passed)
    }

    /// The same garden with a line put in directly downstream or upstream of a part, in its own leg: where the part ends at a
    /// branching, the line is between the two. At a gauge point, a switch or a tank it divides the line there; upstream of an
    /// outlet it feeds that outlet alone. Where nothing is downstream of an outlet, the line continues from there.
    ///
    /// Errors: an unknown name, a line that begins with a source or has no open end, a place upstream of a source.
    pub fn insert(&self, side: Side, name: &str, line: &Garden) -> Result<Garden, GardenError> {
        let place = self.find(name)?;
        let mut merge = Merge::of(self);
        let (from, to) = merge.joints[place];
        let middle = merge.number_of_nodes;
        merge.number_of_nodes += 1;
        let spec = self.spec(place);
        let inline = |other: usize| self.spec(other).placing == Placing::Inline;
        let (start, end) = match (side, spec.placing) {
            (Side::After, Placing::Inline) => {
                merge.joints[place].1 = middle;
                (middle, to)
            }
            (Side::Before, Placing::Inline) => {
                merge.joints[place].0 = middle;
                (from, middle)
            }
            (Side::After, Placing::Source) => {
                merge.joints[place] = (middle, middle);
                (middle, to)
            }
            (Side::Before, Placing::Source) => {
                return Err(GardenError::NothingBefore { what: spec.word, name: name.into() });
            }
            (Side::Before, Placing::Outlet) => {
                merge.joints[place] = (middle, middle);
                (to, middle)
            }
            (Side::Before, Placing::AtPoint) => {
                for (other, joint) in merge.joints.iter_mut().enumerate() {
                    if joint.1 == to && inline(other) {
                        joint.1 = middle;
                    } else if joint.1 == to && self.spec(other).placing == Placing::Source {
                        *joint = (middle, middle);
                    }
                }
                merge.inlet = merge.inlet.map(|inlet| if inlet == to { middle } else { inlet });
                (middle, to)
            }
            (Side::After, Placing::Outlet | Placing::AtPoint) => {
                let mut moved = merge.tails.iter().any(|tail| tail.node == to && !tail.ended);
                for (other, joint) in merge.joints.iter_mut().enumerate() {
                    if joint.0 == to && inline(other) {
                        joint.0 = middle;
                        moved = true;
                    } else if joint.0 == to && other > place && self.spec(other).placing == Placing::Outlet {
                        *joint = (middle, middle);
                        moved = true;
                    }
                }
                if !moved {
                    return self.branch(name, line);
                }
                merge.tails.iter_mut().filter(|tail| tail.node == to).for_each(|tail| tail.node = middle);
                (to, middle)
            }
        };
        let tails = merge.attach(line, start)?;
        merge.unite_open(end, &tails)?;
        self.edited(merge, if side == Side::After { place + 1 } else { place })
    }

    /// The same garden with a line in parallel to a part in line: from where it begins to where it ends.
    ///
    /// Errors: an unknown name, a part that is not in line, a line that begins with a source or has no open end.
    pub fn parallel(&self, name: &str, line: &Garden) -> Result<Garden, GardenError> {
        let place = self.find(name)?;
        let mut merge = Merge::of(self);
        let (from, to) = merge.joints[place];
        if from == to {
            return Err(GardenError::NotInLine { what: self.spec(place).word, name: name.into() });
        }
        let tails = merge.attach(line, from)?;
        if tails.iter().any(|tail| tail.node == from) {
            return Err(GardenError::NoLength);
        }
        merge.unite_open(to, &tails)?;
        self.edited(merge, place + 1)
    }

    /// What has been merged, with the new parts at a place in the list; the old ones keep their names.
    fn edited(&self, mut merge: Merge, at: usize) -> Result<Garden, GardenError> {
        let old = self.parts().len();
        let added = merge.parts.len() - old;
        merge.parts[at..].rotate_right(added);
        merge.joints[at..].rotate_right(added);
        let names: Vec<Option<Arc<str>>> = self.layout().places.iter().map(|place| Some(Arc::clone(&place.name))).collect();
        let mut kept = names;
        kept.splice(at..at, std::iter::repeat_n(None, added));
        finish_named(merge, &kept)
    }
}

/// Finishes a garden in which some parts must have a name, given or generated.
fn finish_named(mut merge: Merge, names: &[Option<Arc<str>>]) -> Result<Garden, GardenError> {
    let tails = merge.tails.clone();
    if let Ok(garden) = merge.clone().finish(tails.clone())
        && names.iter().enumerate().all(|(place, name)| name.as_deref().is_none_or(|name| name == garden.name(place)))
    {
        return Ok(garden);
    }
    for (part, name) in merge.parts.iter_mut().zip(names) {
        if let Some(name) = name.as_deref().filter(|_| part.name().is_none()) {
            *part = Arc::new((**part).clone().named(name)?);
        }
    }
    merge.finish(tails)
}

/// A garden from which parts are taken.
struct Cut<'a> {
    garden: &'a Garden,
    kept: Vec<bool>,
    ends: Vec<(usize, usize)>,
    tails: Vec<Tail>,
    inlet: Option<usize>,
    /// For a zone: parts keep the diameter of a hose that is left out, and no outlet need be left.
    keeps_diameters: bool,
}

impl Cut<'_> {
    fn of(garden: &Garden) -> Cut<'_> {
        let layout = garden.layout();
        Cut {
            garden,
            kept: vec![true; layout.places.len()],
            ends: layout.places.iter().map(|place| (place.from, place.to)).collect(),
            tails: layout.tails.clone(),
            inlet: layout.inlet,
            keeps_diameters: false,
        }
    }

    fn placing(&self, place: usize) -> Placing {
        self.garden.spec(place).placing
    }

    /// The parts that are left, with their ends.
    fn left(&self) -> impl Iterator<Item = (usize, (usize, usize))> + '_ {
        self.ends.iter().copied().enumerate().filter(|(place, _)| self.kept[*place])
    }

    /// Takes out a part: one in line is bridged, except for one side of a loop, which is opened.
    fn take_out(&mut self, place: usize) {
        self.kept[place] = false;
        let (from, to) = self.ends[place];
        if from != to && !(self.branches_at(from) && self.branches_at(to) && self.is_joined(from, to)) {
            self.unite(to, from);
        }
    }

    /// Whether two or more parts that carry, feed or take water are left at a node.
    fn branches_at(&self, node: usize) -> bool {
        let there = |(place, (from, to)): &(usize, (usize, usize))| {
            (*from == node || *to == node) && self.placing(*place) != Placing::AtPoint
        };
        self.left().filter(there).count() > 1
    }

    /// Whether parts in line that are left lead from one node to another.
    fn is_joined(&self, one: usize, other: usize) -> bool {
        self.reached(vec![one])[other]
    }

    /// For each node whether parts in line that are left lead to it from one of these.
    fn reached(&self, mut ahead: Vec<usize>) -> Vec<bool> {
        let mut beside = vec![Vec::new(); self.garden.layout().number_of_nodes];
        for (_, (from, to)) in self.left() {
            beside[from].push(to);
            beside[to].push(from);
        }
        let mut reached = vec![false; beside.len()];
        while let Some(node) = ahead.pop() {
            if !std::mem::replace(&mut reached[node], true) {
                ahead.extend(&beside[node]);
            }
        }
        reached
    }

    fn unite(&mut self, old: usize, new: usize) {
        let ends = self.ends.iter_mut().flat_map(|(from, to)| [from, to]);
        let others = self.tails.iter_mut().map(|tail| &mut tail.node).chain(&mut self.inlet);
        ends.chain(others).filter(|node| **node == old).for_each(|node| *node = new);
    }

    /// Parts in line that lead to nothing: no source and no outlet is beyond them. Gauge points do not count.
    fn dead_ends(&self) -> Vec<bool> {
        let nodes = self.garden.layout().number_of_nodes;
        let (mut inline_at, mut holds) = (vec![Vec::new(); nodes], vec![false; nodes]);
        for (place, (from, to)) in self.left() {
            if self.placing(place) == Placing::Inline && from != to {
                inline_at[from].push(place);
                inline_at[to].push(place);
            } else if self.garden.spec(place).kind != Kind::Point {
                holds[to] = true;
            }
        }
        self.inlet.iter().for_each(|&inlet| holds[inlet] = true);
        let mut degree: Vec<usize> = inline_at.iter().map(Vec::len).collect();
        let mut dead = vec![false; self.ends.len()];
        let mut ahead: Vec<usize> = (0..nodes).filter(|&node| degree[node] == 1 && !holds[node]).collect();
        while let Some(node) = ahead.pop() {
            let Some(&place) = inline_at[node].iter().find(|&&place| !dead[place]) else { continue };
            dead[place] = true;
            let (from, to) = self.ends[place];
            let next = if from == node { to } else { from };
            degree[next] -= 1;
            if degree[next] == 1 && !holds[next] {
                ahead.push(next);
            }
        }
        dead
    }

    /// The garden of what is left, without branches that have become dead ends. Errors: as [`Garden::without`].
    fn finish(mut self, taken: Vec<String>) -> Result<Garden, GardenError> {
        let (before, after) = (Cut::of(self.garden).dead_ends(), self.dead_ends());
        for place in (0..self.kept.len()).filter(|&place| after[place] && !before[place]) {
            self.kept[place] = false;
        }
        self.drop_unreached();
        // What stood along a line that is gone would stand on its own.
        let mut carries = vec![false; self.garden.layout().number_of_nodes];
        for (_, (from, to)) in self.left().filter(|(place, _)| self.placing(*place) != Placing::AtPoint) {
            (carries[from], carries[to]) = (true, true);
        }
        for place in self.garden.of_spec(|spec| spec.placing == Placing::AtPoint) {
            self.kept[place] &= carries[self.ends[place].1];
        }
        let lost = |so: &dyn Fn(usize) -> bool| {
            let mut those = (0..self.kept.len()).filter(|&place| so(place)).peekable();
            those.peek().is_some() && !those.any(|place| self.kept[place])
        };
        if lost(&|place| self.placing(place) == Placing::Source) || lost(&|_| true) {
            return Err(GardenError::NoSourceLeft { taken });
        }
        if !self.keeps_diameters
            && lost(&|place| self.placing(place) == Placing::Outlet && self.garden.spec(place).traits.gives_water)
        {
            return Err(GardenError::NoOutletLeft { taken });
        }
        let places: Vec<usize> = (0..self.kept.len()).filter(|&place| self.kept[place]).collect();
        let names: Vec<Option<Arc<str>>> =
            places.iter().map(|&place| Some(Arc::clone(&self.garden.layout().places[place].name))).collect();
        let parts = places.iter().map(|&place| self.part(place)).collect::<Result<_, _>>()?;
        let there: std::collections::HashSet<usize> =
            places.iter().flat_map(|&place| [self.ends[place].0, self.ends[place].1]).collect();
        let merge = Merge {
            parts,
            joints: places.iter().map(|&place| self.ends[place]).collect(),
            same: HashMap::new(),
            number_of_nodes: self.garden.layout().number_of_nodes,
            inlet: self.inlet.filter(|inlet| there.contains(inlet)),
            tails: self.tails.iter().filter(|tail| there.contains(&tail.node)).copied().collect(),
            surroundings: *self.garden.surroundings(),
            accepted: self.garden.accepted().clone(),
        };
        finish_named(merge, &names)
    }

    /// Drops what neither a source nor the beginning of the line reaches any more: an old dead end beyond a new one.
    fn drop_unreached(&mut self) {
        let sources = self.garden.of_spec(|spec| spec.placing == Placing::Source).filter(|&place| self.kept[place]);
        let starts: Vec<usize> = sources.map(|place| self.ends[place].1).chain(self.inlet).collect();
        if starts.is_empty() {
            return;
        }
        let seen = self.reached(starts);
        for (kept, ends) in self.kept.iter_mut().zip(&self.ends) {
            *kept &= seen[ends.1];
        }
    }

    fn part(&self, place: usize) -> Result<Arc<Part>, GardenError> {
        let part = &self.garden.parts()[place];
        let lender = self.garden.layout().diameter_from()[place].filter(|&hose| self.keeps_diameters && !self.kept[hose]);
        let takes = part.spec().has(Id::Diameter) && part.si(Id::Diameter).is_none();
        let Some(diameter) = lender.filter(|_| takes).and_then(|hose| self.garden.parts()[hose].quantity(Id::Diameter)) else {
            return Ok(Arc::clone(part));
        };
        let mut part = (**part).clone();
        part.set(Id::Diameter, diameter)?;
        Ok(Arc::new(part))
    }
}
