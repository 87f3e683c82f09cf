//! Sobol indices as a table.

use crate::study::SobolIndex;
use crate::table::{Column, Order, Table, TableError};

/// One row a parameter, the largest index first.
pub fn table(found: &[SobolIndex]) -> Result<Table, TableError> {
    let column = |name: &str, of: fn(&SobolIndex) -> f64| Column::numbers(name, found.iter().map(of));
    let table = Table::new(vec![
        Column::texts("parameter", found.iter().map(|index| index.name.clone())),
        column("first_order", |index| index.first_order),
        column("first_order_error", |index| index.first_order_error),
        column("total", |index| index.total),
        column("total_error", |index| index.total_error),
    ])?;
    table.sort_by("total", Order::Falling)
}
