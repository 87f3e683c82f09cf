//! Dates of the calendar, alone and in columns: reading them, their parts, weeks and months, ranges.
//!
//! The calendar is in `crate::moment`.

use super::tables::{as_wanted, operand, wishes_in, wishes_of};
use crate::moment::{Date, DateOrder, Moment, Period};
use crate::operation::time_in_words;
use crate::quantity::{Quantity, dim};
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::values::{cell_value, describe, expect_quantity, value_of};
use crate::table::{DatePart, Operand, Table, TableColumn, TableError};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT, Map};
use std::cmp::Ordering;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A date is a day of the calendar, maybe with a time of the day, without a time zone. A time is added to it or taken from it; the difference of
two dates is a time. Dates are compared, sorted and grouped; a column of dates calculates and compares like one of quantities.
The parts `year`, `month`, `day`, `weekday`, `day_of_year` and `clock` (the time of the day) are those of a date or of a column of dates.
A time of the day is a time since midnight that shows as `05:30`; a file that has times such as 05:30 or 5:30 AM gives a column of them.

```hw
let first = date("2026-07-01");
first + 10.days                      // => 2026-07-11
date("2026-07-11 05:30") - first     // => 10.2 days
first.weekday                        // => Wed
first < date("2026-08-01")           // => true
first < "2026-08-01"                 // => true
let log = table(#{ time: [date("2026-07-01 05:30"), date("2026-08-02 21:00")], p: [30.psi, 41.psi] });
log.filter(log["time"].month == 7).rows             // => 1
log.filter(log["time"] >= date("2026-08-01")).rows  // => 1
log["time"].clock                                   // => [05:30, 21:00]
```
"#;

/// Dates of a range at most.
const MOST_DATES: usize = 1_000_000;

const PARTS: [(&str, DatePart); 6] = [
    ("year", DatePart::Year),
    ("month", DatePart::Month),
    ("day", DatePart::Day),
    ("day_of_year", DatePart::DayOfYear),
    ("weekday", DatePart::Weekday),
    ("clock", DatePart::Clock),
];

/// Registers the type, its operators and functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Moment>("a date");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |date: Moment| date.to_string());
    }
    for (name, part) in PARTS {
        engine.register_get(name, move |date: &mut Moment| match part {
            DatePart::Weekday | DatePart::Clock => cell_value(&part.of(*date)),
            DatePart::Year => Ok(Dynamic::from_int(INT::from(date.date().year()))),
            DatePart::Month => Ok(Dynamic::from_int(INT::from(date.date().month()))),
            DatePart::Day => Ok(Dynamic::from_int(INT::from(date.date().day()))),
            DatePart::DayOfYear => Ok(Dynamic::from_int(INT::from(date.date().day_of_year()))),
        });
        engine.register_get(name, move |column: &mut TableColumn| column.date_part(part).map_err(raise));
    }
    let later = |date: Moment, time: Quantity, sign: f64| -> Answer<Moment> {
        if time.dimension != dim::TIME {
            return Err(ScriptError::new(format!("cannot add {} to a date", time.described()))
                .with_hint("add a time, as in 10.days")
                .into());
        }
        date.later_by(sign * time.si).ok_or_else(|| ScriptError::new("the calendar ends before that date").into())
    };
    engine
        .register_fn("+", move |date: Moment, time: Quantity| later(date, time, 1.0))
        .register_fn("+", move |time: Quantity, date: Moment| later(date, time, 1.0))
        .register_fn("-", move |date: Moment, time: Quantity| later(date, time, -1.0))
        .register_fn("-", |a: Moment, b: Moment| value_of(time_in_words(a.seconds_since(b))));
    comparison(engine, "<", |order| order == Ordering::Less);
    comparison(engine, "<=", |order| order != Ordering::Greater);
    comparison(engine, ">", |order| order == Ordering::Greater);
    comparison(engine, ">=", |order| order != Ordering::Less);
    comparison(engine, "==", |order| order == Ordering::Equal);
    comparison(engine, "!=", |order| order != Ordering::Equal);
    engine.register_global_module(exported_module!(functions).into());
}

/// The date of a text with the year first. Errors: it is none; says what was probably meant.
fn read_date(text: &str) -> Answer<Moment> {
    Moment::read(text, DateOrder::YearMonthDay).ok_or_else(|| {
        let mut meant: Vec<String> = [DateOrder::DayMonthYear, DateOrder::MonthDayYear]
            .into_iter()
            .filter_map(|order| Moment::read(text, order))
            .map(|date| format!("date(\"{date}\")"))
            .collect();
        meant.dedup();
        let hint = if meant.is_empty() {
            "write year, month and day, as in date(\"2026-07-01\") or date(\"2026-07-01 05:30\")".to_string()
        } else {
            format!("write the year first: {}", meant.join(" or "))
        };
        ScriptError::new(format!("'{text}' is not a date")).about("text").with_hint(hint).into()
    })
}

/// Compares dates with dates, and with their texts.
fn comparison(engine: &mut Engine, name: &str, holds: fn(Ordering) -> bool) {
    let with_text = move |date: Moment, text: &str, is_first: bool| -> Answer<bool> {
        let other = read_date(text)?;
        Ok(holds(if is_first { date.cmp(&other) } else { other.cmp(&date) }))
    };
    engine
        .register_fn(name, move |a: Moment, b: Moment| holds(a.cmp(&b)))
        .register_fn(name, move |a: Moment, b: &str| with_text(a, b, true))
        .register_fn(name, move |a: &str, b: Moment| with_text(b, a, false));
}

/// The period of that name. Errors: none has it.
fn period(name: &str, word: &str) -> Answer<Period> {
    Period::of_name(name).ok_or_else(|| {
        let error = ScriptError::new(format!("{word}: there is no period \"{name}\"")).about("period");
        error.with_hint("choose \"hour\", \"day\", \"week\", \"month\" or \"year\"").into()
    })
}

/// The time of the day of a string, a date, a time, or each of a column or list.
fn of_day(time: &Dynamic) -> Answer<Dynamic> {
    if let Some(list) = time.read_lock::<Array>() {
        return Ok(list.iter().map(of_day).collect::<Answer<Array>>()?.into());
    }
    if time.is_unit() {
        return Ok(Dynamic::UNIT);
    }
    match operand(time, "clock")? {
        Operand::Column(column) => Ok(Dynamic::from(column.date_part(DatePart::Clock).map_err(raise)?)),
        Operand::Value(cell) => {
            match TableColumn::of_cells("time", [cell]).and_then(|column| column.date_part(DatePart::Clock)) {
                Ok(column) => cell_value(&column.cell(0)),
                Err(_) => {
                    let error = ScriptError::new(format!("{} is not a time of day", describe(time))).about("time");
                    Err(error.with_hint("write hours and minutes, as in clock(\"05:30\")").into())
                }
            }
        }
    }
}

#[export_module]
mod functions {
    /// A date, maybe with a time of the day, from a string with the year first; or from year, month and day.
    ///
    /// ```hw
    /// date("2026-07-01")                 // => 2026-07-01
    /// date("2026-07-01 5:30 PM")         // => 2026-07-01 17:30
    /// date(2026, 7, 1) == date("2026-07-01")   // => true
    /// date("2026-02-29")                 // => error: '2026-02-29' is not a date
    /// ```
    #[rhai_fn(return_raw)]
    pub fn date(text: &str) -> Result<Moment, Box<EvalAltResult>> {
        super::read_date(text)
    }

    #[rhai_fn(name = "date", return_raw)]
    pub fn date_of_numbers(year: INT, month: INT, day: INT) -> Result<Moment, Box<EvalAltResult>> {
        let found = i32::try_from(year).ok().zip(u32::try_from(month).ok().zip(u32::try_from(day).ok()));
        let found = found.and_then(|(year, (month, day))| Date::new(year, month, day).map(Date::moment));
        found.ok_or_else(|| {
            let error = ScriptError::new(format!("there is no day {day} of month {month} in {year}"));
            error.with_hint("give year, month and day in this order, as in date(2026, 7, 15)").into()
        })
    }

    /// A time of the day from a string such as "05:30" or "5:30 PM"; that of a date, of a time since a midnight (as a log has it), or of each
    /// of a column or list. It calculates and compares as a time: a time added gives a later time of the day, the difference of two is a time.
    ///
    /// ```hw
    /// clock("5:30 AM") + 20.min                      // => 05:50
    /// clock("21:00") - clock("05:30")                // => 930 min
    /// clock(29.5.h)                                  // => 05:30
    /// let t = table(#{ zone: ["beds", "lawn"], start: clock(["05:30", "21:00"]) });
    /// t.filter(t["start"] < "06:00")["zone"]         // => ["beds"]
    /// t["start"].max()                               // => 21:00
    /// ```
    #[rhai_fn(return_raw)]
    pub fn clock(time: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        of_day(&time)
    }

    /// Dates from one to another, the last one included where the step meets it: every few days or hours, or every "month".
    ///
    /// ```hw
    /// dates(date("2026-07-01"), date("2026-07-10"), 3.days)    // => [2026-07-01, 2026-07-04, 2026-07-07, 2026-07-10]
    /// dates(date("2026-01-31"), date("2026-03-31"), "month")   // => [2026-01-31, 2026-02-28, 2026-03-31]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn dates(from: Moment, to: Moment, step: Dynamic) -> Result<Array, Box<EvalAltResult>> {
        let months = step.as_immutable_string_ref().is_ok_and(|step| step.as_str() == "month");
        let step_s = if months { 1.0 } else { expect_quantity(&step, dim::TIME, "dates: step")? };
        if step_s <= 0.0 {
            return Err(ScriptError::new(format!("dates: the step must be above zero, found {}", describe(&step)))
                .about("step")
                .into());
        }
        if to < from {
            let error = ScriptError::new(format!("dates: {from} is after {to}")).about("from");
            return Err(error.with_hint("give the earlier date first").into());
        }
        let mut dates = Array::new();
        for n in 0u32.. {
            let next = if months { from.months_later(n) } else { from.later_by(f64::from(n) * step_s) };
            let Some(next) = next.filter(|next| *next <= to) else { break };
            if dates.len() >= MOST_DATES {
                return Err(ScriptError::new(format!("dates: there are more than {MOST_DATES} dates")).about("step").into());
            }
            crate::limits::go_on().map_err(|ended| raise(TableError::from(ended)))?;
            dates.push(Dynamic::from(next));
        }
        Ok(dates)
    }

    /// The beginning of the "hour", "day", "week" (Monday), "month" or "year" in which a date lies; of each date of a column.
    ///
    /// ```hw
    /// date("2026-07-01 17:45").start_of("week")   // => 2026-06-29
    /// ```
    #[rhai_fn(return_raw)]
    pub fn start_of(date: Moment, period: &str) -> Result<Moment, Box<EvalAltResult>> {
        Ok(date.start_of(super::period(period, "start_of")?))
    }

    #[rhai_fn(name = "start_of", return_raw)]
    pub fn start_of_column(column: TableColumn, period: &str) -> Result<TableColumn, Box<EvalAltResult>> {
        column.start_of(super::period(period, "start_of")?).map_err(raise)
    }

    /// Gathers the rows of a table by a column of dates: a row for each "hour", "day", "week", "month" or "year" that has rows, with
    /// aggregates as in `group_by`.
    ///
    /// ```hw
    /// let log = table(#{ time: [date("2026-07-01"), date("2026-07-02"), date("2026-07-08")], water: [20.gal, 30.gal, 25.gal] });
    /// log.resample("time", "week", #{ total: ["water", "sum"] })["total"]   // => [50 gal, 25 gal]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn resample(
        call: NativeCallContext,
        table: Table,
        dates: &str,
        period: &str,
        wanted: Map,
    ) -> Result<Table, Box<EvalAltResult>> {
        let wishes = wishes_of(&call, wanted, "resample")?;
        let period = super::period(period, "resample")?;
        table.resampled(dates, period, &as_wanted(&wishes)).map_err(|error| raise_about(error, "dates"))
    }

    #[rhai_fn(name = "resample", return_raw)]
    pub fn resample_listed(table: Table, dates: &str, period: &str, wanted: Array) -> Result<Table, Box<EvalAltResult>> {
        let wishes = wishes_in(&wanted, "resample")?;
        let period = super::period(period, "resample")?;
        table.resampled(dates, period, &as_wanted(&wishes)).map_err(|error| raise_about(error, "dates"))
    }
}
