//! Hoses and pipes in a steady state: fast water, pressure below that of the air, and siphons whose water parts at the top.

use super::finding::{Book, Cause, Level, Source};
use super::limits::{FAST_M_PER_S, FAST_SOURCE, NO_FLOW_M3_PER_S, TOO_FAST_M_PER_S, TOO_FAST_SOURCE};
use crate::hydraulics::Reading;
use crate::laws::friction::MOST_RELATIVE_ROUGHNESS;
use crate::parts::{Id, Kind};
use crate::quantity::show_number;

const FAST: Cause = Cause {
    code: "fast",
    level: Level::Note,
    why: "friction grows with nearly the square of the speed, and a valve that snaps shut knocks harder",
    source: FAST_SOURCE,
};
const TOO_FAST: Cause = Cause {
    code: "too-fast",
    level: Level::Warning,
    why: "most of the pressure is lost on the way, and a valve that snaps shut knocks hard enough to burst couplings",
    source: TOO_FAST_SOURCE,
};
const SUCTION_IN_HOSE: Cause = Cause {
    code: "hose-suction",
    level: Level::Warning,
    why: "a soft hose collapses, and every leak or open head sucks in air and dirt",
    source: Source::Physics,
};

const SIPHON_PARTS: Cause = Cause {
    code: "siphon-parts",
    level: Level::Warning,
    why: "water boils at that pressure and its column parts at the crest: a siphon pulls no more, and air that gathers there stops it",
    source: Source::Physics,
};

const ROUGH: Cause = Cause {
    code: "too-rough",
    level: Level::Warning,
    why: "the law of friction is known for smoother walls only; the loss that is told is a guess",
    source: Source::Published(
        "L. F. Moody, Transactions of the ASME 66 (1944): the chart ends at a roughness of 0.05 of the bore",
    ),
};

/// Walls rougher than the law of friction is known for.
pub(super) fn look_at_walls(book: &mut Book) {
    let garden = book.garden;
    for (place, part) in garden.parts().iter().enumerate() {
        let (Some(bore_m), Some(roughness_m)) = (part.si(Id::Bore), part.si(Id::Roughness)) else { continue };
        if roughness_m > MOST_RELATIVE_ROUGHNESS * bore_m && part.si(Id::HazenWilliamsC).is_none() {
            let percent = show_number(100.0 * roughness_m / bore_m);
            let what = format!("the wall of {} has a roughness of {percent} % of its bore", book.title(place));
            book.add(ROUGH, place, what, "check the roughness and the bore, or give a Hazen-Williams coefficient");
        }
    }
}

pub(super) fn look(book: &mut Book, reading: &Reading) {
    let garden = &reading.garden;
    for &place in reading.parted.iter().filter(|&&place| garden.parts()[place].kind() != Kind::Booster) {
        let flow = reading.parts[place].flow_m3_per_s.abs();
        let (vapor, title) = (book.pressure(garden.vapour_gauge_pa()), book.title(place));
        let what = if flow > NO_FLOW_M3_PER_S {
            format!("the crest before {title} is at {vapor}, full vacuum: no more than {} comes over it", book.flow(flow))
        } else {
            format!("no water comes over the crest before {title}: it is at {vapor}, full vacuum")
        };
        book.add(SIPHON_PARTS, place, what, "lay the line lower at the crest, or put the pump before the crest");
    }
    for place in (0..reading.parts.len()).filter(|&place| garden.parts()[place].spec().is_line()) {
        let state = &reading.parts[place];
        if let Some(speed) = state.speed_m_per_s.filter(|&speed| speed > FAST_M_PER_S) {
            let (cause, limit) = if speed > TOO_FAST_M_PER_S { (TOO_FAST, TOO_FAST_M_PER_S) } else { (FAST, FAST_M_PER_S) };
            let what = format!("in {} the water runs at {}, above {}", book.title(place), book.speed(speed), book.speed(limit));
            book.add(cause, place, what, "use a wider hose, or run fewer heads at once");
        }
        let lowest_pa = [state.pressure_in_pa, state.pressure_out_pa].into_iter().flatten().fold(0.0, f64::min);
        if lowest_pa < 0.0 && state.flow_m3_per_s.abs() > NO_FLOW_M3_PER_S {
            let what =
                format!("in {} the pressure falls to {}, below that of the air", book.title(place), book.pressure(lowest_pa));
            book.add(SUCTION_IN_HOSE, place, what, "draw less, use a wider hose, or lay it lower");
        }
    }
}
