//! Lists of places, one for each node or place of a garden, that lie one after another in memory.

use std::ops::Index;

/// Lists of places by number; [`Index`] gives one of them.
#[derive(Clone, Debug)]
pub struct Lists {
    /// Where each list begins in `items`, and where the last one ends.
    start: Vec<u32>,
    items: Vec<usize>,
}

impl Lists {
    /// `number_of_lists` lists of these entries, each with the number of its list; the order within a list is that of the entries.
    pub(super) fn of(number_of_lists: usize, entries: impl Iterator<Item = (usize, usize)> + Clone) -> Lists {
        let mut start = vec![0u32; number_of_lists + 1];
        entries.clone().for_each(|(list, _)| start[list + 1] += 1);
        for list in 0..number_of_lists {
            start[list + 1] += start[list];
        }
        let mut items = vec![0; start[number_of_lists] as usize];
        let mut next = start.clone();
        for (list, item) in entries {
            items[next[list] as usize] = item;
            next[list] += 1;
        }
        Lists { start, items }
    }

    /// How many lists there are.
    pub fn count(&self) -> usize {
        self.start.len() - 1
    }
}

impl Index<usize> for Lists {
    type Output = [usize];

    #[inline]
    fn index(&self, list: usize) -> &[usize] {
        &self.items[self.start[list] as usize..self.start[list + 1] as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn each_list_holds_its_entries_in_their_order(entries in prop::collection::vec((0usize..7, 0usize..100), 0..40)) {
            let lists = Lists::of(7, entries.iter().copied());
            prop_assert_eq!(lists.count(), 7);
            for list in 0..7 {
                let own: Vec<usize> = entries.iter().filter(|entry| entry.0 == list).map(|entry| entry.1).collect();
                prop_assert_eq!(&lists[list], &own[..]);
            }
        }
    }
}
