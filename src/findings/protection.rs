//! What keeps garden water out of the drinking water, and the pump from pushing into the house: layout alone, no numbers.

use super::finding::{Book, Cause, Level, Source};
use super::reach::{Way, first_of, keeps_back, reached};
use crate::parts::{Backward, Kind, Soil, Spec};

const NO_BACKFLOW_PREVENTER: Cause = Cause {
    code: "no-backflow-preventer",
    level: Level::Warning,
    why: "when the street pressure fails, water with soil and fertiliser in it can run back into the drinking water",
    source: Source::CommonPractice,
};
const SOIL_ON_TAP: Cause = Cause { level: Level::Danger, ..NO_BACKFLOW_PREVENTER };
const TANK_ON_TAP: Cause = Cause {
    code: "tank-on-tap",
    level: Level::Danger,
    why: "tank water is not drinking water; where the two are joined, codes ask for an air gap or the strictest kind of device",
    source: Source::CommonPractice,
};
const NO_CHECK: Cause = Cause {
    code: "no-check-valve",
    level: Level::Warning,
    why: "when the pump stops, its pressure runs back into the house pipes, and nothing holds the garden at pressure",
    source: Source::CommonPractice,
};
const CHECK_DOWNSTREAM: Cause = Cause {
    code: "check-downstream-only",
    level: Level::Note,
    why: "it holds the garden at pressure, but pump and suction hose stay open to the house",
    source: Source::CommonPractice,
};

pub(super) fn look(book: &mut Book) {
    let garden = book.garden;
    garden.of_kind(Kind::Supply).for_each(|supply| look_at_tap(book, supply));
    garden.of_kind(Kind::Booster).for_each(|booster| look_at_booster(book, booster));
}

fn look_at_tap(book: &mut Book, supply: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let protects = |place: usize| garden.parts()[place].spec().traits.backward == Backward::Protects;
    let open_to = reached(garden, places[supply].to, |place, _| !protects(place));
    if let Some(tank) = garden.of_kind(Kind::OpenTank).find(|&tank| open_to[places[tank].to]) {
        let what =
            format!("{} and {} are joined without a backflow preventer between them", book.title(supply), book.title(tank));
        book.add(TANK_ON_TAP, tank, what, "separate them by an air gap, or ask the water supplier which device is allowed");
    }
    let in_soil = first_of(garden, |spec| spec.traits.soil == Soil::In, &open_to);
    if in_soil.or(first_of(garden, |spec| spec.traits.soil != Soil::Away || spec.traits.pushes_back, &open_to)).is_none() {
        return;
    }
    let (cause, garden_side) = match in_soil {
        Some(outlet) => (SOIL_ON_TAP, format!("{}, which lies in the soil", book.title(outlet))),
        None => (NO_BACKFLOW_PREVENTER, "the garden".into()),
    };
    let mut what = format!("no backflow preventer stands between {} and {garden_side}", book.title(supply));
    if let Some(check) = first_of(garden, |spec| spec.traits.backward == Backward::Keeps, &open_to) {
        what += &format!("; {} is not an approved one", book.title(check));
    }
    book.add(cause, supply, what, "fit the device that local code asks for, right behind the tap");
}

fn look_at_booster(book: &mut Book, booster: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let unchecked = reached(garden, places[booster].from, |place, _| place != booster && !keeps_back(garden, place));
    let Some(supply) = garden.of_kind(Kind::Supply).find(|&supply| unchecked[places[supply].to]) else { return };
    let pump = book.title(booster);
    let downstream =
        reached(garden, places[booster].to, |place, way| way == Way::Down && place != booster && !keeps_back(garden, place));
    let ends = |spec: &Spec| spec.word == Kind::Valve.spec().word || spec.traits.gives_water || spec.traits.soil != Soil::Away;
    let ends_unchecked = first_of(garden, ends, &downstream).is_some();
    let check = first_of(garden, Spec::keeps_back, &downstream);
    let action = format!("put a check valve between {} and {pump}", book.title(supply));
    match check {
        Some(check) if !ends_unchecked => {
            let what = format!("{} stands behind {pump}; none stands before it", book.title(check));
            book.add(CHECK_DOWNSTREAM, booster, what, action);
        }
        _ => {
            let what = format!("no check valve stands between {} and {pump}", book.title(supply));
            book.add(NO_CHECK, booster, what, action);
        }
    }
}
