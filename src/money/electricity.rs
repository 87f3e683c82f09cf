//! Prices of electricity by the time of day.

use super::amount::{not_negative, one_currency};
use super::error::MoneyError;
use crate::quantity::{Currency, DAY_S, Quantity};

/// A time of day with a price of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// When it begins, s after midnight.
    pub from_s: f64,
    /// When it ends, s after midnight; at or before its begin on the next day.
    pub to_s: f64,
    /// The price of energy in it.
    pub price: Quantity,
    /// The days of the week on which it holds, from Monday; all where none are given.
    pub weekdays: Option<[bool; 7]>,
}

impl Peak {
    /// Its parts between one midnight and the next.
    fn parts(&self) -> [(f64, f64); 2] {
        if self.from_s < self.to_s { [(self.from_s, self.to_s), (0.0, 0.0)] } else { [(self.from_s, DAY_S), (0.0, self.to_s)] }
    }

    fn holds_on(&self, weekday: usize) -> bool {
        self.weekdays.is_none_or(|days| days[weekday % 7])
    }

    fn overlaps(&self, other: &Peak) -> bool {
        let shares_a_day = (0..7).any(|day| self.holds_on(day) && other.holds_on(day));
        let meet = |(a, b): (f64, f64), (c, d): (f64, f64)| a.max(c) < b.min(d);
        shares_a_day && self.parts().iter().any(|one| other.parts().iter().any(|two| meet(*one, *two)))
    }

    fn clocks(&self) -> [String; 2] {
        [self.from_s, self.to_s].map(|time_s| {
            let minutes = (time_s / 60.0).round() as u32;
            format!("{:02}:{:02}", minutes / 60, minutes % 60)
        })
    }
}

/// Prices of electricity: one at all times, and others at times of the day.
#[derive(Clone, Debug, PartialEq)]
pub struct Electricity {
    price: Quantity,
    peaks: Vec<Peak>,
}

impl Electricity {
    /// One price at all times. Errors: below zero.
    pub fn new(price: Quantity) -> Result<Electricity, MoneyError> {
        not_negative("the price of electricity", price)?;
        Ok(Electricity { price, peaks: Vec::new() })
    }

    /// The same with another price at a time of the day. Errors: below zero, another currency, an empty time, two prices at one time.
    pub fn with_peak(mut self, peak: Peak) -> Result<Electricity, MoneyError> {
        not_negative("the price of electricity", peak.price)?;
        one_currency(self.price, peak.price)?;
        let [from, to] = peak.clocks();
        if peak.from_s == peak.to_s {
            return Err(MoneyError::EmptyPeak { clock: from });
        }
        if let Some(other) = self.peaks.iter().find(|other| other.overlaps(&peak)) {
            return Err(MoneyError::PeaksOverlap { first: other.clocks().join(" to "), second: format!("{from} to {to}") });
        }
        self.peaks.push(peak);
        Ok(self)
    }

    /// The currency of its prices.
    pub fn currency(&self) -> Currency {
        self.price.dimension.currency
    }

    /// Its times of the day with a price of their own.
    pub fn peaks(&self) -> &[Peak] {
        &self.peaks
    }

    /// Its prices: the one at all other times first.
    pub fn prices(&self) -> impl Iterator<Item = Quantity> {
        std::iter::once(self.price).chain(self.peaks.iter().map(|peak| peak.price))
    }

    /// True where a price depends on the day of the week.
    pub fn needs_weekday(&self) -> bool {
        self.peaks.iter().any(|peak| peak.weekdays.is_some())
    }

    /// The seconds of a time at each of its prices, in the order of [`prices`](Self::prices). Times are after the midnight of a first day, whose day
    /// of the week is counted from Monday.
    pub fn seconds(&self, from_s: f64, to_s: f64, first_weekday: usize) -> Vec<f64> {
        let mut seconds = vec![0.0; 1 + self.peaks.len()];
        let days = (from_s / DAY_S).floor() as i64..=(to_s / DAY_S).floor() as i64;
        for day in days {
            let midnight_s = day as f64 * DAY_S;
            let weekday = (first_weekday as i64 + day).rem_euclid(7) as usize;
            for (sum, peak) in seconds[1..].iter_mut().zip(&self.peaks).filter(|(_, peak)| peak.holds_on(weekday)) {
                let part = |(a, b): (f64, f64)| ((midnight_s + b).min(to_s) - (midnight_s + a).max(from_s)).max(0.0);
                *sum += peak.parts().into_iter().map(part).sum::<f64>();
            }
        }
        seconds[0] = (to_s - from_s - seconds[1..].iter().sum::<f64>()).max(0.0);
        seconds
    }

    /// What a power costs over a time.
    pub fn cost(&self, power_w: f64, from_s: f64, to_s: f64, first_weekday: usize) -> f64 {
        let seconds = self.seconds(from_s, to_s, first_weekday);
        self.prices().zip(seconds).map(|(price, seconds)| price.si * power_w * seconds).sum()
    }
}
