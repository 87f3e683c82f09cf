//! What keeps garden water out of the drinking water, and the pump from pushing into the house: layout alone, no numbers.

use super::catalog::source as say;
use super::finding::Book;
use crate::garden::walk::{Way, first_of, keeps_back, reached};
use crate::parts::{Backward, Soil, Spec};

pub(super) fn look(book: &mut Book) {
    let garden = book.garden;
    garden.supplies().for_each(|supply| look_at_tap(book, supply));
    garden.boosters().for_each(|booster| look_at_booster(book, booster));
}

fn look_at_tap(book: &mut Book, supply: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let protects = |place: usize| garden.spec(place).traits.backward == Backward::Protects;
    let open_to = reached(garden, places[supply].to, |place, _| !protects(place));
    if let Some(tank) = garden.of_spec(Spec::is_tank).find(|&tank| open_to[places[tank].to]) {
        book.add(book.about(&say::CROSS_CONNECTION, tank).with("tap", book.title(supply)));
    }
    let in_soil = first_of(garden, |spec| spec.traits.soil == Soil::In, &open_to);
    if in_soil.or(first_of(garden, |spec| spec.traits.soil != Soil::Away || spec.traits.pushes_back, &open_to)).is_none() {
        return;
    }
    let finding = match in_soil {
        Some(outlet) => book.about(&say::SOIL_ON_TAP, supply).with("outlet", book.title(outlet)),
        None => book.about(&say::NO_BACKFLOW_PREVENTER, supply),
    };
    let check = first_of(garden, |spec| spec.traits.backward == Backward::Keeps, &open_to);
    book.add(finding.with_some("check", check.map(|check| book.title(check))));
}

fn look_at_booster(book: &mut Book, booster: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let unchecked = reached(garden, places[booster].from, |place, _| place != booster && !keeps_back(garden, place));
    let Some(supply) = garden.supplies().find(|&supply| unchecked[places[supply].to]) else { return };
    let downstream =
        reached(garden, places[booster].to, |place, way| way == Way::Down && place != booster && !keeps_back(garden, place));
    let ends = |spec: &Spec| spec.traits.opens || spec.traits.gives_water || spec.traits.soil != Soil::Away;
    let ends_unchecked = first_of(garden, ends, &downstream).is_some();
    let check = first_of(garden, Spec::keeps_back, &downstream);
    let finding = match check {
        Some(check) if !ends_unchecked => book.about(&say::CHECK_DOWNSTREAM, booster).with("check", book.title(check)),
        _ => book.about(&say::NO_CHECK, booster),
    };
    book.add(finding.with("tap", book.title(supply)));
}
