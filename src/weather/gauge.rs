//! Rain from a bucket gauge that is emptied every few days.

use super::day::Field;
use super::error::WeatherError;
use super::read::{When, records};
use super::remark::Remark;
use crate::moment::Date;

/// Readings of a gauge: on each day the rain since the reading before.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// Day and rain since the reading before, mm; in the order of days.
    pub readings: Vec<(Date, f64)>,
    /// What a reader of the readings must know.
    pub remarks: Vec<Remark>,
}

impl Gauge {
    /// Readings from a text with a date and the rain since the last look in each line.
    ///
    /// Errors: as for weather; no column for rain.
    pub fn read(name: &str, text: &str) -> Result<Gauge, WeatherError> {
        let mut records = records(name, text)?;
        if !records.fields.contains(&Field::Rain) {
            let (line, not_read) = (records.heading_line, records.not_read);
            return Err(WeatherError::NoColumn { name: name.into(), line, missing: Field::Rain, not_read });
        }
        let mut readings: Vec<(usize, Date, f64)> = Vec::new();
        for (line, when, day) in &records.rows {
            if let (When::Day(date), Some(rain_mm)) = (when, day.get(Field::Rain)) {
                readings.push((*line, *date, rain_mm));
            }
        }
        readings.sort_by_key(|(line, date, _)| (*date, *line));
        // Two looks on one day: both counted what fell since the one before.
        let mut summed: Vec<(usize, Date, f64)> = Vec::new();
        for (line, date, rain_mm) in readings {
            match summed.last_mut() {
                Some((first, last, sum_mm)) if *last == date => {
                    records.remarks.push(Remark::DayTwice { lines: (*first, line), date, same: true });
                    *sum_mm += rain_mm;
                }
                _ => summed.push((line, date, rain_mm)),
            }
        }
        Ok(Gauge { readings: summed.into_iter().map(|(_, date, mm)| (date, mm)).collect(), remarks: records.remarks })
    }

    /// Rain of all readings, mm.
    pub fn total_mm(&self) -> f64 {
        self.readings.iter().map(|(_, mm)| mm).sum()
    }

    /// The days over which each reading collected, the first and the last, with its rain. The first reading is taken to have
    /// collected for as many days as the second one.
    pub(super) fn spans(&self) -> impl Iterator<Item = (Date, Date, f64)> {
        let usual = self.readings.windows(2).next().map_or(1, |pair| pair[1].0.since(pair[0].0));
        self.readings.iter().enumerate().map(move |(index, (date, mm))| {
            let before = if index == 0 { date.plus(-usual) } else { self.readings[index - 1].0 };
            (before.plus(1), *date, *mm)
        })
    }
}
