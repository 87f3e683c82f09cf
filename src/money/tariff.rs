//! Prices of water by blocks of one bill, with what a bill costs without water and what sewage adds.

use super::amount::{not_negative, one_currency, rise_within};
use super::error::MoneyError;
use crate::quantity::{Currency, Quantity};

/// A block of a tariff.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Volume of a bill at which it ends; none for the last.
    pub up_to: Option<Quantity>,
    /// Price inside it.
    pub price: Quantity,
}

/// What sewage adds: a price on all water of the house and on a share of that of the garden.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sewage {
    /// Its price.
    pub price: Quantity,
    /// The share of garden water that is billed as sewage: 0 with a deduct meter, 1 without.
    pub garden_share: f64,
}

/// How long one bill is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BillingPeriod {
    /// A month.
    #[default]
    Month,
    /// Two months.
    TwoMonths,
    /// Three months.
    Quarter,
}

impl BillingPeriod {
    /// All of them by their names.
    pub const ALL: [(&'static str, BillingPeriod); 3] =
        [("month", BillingPeriod::Month), ("two months", BillingPeriod::TwoMonths), ("quarter", BillingPeriod::Quarter)];

    /// How many months it has.
    pub fn months(self) -> u32 {
        match self {
            BillingPeriod::Month => 1,
            BillingPeriod::TwoMonths => 2,
            BillingPeriod::Quarter => 3,
        }
    }

    /// Its name.
    pub fn word(self) -> &'static str {
        BillingPeriod::ALL.iter().find(|(_, period)| *period == self).map_or("month", |(name, _)| name)
    }
}

/// Prices of water by blocks of one bill.
#[derive(Clone, Debug, PartialEq)]
pub struct Tariff {
    blocks: Vec<Block>,
    /// What a bill costs without water.
    fixed: f64,
    sewage: Option<Sewage>,
    period: BillingPeriod,
    /// The month in which a bill begins, 1 to 12.
    first_month: u32,
    /// By which share all prices rise from one year to the next.
    rise: f64,
}

impl Tariff {
    /// A tariff with monthly bills. Errors: no block, limits that do not rise, a last block that ends, a price below zero, two currencies.
    pub fn new(blocks: Vec<Block>) -> Result<Tariff, MoneyError> {
        let Some((last, others)) = blocks.split_last() else { return Err(MoneyError::NoBlocks) };
        let mut before: Option<Quantity> = None;
        for (index, block) in others.iter().enumerate() {
            let Some(end) = block.up_to else {
                return Err(MoneyError::NoEnd { number: index + 1, later: others.len() - index });
            };
            match before {
                None if end.si.is_nan() || end.si <= 0.0 => return Err(MoneyError::EmptyBlock { end }),
                Some(before) if end.si.is_nan() || end.si <= before.si => {
                    return Err(MoneyError::OutOfOrder { number: index + 1, end, before });
                }
                _ => before = Some(end),
            }
        }
        if let Some(end) = last.up_to {
            return Err(MoneyError::LastBlockEnds { end });
        }
        for block in &blocks {
            not_negative("the price of a block", block.price)?;
            one_currency(blocks[0].price, block.price)?;
        }
        Ok(Tariff { blocks, fixed: 0.0, sewage: None, period: BillingPeriod::Month, first_month: 1, rise: 0.0 })
    }

    /// The same with what each bill costs without water. Errors: below zero, another currency.
    pub fn with_fixed(self, charge: Quantity) -> Result<Tariff, MoneyError> {
        not_negative("the fixed charge", charge)?;
        one_currency(self.blocks[0].price, charge)?;
        Ok(Tariff { fixed: charge.si, ..self })
    }

    /// The same with sewage. Errors: a price below zero, another currency, a share beyond 0 to 1.
    pub fn with_sewage(self, sewage: Sewage) -> Result<Tariff, MoneyError> {
        not_negative("the price of sewage", sewage.price)?;
        one_currency(self.blocks[0].price, sewage.price)?;
        if !(0.0..=1.0).contains(&sewage.garden_share) {
            let found = 100.0 * sewage.garden_share;
            return Err(MoneyError::OutOfRange {
                what: "the share of garden water billed as sewage",
                found,
                expected: "0 to 100 percent",
            });
        }
        Ok(Tariff { sewage: Some(sewage), ..self })
    }

    /// The same with bills of another length, of which one begins in a month from 1 to 12. Errors: another month.
    pub fn billed(self, period: BillingPeriod, first_month: u32) -> Result<Tariff, MoneyError> {
        if !(1..=12).contains(&first_month) {
            let found = f64::from(first_month);
            return Err(MoneyError::OutOfRange { what: "the month in which a bill begins", found, expected: "1 to 12" });
        }
        Ok(Tariff { period, first_month, ..self })
    }

    /// The same with prices that rise by a share from year to year. Errors: beyond -50 to 100 percent.
    pub fn rising(self, share: f64) -> Result<Tariff, MoneyError> {
        Ok(Tariff { rise: rise_within(share)?, ..self })
    }

    /// Its blocks.
    pub fn blocks(&self) -> &[Block] {
        &self.blocks
    }

    /// How long one bill is.
    pub fn period(&self) -> BillingPeriod {
        self.period
    }

    /// The currency of its prices.
    pub fn currency(&self) -> Currency {
        self.blocks[0].price.dimension.currency
    }

    /// What a bill costs without water.
    pub fn fixed(&self) -> f64 {
        self.fixed
    }

    /// By which share all prices rise from one year to the next.
    pub fn rise(&self) -> f64 {
        self.rise
    }

    /// What sewage adds.
    pub fn sewage(&self) -> Option<Sewage> {
        self.sewage
    }

    /// The number of whole bills before that of a month, counted from the year 0.
    pub(super) fn bill_of(&self, month: i32) -> i32 {
        (month - (self.first_month as i32 - 1)).div_euclid(self.period.months() as i32)
    }

    /// The first month of a bill, counted from the year 0.
    pub(super) fn first_month_of(&self, bill: i32) -> i32 {
        bill * self.period.months() as i32 + self.first_month as i32 - 1
    }

    /// One bill of a house without a garden, in the first year.
    pub fn bill(&self, volume_m3: f64) -> f64 {
        self.bill_with(volume_m3, 0.0)
    }

    /// One bill of a house and its garden, in the first year.
    pub fn bill_with(&self, house_m3: f64, garden_m3: f64) -> f64 {
        let volume_m3 = house_m3 + garden_m3;
        let mut from_m3 = 0.0;
        let mut sum = self.fixed;
        for block in &self.blocks {
            let to_m3 = block.up_to.map_or(f64::INFINITY, |end| end.si).min(volume_m3);
            sum += block.price.si * (to_m3 - from_m3).max(0.0);
            from_m3 = to_m3.max(from_m3);
        }
        let sewage = self.sewage.map_or(0.0, |sewage| sewage.price.si * (house_m3 + sewage.garden_share * garden_m3));
        sum + sewage
    }

    /// What a garden adds to one bill of a house: its water is paid at the dearest blocks.
    pub fn added(&self, house_m3: f64, garden_m3: f64) -> f64 {
        self.bill_with(house_m3, garden_m3) - self.bill(house_m3)
    }

    /// The block that a bill of this volume reaches, by its place.
    pub fn block_reached(&self, volume_m3: f64) -> usize {
        let ended = |block: &&Block| block.up_to.is_some_and(|end| end.si < volume_m3);
        self.blocks.iter().take_while(ended).count()
    }
}
