//! A run over time: pumps that start too often, never start, never stop or run against a shut line; reliefs that weep; heads
//! and the house that get too little; water that runs back.

use super::finding::{Book, Cause, Finding, Level, Source};
use super::heating::rise_k_per_s;
use super::limits::{LEAST_RUN_S, LEAST_TAP_PA, MANY_STARTS, MOST_STARTS, PUMP_WATER_M3, RELIEF_ABOVE_CUT_OUT_PA};
use crate::operation::{Log, day_and_clock, time_in_words};
use crate::parts::Kind;
use crate::quantity::{Quantity, UnitSystem, dim};

/// Water in the casing of a garden pump, kg.
const CASING_KG: f64 = 1000.0 * PUMP_WATER_M3;
/// A rise by which trapped water boils, K.
const BOILS_K: f64 = 85.0;
/// A rise by which trapped water becomes too hot for seals and hoses, K. Common practice, no source.
const HOT_K: f64 = 30.0;
/// Share of its open time in which a head may be below its need: valves open and shut.
const STARVED_SHARE: f64 = 0.05;
/// Volumes below this are rounding and the last drops of a check valve, m3.
const DROPS_M3: f64 = 1e-5;

const SHORT_CYCLES: Cause = Cause {
    code: "short-cycles",
    level: Level::Warning,
    why: "every start heats the motor and wears contacts; the pressure at the heads swings",
    source: Source::CommonPractice,
};
const MANY: Cause = Cause { code: "many-starts", level: Level::Note, ..SHORT_CYCLES };
const CHATTERS: Cause = Cause {
    code: "chatters",
    level: Level::Danger,
    why: "nothing stores water: the pressure follows the pump at once, and the switch would open and close many times a second",
    source: Source::Physics,
};
const SLEEPS: Cause = Cause {
    code: "never-starts",
    level: Level::Warning,
    why: "the pressure never falls to cut-in: the pump was bought for nothing",
    source: Source::Physics,
};
const NEVER_STOPS: Cause = Cause {
    code: "never-stops",
    level: Level::Warning,
    why: "the pump runs on with nothing to do, heats its water and fails",
    source: Source::Physics,
};
const HEATS: Cause = Cause {
    code: "dead-head-heat",
    level: Level::Danger,
    why: "all its power heats the water inside; seals fail, hoses soften and burst, and the first water out can scald",
    source: Source::CommonPractice,
};
const WEEPS: Cause = Cause {
    code: "relief-weeps",
    level: Level::Warning,
    why: "a relief that opens in normal use wastes water and soon no longer shuts",
    source: Source::CommonPractice,
};
const NEAR_RELIEF: Cause = Cause {
    code: "relief-near-cut-out",
    level: Level::Warning,
    why: "switch and relief are each off by a few psi: as they stand the relief may open before the pump stops",
    source: Source::CommonPractice,
};
const STARVED: Cause = Cause {
    code: "starved",
    level: Level::Warning,
    why: "a head below its need does not turn or throw, and leaves dry ground",
    source: Source::Physics,
};
const HOUSE: Cause = Cause {
    code: "house-starved",
    level: Level::Warning,
    why: "showers and boilers in the house fail, and a main under suction can draw dirt into the drinking water",
    source: Source::CommonPractice,
};
const RAN_BACK: Cause = Cause {
    code: "ran-back",
    level: Level::Danger,
    why: "garden water has run back towards the drinking water",
    source: Source::Physics,
};
const WAKES: Cause = Cause {
    code: "wakes",
    level: Level::Note,
    why: "water goes somewhere: a leak, a dripping head or a check valve that lets water back",
    source: Source::Physics,
};
const OVERLAP: Cause =
    Cause { code: "overlap", level: Level::Note, why: "zones that run together share the pressure", source: Source::Physics };

/// What is to be said of a run. Sorted by level, then by place; no finding stands twice.
pub fn of_log(log: &Log, system: UnitSystem) -> Vec<Finding> {
    let mut book = Book::new(&log.garden, system);
    let say = Say { log, system };
    for booster in log.boosters() {
        say.starts(&mut book, booster);
        say.heat(&mut book, booster);
    }
    for switch in log.garden.of_kind(Kind::PressureSwitch) {
        say.switch(&mut book, switch);
    }
    say.reliefs(&mut book);
    say.heads(&mut book);
    say.house(&mut book);
    say.overlaps(&mut book);
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

    fn starts(&self, book: &mut Book, booster: usize) {
        let log = self.log;
        let (title, runs) = (book.title(booster), log.runs(booster));
        let shortest_s = runs.iter().filter_map(|run| Some(run.to_s? - run.from_s)).reduce(f64::min);
        let busiest = log.busiest_hour();
        if log.is_stiff && runs.len() > 2 {
            let what = format!("{title} chatters: {} starts, and no tank or hose with a stretch stores any water", runs.len());
            let action = "fit a pressure tank beside the switch; tank_for(garden, 20.per_hour) says which";
            return book.add(CHATTERS, booster, what, action);
        }
        let run = shortest_s.map_or_else(String::new, |shortest_s| format!(", the shortest run lasts {}", self.time(shortest_s)));
        if busiest > MOST_STARTS {
            let what =
                format!("{title} starts {busiest} times in an hour, {} more than small motors stand{run}", busiest - MOST_STARTS);
            book.add(
                SHORT_CYCLES,
                booster,
                what,
                "fit a larger tank, set cut-in and cut-out further apart, or water more at once",
            );
        } else if busiest > MANY_STARTS || (runs.len() > 1 && shortest_s.is_some_and(|shortest_s| shortest_s < LEAST_RUN_S)) {
            let what = format!("{title} starts up to {busiest} times in an hour{run}; a minute is what small motors want");
            book.add(MANY, booster, what, "ask the maker how many starts the motor stands, or fit a larger tank");
        }
        self.wakes(book, booster);
    }

    /// Starts while nothing is meant to be open.
    fn wakes(&self, book: &mut Book, booster: usize) {
        let log = self.log;
        let Ok(intervals) = log.programme.intervals(log.duration_s()) else { return };
        let idle =
            |time_s: f64| !intervals.iter().any(|interval| interval.from_s - 1.0 <= time_s && time_s <= interval.to_s + 60.0);
        let always = log
            .garden
            .of_kind(Kind::Head)
            .any(|place| log.water_m3(place).is_some_and(|volume| volume > 0.0) && intervals.is_empty());
        let woken: Vec<f64> =
            log.runs(booster).iter().map(|run| run.from_s).filter(|&from_s| from_s > 0.0 && idle(from_s)).collect();
        if let Some(first_s) = woken.first().filter(|_| !always) {
            let what = format!(
                "{} starts {} times while nothing is meant to be open, first at {}",
                book.title(booster),
                woken.len(),
                day_and_clock(*first_s)
            );
            book.add(
                WAKES,
                booster,
                what,
                "shut the valves one after another and watch the gauge, or work the leak out from two readings of it",
            );
        }
    }

    fn switch(&self, book: &mut Book, switch: usize) {
        let log = self.log;
        let Some(booster) = crate::hydraulics::booster_of(&log.garden, switch) else { return };
        let part = &log.garden.parts()[switch];
        let (Ok(cut_in), Ok(cut_out)) = (part.get("cut_in"), part.get("cut_out")) else { return };
        let (title, pump) = (book.title(switch), book.title(booster));
        let (lowest, highest) = (log.lowest(switch), log.highest(switch));
        if log.runs(booster).is_empty()
            && let Some(lowest) = lowest
        {
            let margin = book.like(lowest.pressure_pa - cut_in.si, cut_in);
            let what = format!(
                "{title} never starts {pump}: the lowest it feels is {}, {margin} above cut-in {}",
                book.like(lowest.pressure_pa, cut_in),
                book.given(cut_in)
            );
            book.add(SLEEPS, switch, what, "set cut-in above the pressure that zones have without the pump");
        }
        let runs_on = log.runs(booster).last().filter(|run| run.to_s.is_none());
        if let (Some(run), Some(highest)) = (runs_on, highest)
            && log.dead_head_s(booster) > LEAST_RUN_S
            && highest.pressure_pa < cut_out.si
        {
            let what = format!(
                "{title} never stops {pump} after {}: it settles at {}, {} below cut-out {}",
                day_and_clock(run.from_s),
                book.like(highest.pressure_pa, cut_out),
                book.like(cut_out.si - highest.pressure_pa, cut_out),
                book.given(cut_out)
            );
            book.add(
                NEVER_STOPS,
                switch,
                what,
                "set cut-out at least 5 psi below what supply and pump reach against shut valves",
            );
        }
    }

    fn heat(&self, book: &mut Book, booster: usize) {
        let log = self.log;
        let (dead_s, part) = (log.dead_head_s(booster), &log.garden.parts()[booster]);
        let Some(watts) = part.si("watts").filter(|_| dead_s > 0.0) else { return };
        let rise_k_per_s = rise_k_per_s(watts, CASING_KG);
        let rise_k = rise_k_per_s * dead_s;
        if rise_k < HOT_K {
            return;
        }
        let boils = if rise_k > BOILS_K { "to boiling".to_string() } else { format!("by {rise_k:.0} kelvin") };
        let what = format!(
            "{} runs {} against a shut line: {} would heat a litre of trapped water {boils} in {}",
            book.title(booster),
            self.time(dead_s),
            book.given(Quantity::new(watts, dim::POWER)),
            self.time(if rise_k > BOILS_K { BOILS_K / rise_k_per_s } else { dead_s })
        );
        book.add(HEATS, booster, what, "set cut-out lower so that the switch stops it, and fit a thermal cut-out");
    }

    fn reliefs(&self, book: &mut Book) {
        let log = self.log;
        let garden = &log.garden;
        for relief in garden.of_kind(Kind::Relief) {
            let lost_m3 = log.water_m3(relief).unwrap_or(0.0);
            if lost_m3 > 0.0 && log.faults.is_empty() {
                let what = format!(
                    "{} opens in normal use and loses {}",
                    book.title(relief),
                    book.given(Quantity::new(lost_m3, dim::VOLUME))
                );
                book.add(WEEPS, relief, what, "set cut-out lower, or the relief higher and still below the weakest rating");
            }
            let Ok(set) = garden.parts()[relief].get("set") else { continue };
            for switch in garden.of_kind(Kind::PressureSwitch) {
                let (Ok(cut_out), Some(at_relief), Some(at_switch)) =
                    (garden.parts()[switch].get("cut_out"), log.highest(relief), log.highest(switch))
                else {
                    continue;
                };
                // Both are compared at the place of the relief, which may lie higher or lower.
                let there_pa = cut_out.si + at_relief.pressure_pa - at_switch.pressure_pa;
                let margin_pa = set.si - there_pa;
                if margin_pa < RELIEF_ABOVE_CUT_OUT_PA {
                    let how = if margin_pa.abs() < 0.05 * RELIEF_ABOVE_CUT_OUT_PA {
                        format!("coincides with cut-out {} of {}", book.given(cut_out), book.title(switch))
                    } else if margin_pa > 0.0 {
                        format!("lies only {} above cut-out of {}", book.like(margin_pa, set), book.title(switch))
                    } else {
                        format!("lies {} below cut-out of {}", book.like(-margin_pa, set), book.title(switch))
                    };
                    let what = format!("the setting of {}, {}, {how}", book.title(relief), book.given(set));
                    book.add(NEAR_RELIEF, relief, what, "leave 10 psi or more between cut-out and relief");
                }
            }
        }
    }

    fn heads(&self, book: &mut Book) {
        for head in self.log.garden.of_kind(Kind::Head) {
            let (open_s, below_s) = self.log.need_s(head);
            if open_s > 0.0 && below_s > STARVED_SHARE * open_s {
                let share = (100.0 * below_s / open_s).round();
                let what = format!(
                    "{} is below its need for {} of {}, {share}% of its time",
                    book.title(head),
                    self.time(below_s),
                    self.time(open_s)
                );
                book.add(STARVED, head, what, "run fewer heads at once, widen the hose, or raise cut-in");
            }
        }
    }

    fn house(&self, book: &mut Book) {
        let log = self.log;
        for supply in log.garden.of_kind(Kind::Supply) {
            let Some(lowest) = log.lowest(supply) else { continue };
            if lowest.pressure_pa < LEAST_TAP_PA && log.garden.parts()[supply].value(0) > LEAST_TAP_PA {
                let what = format!(
                    "the house tap at {} falls to {} at {}",
                    book.title(supply),
                    book.pressure(lowest.pressure_pa),
                    day_and_clock(lowest.time_s)
                );
                book.add(HOUSE, supply, what, "draw less at once, or water when nobody needs the house taps");
            }
        }
        for &(place, volume_m3) in log.drawn_m3() {
            if volume_m3 < -DROPS_M3 {
                let what = format!("{} ran back into {}", book.given(Quantity::new(-volume_m3, dim::VOLUME)), book.title(place));
                book.add(RAN_BACK, place, what, "fit the backflow preventer that local code asks for, right behind the tap");
            }
        }
    }

    fn overlaps(&self, book: &mut Book) {
        let Ok(overlaps) = self.log.programme.overlaps(self.log.duration_s()) else { return };
        if let Some(first) = overlaps.first() {
            let what = format!(
                "{} times two openings overlap, first {} and {} at {}",
                overlaps.len(),
                first.first.name,
                first.second.name,
                day_and_clock(first.from_s)
            );
            book.add_whole(OVERLAP, what, "move one of them if they should not run together; .overlaps(1.days) lists them");
        }
    }
}
