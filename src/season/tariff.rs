//! What the water of a garden adds to a bill: prices by blocks, month by month.
//!
//! Money is a plain number; who calls it knows the currency.

use super::error::SeasonError;

/// A block of a tariff.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Volume of a bill at which it ends, m3; none for the last.
    pub up_to_m3: Option<f64>,
    /// Price inside it, for each m3.
    pub price_per_m3: f64,
}

/// Prices of water by blocks of one bill.
#[derive(Clone, Debug, PartialEq)]
pub struct Tariff {
    blocks: Vec<Block>,
    fixed: f64,
}

impl Tariff {
    /// A tariff. Errors: no block, limits that do not rise, a last block that ends, a price below zero.
    pub fn new(blocks: Vec<Block>) -> Result<Tariff, SeasonError> {
        let wrong = |what: &str, found: f64, expected| Err(SeasonError::OutOfRange { what: what.into(), found, expected });
        let Some((last, others)) = blocks.split_last() else {
            return wrong("the number of blocks of a tariff", 0.0, "at least one block");
        };
        if let Some(end_m3) = last.up_to_m3 {
            return wrong("the end of the last block in m3", end_m3, "a last block without an end");
        }
        let mut before_m3 = 0.0;
        for block in others {
            let end_m3 = block.up_to_m3.unwrap_or(f64::NAN);
            if !(end_m3 > before_m3 && end_m3.is_finite()) {
                return wrong("the end of a block in m3", end_m3, "blocks that end one after another");
            }
            before_m3 = end_m3;
        }
        if let Some(block) = blocks.iter().find(|block| !(block.price_per_m3.is_finite() && block.price_per_m3 >= 0.0)) {
            return wrong("the price of a block for each m3", block.price_per_m3, "zero or above");
        }
        Ok(Tariff { blocks, fixed: 0.0 })
    }

    /// The same with what a bill costs without water.
    pub fn with_fixed(self, fixed: f64) -> Tariff {
        Tariff { fixed, ..self }
    }

    /// One bill.
    pub fn bill(&self, volume_m3: f64) -> f64 {
        let mut from_m3 = 0.0;
        let mut sum = self.fixed;
        for block in &self.blocks {
            let to_m3 = block.up_to_m3.unwrap_or(f64::INFINITY).min(volume_m3);
            sum += block.price_per_m3 * (to_m3 - from_m3).max(0.0);
            from_m3 = to_m3.max(from_m3);
        }
        sum
    }

    /// What a garden adds to the bill of a house: its water is paid at the dearest blocks.
    pub fn added(&self, house_m3: f64, garden_m3: f64) -> f64 {
        self.bill(house_m3 + garden_m3) - self.bill(house_m3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn tariff() -> Tariff {
        let block = |up_to_m3: Option<f64>, price_per_m3: f64| Block { up_to_m3, price_per_m3 };
        Tariff::new(vec![block(Some(10.0), 1.35), block(Some(25.0), 1.9), block(None, 3.1)]).expect("a tariff")
    }

    proptest! {
        #[test]
        fn a_bill_is_the_integral_of_the_marginal_price(house in 0.0..60.0, garden in 0.0..60.0) {
            let price = |at: f64| if at < 10.0 { 1.35 } else if at < 25.0 { 1.9 } else { 3.1 };
            let steps = 20_000;
            let sum: f64 = (0..steps).map(|step| price(house + garden * (f64::from(step) + 0.5) / f64::from(steps))).sum();
            prop_assert!((tariff().added(house, garden) - sum * garden / f64::from(steps)).abs() < 2e-3 * garden.max(1.0));
            prop_assert!(tariff().added(house + 1.0, garden) >= tariff().added(house, garden) - 1e-9);
        }
    }

    #[test]
    fn a_tariff_refuses_blocks_that_are_none() {
        let block = |up_to_m3: Option<f64>, price_per_m3: f64| Block { up_to_m3, price_per_m3 };
        for blocks in [
            vec![],
            vec![block(Some(1.0), 1.0)],
            vec![block(Some(2.0), 1.0), block(Some(1.0), 1.0), block(None, 1.0)],
            vec![block(None, 1.0), block(None, 1.0)],
            vec![block(None, -1.0)],
        ] {
            assert!(matches!(Tariff::new(blocks), Err(SeasonError::OutOfRange { .. })));
        }
    }
}
