//! A day of a run: what happened in it, its times counted from its own midnight, so that days which are alike are one.

use super::event::Event;
use std::collections::HashMap;
use std::sync::Arc;

/// The beginning of a leg.
#[derive(Clone, Copy, Debug)]
pub struct LegStart {
    /// Seconds after midnight.
    pub time_s: f64,
    pub config: u32,
}

/// What is kept of a day.
#[derive(Debug, Default)]
pub struct Day {
    /// Their times are seconds after midnight.
    pub events: Vec<Event>,
    pub marks: Vec<LegStart>,
    /// Pressures of all storages at each mark, one after another.
    pub marked_pa: Vec<f64>,
    pub end_pa: Vec<f64>,
}

/// Longest cycle that is looked for, days: a leap year.
const MOST_DAYS: usize = 366;

/// Days of a run that repeat earlier ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cycle {
    /// The first day, counted from 1, from which on every day repeats an earlier one.
    pub from_day: usize,
    /// How many days before each of these the one is that it repeats; none where that differs.
    pub days: Option<usize>,
}

/// The cycle in which a list of days ends; none where fewer than two repeat others. The last day, which every run makes anew, does not
/// count.
pub fn cycle(days: &[Arc<Day>]) -> Option<Cycle> {
    let days = &days[..days.len().saturating_sub(1)];
    let mut firsts = HashMap::new();
    let first: Vec<usize> =
        days.iter().enumerate().map(|(index, day)| *firsts.entry(Arc::as_ptr(day)).or_insert(index)).collect();
    let from = first.iter().enumerate().rposition(|(index, &first)| index == first)? + 1;
    if from + 2 > days.len() {
        return None;
    }
    let repeats = |apart: &usize| *apart <= from && (from..first.len()).all(|index| first[index] == first[index - apart]);
    Some(Cycle { from_day: from + 1, days: (1..=MOST_DAYS).find(repeats) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cycle_of_a_run_is_found() {
        let kinds: Vec<Arc<Day>> = (0..4).map(|_| Arc::new(Day::default())).collect();
        let cycle_of = |numbers: &[usize]| cycle(&numbers.iter().map(|&number| Arc::clone(&kinds[number])).collect::<Vec<_>>());
        assert_eq!(cycle_of(&[]), None);
        assert_eq!(cycle_of(&[0, 1, 2, 3]), None);
        assert_eq!(cycle_of(&[0, 1, 1, 1, 2]), Some(Cycle { from_day: 3, days: Some(1) }));
        assert_eq!(cycle_of(&[0, 1, 2, 1, 2, 1, 3]), Some(Cycle { from_day: 4, days: Some(2) }));
        assert_eq!(cycle_of(&[0, 1, 1, 0, 0, 1, 1, 3]), Some(Cycle { from_day: 3, days: None }));
    }
}
