//! Structures that were worked out in this thread already: the same garden is often run with other numbers, and its zones in turns.
//!
//! It knows how a structure depends on a layout and the open places, nothing of what stands in one.

use super::structure::Structure;
use crate::garden::{Garden, Layout};
use std::cell::RefCell;
use std::collections::VecDeque;
use std::sync::{Arc, Weak};

/// As many are kept: more than most gardens have zones.
const MOST: usize = 64;
/// Places of all that are kept together, so that those of large gardens do not fill the memory. The newest is kept in any case.
const MOST_PLACES: usize = 500_000;

struct Known {
    layout: Weak<Layout>,
    open: Vec<bool>,
    structure: Arc<Structure>,
}

thread_local! {
    /// The newest first.
    static KNOWN: RefCell<VecDeque<Known>> = const { RefCell::new(VecDeque::new()) };
}

/// The structure of a garden with these places open, worked out the first time in a thread.
pub fn structure_of(garden: &Garden, open: &[bool]) -> Arc<Structure> {
    let layout = garden.shared_layout();
    if let Some(structure) = KNOWN.with_borrow_mut(|known| find(known, &layout, open)) {
        return structure;
    }
    let structure = Arc::new(Structure::of(garden, open));
    let new = Known { layout: Arc::downgrade(&layout), open: open.to_vec(), structure: Arc::clone(&structure) };
    KNOWN.with_borrow_mut(|known| keep(known, new));
    structure
}

/// Looks one up and puts it in front.
fn find(known: &mut VecDeque<Known>, layout: &Arc<Layout>, open: &[bool]) -> Option<Arc<Structure>> {
    // A layout that is weakly held keeps its address to itself.
    let at = known.iter().position(|one| std::ptr::eq(one.layout.as_ptr(), Arc::as_ptr(layout)) && one.open == open)?;
    let found = known.remove(at)?;
    let structure = Arc::clone(&found.structure);
    known.push_front(found);
    Some(structure)
}

/// Puts one in front, and lets go of what belongs to gardens that are gone and of the oldest beyond the bounds.
fn keep(known: &mut VecDeque<Known>, new: Known) {
    known.retain(|one| one.layout.strong_count() > 0);
    known.push_front(new);
    let mut places = 0;
    let fits = |one: &Known| {
        places += one.open.len();
        places <= MOST_PLACES
    };
    let fitting = known.iter().take(MOST).map(fits).take_while(|fits| *fits).count();
    known.truncate(fitting.max(1));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hydraulics::test_parts::part;
    use crate::parts::Kind;

    fn garden() -> Garden {
        let parts = vec![
            part(Kind::OpenTank, "barrel", &[("level", 2.0, "m")]),
            part(Kind::Hose, "feed", &[("length", 20.0, "m"), ("diameter", 0.5, "in")]),
            part(Kind::Head, "bed", &[("nozzle", 3.0, "mm")]),
        ];
        Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 1)]).expect("joins")
    }

    fn number_known() -> usize {
        KNOWN.with_borrow(VecDeque::len)
    }

    #[test]
    fn the_same_layout_and_openings_give_the_same_structure_and_others_another() {
        let garden = garden();
        let open = vec![true; garden.parts().len()];
        let first = structure_of(&garden, &open);
        assert!(Arc::ptr_eq(&first, &structure_of(&garden.clone(), &open)));
        let mut shut = open.clone();
        shut[2] = false;
        assert!(!Arc::ptr_eq(&first, &structure_of(&garden, &shut)));
        assert!(!Arc::ptr_eq(&first, &structure_of(&garden.detached(), &open)), "a detached garden shares nothing");
    }

    #[test]
    fn what_is_kept_is_bounded_and_goes_with_its_garden() {
        let garden = garden();
        let others: Vec<_> = (0..MOST + 20).map(|_| garden.detached()).collect();
        let open = vec![true; garden.parts().len()];
        others.iter().for_each(|other| drop(structure_of(other, &open)));
        assert_eq!(number_known(), MOST);
        drop(others);
        structure_of(&garden, &open);
        assert_eq!(number_known(), 1);
    }

    #[test]
    fn large_gardens_are_kept_in_smaller_numbers() {
        let garden = garden();
        let structure = structure_of(&garden, &[true; 3]);
        let layout = garden.shared_layout();
        let mut known = VecDeque::new();
        for places in [MOST_PLACES / 2, MOST_PLACES / 2, 1, MOST_PLACES + 1] {
            let open = vec![true; places];
            keep(&mut known, Known { layout: Arc::downgrade(&layout), open, structure: Arc::clone(&structure) });
        }
        assert_eq!(
            known.iter().map(|one| one.open.len()).collect::<Vec<_>>(),
            [MOST_PLACES + 1],
            "the newest is kept in any case"
        );
        keep(&mut known, Known { layout: Arc::downgrade(&layout), open: vec![true], structure });
        assert_eq!(known.len(), 1);
    }
}
