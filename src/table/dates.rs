//! What a column of dates says: years, months, weekdays, times of the day; and rows gathered by weeks or months.

use super::{Cell, Column, ColumnKind, Order, Table, TableColumn, TableError, Values, Wanted};
use crate::clock;
use crate::moment::{DAY_MS, Moment, Period};
use crate::quantity::{Preference, Quantity, dim};

/// A part of a date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DatePart {
    /// The year.
    Year,
    /// The month, from 1.
    Month,
    /// The day of the month, from 1.
    Day,
    /// The day of the year, from 1.
    DayOfYear,
    /// The day of the week, such as `Mon`.
    Weekday,
    /// The time of the day.
    Clock,
}

impl DatePart {
    /// That part of a date.
    pub fn of(self, date: Moment) -> Cell {
        let number = |value: u32| Cell::number(f64::from(value));
        match self {
            DatePart::Year => Cell::number(f64::from(date.date().year())),
            DatePart::Month => number(date.date().month()),
            DatePart::Day => number(date.date().day()),
            DatePart::DayOfYear => number(date.date().day_of_year()),
            DatePart::Weekday => Cell::from(date.date().weekday()),
            DatePart::Clock => {
                let preference = Preference::Clock;
                Cell::Quantity(Quantity { si: date.clock_s(), dimension: dim::TIME, preference })
            }
        }
    }
}

impl TableColumn {
    /// That part of each date; the time of the day also of each time since a midnight and of texts such as `5:30 AM`. Errors: no dates, a text
    /// that is no time of day.
    pub fn date_part(&self, part: DatePart) -> Result<TableColumn, TableError> {
        match (part, self.kind()) {
            (DatePart::Clock, ColumnKind::Quantity { dimension: dim::TIME, .. }) => return self.of_day(),
            (DatePart::Clock, ColumnKind::Text) => return self.clocks_in_texts(),
            _ => {}
        }
        self.dates(super::error::DATE_PART)?;
        let cells = self.cells().map(|cell| if let Cell::Date(date) = cell { part.of(date) } else { Cell::Missing });
        TableColumn::of_cells(self.name(), cells)
    }

    /// Texts read as times of the day. Errors: a text that is none.
    fn clocks_in_texts(&self) -> Result<TableColumn, TableError> {
        let mut seconds = Vec::with_capacity(self.len());
        for (row, text) in self.values().str()?.iter().enumerate() {
            let time = text.map(|text| clock::read_ns(text).map(clock::seconds_of).ok_or(text)).transpose();
            seconds.push(time.map_err(|text| TableError::NoClock { row, text: text.to_string() })?);
        }
        let values = Values::Quantities { si: seconds, dimension: dim::TIME, preference: Preference::Clock };
        TableColumn::of_column(&Column { name: self.name().to_string(), values })
    }

    /// The time of the day of each time since a midnight.
    fn of_day(&self) -> Result<TableColumn, TableError> {
        let day_s = DAY_MS as f64 / 1000.0;
        let ColumnKind::Quantity { dimension, .. } = self.kind() else { return Ok(self.clone()) };
        let of_day = |time: f64| time.rem_euclid(day_s);
        self.each_number(of_day, ColumnKind::Quantity { dimension, preference: Preference::Clock })
    }

    /// The beginning of the period of each date. Errors: no dates.
    pub fn start_of(&self, period: Period) -> Result<TableColumn, TableError> {
        self.dates("beginning of a period")?;
        let ms = self.cells().map(|cell| if let Cell::Date(date) = cell { Some(date.start_of(period).ms()) } else { None });
        let values = Values::Dates { ms: ms.collect(), clock: period == Period::Hour };
        TableColumn::of_column(&Column { name: self.name().to_string(), values })
    }

    /// Errors: no dates.
    fn dates(&self, what: &str) -> Result<(), TableError> {
        let is_empty = self.cells().all(|cell| cell.is_missing());
        if matches!(self.kind(), ColumnKind::Date { .. }) || is_empty {
            return Ok(());
        }
        Err(TableError::NoAggregate { aggregate: what.into(), found: self.described() })
    }
}

impl Table {
    /// A row for each hour, day, week, month or year of a column of dates in which there is a row, in the order of time: its beginning,
    /// with aggregates of its rows. Errors: no dates, and those of [`Table::aggregated`].
    pub fn resampled(&self, dates: &str, period: Period, wanted: &[Wanted]) -> Result<Table, TableError> {
        let starts = self.series(dates)?.start_of(period)?;
        let known = self.drop_missing(&[dates])?.with_series(dates, &starts.drop_missing())?;
        known.aggregated(&[dates], wanted)?.sort_by(dates, Order::Rising)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moment::DateOrder;
    use crate::table::samples::unit;
    use crate::table::{Aggregate, Arithmetic, Comparison, Operand};

    fn log() -> Table {
        let texts = ["2026-07-01 05:30", "2026-07-05 23:45", "2026-07-06 00:00", "2026-06-30"];
        let cells = texts.map(|text| Cell::Date(Moment::read(text, DateOrder::YearMonthDay).expect("a date"))).into_iter();
        let dates = TableColumn::of_cells("time", cells.chain([Cell::Missing])).expect("a column");
        let water = TableColumn::of_column(&Column::written("water", [1.0, 2.0, 4.0, 8.0, 16.0], unit("gal"))).expect("a column");
        Table::of_series(vec![("time".into(), dates), ("water".into(), water)]).expect("a table")
    }

    fn shown(column: &TableColumn) -> Vec<String> {
        column.cells().map(|cell| cell.show(Default::default())).collect()
    }

    #[test]
    fn parts_of_dates_are_those_of_the_calendar() {
        let part = |part| shown(&log().series("time").expect("a column").date_part(part).expect("a column"));
        assert_eq!(part(DatePart::Weekday), ["Wed", "Sun", "Mon", "Tue", "-"]);
        assert_eq!(part(DatePart::Month), ["7", "7", "7", "6", "-"]);
        assert_eq!(part(DatePart::Clock), ["05:30", "23:45", "00:00", "00:00", "-"]);
        assert!(log().series("water").expect("a column").date_part(DatePart::Year).is_err());
    }

    #[test]
    fn rows_are_gathered_by_weeks_and_months_in_the_order_of_time() {
        let by = |period| {
            let table = log().resampled("time", period, &[("water", "water", Aggregate::Sum)]).expect("a table");
            (shown(&table.series("time").expect("a column")), shown(&table.series("water").expect("a column")))
        };
        let texts = |texts: &[&str]| texts.iter().map(ToString::to_string).collect::<Vec<_>>();
        assert_eq!(by(Period::Week), (texts(&["2026-06-29", "2026-07-06"]), texts(&["11 gal", "4 gal"])));
        assert_eq!(by(Period::Month), (texts(&["2026-06-01", "2026-07-01"]), texts(&["8 gal", "7 gal"])));
        assert!(log().resampled("water", Period::Day, &[]).is_err());
    }

    #[test]
    fn dates_calculate_with_times_and_with_each_other() {
        let column = || Operand::Column(log().series("time").expect("a column"));
        let day = Operand::Value(crate::table::samples::q(1.0, "day"));
        let later = TableColumn::calculate(Arithmetic::Plus, &column(), &day).expect("a column");
        assert_eq!(shown(&later)[0], "2026-07-02 05:30");
        let first = Operand::Value(log().cell(3, "time").expect("a cell"));
        let since = TableColumn::calculate(Arithmetic::Minus, &column(), &first).expect("a column");
        assert_eq!(since.cell(0), crate::table::samples::q(29.5, "h"));
        let july = TableColumn::compare(Comparison::Greater, &column(), &first).expect("flags");
        assert_eq!(shown(&july), ["yes", "yes", "yes", "no", "-"]);
        assert!(TableColumn::calculate(Arithmetic::Times, &column(), &day).is_err());
        assert!(TableColumn::calculate(Arithmetic::Minus, &day, &column()).is_err());
    }
}
