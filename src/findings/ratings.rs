//! Ratings: parts under more pressure than they are made for, running and at rest, and boosters without a relief valve.

use super::cycling::overshoot_pa;
use super::finding::{Book, Cause, Level, Source};
use super::reach::{Way, reached};
use super::rest::{AtRest, Drive, Reliefs, State};
use crate::garden::Garden;
use crate::hydraulics::Reading;
use crate::operation::Log;
use crate::parts::{Id, Kind};

const OVER_RATING: Cause = Cause {
    code: "over-rating",
    level: Level::Danger,
    why: "above its rating it can burst, and a hose under pressure whips",
    source: Source::Physics,
};
const NO_RELIEF: Cause = Cause {
    code: "no-relief",
    level: Level::Warning,
    why: "a switch that sticks leaves the pump running, and nothing else limits the pressure",
    source: Source::CommonPractice,
};
const RELIEF_DOES_NOT_PROTECT: Cause = Cause {
    code: "relief-does-not-protect",
    level: Level::Warning,
    why: "a switch that sticks leaves the pump running, and a relief valve set above a rating or too small does not save the part",
    source: Source::CommonPractice,
};
const RELIEF_UNKNOWN: Cause = Cause { level: Level::Note, ..NO_RELIEF };

/// When a pressure stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum When {
    Running,
    AtRest,
}

/// The highest pressure at either end of a part, and when it stands.
pub(super) struct Strain {
    place: usize,
    pressure_pa: f64,
    when: When,
}

/// The pressures of a steady state, no higher than short-cycling switches let them rise.
pub(super) fn running(reading: &Reading) -> Vec<Strain> {
    let states = reading.parts.iter().filter_map(|state| {
        let ends = [state.pressure_in_pa, state.pressure_out_pa];
        let pressure_pa = ends.into_iter().flatten().reduce(f64::max)? - overshoot_pa(reading, state.place);
        Some(Strain { place: state.place, pressure_pa, when: When::Running })
    });
    states.collect()
}

/// The pressures at rest in normal use: switches stop their boosters.
pub(super) fn at_rest(garden: &Garden, rest: &AtRest) -> Vec<Strain> {
    let strain = |place| Some(Strain { place, pressure_pa: rest.stopped.highest(garden, place)?, when: When::AtRest });
    (0..garden.parts().len()).filter_map(strain).collect()
}

/// The highest pressures of a run over time.
pub(super) fn over_time(log: &Log) -> Vec<Strain> {
    let places = 0..log.garden.parts().len();
    let strain = |place| Some(Strain { place, pressure_pa: log.highest_at_ends(place)?.pressure_pa, when: When::Running });
    places.filter_map(strain).collect()
}

/// Tells each part that is above its rating, once, at the highest of its pressures.
pub(super) fn tell(book: &mut Book, strains: &[Strain]) {
    let garden = book.garden;
    for (place, part) in garden.parts().iter().enumerate() {
        let Ok(rating) = part.get(Id::Rating) else { continue };
        let own = strains.iter().filter(|strain| strain.place == place);
        let Some(worst) =
            own.max_by(|a, b| a.pressure_pa.total_cmp(&b.pressure_pa)).filter(|worst| worst.pressure_pa > rating.si)
        else {
            continue;
        };
        let when = match worst.when {
            When::Running => "in this run",
            When::AtRest => "when the valves shut",
        };
        let (title, stands) = (book.title(place), book.like(worst.pressure_pa, rating));
        let what = format!("{title} stands at {stands} {when}, above its rating of {}", book.given(rating));
        book.add(
            OVER_RATING,
            place,
            what,
            "take a part with a higher rating, put a regulator before it, or set cut-out and relief lower",
        );
    }
}

/// What a booster does to the parts behind it when its switch fails.
pub(super) fn look_at_boosters(book: &mut Book, rest: &AtRest) {
    let garden = book.garden;
    for booster in garden.of_kind(Kind::Booster) {
        let Some(without) = State::of(garden, Reliefs::Live, |other| if other == booster { Drive::Off } else { Drive::Full })
        else {
            continue;
        };
        look_at_booster(book, rest, &without, booster);
    }
}

fn look_at_booster(book: &mut Book, rest: &AtRest, without: &State, booster: usize) {
    let garden = book.garden;
    let behind = reached(garden, garden.layout().places[booster].to, |place, way| way == Way::Down && place != booster);
    let relief = garden.of_kind(Kind::Relief).find(|&relief| behind[garden.layout().places[relief].to]);
    let strained = (0..garden.parts().len()).filter_map(|place| {
        let rating = garden.parts()[place].get(Id::Rating).ok()?;
        let pressure_pa = rest.relieved.highest(garden, place)?;
        let pushed = pressure_pa > without.highest(garden, place)? + 1.0;
        (pushed && pressure_pa > rating.si).then_some((place, pressure_pa, rating))
    });
    let worst = strained.max_by(|a, b| (a.1 / a.2.si).total_cmp(&(b.1 / b.2.si)));
    let pump = book.title(booster);
    if let Some((place, pressure_pa, rating)) = worst {
        let weakest = if place == booster { "itself".to_string() } else { book.title(place) };
        let (reaches, rated) = (book.like(pressure_pa, rating), book.given(rating));
        let (cause, what, action) = match relief {
            None => (
                NO_RELIEF,
                format!("{pump} has no relief valve behind it and can bring {weakest}, rated {rated}, to {reaches}"),
                format!("fit a relief valve behind it, set below {rated}, that passes the whole flow of the pump"),
            ),
            Some(relief) => (
                RELIEF_DOES_NOT_PROTECT,
                format!("{} lets {pump} bring {weakest}, rated {rated}, to {reaches}", book.title(relief)),
                format!("set it further below {rated}, or take one that passes the whole flow of the pump there"),
            ),
        };
        return book.add(cause, booster, what, action);
    }
    let unrated = (0..garden.parts().len()).find(|&place| {
        let part = &garden.parts()[place];
        part.spec().traits.bursts && part.si(Id::Rating).is_none() && behind[garden.layout().places[place].from]
    });
    if let (None, Some(unrated)) = (relief, unrated) {
        let reaches =
            rest.dead_head.at(garden, booster).map_or("its dead-head pressure".into(), |pressure_pa| book.pressure(pressure_pa));
        let what = format!(
            "{pump} has no relief valve behind it and can reach {reaches}; the rating of {} is not given",
            book.title(unrated)
        );
        book.add(
            RELIEF_UNKNOWN,
            booster,
            what,
            "give the ratings of hoses and tanks, and fit a relief valve set below the weakest",
        );
    }
}
