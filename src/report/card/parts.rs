//! The parts list: what is bought, like parts together, with prices and sums.

use super::super::ReportError;
use super::lines::{both, heads, names, sheet, text};
use crate::figure::{Sheet, SheetBlock, SheetTable};
use crate::garden::Garden;
use crate::money::amount;
use crate::parts::{Id, Part};
use crate::quantity::Quantity;

/// Like parts of a garden.
struct Row<'a> {
    part: &'a Part,
    size: String,
    rating: Option<Quantity>,
    price: Option<Quantity>,
    names: Vec<&'a str>,
}

/// The sizes by which a part is bought: those that a drawing shows.
fn size(part: &Part, garden: &Garden) -> String {
    let shown = part.spec().headline.iter().filter_map(|&id| part.shown(id, garden.units()));
    shown.map(|value| both(value, garden)).collect::<Vec<_>>().join(", ")
}

/// The card of the parts. Errors: nothing in the garden is bought.
pub fn parts_card(garden: &Garden) -> Result<Sheet, ReportError> {
    let mut rows: Vec<Row> = Vec::new();
    for (place, part) in garden.parts().iter().enumerate() {
        // What has no price by its kind is not bought: heights, leaks, taps of the house, named points.
        if !part.spec().has(Id::Price) {
            continue;
        }
        let (size, price) = (size(part, garden), part.quantity(Id::Price));
        let rating = part.shown(Id::PressureRating, garden.units());
        let alike =
            |row: &&mut Row| row.part.kind() == part.kind() && row.size == size && (row.rating, row.price) == (rating, price);
        match rows.iter_mut().find(alike) {
            Some(row) => row.names.push(garden.name(place)),
            None => rows.push(Row { part, size, rating, price, names: vec![garden.name(place)] }),
        }
    }
    if rows.is_empty() {
        return Err(ReportError::EmptyCard { card: "parts", missing: "part that is bought" });
    }
    let show = |price: Option<Quantity>, times: f64| {
        price.map_or("-".to_string(), |price| Quantity { si: price.si * times, ..price }.show(garden.units()))
    };
    let cells = |row: &Row| {
        let count = row.names.len();
        vec![
            text(count.to_string()),
            text(row.part.spec().word.replace('_', " ")),
            text(&*row.size),
            text(row.rating.map_or(String::new(), |rating| both(rating, garden))),
            text(names(&row.names).replace('\'', "")),
            text(show(row.price, 1.0)),
            text(show(row.price, count as f64)),
        ]
    };
    let mut lines: Vec<_> = rows.iter().map(cells).collect();
    let mut totals: Vec<Quantity> = Vec::new();
    for row in &rows {
        let Some(price) = row.price else { continue };
        let cost = price.si * row.names.len() as f64;
        match totals.iter_mut().find(|total| total.dimension == price.dimension) {
            Some(total) => total.si += cost,
            None => totals.push(amount(cost, price.dimension.currency)),
        }
    }
    for total in &totals {
        let empty = || text("");
        lines.push(vec![empty(), text("Total"), empty(), empty(), empty(), empty(), text(total.show(garden.units()))]);
    }
    let unpriced = rows.iter().filter(|row| row.price.is_none()).map(|row| row.names.len()).sum::<usize>();
    let count: usize = rows.iter().map(|row| row.names.len()).sum();
    let table = SheetTable {
        heads: heads(&["Count", "Part", "Size", "Rating", "Names in the plan", "Each", "Cost"]),
        right: vec![0, 5, 6],
        rows: lines,
        sums: totals.len(),
    };
    let mut blocks = vec![SheetBlock::Table(table)];
    if unpriced > 0 {
        blocks.push(SheetBlock::Text(format!("{unpriced} of {count} parts have no price and are not in the total.")));
    }
    blocks.push(SheetBlock::Text(
        "Couplings, clamps, washers and thread tape are not listed unless they are parts of the plan.".into(),
    ));
    Ok(sheet(garden, "Parts list", format!("{count} parts"), blocks))
}
