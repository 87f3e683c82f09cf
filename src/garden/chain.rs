//! A line that grows link by link: what it is made of is kept, and laid out once when somebody looks at it.
//!
//! A loop of joins would otherwise copy, number and name the whole line at each link. Here a link takes as long as what it adds.

use super::join::{MOST_PARTS, Merge};
use super::layout::Laid;
use super::{Garden, GardenError};
use std::collections::HashSet;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Parts up to which a line is laid out at each join.
const FEW_PARTS: usize = 32;

/// The shape of a garden: laid out, or still a chain of what was joined.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    Laid(Laid),
    Chain(Arc<Chain>),
}

/// A line, and one more downstream of it.
#[derive(Debug)]
pub(super) struct Chain {
    /// None only while it is dropped.
    before: Option<Shape>,
    line: Laid,
    number_of_parts: usize,
    /// Which link it is since its names began to be kept.
    link: usize,
    names: Arc<Mutex<Names>>,
    laid: OnceLock<Laid>,
}

/// The names given in the longest of the lines that grew from the same beginning.
#[derive(Debug, Default)]
struct Names {
    given: HashSet<Arc<str>>,
    links: usize,
}

impl Shape {
    /// Parts and layout, worked out where they are not yet.
    #[inline]
    pub fn laid(&self) -> &Laid {
        match self {
            Shape::Laid(laid) => laid,
            Shape::Chain(chain) => chain.laid(),
        }
    }

    /// The same to be changed, on its own from now on.
    pub fn laid_mut(&mut self) -> &mut Laid {
        if let Shape::Chain(chain) = self {
            *self = Shape::Laid(chain.laid().clone());
        }
        match self {
            Shape::Laid(laid) => laid,
            Shape::Chain(_) => unreachable!("it was laid out above"),
        }
    }

    /// Whether both are the same one, not only alike.
    fn is(&self, other: &Shape) -> bool {
        match (self, other) {
            (Shape::Laid(one), Shape::Laid(other)) => {
                Arc::ptr_eq(&one.layout, &other.layout) && Arc::ptr_eq(&one.parts, &other.parts)
            }
            (Shape::Chain(one), Shape::Chain(other)) => Arc::ptr_eq(one, other),
            _ => false,
        }
    }

    /// The line that ends it, whose open ends are its own.
    fn last(&self) -> &Laid {
        match self {
            Shape::Laid(laid) => laid,
            Shape::Chain(chain) => &chain.line,
        }
    }

    fn number_of_parts(&self) -> usize {
        match self {
            Shape::Laid(laid) => laid.parts.len(),
            Shape::Chain(chain) => chain.number_of_parts,
        }
    }

    /// The lines it is made of since the last one that is laid out, and that one.
    fn lines(&self) -> (&Laid, Vec<&Laid>) {
        let (mut at, mut lines) = (self, Vec::new());
        loop {
            let chain = match at {
                Shape::Laid(laid) => break (laid, lines),
                Shape::Chain(chain) => chain,
            };
            if let Some(laid) = chain.laid.get() {
                break (laid, lines);
            }
            lines.push(&chain.line);
            at = chain.before.as_ref().expect("only a dropped one has nothing before it");
        }
    }

    /// The names given in it, with the number of the link at which it stands; its own where another line has grown on from here.
    fn names(&self) -> (usize, Arc<Mutex<Names>>) {
        if let Shape::Chain(chain) = self
            && chain.names.lock().unwrap_or_else(PoisonError::into_inner).links == chain.link
        {
            return (chain.link, Arc::clone(&chain.names));
        }
        let (laid, lines) = self.lines();
        let given = std::iter::once(laid).chain(lines).flat_map(|line| given(line).map(Arc::from)).collect();
        (0, Arc::new(Mutex::new(Names { given, links: 0 })))
    }
}

fn given(line: &Laid) -> impl Iterator<Item = &str> {
    line.parts.iter().filter_map(|part| part.name())
}

impl Chain {
    /// A line with another one downstream, or nothing where it is to be laid out at once: it is short, or its ends have to be joined.
    ///
    /// Errors: those of a join.
    fn grown(garden: &Garden, next: &Garden) -> Result<Option<Garden>, GardenError> {
        let before = garden.shape();
        let line = next.shape().laid();
        let number_of_parts = before.number_of_parts() + line.parts.len();
        let [_] = before.last().layout.tails[..] else { return Ok(None) };
        if before.number_of_parts() < FEW_PARTS || line.parts.len() > before.number_of_parts() {
            return Ok(None);
        }
        if number_of_parts > MOST_PARTS {
            return Err(GardenError::TooManyParts { found: number_of_parts, most: MOST_PARTS });
        }
        if line.layout.inlet.is_none() {
            // Laid out at once, it is refused with its reason.
            return Ok(None);
        }
        let (link, names) = before.names();
        {
            let mut known = names.lock().unwrap_or_else(PoisonError::into_inner);
            if known.links != link {
                // Another thread was faster.
                return Ok(None);
            }
            if let Some(name) = given(line).find(|name| known.given.contains(*name)) {
                return Err(GardenError::TwoOfAName { name: name.to_string() });
            }
            known.given.extend(given(line).map(Arc::<str>::from));
            known.links += 1;
        }
        let chain = Chain {
            before: Some(before.clone()),
            line: line.clone(),
            number_of_parts,
            link: link + 1,
            names,
            laid: OnceLock::new(),
        };
        Ok(Some(garden.with_shape(Shape::Chain(Arc::new(chain))).accepting_all_of(next)))
    }

    /// All its lines joined, once.
    fn laid(&self) -> &Laid {
        self.laid.get_or_init(|| {
            let before = self.before.as_ref().expect("only a dropped one has nothing before it");
            let (start, mut lines) = before.lines();
            lines.insert(0, &self.line);
            Merge::in_row(start, lines.into_iter().rev()).expect("each link was looked at when it was joined")
        })
    }
}

/// One link after another: a long chain must not take a call inside a call for each.
impl Drop for Chain {
    fn drop(&mut self) {
        let mut before = self.before.take();
        while let Some(Shape::Chain(chain)) = before {
            before = Arc::into_inner(chain).and_then(|mut chain| chain.before.take());
        }
    }
}

impl Garden {
    /// This line, and downstream of it the other one.
    ///
    /// After a branch list, the other one goes on from all branches that are still open, joined.
    /// Errors: no open end, a source in the middle, or two parts of one name.
    pub fn then(&self, next: &Garden) -> Result<Garden, GardenError> {
        match Chain::grown(self, next)? {
            Some(grown) => Ok(grown),
            None => self.joined_with(next),
        }
    }

    /// Whether it is the other one with something more downstream, and not laid out by itself.
    pub fn grows_from(&self, other: &Garden) -> bool {
        let Shape::Chain(chain) = self.shape() else { return false };
        chain.before.as_ref().is_some_and(|before| before.is(other.shape())) && self.surroundings() == other.surroundings()
    }

    /// Whether its parts have been numbered and named.
    #[cfg(test)]
    pub(crate) fn is_laid_out(&self) -> bool {
        match self.shape() {
            Shape::Laid(_) => true,
            Shape::Chain(chain) => chain.laid.get().is_some(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::{Kind, Part, Placing};
    use proptest::prelude::*;

    fn part(kind: Kind, name: Option<String>) -> Part {
        let part = Part::new(kind);
        name.map_or(part.clone(), |name| part.named(&name).expect("a good name"))
    }

    fn grown(links: usize) -> Vec<Garden> {
        let mut all = vec![Garden::of(part(Kind::Supply, Some("tap".into())))];
        for link in 0..links {
            let kind = if link % 7 == 3 { Kind::Head } else { Kind::Hose };
            let next = Garden::of(part(kind, (link % 3 == 0).then(|| format!("p{}", link.pow(2) % 100_003))));
            all.push(all[link].then(&next).expect("joins"));
        }
        all
    }

    #[test]
    fn a_line_is_laid_out_only_where_somebody_looks() {
        let all = grown(5000);
        let laid = all.iter().filter(|garden| garden.is_laid_out()).count();
        assert_eq!(laid, FEW_PARTS);
        assert_eq!(all[5000].parts().len(), 5001);
        assert_eq!(all.iter().filter(|garden| garden.is_laid_out()).count(), FEW_PARTS + 1);
        assert!(all[5000].grows_from(&all[4999]) && !all[5000].grows_from(&all[4998]));
    }

    #[test]
    fn a_name_is_taken_once_and_a_second_line_from_the_same_place_has_its_own() {
        let all = grown(100);
        let hose = |name: &str| Garden::of(part(Kind::Hose, Some(name.into())));
        let error = all[100].then(&hose("p9")).unwrap_err();
        assert_eq!(error, GardenError::TwoOfAName { name: "p9".into() });
        let (one, other) = (all[80].then(&hose("x")).expect("joins"), all[80].then(&hose("x")).expect("joins"));
        assert_eq!(one.then(&hose("x")).unwrap_err(), GardenError::TwoOfAName { name: "x".into() });
        assert!(other.then(&hose("y")).is_ok() && all[80].then(&hose("p6561")).is_ok());
        assert_eq!(one, other);
        let source = Garden::of(part(Kind::Supply, None));
        assert!(matches!(one.then(&source), Err(GardenError::NothingBefore { .. })));
        assert_eq!(one.with_altitude(500.0).expect("an altitude").then(&hose("y")).expect("joins").parts().len(), 83);
    }

    proptest! {
        /// Each way to group the joins gives the same garden as all at once.
        #[test]
        fn a_chain_is_the_same_garden(kinds in prop::collection::vec(0usize..5, 40..120), looked in prop::collection::vec(0usize..120, 0..4)) {
            let single = |at: usize, kind: usize| match kind {
                0 => part(Kind::Head, None),
                1 => part(Kind::Hose, Some(format!("hose{at}"))),
                2 => part(Kind::Valve, None),
                3 => part(Kind::Uphill, None),
                _ => part(Kind::Hose, None),
            };
            let parts: Vec<Part> = std::iter::once(part(Kind::Supply, None))
                .chain(kinds.iter().enumerate().map(|(at, &kind)| single(at, kind))).collect();
            let mut line = Garden::of(parts[0].clone());
            let mut joints = vec![(0, 0)];
            for (at, next) in parts.iter().enumerate().skip(1) {
                line = line.then(&Garden::of(next.clone())).expect("joins");
                if looked.contains(&at) {
                    prop_assert_eq!(line.parts().len(), at + 1);
                }
                let node = joints.last().expect("a part").1;
                joints.push((node, node + usize::from(next.spec().placing == Placing::Inline)));
            }
            let at_once = Garden::from_joints(parts, &joints).expect("joins");
            prop_assert_eq!(&line.layout().places, &at_once.layout().places);
            prop_assert_eq!(&line.layout().diameter_from(), &at_once.layout().diameter_from());
            prop_assert_eq!(line.parts(), at_once.parts());
        }
    }
}
