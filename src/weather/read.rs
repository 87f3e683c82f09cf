//! The lines of a text as days: separator, decimal sign, order of dates and units are found out; what cannot be decided is an error,
//! and what is wrong with a line a remark with its number.

use super::day::{Day, Field};
use super::error::WeatherError;
use super::heading::{Column, Heading, heading};
use super::remark::Remark;
use crate::moment::{Date, DateOrder, WrittenDay};

/// The years that are accepted: weather was hardly measured before, and a later one is a slip.
const YEARS: std::ops::RangeInclusive<i32> = 1700..=2300;
/// Lines among which the headings must be; services put some lines about the station before them.
const MOST_PREAMBLE: usize = 60;
/// A median of highs above it is in degrees F: no place on earth has it in degC.
const FAHRENHEIT_FROM: f64 = 45.0;
/// Depths of a day that no heading gives a unit are inches up to this one, where temperatures are in degrees F.
const MOST_INCHES: f64 = 20.0;
/// A median of daily winds above it is in km/h, not m/s.
const MOST_M_PER_S: f64 = 12.0;
/// Lines with the low above the high from which on the columns, not the lines, are taken to be wrong.
const LEAST_SWAPPED: usize = 3;
/// Low and high of a day lie hardly further apart, degC. Common practice, no source.
const WIDE_DAY_C: f64 = 35.0;

/// What a line is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum When {
    Day(Date),
    Month(u32),
}

/// A text as lines of values.
#[derive(Debug)]
pub(super) struct Records {
    /// Line, from 1, with its day or month and its values.
    pub rows: Vec<(usize, When, Day)>,
    pub remarks: Vec<Remark>,
    /// The columns that were read.
    pub fields: Vec<Field>,
    pub heading_line: usize,
    pub not_read: Vec<String>,
    pub wind_height_m: Option<f64>,
}

/// A date as it is written.
enum Written {
    Day(Date),
    /// Month and day are distinguished by other lines.
    Either {
        first: u32,
        second: u32,
        year: i32,
    },
    Month(u32),
    Nothing,
}

/// Columns of a text: where the date is, whether it is a month, and what else there is.
struct Layout {
    line: usize,
    separator: char,
    date: usize,
    monthly: bool,
    columns: Vec<(usize, Column)>,
    not_read: Vec<String>,
}

/// The records of a text.
///
/// Errors: no headings, two columns for the same, no line with a day, an order of dates that is unclear or mixed.
pub(super) fn records(name: &str, text: &str) -> Result<Records, WeatherError> {
    let lines = || {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let numbered = text.lines().enumerate().map(|(index, line)| (index + 1, line.trim()));
        numbered.filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
    };
    let layout = layout(name, lines())?;
    let mut remarks = Vec::new();
    let mut written = Vec::new();
    for (line, text) in lines().filter(|(line, _)| *line > layout.line) {
        let cells = split(text, layout.separator);
        let when = cells.get(layout.date).map_or("", String::as_str);
        match date(when, layout.monthly) {
            Written::Nothing => remarks.push(Remark::NotADay { line, text: when.to_string() }),
            date => written.push((line, when.to_string(), date, raw_values(&layout, &cells, line, &mut remarks))),
        }
    }
    let month_first = is_month_first(name, &written)?;
    let mut columns = layout.columns;
    let units = units_by_size(&mut columns, &written);
    if !units.is_empty() {
        remarks.push(Remark::ReadAs { units });
    }
    let mut traces = 0;
    let mut rows = Vec::new();
    for (line, text, date, raw) in written {
        let when = match date {
            Written::Day(date) => Some(When::Day(date)),
            Written::Month(month) => Some(When::Month(month)),
            Written::Either { first, second, year } if month_first => Date::new(year, first, second).map(When::Day),
            Written::Either { first, second, year } => Date::new(year, second, first).map(When::Day),
            Written::Nothing => None,
        };
        let Some(when) = when else {
            remarks.push(Remark::NotADay { line, text });
            continue;
        };
        let mut day = Day::default();
        for ((_, column), raw) in columns.iter().zip(raw) {
            let (factor, offset) = column.scale.unwrap_or((1.0, 0.0));
            let value = match raw {
                Cell::Number(value) => Some(factor * value + offset),
                Cell::Trace => {
                    traces += 1;
                    Some(0.0)
                }
                Cell::Missing => None,
            };
            day.set(column.field, value);
        }
        if let When::Day(date) = when {
            judge(&mut day, line, date, &mut remarks);
        }
        rows.push((line, when, day));
    }
    if traces > 0 {
        remarks.push(Remark::Traces { days: traces });
    }
    if rows.is_empty() {
        return Err(WeatherError::NoDays { name: name.to_string() });
    }
    let crossed = remarks.iter().filter(|remark| matches!(remark, Remark::LowAboveHigh { .. })).count();
    if crossed > LEAST_SWAPPED && 2 * crossed > rows.len() {
        return Err(WeatherError::Swapped { name: name.to_string(), line: layout.line, days: crossed, of: rows.len() });
    }
    let wind = columns.iter().find(|(_, column)| column.field == Field::Wind);
    Ok(Records {
        rows,
        remarks,
        fields: columns.iter().map(|(_, column)| column.field).collect(),
        heading_line: layout.line,
        not_read: layout.not_read,
        wind_height_m: wind.and_then(|(_, column)| column.height_m),
    })
}

fn layout<'a>(name: &str, mut lines: impl Iterator<Item = (usize, &'a str)>) -> Result<Layout, WeatherError> {
    let mut first = None;
    for (line, text) in lines.by_ref().take(MOST_PREAMBLE) {
        first.get_or_insert(text);
        let separator = [';', '\t', ','].into_iter().find(|separator| text.contains(*separator)).unwrap_or(',');
        let headings = split(text, separator);
        let found: Vec<Option<Heading>> = headings.iter().map(|text| heading(text)).collect();
        let monthly = !found.contains(&Some(Heading::Date));
        let wanted = if monthly { Heading::Month } else { Heading::Date };
        let Some(date) = found.iter().position(|found| found.as_ref() == Some(&wanted)) else { continue };
        let mut columns: Vec<(usize, Column)> = Vec::new();
        let mut not_read = Vec::new();
        for (index, (found, text)) in found.into_iter().zip(&headings).enumerate() {
            match found {
                Some(Heading::Value(column)) => {
                    if let Some((other, _)) = columns.iter().find(|(_, other)| other.field == column.field) {
                        let headings = (headings[*other].clone(), text.clone());
                        return Err(WeatherError::TwoColumns { name: name.into(), line, field: column.field, headings });
                    }
                    columns.push((index, column));
                }
                None if !text.is_empty() => not_read.push(text.clone()),
                _ => {}
            }
        }
        // A sentence about the station may begin with a date.
        if !columns.is_empty() || found_any_value_below(&not_read) {
            return Ok(Layout { line, separator, date, monthly, columns, not_read });
        }
    }
    Err(WeatherError::NoHeadings { name: name.into(), first: first.unwrap_or_default().chars().take(60).collect() })
}

/// True where a line with a date has other headings, though none is understood: the error is about them.
fn found_any_value_below(not_read: &[String]) -> bool {
    not_read.len() > 1
}

/// The cells of a line; a cell in quotes may have the separator in it.
fn split(line: &str, separator: char) -> Vec<String> {
    let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            letter if letter == separator && !quoted => cells.push(std::mem::take(&mut cell).trim().to_string()),
            letter => cell.push(letter),
        }
    }
    cells.push(cell.trim().to_string());
    cells
}

enum Cell {
    Number(f64),
    Trace,
    Missing,
}

fn raw_values(layout: &Layout, cells: &[String], line: usize, remarks: &mut Vec<Remark>) -> Vec<Cell> {
    let mut values = Vec::with_capacity(layout.columns.len());
    for (index, column) in &layout.columns {
        let text = cells.get(*index).map_or("", String::as_str);
        values.push(match text.to_ascii_lowercase().as_str() {
            "" | "m" | "-" | "--" | "na" | "n/a" | "nan" | "null" | "none" => Cell::Missing,
            "t" | "trace" if column.field == Field::Rain => Cell::Trace,
            _ => match number(text) {
                // -9999, -999 and their likes.
                Some(value) if value <= -999.0 => Cell::Missing,
                Some(value) => Cell::Number(value),
                None => {
                    remarks.push(Remark::Unreadable { line, field: column.field, text: text.chars().take(40).collect() });
                    Cell::Missing
                }
            },
        });
    }
    values
}

/// A number with a decimal point or comma.
fn number(text: &str) -> Option<f64> {
    let text = text.replace(',', ".").replace('\u{2212}', "-");
    let plain = text.chars().all(|letter| letter.is_ascii_digit() || "+-.eE".contains(letter));
    text.parse().ok().filter(|value: &f64| plain && value.is_finite())
}

/// A day as 2015-05-15, 20150515, 5/15/2015, 15.5.2015, each also with a time of day after it; a month as its number.
fn date(text: &str, monthly: bool) -> Written {
    if monthly {
        return text.parse().ok().filter(|month| (1..=12).contains(month)).map_or(Written::Nothing, Written::Month);
    }
    let text = text.split(['T', ' ']).next().unwrap_or_default();
    let day = |date: Option<Date>| date.filter(|date| YEARS.contains(&date.year())).map_or(Written::Nothing, Written::Day);
    if text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit()) {
        return day(Date::read(&format!("{}-{}-{}", &text[..4], &text[4..6], &text[6..])));
    }
    let Some(written) = WrittenDay::read(text) else { return Written::Nothing };
    let [a, b, year] = written.numbers;
    match written {
        WrittenDay { year_first: true, .. } => day(written.in_order(DateOrder::YearMonthDay)),
        WrittenDay { year_last: true, mark: '.', .. } => day(written.in_order(DateOrder::DayMonthYear)),
        WrittenDay { year_last: true, .. }
            if (1..=31).contains(&a) && (1..=31).contains(&b) && YEARS.contains(&(year as i32)) =>
        {
            Written::Either { first: a, second: b, year: year as i32 }
        }
        _ => Written::Nothing,
    }
}

/// Whether the month comes first in dates that may be read either way.
fn is_month_first(name: &str, written: &[(usize, String, Written, Vec<Cell>)]) -> Result<bool, WeatherError> {
    let (mut month_first, mut day_first, mut unclear) = (None, None, None);
    for (line, text, date, _) in written {
        let Written::Either { first, second, year } = date else { continue };
        match (*first > 12, *second > 12) {
            (false, true) => month_first = month_first.or(Some((*line, text.clone()))),
            (true, false) => day_first = day_first.or(Some((*line, text.clone()))),
            (false, false) if first != second => {
                let dates = Date::new(*year, *first, *second).zip(Date::new(*year, *second, *first));
                unclear = unclear.or(dates.map(|dates| (*line, text.clone(), dates)));
            }
            _ => {}
        }
    }
    let name = name.to_string();
    match (month_first, day_first, unclear) {
        (Some(month_first), Some(day_first), _) => Err(WeatherError::TwoDateOrders { name, month_first, day_first }),
        (None, None, Some((line, text, (month_first, day_first)))) => {
            Err(WeatherError::DateOrder { name, line, text, month_first, day_first })
        }
        (_, day_first, _) => Ok(day_first.is_none()),
    }
}

/// Gives the columns without a unit the one that their numbers have, and names those units.
fn units_by_size(columns: &mut [(usize, Column)], written: &[(usize, String, Written, Vec<Cell>)]) -> Vec<&'static str> {
    let values = |at: usize| {
        let numbers = written.iter().filter_map(move |(.., raw)| match raw[at] {
            Cell::Number(value) => Some(value),
            _ => None,
        });
        let mut numbers: Vec<f64> = numbers.collect();
        numbers.sort_by(f64::total_cmp);
        numbers
    };
    let median = |values: &[f64]| values.get(values.len() / 2).copied().unwrap_or(0.0);
    let at = |columns: &[(usize, Column)], field: Field| columns.iter().position(|(_, column)| column.field == field);
    let of_scale = |field: Field, unit: &str| field.scale(unit);
    let fahrenheit = match at(columns, Field::High) {
        Some(high) if columns[high].1.scale.is_some() => columns[high].1.scale == of_scale(Field::High, "f"),
        Some(high) => median(&values(high)) > FAHRENHEIT_FROM,
        None => false,
    };
    let mut units: Vec<&'static str> = Vec::new();
    for (index, (_, column)) in columns.iter_mut().enumerate().filter(|(_, (_, column))| column.scale.is_none()) {
        let field = column.field;
        let (unit, word) = match field {
            Field::Low | Field::High | Field::DewPoint => {
                if fahrenheit {
                    ("f", "degrees F")
                } else {
                    ("c", "degrees C")
                }
            }
            Field::Rain | Field::Et0 => {
                let most = values(index).last().copied().unwrap_or(0.0);
                if fahrenheit && most <= MOST_INCHES { ("in", "inches") } else { ("mm", "millimeters") }
            }
            Field::Wind if fahrenheit => ("mph", "miles an hour"),
            Field::Wind if median(&values(index)) > MOST_M_PER_S => ("km per h", "kilometers an hour"),
            Field::Wind => ("m per s", "meters a second"),
            // Humidity is in percent, and the rest is not read without a unit.
            _ => continue,
        };
        column.scale = of_scale(field, unit);
        if !units.contains(&word) {
            units.push(word);
        }
    }
    units
}

/// Takes away what cannot be, with a remark.
fn judge(day: &mut Day, line: usize, date: Date, remarks: &mut Vec<Remark>) {
    for field in Field::ALL {
        let Some(value) = day.get(field) else { continue };
        let (least, most) = field.range();
        if field == Field::Rain && value < 0.0 {
            remarks.push(Remark::RainBelowZero { line, date, rain_mm: value });
        } else if !(least..=most).contains(&value) {
            remarks.push(Remark::OutOfReason { line, date, field, value });
        } else {
            continue;
        }
        day.set(field, None);
    }
    let Some((low_c, high_c)) = day.get(Field::Low).zip(day.get(Field::High)) else { return };
    if low_c > high_c {
        remarks.push(Remark::LowAboveHigh { line, date, low_c, high_c });
        day.set(Field::Low, None);
        day.set(Field::High, None);
    } else if high_c - low_c > WIDE_DAY_C {
        remarks.push(Remark::WideDay { line, date, low_c, high_c });
    }
}
