//! Pumps and switches in a run: starts too many or none, what wakes the pump, no stop, heat against a shut line.

use super::{Say, counted};
use crate::findings::finding::{Book, Cause, Level, Source};
use crate::findings::heating::rise_k_per_s;
use crate::findings::limits::{GAUGE_MARGIN_PA, LEAST_RUN_S, MANY_STARTS, MOST_STARTS, PUMP_WATER_M3};
use crate::findings::rest::AtRest;
use crate::operation::{PumpRun, day_and_clock};
use crate::parts::{Id, Kind};
use crate::quantity::{Quantity, dim};

/// Water in the casing of a garden pump, kg.
const CASING_KG: f64 = 1000.0 * PUMP_WATER_M3;
/// A pump that runs this long with nothing open does not stop, s.
const IDLE_S: f64 = 3600.0;
/// A pump may run this long without water, s: while a line fills.
const DRY_S: f64 = 10.0;
/// A rise by which trapped water boils, K.
const BOILS_K: f64 = 85.0;
/// A rise by which trapped water becomes too hot for seals and hoses, K. Common practice, no source.
const HOT_K: f64 = 30.0;
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
const NO_STORE: Cause = Cause {
    code: "no-store",
    level: Level::Note,
    why: "all is well while a zone runs, but a dripping head or a tap in the garden makes the pump chatter",
    source: Source::Physics,
};
const SLEEPS: Cause = Cause {
    code: "never-starts",
    level: Level::Warning,
    why: "the pressure never falls to cut-in: the pump was bought for nothing",
    source: Source::Physics,
};
const NEEDS_NO_PUMP: Cause = Cause {
    code: "zone-needs-no-pump",
    level: Level::Note,
    why: "the pump stays off while these zones run, as it should",
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
const DRY: Cause = Cause {
    code: "runs-dry",
    level: Level::Danger,
    why: "water cools and greases the seal of a pump: without it the seal burns within minutes",
    source: Source::CommonPractice,
};
const NEAR_REST: Cause = Cause {
    code: "cut-in-near-rest",
    level: Level::Note,
    why: "the street is a few psi up by night and down by day: the pump starts with no zone open, and any leak wakes it",
    source: Source::CommonPractice,
};
const WAKES: Cause = Cause {
    code: "wakes",
    level: Level::Note,
    why: "water goes somewhere: a leak, a dripping head or a check valve that lets water back",
    source: Source::Physics,
};
impl Say<'_> {
    pub(super) fn starts(&self, book: &mut Book, booster: usize) {
        let log = self.log;
        let (title, runs) = (book.title(booster), log.runs(booster));
        // A run at the very beginning only shows how the garden stood before.
        let later = runs.iter().filter(|run| run.from_s > 0.0);
        let shortest_s = later.filter_map(|run| Some(run.to_s? - run.from_s)).reduce(f64::min);
        let busiest = log.busiest_hour();
        if log.is_stiff && runs.len() <= 2 && !runs.is_empty() {
            let what = format!("no tank and no hose with a stretch stores water behind {title}");
            book.add(NO_STORE, booster, what, "fit a pressure tank beside the switch; tank_for(garden, 20.per_hour) says which");
        }
        if log.is_stiff && runs.len() > 2 {
            let what = format!(
                "{title} chatters: {}, and no tank or hose with a stretch stores any water",
                counted(runs.len(), "start")
            );
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
            let what =
                format!("{title} makes up to {} in an hour{run}; a minute is what small motors want", counted(busiest, "start"));
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
        let parts = log.garden.parts();
        let always = (0..parts.len())
            .filter(|&place| parts[place].spec().traits.waters)
            .any(|place| log.water_m3(place).is_some_and(|volume| volume > 0.0) && intervals.is_empty());
        let woken: Vec<f64> =
            log.runs(booster).iter().map(|run| run.from_s).filter(|&from_s| from_s > 0.0 && idle(from_s)).collect();
        if let Some(first_s) = woken.first().filter(|_| !always) {
            let mut what = format!(
                "{} makes {} while nothing is meant to be open, first at {}",
                book.title(booster),
                counted(woken.len(), "start"),
                day_and_clock(*first_s)
            );
            what.push_str(&self.street_below_cut_in(book, booster));
            book.add(
                WAKES,
                booster,
                what,
                "shut the valves one after another and watch the gauge, or work the leak out from two readings of it",
            );
        }
    }

    /// That the street alone would not let a pump rest, where that is so.
    fn street_below_cut_in(&self, book: &Book, booster: usize) -> String {
        let garden = &self.log.garden;
        let mut switches = garden.of_kind(Kind::PressureSwitch);
        let Some(switch) = switches.find(|&switch| crate::hydraulics::booster_of(garden, switch) == Some(booster)) else {
            return String::new();
        };
        let (Ok(cut_in), Some(rest_pa)) = (garden.parts()[switch].get(Id::CutIn), self.at_rest_pa(switch)) else {
            return String::new();
        };
        if rest_pa > cut_in.si {
            return String::new();
        }
        format!("; with {} the street alone does not hold cut-in {}", book.like(rest_pa, cut_in), book.given(cut_in))
    }

    pub(super) fn switch(&self, book: &mut Book, switch: usize) {
        let log = self.log;
        let Some(booster) = crate::hydraulics::booster_of(&log.garden, switch) else { return };
        let part = &log.garden.parts()[switch];
        let (Ok(cut_in), Ok(cut_out)) = (part.get(Id::CutIn), part.get(Id::CutOut)) else { return };
        let (title, pump) = (book.title(switch), book.title(booster));
        let (lowest, highest) = (log.lowest(switch), log.highest(switch));
        if log.runs(booster).is_empty()
            && self.is_used()
            && let Some(lowest) = lowest
        {
            let margin = book.like(lowest.pressure_pa - cut_in.si, cut_in);
            let what = format!(
                "{title} never starts {pump}: the lowest it feels is {}, {margin} above cut-in {}",
                book.like(lowest.pressure_pa, cut_in),
                book.given(cut_in)
            );
            if self.all_have_what_they_need() {
                let what = format!("{what}, and all that ran had what they need");
                book.add(NEEDS_NO_PUMP, switch, what, "leave it as it is, or connect these zones upstream of the pump");
            } else {
                book.add(SLEEPS, switch, what, "set cut-in above the pressure that zones have without the pump");
            }
        } else {
            self.rests(book, switch);
        }
        let runs_on = log.runs(booster).last().filter(|run| run.to_s.is_none());
        let (Some(run), Some(highest)) = (runs_on, highest) else { return };
        let dead = log.dead_head_s(booster) > LEAST_RUN_S;
        if (dead || self.idle_at_end_s(run) > IDLE_S) && highest.pressure_pa < cut_out.si {
            let settled_pa = log.last_pa(switch).unwrap_or(highest.pressure_pa);
            let mut what = format!(
                "{title} never stops {pump} after {}: it settles at {}, {} below cut-out {}",
                day_and_clock(run.from_s),
                book.like(settled_pa, cut_out),
                book.like(cut_out.si - settled_pa, cut_out),
                book.given(cut_out)
            );
            let lost = log.garden.of_kind(Kind::Relief).find(|&relief| log.water_m3(relief).is_some_and(|lost| lost > 0.0));
            if let Some(relief) = lost.filter(|_| !dead) {
                what += &format!(", while {} lets the water go", book.title(relief));
            }
            let action = match (log.faults.first(), lost) {
                (Some(fault), _) => format!(
                    "that is what '{} {}' does; a dry-run guard or a timer on the pump ends it",
                    fault.part,
                    fault.kind.words()
                ),
                (None, Some(_)) if !dead => "set cut-out below the relief, 10 psi or more".into(),
                _ => "set cut-out at least 5 psi below what supply and pump reach against shut valves".into(),
            };
            book.add(NEVER_STOPS, switch, what, action);
        }
    }

    /// Whether anything was meant to be open at any time.
    fn is_used(&self) -> bool {
        let used = |place: usize| self.log.water_m3(place).is_some_and(|volume_m3| volume_m3 > 0.0);
        let parts = self.log.garden.parts();
        (0..parts.len()).filter(|&place| parts[place].spec().traits.gives_water).any(used)
    }

    /// True when every outlet that ran says what it needs and had it all the time.
    fn all_have_what_they_need(&self) -> bool {
        let log = self.log;
        let parts = log.garden.parts();
        let ran = |place: &usize| log.water_m3(*place).is_some_and(|volume_m3| volume_m3 > 0.0);
        let waters = (0..parts.len()).filter(|&place| parts[place].spec().traits.waters).filter(ran).collect::<Vec<_>>();
        let has = |place: &usize| parts[*place].si(Id::NeedsLow).is_some() && log.need_s(*place).1 == 0.0;
        !waters.is_empty() && waters.iter().all(has)
    }

    /// How long a pump that runs at the end has run since the last opening ended, s.
    fn idle_at_end_s(&self, run: &PumpRun) -> f64 {
        let end_s = self.log.duration_s();
        let Ok(intervals) = self.log.programme.intervals(end_s) else { return 0.0 };
        let last_s = intervals.iter().map(|interval| interval.to_s.min(end_s)).fold(run.from_s, f64::max);
        if intervals.is_empty() { 0.0 } else { end_s - last_s }
    }

    /// What a switch feels with nothing open and the pump off, Pa.
    fn at_rest_pa(&self, switch: usize) -> Option<f64> {
        AtRest::of(&self.log.garden)?.off.at(&self.log.garden, switch)
    }

    /// A cut-in near what stands at the switch while nothing is open.
    fn rests(&self, book: &mut Book, switch: usize) {
        let garden = &self.log.garden;
        let Ok(cut_in) = garden.parts()[switch].get(Id::CutIn) else { return };
        let Some(rest_pa) = self.at_rest_pa(switch) else { return };
        let above_pa = cut_in.si - rest_pa;
        if above_pa.abs() > 0.999 * GAUGE_MARGIN_PA {
            return;
        }
        let (title, rest) = (book.title(switch), book.like(rest_pa, cut_in));
        let given = book.given(cut_in);
        let what = if above_pa.abs() < 0.05 * GAUGE_MARGIN_PA {
            format!("{title} rests on its cut-in: with nothing open the street holds {rest} there, and cut-in is {given}")
        } else {
            let (by, way) = (book.like(above_pa.abs(), cut_in), if above_pa < 0.0 { "above" } else { "below" });
            format!("{title} rests only {by} {way} cut-in {given}: with nothing open the street holds {rest} there")
        };
        let action = format!("for a quiet garden set cut-in at least {} below {rest}", book.like(GAUGE_MARGIN_PA, cut_in));
        book.add(NEAR_REST, switch, what, action);
    }

    /// A pump to which no water can come.
    pub(super) fn dry(&self, book: &mut Book, booster: usize) {
        let dry_s = self.log.dry_s(booster);
        if dry_s > DRY_S {
            let what = format!("{} runs {} without any water", book.title(booster), self.time(dry_s));
            book.add(DRY, booster, what, "fit a guard that stops it: dry_stop on the booster, at some psi above nothing");
        }
    }

    pub(super) fn heat(&self, book: &mut Book, booster: usize) {
        let log = self.log;
        let (dead_s, part) = (log.dead_head_s(booster), &log.garden.parts()[booster]);
        let Some(watts) = part.si(Id::Watts).filter(|_| dead_s > 0.0) else { return };
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
}
