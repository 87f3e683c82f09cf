//! Weather: its remarks as findings.

use super::catalog::weather as say;
use super::finding::Finding;
use super::phrase::{Value, counted};
use crate::moment::Date;
use crate::quantity::{Quantity, dim, find_unit};
use crate::unit_system::UnitSystem;
use crate::weather::{Field, Remark, Weather};

/// Days that a sentence names one by one at most.
const MOST_NAMED: usize = 5;

/// What is to be said of the text of a weather.
pub fn of_weather(weather: &Weather) -> Vec<Finding> {
    of_remarks(&weather.remarks)
}

/// What is to be said of remarks, once each.
pub fn of_remarks(remarks: &[Remark]) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    for finding in remarks.iter().filter_map(of_remark) {
        if !findings.iter().any(|other| other.says_the_same(&finding)) {
            findings.push(finding);
        }
    }
    findings
}

/// A depth of rain or water, in inches or millimeters.
pub(super) fn depth(mm: f64) -> Quantity {
    Quantity { preference: UnitSystem::default().preference_of("in"), ..Quantity::new(mm / 1000.0, dim::LENGTH) }
}

/// A value in a unit, as it was written.
pub(super) fn in_unit(value: f64, unit: &str) -> Value {
    find_unit(unit).map_or_else(|| value.to_string().into(), |unit| Quantity::written(value, unit).into())
}

fn value_of(field: Field, value: f64) -> Value {
    match field {
        Field::Low | Field::High | Field::DewPoint => in_unit(value, "degC"),
        Field::Rain | Field::Et0 => in_unit(value, "mm"),
        Field::Wind => in_unit(value, "m/s"),
        Field::Sunshine => in_unit(value, "h"),
        Field::HumidityHigh | Field::HumidityLow | Field::Humidity => format!("{value} %").into(),
        Field::Radiation => format!("{value} MJ/m2").into(),
    }
}

fn days_in_words(dates: &[Date]) -> String {
    let named: Vec<String> = dates.iter().take(MOST_NAMED).map(Date::to_string).collect();
    let rest = dates.len().saturating_sub(MOST_NAMED);
    let more = if rest > 0 { format!(" and {}", counted(rest, "more day")) } else { String::new() };
    format!("{}{more}", named.join(", "))
}

fn of_remark(remark: &Remark) -> Option<Finding> {
    let about = |entry: &'static super::Entry| Finding::of_whole(entry);
    let at = |entry: &'static super::Entry, line: &usize, date: &Date| {
        about(entry).with("line", line.to_string()).with("day", date.to_string())
    };
    Some(match remark {
        Remark::LowAboveHigh { line, date, low_c, high_c } => {
            at(&say::LOW_ABOVE_HIGH, line, date).with("low", in_unit(*low_c, "degC")).with("high", in_unit(*high_c, "degC"))
        }
        Remark::OutOfReason { line, date, field, value } => {
            at(&say::OUT_OF_REASON, line, date).with("column", field.name()).with("value", value_of(*field, *value))
        }
        Remark::WideDay { line, date, low_c, high_c } => {
            at(&say::WIDE_DAY, line, date).with("low", in_unit(*low_c, "degC")).with("high", in_unit(*high_c, "degC"))
        }
        Remark::RainBelowZero { line, date, rain_mm } => {
            at(&say::RAIN_BELOW_ZERO, line, date).with("rain", in_unit(*rain_mm, "mm"))
        }
        Remark::DayTwice { lines, date, same: false } => at(&say::DAY_TWICE, &lines.0, date).with("second", lines.1.to_string()),
        Remark::DaysMissing { from, to } => {
            let last = (from != to).then(|| to.to_string());
            about(&say::DAYS_MISSING).with("day", from.to_string()).with_some("last", last)
        }
        Remark::Unreadable { line, field, text } => {
            about(&say::UNREADABLE).with("line", line.to_string()).with("column", field.name()).with("text", text.as_str())
        }
        Remark::NotADay { line, text } => about(&say::NOT_A_DAY).with("line", line.to_string()).with("text", text.as_str()),
        Remark::NoValue { field, dates } => about(&say::NO_VALUE).with("column", field.name()).with("days", days_in_words(dates)),
        Remark::Filled { field, dates } => about(&say::FILLED).with("column", field.name()).with("days", days_in_words(dates)),
        Remark::ReadAs { units } => about(&say::UNITS_ASSUMED).with("units", units.join(", ")),
        Remark::NotRead { headings } => about(&say::COLUMNS_NOT_READ).with("headings", headings.join(", ")),
        Remark::NoRain => about(&say::NO_RAIN),
        Remark::WindHeightAssumed => about(&say::WIND_HEIGHT),
        Remark::TemperaturesOnly { days, of } => {
            about(&say::FROM_TEMPERATURES).with("days", days.to_string()).with("of", of.to_string())
        }
        Remark::WindAssumed { days, of } => about(&say::WIND_ASSUMED).with("days", days.to_string()).with("of", of.to_string()),
        Remark::SunAssumed { days, of } => about(&say::SUN_ASSUMED).with("days", days.to_string()).with("of", of.to_string()),
        Remark::WindOfStation { wind_m_per_s } => {
            let preference = UnitSystem::default().preference_of("mph");
            let wind = Quantity { preference, ..Quantity::new(*wind_m_per_s, dim::SPEED) };
            about(&say::WIND_OF_STATION).with("wind", wind)
        }
        Remark::Gauge { readings } => about(&say::GAUGE_LOW).with("readings", counted(*readings, "reading")),
        Remark::Et0Unusual { month: (year, month), mean_mm } => {
            about(&say::ET0_UNUSUAL).with("mean", depth(*mean_mm)).with("month", format!("{year}-{month:02}"))
        }
        Remark::FromMonths => about(&say::FROM_MONTHS),
        // A trace is no fault, and lines that agree are none either.
        Remark::Traces { .. } | Remark::DayTwice { same: true, .. } => return None,
    })
}
