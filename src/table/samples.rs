//! Small tables for the tests of this room; the garden is invented.

use super::{Cell, Column, Table, Values};
use crate::quantity::{Preference, Quantity, Unit, dim, find_unit};

pub fn unit(name: &str) -> &'static Unit {
    find_unit(name).expect("a unit of the test")
}

pub fn q(value: f64, name: &str) -> Cell {
    Cell::Quantity(Quantity::written(value, unit(name)))
}

pub fn psi(value: f64) -> Cell {
    q(value, "psi")
}

/// Hose lengths against diameters, as a sweep gives them; one solve failed.
pub fn sweep() -> Table {
    let pressures = [3.1e5, 2.62e5, 2.204e5, 2.9e5, 1.95e5].map(Some).into_iter().chain([None]);
    Table::new(vec![
        Column::written("feed.length", [50.0, 100.0, 150.0, 50.0, 100.0, 150.0], unit("ft")),
        Column::written("feed.diameter", [0.75, 0.75, 0.75, 0.625, 0.625, 0.625], unit("inch")),
        Column::quantities("berry.pressure", pressures, dim::PRESSURE, Preference::Usual),
        Column {
            name: "remark".into(),
            values: Values::Texts(vec![
                None,
                Some("fair".into()),
                Some("weak".into()),
                None,
                Some("weak".into()),
                Some("dry".into()),
            ]),
        },
        Column::flags("enough", [true, true, true, true, false, false]),
    ])
    .expect("a table")
}
