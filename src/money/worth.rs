//! What money is worth over years: present value, rate of return, payback, equivalent yearly cost.
//!
//! Shares are of one a year: 0.05 is five percent. Flows come at the end of each year, the first of them now.

use super::amount::{one_currency, rise_within};
use super::error::MoneyError;
use crate::numeric::zero;
use crate::quantity::Quantity;
use std::convert::Infallible;

/// A rate of interest a year. Errors: beyond -50 to 100 percent.
fn rate_within(rate: f64) -> Result<f64, MoneyError> {
    if (-0.5..=1.0).contains(&rate) {
        return Ok(rate);
    }
    Err(MoneyError::OutOfRange { what: "the rate a year", found: 100.0 * rate, expected: "-50 to 100 percent" })
}

fn value_of(flows: &[f64], rate: f64) -> f64 {
    flows.iter().rev().fold(0.0, |later, flow| later / (1.0 + rate) + flow)
}

/// The present value of flows, one a year, the first of them now. Errors: a rate beyond -50 to 100 percent.
pub fn present_value(flows: &[f64], rate: f64) -> Result<f64, MoneyError> {
    Ok(value_of(flows, rate_within(rate)?))
}

/// The rate at which flows are worth nothing now. Errors: flows of one sign, or a rate beyond -99 to 1000 percent.
pub fn rate_of_return(flows: &[f64]) -> Result<f64, MoneyError> {
    let at = |rate: f64| value_of(flows, rate);
    if !(flows.iter().any(|flow| *flow < 0.0) && flows.iter().any(|flow| *flow > 0.0)) {
        return Err(MoneyError::NoRate);
    }
    // The range is widened until the value changes its sign, so that of several rates the one nearest to zero is found.
    let ends = [(-0.5, 0.0), (0.0, 1.0), (1.0, 10.0), (-0.99, -0.5)];
    let (low, high) = ends.into_iter().find(|(low, high)| at(*low) * at(*high) <= 0.0).ok_or(MoneyError::NoRate)?;
    let sought = zero(low, high, 1e-12, |rate| Ok::<f64, Infallible>(at(rate)));
    sought.map(|sought| sought.x).map_err(|_| MoneyError::NoRate)
}

/// The even yearly payment that repays a price with interest over its years of life. Errors: no years, a rate beyond -50 to 100 percent.
pub fn yearly_cost(price: f64, years: f64, rate: f64) -> Result<f64, MoneyError> {
    if !(years > 0.0 && years <= 1000.0) {
        return Err(MoneyError::OutOfRange { what: "the years of life", found: years, expected: "above 0, to 1000" });
    }
    let rate = rate_within(rate)?;
    Ok(if rate == 0.0 { price / years } else { price * rate / -(-years * rate.ln_1p()).exp_m1() })
}

/// When a price has been saved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Payback {
    /// The price.
    pub price: Quantity,
    /// What it saves in the first year.
    pub saving: Quantity,
    /// The rate of interest a year.
    pub rate: f64,
    /// The years; none where it never pays.
    pub years: Option<f64>,
}

impl Payback {
    /// The interest on the price in the first year.
    pub fn interest(&self) -> Quantity {
        Quantity { si: self.price.si * self.rate, ..self.price }
    }
}

/// When savings, which rise by a share from year to year, have paid a price with interest: n with I = s (1 - q^n) / (r - g), q = (1 + g) / (1 + r).
///
/// Errors: two currencies; a rate or a rise beyond -50 to 100 percent.
pub fn payback(price: Quantity, saving: Quantity, rate: f64, rise: f64) -> Result<Payback, MoneyError> {
    one_currency(price, saving)?;
    let (rate, rise) = (rate_within(rate)?, rise_within(rise)?);
    let years = if price.si <= 0.0 {
        Some(0.0)
    } else if saving.si <= 0.0 {
        None
    } else {
        let (ratio, apart) = (price.si / saving.si, rate - rise);
        let log_q = rise.ln_1p() - rate.ln_1p();
        if apart.abs() < 1e-12 {
            Some(ratio * (1.0 + rate))
        } else {
            let left = -ratio * apart;
            (left > -1.0).then(|| left.ln_1p() / log_q)
        }
    };
    Ok(Payback { price, saving, rate, years })
}
