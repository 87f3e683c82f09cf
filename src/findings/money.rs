//! Bills and paybacks.

use super::catalog::money as say;
use super::finding::Finding;
use super::phrase::Value;
use crate::money::{Bills, Payback};
use crate::quantity::Quantity;

/// What is to be said of the bills of a garden.
pub fn of_bills(bills: &Bills) -> Vec<Finding> {
    let blocks = bills.tariff.blocks();
    // The end of the last block but one; a tariff of one price has none.
    let Some(end) = blocks.len().checked_sub(2).and_then(|before| blocks[before].up_to) else { return Vec::new() };
    let highest = |price: f64| blocks.iter().all(|block| block.price.si <= price);
    let last = blocks.len() - 1;
    let reached: Vec<_> = bills.list.iter().filter(|bill| bill.block == last && bill.garden_m3 > 0.0).collect();
    if reached.is_empty() || !highest(blocks[last].price.si) {
        return Vec::new();
    }
    let beyond_m3: f64 = reached.iter().map(|bill| bill.garden_m3.min(bill.house_m3 + bill.garden_m3 - end.si)).sum();
    let finding = Finding::of_whole(&say::DEAREST_BLOCK)
        .with("bills", Value::Count { number: reached.len(), word: "bill" })
        .with("all", bills.list.len().to_string())
        .with("price", blocks[last].price)
        .with("end", end);
    vec![finding.with("volume", Quantity { si: beyond_m3, ..end })]
}

/// What is to be said of a purchase that saves.
pub fn of_payback(payback: &Payback) -> Vec<Finding> {
    if payback.years.is_some() {
        return Vec::new();
    }
    let about = |entry| Finding::of_whole(entry).with("price", payback.price).with("saving", payback.saving);
    vec![if payback.saving.si > 0.0 {
        about(&say::INTEREST).with("interest", payback.interest())
    } else {
        about(&say::NEVER_PAYS_BACK)
    }]
}
