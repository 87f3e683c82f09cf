//! Shares of a spread as a table.

use crate::study::Share;
use crate::table::{Column, Order, Table, TableError};

/// One row a number, the largest share first.
pub fn table(found: &[Share]) -> Result<Table, TableError> {
    let column = |name: &str, of: fn(&Share) -> f64| Column::numbers(name, found.iter().map(of));
    let table = Table::new(vec![
        Column::texts("parameter", found.iter().map(|share| share.name.clone())),
        column("first_order", |share| share.alone),
        column("alone_error", |share| share.alone_error),
        column("total", |share| share.total),
        column("total_error", |share| share.total_error),
    ])?;
    table.sort_by("total", Order::Falling)
}
