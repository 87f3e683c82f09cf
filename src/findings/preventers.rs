//! Backflow preventers by type: what each stands, and where it may be installed. Layout alone, no flow.

use super::catalog::source as say;
use super::finding::Book;
use super::limits::HOSE_BREAKER_HEIGHT;
use crate::garden::Garden;
use crate::garden::walk::{Way, first_of, reached, rises};
use crate::parts::{Guard, Spec};
use crate::quantity::{Preference, Quantity, dim};

pub(super) fn look(book: &mut Book) {
    let garden = book.garden;
    for device in garden.of_spec(|spec| spec.traits.guard.is_some()) {
        let Some(guard) = garden.spec(device).traits.guard else { continue };
        let downstream = reached(garden, garden.layout().places[device].to, |_, way| way == Way::Down);
        if !guard.backpressure {
            let raises = |spec: &Spec| spec.traits.pumps || spec.traits.pushes_back;
            if let Some(pump) = first_of(garden, raises, &downstream) {
                book.add(book.about(&say::BACKPRESSURE, device).with("pump", book.title(pump)));
            }
        }
        if !guard.continuous_pressure
            && let Some(valve) = first_of(garden, |spec| spec.traits.opens, &downstream)
        {
            book.add(book.about(&say::CONTINUOUS_PRESSURE, device).with("valve", book.title(valve)));
        }
        look_at_height(book, device, &guard);
        look_at_low_head(book, device, &guard);
    }
}

/// A device that has to stand above all outlets downstream of it.
fn look_at_height(book: &mut Book, device: usize, guard: &Guard) {
    let Some(needed_m) = guard.above_outlets_m else { return };
    let Some((above_m, highest)) = highest_outlet(book.garden, device) else { return };
    let clear_m = -above_m;
    if clear_m < needed_m - TOUCHING_M {
        let (entry, by_m) = if clear_m < 0.0 { (&say::BREAKER_BELOW, -clear_m) } else { (&say::BREAKER_HEIGHT, clear_m) };
        let finding = book.about(entry, device).with("outlet", book.title(highest));
        book.add(finding.with("by", small(by_m)).with("needed", small(needed_m)));
    }
}

/// A device that may stand below outlets, and stands only little backpressure from them.
fn look_at_low_head(book: &mut Book, device: usize, guard: &Guard) {
    if guard.backpressure || guard.above_outlets_m.is_some() {
        return;
    }
    let most_m = HOSE_BREAKER_HEIGHT.of(book.garden);
    let Some((above_m, highest)) = highest_outlet(book.garden, device) else { return };
    if above_m > most_m + TOUCHING_M {
        let finding = book.about(&say::BACKPRESSURE_OF_HEIGHT, device).with("outlet", book.title(highest));
        let by = Quantity::new(above_m, dim::LENGTH);
        book.add(finding.with("by", by).with("most", HOSE_BREAKER_HEIGHT.limit(book.garden)));
    }
}

/// The highest outlet downstream of a device, with how far it is above it, m.
fn highest_outlet(garden: &Garden, device: usize) -> Option<(f64, usize)> {
    let places = &garden.layout().places;
    let heights_m = rises(garden, places[device].to, |place, way| (way == Way::Down).then(|| garden.parts()[place].rise_m()));
    let outlets = garden.of_spec(|spec| spec.traits.gives_water);
    let downstream = outlets.filter_map(|outlet| Some((heights_m[places[outlet].from]?, outlet)));
    downstream.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
}

/// A height that was added up may miss the one that is asked for by rounding.
const TOUCHING_M: f64 = 1e-9;

/// A length as the trade gives heights of breakers.
fn small(length_m: f64) -> Quantity {
    let preference = Preference::written_in("in");
    Quantity { si: length_m, dimension: dim::LENGTH, preference }
}
