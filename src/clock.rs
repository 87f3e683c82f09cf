//! Times of the day as people and loggers write them: reading and showing. Knows nothing of dates, quantities or schedules.

/// Nanoseconds of a second, a minute, an hour and a day.
const SECOND_NS: i64 = 1_000_000_000;
const MINUTE_NS: i64 = 60 * SECOND_NS;
const HOUR_NS: i64 = 60 * MINUTE_NS;
const DAY_NS: i64 = 24 * HOUR_NS;
/// Seconds up to which a time is shown as one of the day: beyond, nanoseconds do not fit.
const MOST_S: f64 = 1e9;

/// A time of the day in nanoseconds after midnight: `5:30`, `05:30:15.250`, `5:30 PM`; none for anything else.
pub fn read_ns(text: &str) -> Option<i64> {
    let text = text.trim();
    let halves = text.len().checked_sub(2).filter(|at| text.is_char_boundary(*at)).map(|at| text.split_at(at));
    let (time, half) = match halves {
        Some((time, half)) if half.eq_ignore_ascii_case("am") => (time.trim_end(), Some(0)),
        Some((time, half)) if half.eq_ignore_ascii_case("pm") => (time.trim_end(), Some(12 * HOUR_NS)),
        _ => (text, None),
    };
    let ns = hours_and_more(time, 2)?;
    match half {
        None => Some(ns).filter(|ns| *ns < DAY_NS),
        // 12:30 AM is half past midnight, and there is no hour 0 and no hour 13.
        Some(half) => (HOUR_NS..13 * HOUR_NS).contains(&ns).then(|| ns % (12 * HOUR_NS) + half),
    }
}

/// Like [`read_ns`], but also times before and after the day, as [`full_text`] writes them: `24:10`, `-00:10`.
pub fn read_any_ns(text: &str) -> Option<i64> {
    let beyond = || match text.trim().strip_prefix('-') {
        Some(rest) => hours_and_more(rest, 6).map(|ns| -ns),
        None => hours_and_more(text.trim(), 6),
    };
    read_ns(text).or_else(beyond)
}

/// `5:30`, `05:30:15.250`, with hours of at most that many digits.
fn hours_and_more(text: &str, most: usize) -> Option<i64> {
    let mut pieces = text.split(':');
    let (hours, minutes) = (digits(pieces.next()?, most)?, digits(pieces.next()?, 2)?);
    let (seconds, rest) = match pieces.next() {
        Some(seconds) => {
            let (whole, rest) = seconds.split_once(['.', ',']).unwrap_or((seconds, "0"));
            (digits(whole, 2)?, digits(rest, 9)? * 10i64.pow(9 - rest.len() as u32))
        }
        None => (0, 0),
    };
    let fine = pieces.next().is_none() && minutes < 60 && seconds < 60;
    fine.then_some(hours * HOUR_NS + minutes * MINUTE_NS + seconds * SECOND_NS + rest)
}

/// A number of at most that many digits.
fn digits(text: &str, most: usize) -> Option<i64> {
    let fine = (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
    if fine { text.parse().ok() } else { None }
}

/// Seconds after midnight as nanoseconds; none where they do not fit.
pub fn ns_of(seconds: f64) -> Option<i64> {
    (seconds.abs() < MOST_S).then(|| (seconds * SECOND_NS as f64).round() as i64)
}

/// Nanoseconds as seconds.
pub fn seconds_of(ns: i64) -> f64 {
    ns as f64 / SECOND_NS as f64
}

/// True for a time within the day.
pub fn is_of_day(seconds: f64) -> bool {
    ns_of(seconds).is_some_and(|ns| (0..DAY_NS).contains(&ns))
}

/// Seconds after midnight for people: `05:30`, with seconds and thousandths where there are any; after the day `24:10`, before it `-00:10`.
/// None where it is too long.
pub fn text(seconds: f64) -> Option<String> {
    let ms = SECOND_NS / 1000;
    ns_of(seconds).map(|ns| written((ns.abs() + ms / 2) / ms * ms * ns.signum(), 3))
}

/// The same with the day in front from the second day on, counted from 1: `day 2, 00:10`.
pub fn text_with_day(seconds: f64) -> Option<String> {
    let day = ns_of(seconds)?.div_euclid(DAY_NS);
    match day {
        1.. => text(seconds - (day * (DAY_NS / SECOND_NS)) as f64).map(|text| format!("day {}, {text}", day + 1)),
        _ => text(seconds),
    }
}

/// The same with all digits, for files.
pub fn full_text(seconds: f64) -> Option<String> {
    ns_of(seconds).map(|ns| written(ns, 9))
}

fn written(ns: i64, decimals: usize) -> String {
    let (sign, size) = (if ns < 0 { "-" } else { "" }, ns.abs());
    let (hours, minutes, rest) = (size / HOUR_NS, size % HOUR_NS / MINUTE_NS, size % MINUTE_NS);
    let minute = format!("{sign}{hours:02}:{minutes:02}");
    match (rest / SECOND_NS, rest % SECOND_NS) {
        (0, 0) => minute,
        (seconds, 0) => format!("{minute}:{seconds:02}"),
        (seconds, fraction) => {
            let fraction = &format!("{fraction:09}")[..decimals];
            format!("{minute}:{seconds:02}.{}", if decimals > 3 { fraction.trim_end_matches('0') } else { fraction })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn times_of_the_day_are_read_as_they_are_written() {
        for (text, seconds) in [
            ("05:30", 19_800.0),
            ("5:30", 19_800.0),
            (" 17:05:30 ", 61_530.0),
            ("5:30 PM", 63_000.0),
            ("12:30am", 1800.0),
            ("12:00 PM", 43_200.0),
            ("00:00:00.250", 0.25),
            ("00:00:00,5", 0.5),
        ] {
            assert_eq!(read_ns(text).map(seconds_of), Some(seconds), "{text}");
        }
        for wrong in
            ["", "5", "24:00", "05:60", "05:030", "-1:00", "0:30 AM", "13:00 PM", "5:30 XM", "1:2:3:4", "1:2:", "5:30:1.", "é:1"]
        {
            assert_eq!(read_ns(wrong), None, "{wrong}");
        }
        assert_eq!(read_any_ns("24:10").map(seconds_of), Some(87_000.0));
        assert_eq!(read_any_ns("-00:10").map(seconds_of), Some(-600.0));
    }

    #[test]
    fn times_are_shown_to_the_thousandth_of_a_second() {
        let shown = |seconds| text(seconds).unwrap_or_default();
        assert_eq!(shown(19_800.0), "05:30");
        assert_eq!(shown(19_815.0), "05:30:15");
        assert_eq!(shown(19_815.25), "05:30:15.250");
        assert_eq!(shown(19_799.999_999), "05:30");
        assert_eq!(shown(87_000.0), "24:10");
        assert_eq!(shown(-600.0), "-00:10");
        let days = [19_800.0, 87_000.0, 7.0 * 86_400.0, -600.0].map(|seconds| text_with_day(seconds).unwrap_or_default());
        assert_eq!(days, ["05:30", "day 2, 00:10", "day 8, 00:00", "-00:10"]);
        assert_eq!(shown(-0.000_1), "00:00");
        assert_eq!(full_text(0.123_456_789).as_deref(), Some("00:00:00.123456789"));
        assert_eq!(text(1e10), None);
        assert_eq!(text(f64::NAN), None);
    }

    proptest! {
        #[test]
        fn what_is_written_in_full_reads_back(ns in -400_000_000_000_000i64..400_000_000_000_000) {
            let text = full_text(seconds_of(ns)).unwrap_or_default();
            prop_assert_eq!(read_any_ns(&text), Some(ns), "{}", text);
        }
    }
}
