//! A run over time: pumps that start too often, never start, never stop or run against a shut line; reliefs that weep; heads
//! and the house that get too little; water that runs back. `pump` looks at pumps and switches, `water` at what they move.

mod pump;
mod water;

use super::finding::{Book, Cause, Finding, Level, Source};
use super::text::counted;
use super::{look_at_garden, ratings};
use crate::operation::{CutShort, Log, time_in_words};
use crate::parts::Kind;
use crate::quantity::UnitSystem;

const CUT_SHORT: Cause = Cause {
    code: "cut-short",
    level: Level::Danger,
    why: "no contact lives through that for long, and what came after is in no sum",
    source: Source::Physics,
};
const TOO_LONG: Cause =
    Cause { code: "run-too-long", level: Level::Warning, why: "what came after is in no sum", source: Source::Physics };

/// What is to be said of a run, and of the layout and the garden at rest, as for a steady state. Sorted by level, then by place; no finding stands twice.
pub fn of_log(log: &Log, system: UnitSystem) -> Vec<Finding> {
    let mut book = Book::new(&log.garden, system);
    let say = Say { log, system };
    if let (Some(why), Some(words)) = (log.cut_short(), log.cut_short_in_words()) {
        let what = format!("the run was {words}");
        match why {
            CutShort::Chatters { .. } => {
                book.add_whole(CUT_SHORT, what, "give the pump a tank, or set cut-in and cut-out further apart")
            }
            CutShort::TooManyEvents { .. } | CutShort::TooManySteps { .. } | CutShort::HardToSolve { .. } => {
                book.add_whole(TOO_LONG, what, "run a shorter time")
            }
        }
    }
    for booster in log.boosters() {
        say.starts(&mut book, booster);
        say.heat(&mut book, booster);
        if let Some(lowest) = log.lowest_at_inlet(booster).filter(|_| !log.runs(booster).is_empty()) {
            super::booster::look_at_suction(&mut book, booster, lowest.pressure_pa);
        }
        say.dry(&mut book, booster);
    }
    for switch in log.garden.of_kind(Kind::PressureSwitch) {
        say.switch(&mut book, switch);
    }
    say.reliefs(&mut book);
    say.heads(&mut book);
    say.house(&mut book);
    say.overlaps(&mut book);
    // What was seen in the run is told first; the same of the garden at rest then falls away.
    let mut strains = ratings::over_time(log);
    strains.extend(look_at_garden(&mut book));
    ratings::tell(&mut book, &strains);
    book.finish()
}

struct Say<'a> {
    log: &'a Log,
    system: UnitSystem,
}

impl Say<'_> {
    fn time(&self, seconds: f64) -> String {
        time_in_words(seconds).show(self.system)
    }
}
