//! Water in a run: reliefs that weep, heads and the house that get too little, water that runs back, zones that overlap.

use super::{Say, counted};
use crate::findings::finding::{Book, Cause, Level, Source};
use crate::findings::limits::{LEAST_TAP_PA, RELIEF_ABOVE_CUT_OUT_PA};
use crate::findings::supply::{KEEP_FROM_FILLING, TANK_FILLS};
use crate::operation::day_and_clock;
use crate::parts::{Id, Kind};
use crate::quantity::{Quantity, dim};

/// Share of its open time in which a head may be below its need: valves open and shut.
const STARVED_SHARE: f64 = 0.05;
/// The house may have too little for this long, s: while a pump fills an empty line.
const TAP_LOW_S: f64 = 2.0;
/// Volumes below this are rounding and the last drops of a check valve, m3.
const DROPS_M3: f64 = 1e-5;

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
const OVERLAP: Cause =
    Cause { code: "overlap", level: Level::Note, why: "zones that run together share the pressure", source: Source::Physics };

impl Say<'_> {
    pub(super) fn reliefs(&self, book: &mut Book) {
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
            let Ok(set) = garden.parts()[relief].get(Id::Set) else { continue };
            for switch in garden.of_kind(Kind::PressureSwitch) {
                let (Ok(cut_out), Some(at_relief), Some(at_switch)) =
                    (garden.parts()[switch].get(Id::CutOut), log.highest(relief), log.highest(switch))
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

    pub(super) fn heads(&self, book: &mut Book) {
        let garden = &self.log.garden;
        for head in (0..garden.parts().len()).filter(|&place| garden.parts()[place].si(Id::NeedsLow).is_some()) {
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

    pub(super) fn house(&self, book: &mut Book) {
        let log = self.log;
        for supply in log.garden.of_kind(Kind::Supply) {
            let Some(lowest) = log.lowest(supply) else { continue };
            let low_s = log.tap_low_s(supply);
            if lowest.pressure_pa < LEAST_TAP_PA
                && low_s > TAP_LOW_S
                && log.garden.parts()[supply].value(Id::StaticPressure) > LEAST_TAP_PA
            {
                let what = format!(
                    "the house tap at {} falls to {} at {}, and stands below {} for {}",
                    book.title(supply),
                    book.pressure(lowest.pressure_pa),
                    day_and_clock(lowest.time_s),
                    book.pressure(LEAST_TAP_PA),
                    self.time(low_s)
                );
                book.add(HOUSE, supply, what, "draw less at once, or water when nobody needs the house taps");
            }
        }
        for &(place, volume_m3) in log.drawn_m3() {
            if volume_m3 >= -DROPS_M3 {
                continue;
            }
            let (volume, title) = (book.given(Quantity::new(-volume_m3, dim::VOLUME)), book.title(place));
            if log.garden.parts()[place].spec().traits.fills {
                book.add(TANK_FILLS, place, format!("{volume} filled {title}"), KEEP_FROM_FILLING);
            } else {
                let what = format!("{volume} ran back into {title}");
                book.add(RAN_BACK, place, what, "fit the backflow preventer that local code asks for, right behind the tap");
            }
        }
    }

    pub(super) fn overlaps(&self, book: &mut Book) {
        let Ok(overlaps) = self.log.programme.overlaps(self.log.duration_s()) else { return };
        if let Some(first) = overlaps.first() {
            let what = format!(
                "{} of two openings, first {} and {} at {}",
                counted(overlaps.len(), "overlap"),
                first.first.name,
                first.second.name,
                day_and_clock(first.from_s)
            );
            book.add_whole(OVERLAP, what, "move one of them if they should not run together; .overlaps(1.days) lists them");
        }
    }
}
