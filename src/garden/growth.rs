//! A garden that grows step by step: what it grew by is kept, and laid out once when somebody looks at it.
//!
//! A loop of joins, branches and changes would otherwise copy, number and name the whole garden at each step. Here a step takes as
//! long as what it adds: only what could be wrong with it is looked at.

use super::join::{MOST_PARTS, Merge, Step};
use super::layout::Laid;
use super::names::Names;
use super::{Garden, GardenError};
use crate::parts::{Part, Placing};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

/// Parts up to which a garden is laid out at each step.
pub(super) const FEW_PARTS: usize = 32;

/// The shape of a garden: laid out, or still what it grew from and by.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    Laid(Laid),
    Grown(Arc<Grown>),
}

/// A garden, and one step more.
#[derive(Debug)]
pub(super) struct Grown {
    /// None only while it is dropped.
    before: Option<Shape>,
    step: Step,
    number_of_parts: usize,
    is_fed: bool,
    ends: Ends,
    /// Which step it is since its parts began to be known.
    at: usize,
    known: Arc<Mutex<Known>>,
    laid: OnceLock<Laid>,
}

/// The open ends of a garden, counted.
#[derive(Clone, Copy, Debug)]
struct Ends {
    all: usize,
    /// Those that are joined with others.
    open: usize,
}

/// What is known of the longest of the gardens that grew from the same beginning.
#[derive(Debug)]
struct Known {
    steps: usize,
    /// What they grew from.
    start: Laid,
    /// The parts that came after those of the start, as they are now.
    added: Vec<Arc<Part>>,
    /// The parts of the start that were changed, by their places.
    changed: HashMap<usize, Arc<Part>>,
    /// The names of all parts; none as long as none was added.
    names: Option<Names>,
}

impl Shape {
    /// Parts and layout, worked out where they are not yet.
    #[inline]
    pub fn laid(&self) -> &Laid {
        match self {
            Shape::Laid(laid) => laid,
            Shape::Grown(grown) => grown.laid(),
        }
    }

    /// The same to be changed, on its own from now on.
    pub fn laid_mut(&mut self) -> &mut Laid {
        if let Shape::Grown(grown) = self {
            *self = Shape::Laid(grown.laid().clone());
        }
        match self {
            Shape::Laid(laid) => laid,
            Shape::Grown(_) => unreachable!("it was laid out above"),
        }
    }

    /// Whether both are the same one, not only alike.
    fn is(&self, other: &Shape) -> bool {
        match (self, other) {
            (Shape::Laid(one), Shape::Laid(other)) => {
                Arc::ptr_eq(&one.layout, &other.layout) && Arc::ptr_eq(&one.parts, &other.parts)
            }
            (Shape::Grown(one), Shape::Grown(other)) => Arc::ptr_eq(one, other),
            _ => false,
        }
    }

    /// Parts and layout where they are worked out, else the last step.
    fn looked_at(&self) -> Result<&Laid, &Arc<Grown>> {
        match self {
            Shape::Laid(laid) => Ok(laid),
            Shape::Grown(grown) => grown.laid.get().ok_or(grown),
        }
    }

    fn number_of_parts(&self) -> usize {
        match self {
            Shape::Laid(laid) => laid.parts.len(),
            Shape::Grown(grown) => grown.number_of_parts,
        }
    }

    /// Whether a part of it is a source.
    pub fn is_fed(&self) -> bool {
        match self {
            Shape::Laid(laid) => has_source(laid),
            Shape::Grown(grown) => grown.is_fed,
        }
    }

    fn ends(&self) -> Ends {
        match self {
            Shape::Laid(laid) => Ends::of([laid]),
            Shape::Grown(grown) => grown.ends,
        }
    }

    /// The place of a part by its name.
    pub fn find(&self, name: &str) -> Option<usize> {
        match self.looked_at() {
            Ok(laid) => laid.layout.find(name),
            Err(grown) => match grown.find(name) {
                Ok(found) => found,
                Err(Unknown) => self.laid().layout.find(name),
            },
        }
    }

    /// The part in a place.
    pub fn part(&self, place: usize) -> Arc<Part> {
        let known = match self.looked_at() {
            Ok(laid) => return Arc::clone(&laid.parts[place]),
            Err(grown) => grown.known().and_then(|known| known.part(place).cloned()),
        };
        known.unwrap_or_else(|| Arc::clone(&self.laid().parts[place]))
    }

    /// The steps by which it grew since it was last laid out, the last one first, and how it was then.
    fn steps(&self) -> (&Laid, Vec<&Step>) {
        let (mut at, mut steps) = (self, Vec::new());
        loop {
            match at.looked_at() {
                Ok(laid) => break (laid, steps),
                Err(grown) => {
                    steps.push(&grown.step);
                    at = grown.before();
                }
            }
        }
    }

    /// What is known of it, with the number of its last step; its own where another garden has grown on from here.
    fn known(&self) -> (usize, Arc<Mutex<Known>>) {
        if let Shape::Grown(grown) = self
            && grown.known().is_some()
        {
            return (grown.at, Arc::clone(&grown.known));
        }
        let (start, steps) = self.steps();
        let mut known = Known { steps: 0, start: start.clone(), added: Vec::new(), changed: HashMap::new(), names: None };
        for step in steps.into_iter().rev() {
            known.take(step).expect("each step was looked at when it was made");
        }
        (0, Arc::new(Mutex::new(known)))
    }
}

impl Ends {
    fn of<'a>(lines: impl IntoIterator<Item = &'a Laid>) -> Ends {
        let tails = lines.into_iter().flat_map(|line| &line.layout.tails);
        tails.fold(Ends { all: 0, open: 0 }, |ends, tail| Ends { all: ends.all + 1, open: ends.open + usize::from(!tail.ended) })
    }

    /// Whether a line can go on from them.
    fn go_on(self) -> bool {
        self.all == 1 || self.open > 0
    }
}

impl Known {
    /// Takes in a step. Errors: a name that is taken.
    fn take(&mut self, step: &Step) -> Result<(), GardenError> {
        if let Step::Part { place, part } = step {
            match place.checked_sub(self.start.parts.len()) {
                Some(place) => self.added[place] = Arc::clone(part),
                None => drop(self.changed.insert(*place, Arc::clone(part))),
            }
            return Ok(());
        }
        if self.names.is_none() {
            let mut names = Names::default();
            names.add(&[&self.start.parts])?;
            self.names = Some(names);
        }
        let lines: Vec<&[Arc<Part>]> = step.lines().iter().map(|line| &line.parts[..]).collect();
        self.names.as_mut().map_or(Ok(()), |names| names.add(&lines))?;
        self.added.extend(lines.into_iter().flatten().cloned());
        Ok(())
    }

    fn part(&self, place: usize) -> Option<&Arc<Part>> {
        match place.checked_sub(self.start.parts.len()) {
            Some(place) => self.added.get(place),
            None => self.changed.get(&place).or_else(|| self.start.parts.get(place)),
        }
    }
}

/// Another garden has grown on from the same one: what is known is not known of this one.
struct Unknown;

impl Grown {
    /// A garden with one step more, or nothing where it is to be laid out at once: it is small, or the step is refused with a reason
    /// that is found there.
    ///
    /// Errors: too many parts, or two of a name.
    fn from(before: &Shape, step: &Step) -> Result<Option<Grown>, GardenError> {
        let (few, mut number_of_parts) = (before.number_of_parts(), before.number_of_parts());
        if few < FEW_PARTS || (matches!(step, Step::Then(_)) && !before.ends().go_on()) {
            return Ok(None);
        }
        for line in step.lines() {
            let can_be_joined = match step {
                Step::Source { .. } => !line.layout.tails.is_empty(),
                Step::Connect { .. } => line.layout.inlet.is_some() && !line.layout.tails.is_empty(),
                _ => line.layout.inlet.is_some(),
            };
            number_of_parts += line.parts.len();
            if !can_be_joined {
                return Ok(None);
            }
            if number_of_parts > MOST_PARTS {
                return Err(GardenError::TooManyParts { found: number_of_parts, most: MOST_PARTS });
            }
        }
        if number_of_parts > 2 * few {
            return Ok(None);
        }
        let ends = if let Step::Then(lines) = step { Ends::of(lines) } else { before.ends() };
        let (at, known) = before.known();
        {
            let mut known = locked(&known);
            if known.steps != at {
                // Another thread was faster.
                return Ok(None);
            }
            known.take(step)?;
            known.steps += 1;
        }
        let is_fed = before.is_fed() || step.lines().iter().any(has_source);
        let (before, step) = (Some(before.clone()), step.clone());
        Ok(Some(Grown { before, step, number_of_parts, is_fed, ends, at: at + 1, known, laid: OnceLock::new() }))
    }

    fn before(&self) -> &Shape {
        self.before.as_ref().expect("only a dropped one has nothing before it")
    }

    /// What is known, unless another garden has grown on from this one.
    fn known(&self) -> Option<MutexGuard<'_, Known>> {
        Some(locked(&self.known)).filter(|known| known.steps == self.at)
    }

    /// The place of a part by its name, without a look at all parts.
    fn find(&self, name: &str) -> Result<Option<usize>, Unknown> {
        let known = locked(&self.known);
        let is_last = known.steps == self.at;
        match &known.names {
            None => Ok(known.start.layout.find(name)),
            Some(names) if is_last => Ok(names.find(name)),
            // A given name stays where it is, whatever comes later.
            Some(names) => names.find_given(name).filter(|&place| place < self.number_of_parts).map(Some).ok_or(Unknown),
        }
    }

    /// All its steps taken, once.
    fn laid(&self) -> &Laid {
        self.laid.get_or_init(|| {
            let (start, mut steps) = self.before().steps();
            steps.insert(0, &self.step);
            Merge::grown(start, steps.into_iter().rev()).expect("each step was looked at when it was made")
        })
    }
}

fn has_source(line: &Laid) -> bool {
    line.layout.kinds().iter().any(|kind| kind.spec().placing == Placing::Source)
}

fn locked(known: &Mutex<Known>) -> MutexGuard<'_, Known> {
    known.lock().unwrap_or_else(PoisonError::into_inner)
}

/// One step after another: a garden of many must not take a call inside a call for each.
impl Drop for Grown {
    fn drop(&mut self) {
        let mut before = self.before.take();
        while let Some(Shape::Grown(grown)) = before {
            before = Arc::into_inner(grown).and_then(|mut grown| grown.before.take());
        }
    }
}

impl Garden {
    /// This garden with one step more, which adds these lines.
    pub(super) fn grown(&self, step: Step, lines: &[Garden]) -> Result<Garden, GardenError> {
        let shape = match Grown::from(self.shape(), &step)? {
            Some(grown) => Shape::Grown(Arc::new(grown)),
            None => Shape::Laid(Merge::grown(self.laid(), std::iter::once(&step))?),
        };
        Ok(lines.iter().fold(self.with_shape(shape), |garden, line| garden.accepting_all_of(line)))
    }

    /// This garden with another part of the same kind and name in a place.
    pub(super) fn with_part(&self, place: usize, part: Arc<Part>) -> Result<Garden, GardenError> {
        if self.shape().number_of_parts() >= FEW_PARTS {
            return self.grown(Step::Part { place, part }, &[]);
        }
        let mut changed = self.clone();
        Arc::make_mut(&mut changed.shape.laid_mut().parts)[place] = part;
        Ok(changed)
    }

    /// Whether it is the other one with something more, and not laid out by itself.
    pub fn grows_from(&self, other: &Garden) -> bool {
        let Shape::Grown(grown) = self.shape() else { return false };
        grown.before.as_ref().is_some_and(|before| before.is(other.shape())) && self.surroundings() == other.surroundings()
    }

    /// Whether its parts have been numbered and named.
    #[cfg(test)]
    pub(crate) fn is_laid_out(&self) -> bool {
        self.shape().looked_at().is_ok()
    }

    /// Whether what is known of one of them serves both, so that it was gathered once.
    #[cfg(test)]
    pub(super) fn shares_what_is_known_with(&self, other: &Garden) -> bool {
        match (self.shape(), other.shape()) {
            (Shape::Grown(one), Shape::Grown(other)) => Arc::ptr_eq(&one.known, &other.known),
            _ => false,
        }
    }
}
