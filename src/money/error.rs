//! Why a cost cannot be computed.

use crate::quantity::Quantity;
use crate::told::Told;
use thiserror::Error;

/// Why a cost cannot be computed.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum MoneyError {
    /// A tariff without blocks.
    #[error("a tariff needs at least one block")]
    NoBlocks,
    /// A block ends where the one before it does, or below.
    #[error("block {number} ends at {end}, and the one before it at {before}")]
    OutOfOrder {
        /// Its number, counted from 1.
        number: usize,
        /// Where it ends.
        end: Quantity,
        /// Where the one before it ends.
        before: Quantity,
    },
    /// The first block ends at zero or below.
    #[error("block 1 ends at {end}; expected a volume above zero")]
    EmptyBlock {
        /// Where it ends.
        end: Quantity,
    },
    /// The last block ends.
    #[error("the last block ends at {end}; expected a last block without an end")]
    LastBlockEnds {
        /// Where it ends.
        end: Quantity,
    },
    /// A block without an end that is not the last.
    #[error("block {number} has no end, and {later} follow{}", if *.later == 1 { "s" } else { "" })]
    NoEnd {
        /// Its number, counted from 1.
        number: usize,
        /// How many blocks follow.
        later: usize,
    },
    /// A price or charge below zero.
    #[error("{what} is {found}; expected zero or above")]
    Negative {
        /// What it is, in words.
        what: &'static str,
        /// What was given.
        found: Quantity,
    },
    /// Amounts or prices of two currencies.
    #[error("{first} and {other} are of two currencies")]
    TwoCurrencies {
        /// The first of them.
        first: Quantity,
        /// Another.
        other: Quantity,
    },
    /// A number that does not fit.
    #[error("{what} is {found}; expected {expected}")]
    OutOfRange {
        /// What it is, in words.
        what: &'static str,
        /// What was given.
        found: f64,
        /// What is accepted.
        expected: &'static str,
    },
    /// Two prices for one time of day.
    #[error("the times from {first} and from {second} overlap")]
    PeaksOverlap {
        /// Begin and end of the first, as on a clock.
        first: String,
        /// Begin and end of the second.
        second: String,
    },
    /// A time of a price that is empty.
    #[error("a price from {clock} to {clock} holds at no time")]
    EmptyPeak {
        /// Begin and end, as on a clock.
        clock: String,
    },
    /// Days of the week matter, and the date of the first day is not given.
    #[error("prices depend on the day of the week, and the run has no date")]
    NoDate,
    /// No rate makes the present value zero.
    #[error("the rate of return needs flows below and above zero")]
    NoRate,
    /// Water was asked for of a bed whose ground is not given.
    #[error("bed '{bed}' has no area, so its water is no volume")]
    NoGround {
        /// Name of the bed.
        bed: String,
    },
}

impl Told for MoneyError {
    fn about(&self) -> Option<String> {
        let of_blocks = matches!(
            self,
            MoneyError::NoBlocks
                | MoneyError::OutOfOrder { .. }
                | MoneyError::EmptyBlock { .. }
                | MoneyError::LastBlockEnds { .. }
                | MoneyError::NoEnd { .. }
        );
        of_blocks.then(|| "blocks".into())
    }

    fn hint(&self) -> Option<String> {
        let hint = match self {
            MoneyError::NoBlocks | MoneyError::EmptyBlock { .. } => {
                "write blocks as in tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]])"
            }
            MoneyError::OutOfOrder { .. } => "each block ends above the one before it, counted from zero",
            MoneyError::LastBlockEnds { .. } => "write () in place of its end: [(), price]",
            MoneyError::NoEnd { .. } => "only the last block has no end",
            MoneyError::TwoCurrencies { .. } => {
                "convert one of them with a rate, as in rate(1.EUR, 1.08.USD).convert(50.EUR, \"USD\")"
            }
            MoneyError::PeaksOverlap { .. } => "give each time of day one price",
            MoneyError::NoDate => "give the schedule its first day with .starts_on(date(\"2026-07-01\"))",
            MoneyError::NoGround { .. } => "give .area(240.ft2) or .watered_by(coverage of its zone)",
            MoneyError::Negative { .. } | MoneyError::OutOfRange { .. } | MoneyError::EmptyPeak { .. } | MoneyError::NoRate => {
                return None;
            }
        };
        Some(hint.into())
    }
}
