//! Joining: parts in series, branches, loops and second sources.

use super::layout::{Laid, Layout, Tail};
use super::{Accepted, Garden, GardenError, Surroundings};
use crate::parts::{Part, Placing};
use smallvec::{SmallVec, smallvec};
use std::collections::HashMap;
use std::slice;
use std::sync::Arc;

impl Garden {
    /// A garden of a single part, to be joined with others.
    pub fn of(part: Part) -> Garden {
        let placing = part.spec().placing;
        let ended = placing == Placing::Outlet;
        let (joint, nodes, inlet, tail) = match placing {
            Placing::Inline => ((0, 1), 2, Some(0), 1),
            Placing::Source => ((0, 0), 1, None, 0),
            Placing::Outlet | Placing::AtPoint => ((0, 0), 1, Some(0), 0),
        };
        let parts = vec![Arc::new(part)];
        let layout = Layout::new(vec![joint], &parts, nodes, inlet, vec![Tail { node: tail, ended }])
            .expect("a single part cannot share its name with another");
        Garden::assemble(layout, parts, Surroundings::default(), Accepted::default())
    }

    /// A garden of parts whose nodes are known beforehand: each part with the node upstream and the node downstream of it.
    ///
    /// Sources, outlets and parts at a point sit at one node: of theirs, the second is taken. Such a garden has no open end.
    /// It is made in one go, where joining part by part would take time with the square of their number.
    /// Errors: two parts of one name.
    pub fn from_joints(parts: Vec<Part>, joints: &[(usize, usize)]) -> Result<Garden, GardenError> {
        let inline = |part: &Part| part.spec().placing == Placing::Inline;
        let joints = parts.iter().zip(joints).map(|(part, &(from, to))| if inline(part) { (from, to) } else { (to, to) });
        let merge = Merge {
            joints: joints.collect(),
            number_of_nodes: 0,
            same: HashMap::new(),
            inlet: None,
            tails: Vec::new(),
            surroundings: Surroundings::default(),
            accepted: Accepted::default(),
            parts: parts.into_iter().map(Arc::new).collect(),
        };
        let number_of_nodes = merge.joints.iter().map(|&(from, to)| from.max(to) + 1).max().unwrap_or(0);
        Merge { number_of_nodes, ..merge }.finish(Vec::new())
    }

    /// This line, and downstream of it the other one.
    ///
    /// After a branch list, the other one goes on from all branches that are still open, joined.
    /// Errors: no open end, a source in the middle, or two parts of one name.
    pub fn then(&self, next: &Garden) -> Result<Garden, GardenError> {
        self.grown(Step::Then(smallvec![next.laid().clone()]), slice::from_ref(next))
    }

    /// This line, and downstream of it several branches side by side. Errors as for [`Garden::then`], or no branches.
    pub fn then_branches(&self, branches: &[Garden]) -> Result<Garden, GardenError> {
        if branches.is_empty() {
            return Err(GardenError::NoBranches);
        }
        self.grown(Step::Then(branches.iter().map(|branch| branch.laid().clone()).collect()), branches)
    }

    /// This garden with a line connected downstream of the named part; the open ends stay as they are.
    ///
    /// Errors: an unknown name, or a line that starts with a source.
    pub fn branch(&self, at: &str, line: &Garden) -> Result<Garden, GardenError> {
        self.grown(Step::Branch { at: self.find(at)?, line: line.laid().clone() }, slice::from_ref(line))
    }

    /// This garden with a line between two of its places, which closes a loop: it starts at the outlet of `from` and ends at that of `to`.
    ///
    /// Errors: an unknown name, a line that cannot be joined in front, or one without an open end.
    pub fn connect(&self, from: &str, to: &str, line: &Garden) -> Result<Garden, GardenError> {
        let (from, to) = (self.find(from)?, self.find(to)?);
        self.grown(Step::Connect { from, to, line: line.laid().clone() }, slice::from_ref(line))
    }

    /// This garden with a second source: the line, which begins with a source, ends downstream of `at`.
    ///
    /// Errors: [`GardenError::UnknownName`] for `at`, or a line that cannot be joined, such as one with a name that is taken.
    pub fn add_source(&self, at: &str, line: &Garden) -> Result<Garden, GardenError> {
        self.grown(Step::Source { at: self.find(at)?, line: line.laid().clone() }, slice::from_ref(line))
    }
}

/// What a garden grows by. Places are those of the garden before; new parts come after all others.
#[derive(Clone, Debug)]
pub(super) enum Step {
    /// Lines side by side downstream of its open end.
    Then(SmallVec<[Laid; 1]>),
    /// A line connected downstream of a part.
    Branch { at: usize, line: Laid },
    /// A line with a source that ends downstream of a part.
    Source { at: usize, line: Laid },
    /// A line from downstream of one part to downstream of another.
    Connect { from: usize, to: usize, line: Laid },
    /// Another part of the same kind and name in the place of one.
    Part { place: usize, part: Arc<Part> },
}

impl Step {
    /// The lines that it adds.
    pub fn lines(&self) -> &[Laid] {
        match self {
            Step::Then(lines) => lines,
            Step::Branch { line, .. } | Step::Source { line, .. } | Step::Connect { line, .. } => slice::from_ref(line),
            Step::Part { .. } => &[],
        }
    }

    fn change(&self, parts: &mut [Arc<Part>]) {
        if let Step::Part { place, part } = self {
            parts[*place] = Arc::clone(part);
        }
    }
}

/// More parts than any garden has; it keeps a loop that joins without end from using up the memory.
pub(super) const MOST_PARTS: usize = 100_000;

/// A garden in the making.
#[derive(Clone)]
pub(super) struct Merge {
    pub parts: Vec<Arc<Part>>,
    pub joints: Vec<(usize, usize)>,
    /// The nodes that became one with another, each with that one.
    pub same: HashMap<usize, usize>,
    pub number_of_nodes: usize,
    pub inlet: Option<usize>,
    pub tails: Vec<Tail>,
    pub surroundings: Surroundings,
    pub accepted: Accepted,
}

impl Merge {
    pub fn of(garden: &Garden) -> Merge {
        let merge = Merge::of_laid(garden.layout(), garden.parts());
        Merge { surroundings: *garden.surroundings(), accepted: garden.accepted().clone(), ..merge }
    }

    fn of_laid(layout: &Layout, parts: &[Arc<Part>]) -> Merge {
        Merge {
            parts: parts.to_vec(),
            joints: layout.places.iter().map(|place| (place.from, place.to)).collect(),
            same: HashMap::new(),
            number_of_nodes: layout.number_of_nodes,
            inlet: layout.inlet,
            tails: layout.tails.clone(),
            surroundings: Surroundings::default(),
            accepted: Accepted::default(),
        }
    }

    /// A garden with what it grew by, step after step, laid out once.
    pub fn grown<'a>(start: &Laid, steps: impl Iterator<Item = &'a Step> + Clone) -> Result<Laid, GardenError> {
        if steps.clone().all(|step| step.lines().is_empty()) {
            let mut parts = start.parts.to_vec();
            steps.for_each(|step| step.change(&mut parts));
            return Ok(Laid { layout: Arc::clone(&start.layout), parts: Arc::new(parts) });
        }
        let mut merge = Merge::of_laid(&start.layout, &start.parts);
        { steps }.try_for_each(|step| merge.grow(step))?;
        let tails = std::mem::take(&mut merge.tails);
        let (layout, parts) = merge.laid(tails)?;
        Ok(Laid { layout: Arc::new(layout), parts: Arc::new(parts) })
    }

    fn grow(&mut self, step: &Step) -> Result<(), GardenError> {
        match step {
            Step::Then(lines) => {
                let start = self.open_end()?;
                let mut tails = Vec::new();
                for line in lines {
                    tails.extend(self.attach_laid(line, start)?);
                }
                self.tails = tails;
            }
            Step::Branch { at, line } => {
                self.attach_laid(line, self.joints[*at].1)?;
            }
            Step::Source { at, line } => {
                let offset = self.number_of_nodes;
                self.append(line, |node| node + offset)?;
                self.number_of_nodes += line.layout.number_of_nodes;
                let tails: Vec<Tail> = line.layout.tails.iter().map(|tail| Tail { node: tail.node + offset, ..*tail }).collect();
                self.unite(self.joints[*at].1, &tails)?;
            }
            Step::Connect { from, to, line } => {
                let tails = self.attach_laid(line, self.joints[*from].1)?;
                self.unite(self.joints[*to].1, &tails)?;
            }
            Step::Part { .. } => step.change(&mut self.parts),
        }
        Ok(())
    }

    /// The node from which the line goes on; several open ends become one.
    fn open_end(&mut self) -> Result<usize, GardenError> {
        if let [only] = self.tails[..] {
            return Ok(only.node);
        }
        let open: Vec<usize> = self.tails.iter().filter(|tail| !tail.ended).map(|tail| tail.node).collect();
        let (&first, others) = open.split_first().ok_or(GardenError::NoOpenEnd)?;
        for &node in others {
            self.make_one(node, first);
        }
        Ok(first)
    }

    /// Puts a line downstream of a node and returns its tails.
    pub fn attach(&mut self, line: &Garden, start: usize) -> Result<Vec<Tail>, GardenError> {
        let tails = self.attach_laid(line.laid(), start)?;
        self.accepted = self.accepted.and(line.accepted());
        Ok(tails)
    }

    fn attach_laid(&mut self, line: &Laid, start: usize) -> Result<Vec<Tail>, GardenError> {
        let (layout, parts) = (&line.layout, &line.parts);
        let Some(inlet) = layout.inlet else {
            let source = (0..parts.len()).find(|&place| parts[place].spec().placing == Placing::Source);
            let (word, name) =
                source.map_or(("part", String::new()), |place| (parts[place].spec().word, layout.places[place].name.to_string()));
            return Err(GardenError::NothingBefore { what: word, name });
        };
        let offset = self.number_of_nodes;
        let map = |node: usize| if node == inlet { start } else { node + offset };
        self.append(line, map)?;
        self.number_of_nodes += layout.number_of_nodes;
        Ok(layout.tails.iter().map(|tail| Tail { node: map(tail.node), ..*tail }).collect())
    }

    fn append(&mut self, line: &Laid, map: impl Fn(usize) -> usize) -> Result<(), GardenError> {
        let found = self.parts.len() + line.parts.len();
        if found > MOST_PARTS {
            return Err(GardenError::TooManyParts { found, most: MOST_PARTS });
        }
        self.parts.extend(line.parts.iter().cloned());
        self.joints.extend(line.layout.places.iter().map(|place| (map(place.from), map(place.to))));
        Ok(())
    }

    /// Makes the tails of a line one with a node.
    fn unite(&mut self, node: usize, tails: &[Tail]) -> Result<(), GardenError> {
        if tails.is_empty() {
            return Err(GardenError::NoOpenEnd);
        }
        for tail in tails {
            self.make_one(tail.node, node);
        }
        Ok(())
    }

    /// Makes the open ends of a line one with a node: its only end, or of several those that are not outlets.
    pub fn unite_open(&mut self, node: usize, tails: &[Tail]) -> Result<(), GardenError> {
        let open: Vec<Tail> =
            if tails.len() == 1 { tails.to_vec() } else { tails.iter().filter(|tail| !tail.ended).copied().collect() };
        self.unite(node, &open)
    }

    /// The node that a node has become.
    fn now(&self, mut node: usize) -> usize {
        while let Some(&other) = self.same.get(&node) {
            node = other;
        }
        node
    }

    fn make_one(&mut self, old: usize, new: usize) {
        let (old, new) = (self.now(old), self.now(new));
        if old != new {
            self.same.insert(old, new);
        }
    }

    /// The finished garden: nodes numbered without gaps, names unique.
    pub fn finish(self, tails: Vec<Tail>) -> Result<Garden, GardenError> {
        let (surroundings, accepted) = (self.surroundings, self.accepted.clone());
        let (layout, parts) = self.laid(tails)?;
        Ok(Garden::assemble(layout, parts, surroundings, accepted))
    }

    fn laid(self, tails: Vec<Tail>) -> Result<(Layout, Vec<Arc<Part>>), GardenError> {
        let mut new_number: Vec<Option<usize>> = vec![None; self.number_of_nodes];
        let mut count = 0;
        let mut renumber = |node: usize| {
            *new_number[self.now(node)].get_or_insert_with(|| {
                count += 1;
                count - 1
            })
        };
        let joints: Vec<(usize, usize)> = self.joints.iter().map(|&(from, to)| (renumber(from), renumber(to))).collect();
        let inlet = self.inlet.map(&mut renumber);
        let tails = tails.iter().map(|tail| Tail { node: renumber(tail.node), ..*tail }).collect();
        let layout = Layout::new(joints, &self.parts, count, inlet, tails)?;
        Ok((layout, self.parts))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::Kind;

    fn part(kind: Kind, name: &str) -> Garden {
        Garden::of(Part::new(kind).named(name).expect("a good name"))
    }

    #[test]
    fn series_and_branches_share_their_nodes() {
        let line = part(Kind::Supply, "tap").then(&part(Kind::Hose, "feed")).expect("joins");
        let a = part(Kind::Valve, "a").then(&part(Kind::Head, "ha")).expect("joins");
        let b = part(Kind::Valve, "b").then(&part(Kind::Head, "hb")).expect("joins");
        let garden = line.then_branches(&[a, b]).expect("joins");
        let at = |name: &str| &garden.layout().places[garden.find(name).expect("known")];
        assert_eq!(at("feed").to, at("a").from);
        assert_eq!(at("feed").to, at("b").from);
        assert_eq!(at("a").to, at("ha").from);
        assert_eq!(garden.layout().number_of_nodes, 4);
    }

    #[test]
    fn hoses_side_by_side_join_again_but_ended_branches_do_not() {
        let start = part(Kind::Supply, "tap");
        let both = start.then_branches(&[part(Kind::Hose, "left"), part(Kind::Hose, "right")]).expect("joins");
        let garden = both.then(&part(Kind::Hose, "on")).expect("goes on");
        let at = |name: &str| &garden.layout().places[garden.find(name).expect("known")];
        assert_eq!((at("left").to, at("right").to), (at("on").from, at("on").from));
        let ended = start.then_branches(&[part(Kind::Head, "a"), part(Kind::Head, "b")]).expect("joins");
        assert_eq!(ended.then(&part(Kind::Hose, "on")).unwrap_err(), GardenError::NoOpenEnd);
    }

    #[test]
    fn generated_names_are_unique_and_given_ones_must_be() {
        let hose = || Garden::of(Part::new(Kind::Hose));
        let garden = hose().then(&hose()).and_then(|line| line.then(&part(Kind::Hose, "hose2"))).expect("joins");
        let names: Vec<&str> = (0..3).map(|place| garden.name(place)).collect();
        assert_eq!(names, ["hose", "hose3", "hose2"]);
        let error = part(Kind::Hose, "feed").then(&part(Kind::Hose, "feed")).unwrap_err();
        assert_eq!(error, GardenError::TwoOfAName { name: "feed".into() });
    }

    #[test]
    fn a_supply_in_the_middle_is_refused() {
        let error = part(Kind::Hose, "feed").then(&part(Kind::Supply, "tap")).unwrap_err();
        assert!(matches!(error, GardenError::NothingBefore { .. }), "{error}");
    }

    #[test]
    fn joints_known_beforehand_make_the_same_garden() {
        let named = |kind: Kind, name: &str| Part::new(kind).named(name).expect("a good name");
        let parts = vec![named(Kind::Supply, "tap"), named(Kind::Hose, "feed"), named(Kind::Head, "a")];
        let garden = Garden::from_joints(parts, &[(7, 7), (7, 3), (3, 3)]).expect("joins");
        let line = part(Kind::Supply, "tap").then(&part(Kind::Hose, "feed")).and_then(|l| l.then(&part(Kind::Head, "a")));
        assert_eq!(garden.layout().places, line.expect("joins").layout().places);
    }

    #[test]
    fn a_loop_closes_at_the_named_places() {
        let line =
            part(Kind::Supply, "tap").then(&part(Kind::Hose, "a")).and_then(|l| l.then(&part(Kind::Hose, "b"))).expect("joins");
        let ring = line.connect("tap", "b", &part(Kind::Hose, "c")).expect("closes");
        let at = |name: &str| &ring.layout().places[ring.find(name).expect("known")];
        assert_eq!((at("c").from, at("c").to), (at("a").from, at("b").to));
        assert_eq!(ring.layout().number_of_nodes, 3);
    }
}
