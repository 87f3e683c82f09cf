//! The bills of a house with and without its garden: garden water costs the difference of the two.

use super::amount::amount;
use super::tariff::Tariff;
use crate::quantity::{DAY_S, Quantity};
use std::collections::BTreeMap;

/// A mean month, s: the twelfth of 365.25 days.
pub const MONTH_S: f64 = 365.25 * DAY_S / 12.0;

/// Water of a house without its garden, m3 for each month from January to December.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct House(pub [f64; 12]);

impl House {
    /// The same in all months.
    pub fn steady(month_m3: f64) -> House {
        House([month_m3; 12])
    }

    /// Its water in a month counted from January of the year 0, m3.
    fn of(&self, month: i32) -> f64 {
        self.0[month.rem_euclid(12) as usize]
    }
}

/// One bill of a house and its garden.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bill {
    /// Its first month, by year and month.
    pub first: (i32, u32),
    /// Its last month.
    pub last: (i32, u32),
    /// Water of the house, m3.
    pub house_m3: f64,
    /// Water of the garden, m3.
    pub garden_m3: f64,
    /// What it costs with the garden.
    pub with_garden: f64,
    /// What it would cost without.
    pub alone: f64,
    /// The block that it reaches with the garden, by its place in the tariff.
    pub block: usize,
    /// The price of that block, as it is then.
    pub price: Quantity,
}

impl Bill {
    /// What the garden adds.
    pub fn added(&self) -> f64 {
        self.with_garden - self.alone
    }

    /// Its months, such as `2015-05` or `2015-05 to 2015-06`.
    pub fn months(&self) -> String {
        let name = |(year, month): (i32, u32)| format!("{year}-{month:02}");
        if self.first == self.last { name(self.first) } else { format!("{} to {}", name(self.first), name(self.last)) }
    }
}

/// The bills of a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Bills {
    /// The tariff they are by.
    pub tariff: Tariff,
    /// In the order of time.
    pub list: Vec<Bill>,
}

impl Bills {
    /// The bills that hold some months, by the water of the garden in each month by year and month. Prices rise from the year of the
    /// first of them on.
    pub fn new(tariff: &Tariff, house: &House, garden_m3: &BTreeMap<(i32, u32), f64>) -> Bills {
        let mut of_bills: BTreeMap<i32, f64> = BTreeMap::new();
        for ((year, month), volume_m3) in garden_m3 {
            *of_bills.entry(tariff.bill_of(year * 12 + *month as i32 - 1)).or_default() += volume_m3;
        }
        let named = |month: i32| (month.div_euclid(12), month.rem_euclid(12) as u32 + 1);
        let first_year = of_bills.keys().next().map_or(0, |bill| named(tariff.first_month_of(*bill)).0);
        let bill = |(bill, garden_m3): (i32, f64)| {
            let months = tariff.first_month_of(bill)..tariff.first_month_of(bill + 1);
            let house_m3 = months.clone().map(|month| house.of(month)).sum();
            let (first, last) = (named(months.start), named(months.end - 1));
            let factor = (1.0 + tariff.rise()).powi(first.0 - first_year);
            let block = tariff.block_reached(house_m3 + garden_m3);
            let price = tariff.blocks()[block].price;
            Bill {
                first,
                last,
                house_m3,
                garden_m3,
                with_garden: factor * tariff.bill_with(house_m3, garden_m3),
                alone: factor * tariff.bill(house_m3),
                block,
                price: Quantity { si: factor * price.si, ..price },
            }
        };
        Bills { tariff: tariff.clone(), list: of_bills.into_iter().map(bill).collect() }
    }

    /// What the garden adds to all of them.
    pub fn total(&self) -> Quantity {
        amount(self.list.iter().map(Bill::added).sum(), self.tariff.currency())
    }

    /// Water of the garden, m3.
    pub fn garden_m3(&self) -> f64 {
        self.list.iter().map(|bill| bill.garden_m3).sum()
    }

    /// What a steady flow adds in a mean month of a year.
    pub fn of_flow(tariff: &Tariff, house: &House, flow_m3_per_s: f64) -> Quantity {
        let months = f64::from(tariff.period().months());
        let of_month = |month: i32| {
            let bill = tariff.bill_of(month);
            let house_m3 = (tariff.first_month_of(bill)..tariff.first_month_of(bill + 1)).map(|month| house.of(month)).sum();
            tariff.added(house_m3, months * flow_m3_per_s * MONTH_S) / months
        };
        let month = (0..12).map(of_month).sum::<f64>() / 12.0;
        amount(month, tariff.currency())
    }
}
