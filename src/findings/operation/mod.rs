//! A run over time: pumps that start too often, never start, never stop or run against a closed line; reliefs that weep; heads
//! and the house that get too little; water that runs back. `pump` looks at pumps and switches, `water` at what they move.

mod pump;
mod water;

use super::catalog::whole;
use super::finding::{Book, Finding};
use super::{look_at_garden, ratings};
use crate::garden::starters_of;
use crate::operation::{CutShort, Log};

/// What is to be said of a run, and of the layout and the garden at rest, as for a steady state. Sorted by level, then by place; no finding stands twice.
pub fn of_log(log: &Log) -> Vec<Finding> {
    let mut book = Book::new(&log.garden);
    if let (Some(why), Some(words)) = (log.cut_short(), log.cut_short_in_words()) {
        book.add(of_early_end(why, words));
    }
    for booster in log.boosters() {
        pump::starts(log, &mut book, booster);
        pump::heat(log, &mut book, booster);
        if let Some(lowest) = log.lowest_at_inlet(booster).filter(|_| log.runs(booster).next().is_some()) {
            super::booster::look_at_suction(&mut book, booster, lowest.pressure_pa);
        }
        pump::dry(log, &mut book, booster);
    }
    for starter in starters_of(&log.garden) {
        pump::switch(log, &mut book, starter.place);
    }
    water::reliefs(log, &mut book);
    water::heads(log, &mut book);
    super::inlets::look_at_log(&mut book, log);
    super::spread::look_at_log(&mut book, log);
    water::house(log, &mut book);
    water::overlaps(log, &mut book);
    water::restriction(log, &mut book);
    // What was seen in the run is reported first; the same of the garden at rest then falls away.
    let mut strains = ratings::over_time(log);
    strains.extend(look_at_garden(&mut book));
    ratings::report(&mut book, &strains);
    book.finish()
}

/// The finding on a run that ended early, and how in words.
fn of_early_end(why: CutShort, how: String) -> Finding {
    let entry = match why {
        CutShort::Chatters { .. } => &whole::CUT_SHORT,
        CutShort::TooManyEvents { .. } | CutShort::TooManySteps { .. } | CutShort::HardToSolve { .. } => &whole::RUN_TOO_LONG,
    };
    Finding::of_whole(entry).with("how", how)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Level;
    use crate::quantity::UnitSystem;

    #[test]
    fn a_run_that_chatters_is_a_danger_and_one_that_is_too_long_a_warning() {
        let ends = [
            (CutShort::Chatters { booster: 0, period_s: 0.1, since_s: 0.0 }, Level::Danger),
            (CutShort::TooManyEvents { most: 5 }, Level::Warning),
            (CutShort::TooManySteps { most: 5 }, Level::Warning),
            (CutShort::HardToSolve { failures: 5 }, Level::Warning),
        ];
        for (why, level) in ends {
            let finding = of_early_end(why, "cut short at noon".into());
            assert_eq!((finding.level(), finding.faults()), (level, Vec::new()));
            assert_eq!(finding.what(UnitSystem::AsWritten), "the run was cut short at noon");
        }
    }
}
