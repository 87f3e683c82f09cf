//! Between waterings: hoses and valves that stay under pressure, hoses in the sun, a house that is closed. All valves are closed.

use super::catalog::{hose as say, source};
use super::finding::{Book, like, pressure};
use super::limits::{HOSE_AT_EASE_PA, HOSE_LEFT, HOSE_RATING, SUN_RISE_K, TIMER_RATING};
use super::phrase::{Limit, Value};
use super::rest::AtRest;
use crate::garden::walk::{Way, first_of, reached, reached_from};
use crate::parts::{Id, Part, Placing, Spec};
use crate::water::Water;
use crate::water_hammer::{DEFAULT_HOSE_WALL, compliance_of_wall};

pub(super) fn look(book: &mut Book, rest: &AtRest) {
    look_at_hoses(book, rest);
    look_at_timers(book, rest);
}

/// Hoses that a source reaches while all valves are closed, with a valve downstream and nothing that lets the water out.
fn look_at_hoses(book: &mut Book, rest: &AtRest) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let is_valve = |place: usize| garden.spec(place).traits.opens;
    let sources = garden.of_spec(|spec| spec.placing == Placing::Source).map(|source| places[source].to);
    let fed = reached_from(garden, sources, |place, _| !is_valve(place));
    // An outlet that is always open empties the line as soon as the tap is closed.
    if first_of(garden, |spec| spec.traits.waters, &fed).is_some() {
        return;
    }
    for hose in garden.of_spec(|spec| spec.is_line() && spec.traits.flexible).filter(|&hose| fed[places[hose].from]) {
        let downstream = reached(garden, places[hose].to, |place, way| way == Way::Down && !is_valve(place));
        let Some(pressure_pa) = rest.stopped.highest(garden, hose).filter(|&pressure_pa| pressure_pa > HOSE_AT_EASE_PA) else {
            continue;
        };
        if first_of(garden, |spec| spec.traits.opens, &downstream).is_none() {
            continue;
        }
        let rating = garden.parts()[hose].quantity(Id::PressureRating);
        let share = rating.map(|rating| pressure_pa / rating.si);
        // Beyond that its rating itself is reported.
        if share.is_some_and(|share| share > HOSE_RATING.of(garden)) {
            continue;
        }
        let entry = match share {
            Some(share) if share > HOSE_LEFT.of(garden) => &say::HOSE_LEFT_NEAR_RATING,
            _ => &say::HOSE_LEFT,
        };
        let shown = rating.map_or(pressure(pressure_pa), |rating| like(pressure_pa, rating));
        book.add(book.about(entry, hose).with("pressure", shown).with_some("percent", share.map(Value::percent)));
        look_at_sun(book, hose, pressure_pa);
    }
}

/// The rise of pressure in a hose from which nothing takes the water that expands, where it is given how far the wall gives, or
/// where it brings the hose near its rating.
fn look_at_sun(book: &mut Book, hose: usize, pressure_pa: f64) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let closed = |place: usize| garden.spec(place).traits.opens || garden.spec(place).is_one_way();
    let trapped = reached(garden, places[hose].from, |place, _| !closed(place));
    let takes = |spec: &Spec| spec.has_cushion() || spec.placing == Placing::Outlet;
    let is_open = garden.of_spec(|spec| spec.placing == Placing::Source).any(|source| trapped[places[source].to]);
    if is_open || first_of(garden, takes, &trapped).is_some() {
        return;
    }
    let part = &garden.parts()[hose];
    let Some(rise_pa) = sun_rise_pa(garden.water(), part) else { return };
    let rating = part.quantity(Id::PressureRating);
    let matters = match rating {
        Some(rating) => pressure_pa + rise_pa > HOSE_RATING.of(garden) * rating.si,
        None => part.si(Id::Compliance).is_some(),
    };
    if matters {
        let shown = |si: f64| rating.map_or(pressure(si), |rating| like(si, rating));
        book.add(book.about(&say::HOT_HOSE, hose).with("rise", shown(rise_pa)).with("pressure", shown(pressure_pa + rise_pa)));
    }
}

/// Rise of pressure of water that is trapped in a hose and warms by [`SUN_RISE_K`]: its expansion over what wall and water give,
/// (rho / rho warm - 1) / (compliance / area + 1 / bulk modulus). Nothing where the water would be warmer than is known.
fn sun_rise_pa(water: &Water, hose: &Part) -> Option<f64> {
    let diameter_m = hose.si(Id::Diameter)?;
    let warm = Water::at(water.temperature_k + SUN_RISE_K).ok()?;
    let area_m2 = std::f64::consts::PI * diameter_m * diameter_m / 4.0;
    let compliance = hose.si(Id::Compliance).unwrap_or_else(|| compliance_of_wall(diameter_m, DEFAULT_HOSE_WALL));
    let expansion = water.density_kg_per_m3 / warm.density_kg_per_m3 - 1.0;
    Some(expansion.max(0.0) / (compliance / area_m2 + 1.0 / water.bulk_modulus_pa()))
}

/// Valves and timers whose highest pressure is not given.
fn look_at_timers(book: &mut Book, rest: &AtRest) {
    let garden = book.garden;
    let usual_pa = TIMER_RATING.of(garden);
    for valve in garden.valves() {
        let part = &garden.parts()[valve];
        if [Id::RangeHigh, Id::PressureRating].iter().any(|&id| part.si(id).is_some()) {
            continue;
        }
        let near_pa = HOSE_RATING.of(garden) * usual_pa;
        let Some(pressure_pa) = rest.stopped.highest(garden, valve).filter(|&pressure_pa| pressure_pa > near_pa) else {
            continue;
        };
        let entry = if pressure_pa > usual_pa { &say::TIMER_OVER_RATING } else { &say::TIMER_RATING };
        let rating = Limit::of_practice(pressure(usual_pa), "psi");
        book.add(book.about(entry, valve).with("pressure", pressure(pressure_pa)).with("rating", rating));
    }
}

/// A house that a one-way part closes, with nothing that takes up the expansion of heated water.
pub(super) fn look_at_house(book: &mut Book) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let one_way = |place: usize| garden.spec(place).is_one_way();
    let of_garden = |place: usize| garden.spec(place).traits.opens || garden.spec(place).traits.flexible;
    let mains = || garden.supplies().map(|supply| places[supply].to);
    let house = reached_from(garden, mains(), |place, way| way == Way::Down && !of_garden(place));
    for demand in garden.of_spec(|spec| spec.traits.demands).filter(|&demand| house[places[demand].from]) {
        let closed = reached(garden, places[demand].from, |place, _| !one_way(place));
        let open = mains().any(|main| closed[main]) || garden.of_spec(Spec::is_tank).any(|tank| closed[places[tank].to]);
        if open || first_of(garden, Spec::has_cushion, &closed).is_some() {
            continue;
        }
        let closes = (0..places.len()).find(|&place| {
            garden.spec(place).placing == Placing::Inline && one_way(place) && house[places[place].to] && closed[places[place].to]
        });
        if let Some(part) = closes {
            book.add(book.about(&source::THERMAL_EXPANSION, part).with("demand", book.title(demand)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::Kind;
    use crate::quantity::{INCH_M, PSI_PA};

    #[test]
    fn water_that_warms_by_40_degf_in_a_usual_garden_hose_rises_by_some_15_psi() {
        // 0.58 % of expansion from 15 to 37.2 degC over 5.3e-8 / Pa of a 3 mm wall of 100 MPa and 4.7e-10 / Pa of water.
        let hose = Part::build(
            Kind::Hose,
            None,
            &[(Id::Diameter, crate::quantity::Quantity::new(0.625 * INCH_M, crate::quantity::dim::LENGTH))],
        );
        let rise_pa = sun_rise_pa(&Water::default(), &hose.expect("a hose")).expect("a rise");
        assert!((14.0..18.0).contains(&(rise_pa / PSI_PA)), "{} psi", rise_pa / PSI_PA);
    }
}
