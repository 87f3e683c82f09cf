//! Where an axis has its numbers: steps of 1, 2 or 5 times a power of ten, and how those numbers are written.

/// A number on an axis and its text.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Tick {
    pub value: f64,
    pub label: String,
}

/// A step of `digit` times ten to the `power`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Step {
    digit: f64,
    power: i32,
}

impl Step {
    /// The `count`-th multiple, correctly rounded: never 0.30000000000000004.
    fn times(self, count: f64) -> f64 {
        let whole = count * self.digit;
        if self.power >= 0 { whole * 10f64.powi(self.power) } else { whole / 10f64.powi(-self.power) }
    }

    /// First and last multiple inside the range; the ends count when they are hit but for rounding.
    fn multiples(self, low: f64, high: f64) -> (f64, f64) {
        let size = self.times(1.0);
        ((low / size - 1e-7).ceil(), (high / size + 1e-7).floor())
    }
}

/// Ticks of a linear axis from `low` to `high`, as many as possible but at most `most` (two at least).
pub(super) fn linear(low: f64, high: f64, most: usize) -> Vec<Tick> {
    let step = step_for(low, high, most);
    let (first, last) = step.multiples(low, high);
    let count = (last - first).max(-1.0) as usize + 1;
    let values = (0..count.min(most.max(2) + 1)).map(|index| step.times(first + index as f64));
    let exponent_form = low.abs().max(high.abs()) >= 1e7 || step.power < -6;
    values.map(|value| Tick { value, label: tick_text(value, step, exponent_form) }).collect()
}

/// Steps of an axis of times of the day, in seconds.
const CLOCK_STEPS_S: [f64; 17] = [
    1.0, 5.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 10_800.0, 14_400.0, 21_600.0, 43_200.0,
    86_400.0,
];

/// Ticks of an axis of times of the day from `low` to `high`, hours after midnight, as many as possible but at most `most`.
pub(super) fn clocks(low: f64, high: f64, most: usize) -> Vec<Tick> {
    let step_h = clock_step_h(low, high, most);
    let (first, last) = ((low / step_h - 1e-7).ceil(), (high / step_h + 1e-7).floor());
    let count = (last - first).max(-1.0) as usize + 1;
    let values = (0..count.min(most.max(2) + 1)).map(|index| (first + index as f64) * step_h);
    let mut ticks: Vec<Tick> = values.map(|value| Tick { value, label: tick_of_day(value) }).collect();
    // A reader who sees no midnight sees the day here.
    if let Some(tick) = ticks.first_mut().filter(|tick| tick.value >= DAY_H && tick.value.rem_euclid(DAY_H) > 1e-7) {
        tick.label = format!("{}, {}", day_text(tick.value), tick.label);
    }
    ticks
}

const DAY_H: f64 = 24.0;

/// A time on an axis: the time of its day, and at midnight which day begins. The first midnight and times before it are times alone.
fn tick_of_day(hours: f64) -> String {
    let of_day = hours.rem_euclid(DAY_H);
    match hours {
        hours if hours < DAY_H - 1e-7 => clock_text(hours),
        hours if of_day.min(DAY_H - of_day) < 1e-7 => day_text(hours),
        _ => clock_text(of_day),
    }
}

/// `day 2` for hours after the second midnight.
fn day_text(hours: f64) -> String {
    format!("day {}", (hours / DAY_H + 1e-7).floor() + 1.0)
}

/// The range widened to whole steps of the ticks that [`clocks`] would choose.
pub(super) fn round_out_clocks(low: f64, high: f64, most: usize) -> (f64, f64) {
    let step_h = clock_step_h(low, high, most);
    ((low / step_h + 1e-7).floor() * step_h, (high / step_h - 1e-7).ceil() * step_h)
}

/// The smallest step of times of the day that gives at most `most` ticks; whole days where none does.
fn clock_step_h(low: f64, high: f64, most: usize) -> f64 {
    let most = most.max(2) as f64;
    let fits = |step_h: &f64| (high / step_h + 1e-7).floor() - (low / step_h - 1e-7).ceil() < most;
    let days = 24.0 * ((high - low) / 24.0 / (most - 1.0)).ceil();
    CLOCK_STEPS_S.iter().map(|step_s| step_s / 3600.0).find(fits).unwrap_or(days)
}

/// Hours after midnight as a time of the day; after the day with the number of its day, `day 2, 05:30`.
pub(super) fn day_and_clock_text(hours: f64) -> String {
    if hours < DAY_H - 1e-7 { clock_text(hours) } else { format!("{}, {}", day_text(hours), clock_text(hours.rem_euclid(DAY_H))) }
}

/// Hours after midnight as a time of the day.
pub(super) fn clock_text(hours: f64) -> String {
    crate::clock::text(3600.0 * hours).unwrap_or_else(|| number(hours, 6))
}

/// The range widened to whole steps of the ticks that [`linear`] would choose.
pub(super) fn round_out(low: f64, high: f64, most: usize) -> (f64, f64) {
    let step = step_for(low, high, most);
    let size = step.times(1.0);
    (step.times((low / size + 1e-7).floor()), step.times((high / size - 1e-7).ceil()))
}

/// Ticks of a logarithmic axis: 1, 2 and 5 in each power of ten while they fit, else powers of ten, else every few of
/// them; a range within one power of ten has the ticks of a linear axis. `low` is above zero.
pub(super) fn logarithmic(low: f64, high: f64, most: usize) -> Vec<Tick> {
    let most = most.max(2);
    let (first, last) = (low.log10().floor() as i32, high.log10().ceil() as i32);
    let exponent_form = low < 1e-4 || high >= 1e7;
    let tick = |step: Step| Tick { value: step.times(1.0), label: tick_text(step.times(1.0), step, exponent_form) };
    let inside = |value: f64| value >= low * (1.0 - 1e-9) && value <= high * (1.0 + 1e-9);
    for digits in [&[1.0, 2.0, 5.0][..], &[1.0]] {
        let powers = (first..=last).flat_map(|power| digits.iter().map(move |digit| Step { digit: *digit, power }));
        let found: Vec<Step> = powers.filter(|step| inside(step.times(1.0))).collect();
        if found.len() <= 2 && digits.len() > 1 {
            return linear(low, high, most);
        }
        if found.len() <= most {
            return found.into_iter().map(tick).collect();
        }
    }
    let stride = ((last - first) as usize).div_ceil(most).max(1);
    let powers = (first..=last).filter(|power| power.rem_euclid(stride as i32) == 0);
    powers.map(|power| Step { digit: 1.0, power }).filter(|step| inside(step.times(1.0))).map(tick).collect()
}

/// A number for people with `digits` significant digits; whole digits are kept, trailing zeros dropped.
pub(super) fn number(value: f64, digits: usize) -> String {
    let magnitude = if value == 0.0 { 0.0 } else { value.abs().log10().floor() };
    if !(-5.0..7.0).contains(&magnitude) {
        return exponent_text(value, digits.saturating_sub(1));
    }
    let decimals = (digits as f64 - 1.0 - magnitude).clamp(0.0, 12.0) as usize;
    without_trailing_zeros(format!("{value:.decimals$}"))
}

/// Numbers for people, with as few significant digits (three to six) as keep different numbers different.
pub(super) fn numbers(values: &[f64]) -> Vec<String> {
    let texts = |digits: usize| values.iter().map(|value| number(*value, digits)).collect::<Vec<_>>();
    let differ = |texts: &[String]| {
        (0..values.len()).all(|i| (0..i).all(|j| texts[i] != texts[j] || (values[i] - values[j]).abs() <= 1e-9 * values[i].abs()))
    };
    (3..6).map(texts).find(|texts| differ(texts)).unwrap_or_else(|| texts(6))
}

/// Texts of values that stand beside each other, all with as many decimals as the text that has most of them, such as 41.0
/// and 51.2; left alone where that would print more than six digits of one, or where one is in powers of ten.
pub(super) fn with_like_decimals(values: &[f64], texts: Vec<String>) -> Vec<String> {
    let decimals = texts.iter().map(|text| text.find('.').map_or(0, |point| text.len() - point - 1)).max().unwrap_or(0);
    let alike: Vec<String> = values.iter().map(|value| format!("{value:.decimals$}")).collect();
    let digits = |text: &String| text.chars().filter(char::is_ascii_digit).skip_while(|digit| *digit == '0').count();
    let odd = texts.iter().any(|text| text.contains('e')) || alike.iter().any(|text| digits(text) > 6);
    if odd { texts } else { alike }
}

/// The smallest step that gives at most `most` ticks.
fn step_for(low: f64, high: f64, most: usize) -> Step {
    let most = most.max(2) as f64;
    let span = high - low;
    let start = (span / most).log10().floor() as i32 - 1;
    let steps = (start..start + 4).flat_map(|power| [1.0, 2.0, 5.0].map(|digit| Step { digit, power }));
    let fits = |step: &Step| {
        let (first, last) = step.multiples(low, high);
        last - first < most
    };
    steps.into_iter().find(fits).unwrap_or(Step { digit: 1.0, power: start + 4 })
}

fn tick_text(value: f64, step: Step, exponent_form: bool) -> String {
    if value == 0.0 {
        return "0".into();
    }
    if exponent_form && !(0..3).contains(&step.power) {
        let digits = (value.abs().log10().floor() as i32 - step.power).clamp(0, 15);
        return exponent_text(value, digits as usize);
    }
    let decimals = (-step.power).clamp(0, 12) as usize;
    format!("{value:.decimals$}")
}

fn exponent_text(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    format!("{}e{exponent}", without_trailing_zeros(mantissa.to_string()))
}

fn without_trailing_zeros(text: String) -> String {
    let trimmed = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if trimmed == "-0" { "0".into() } else { trimmed.into() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn labels(ticks: Vec<Tick>) -> String {
        ticks.into_iter().map(|tick| tick.label).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn values_beside_each_other_have_as_many_decimals() {
        let alike = |values: &[f64]| with_like_decimals(values, numbers(values));
        assert_eq!(alike(&[41.0, 51.2]), ["41.0", "51.2"]);
        assert_eq!(alike(&[95.0, 150.0]), ["95", "150"]);
        assert_eq!(alike(&[1234.0, 0.00123]), ["1234", "0.00123"]);
        assert_eq!(alike(&[0.0, -0.25]), ["0.00", "-0.25"]);
    }

    #[test]
    fn linear_ticks_are_round_numbers() {
        assert_eq!(labels(linear(0.0, 300.0, 8)), "0 50 100 150 200 250 300");
        assert_eq!(labels(linear(0.0, 0.35, 8)), "0 0.05 0.10 0.15 0.20 0.25 0.30 0.35");
        assert_eq!(labels(linear(0.0, 1.0, 6)), "0 0.2 0.4 0.6 0.8 1.0");
        assert_eq!(labels(linear(-12.0, 31.0, 6)), "-10 0 10 20 30");
        assert_eq!(labels(linear(0.0, 25_000_000.0, 6)), "0 5e6 1e7 1.5e7 2e7 2.5e7");
    }

    #[test]
    fn times_after_the_first_day_name_their_day() {
        assert_eq!(labels(clocks(0.0, 48.0, 6)), "00:00 12:00 day 2 12:00 day 3");
        assert_eq!(labels(clocks(22.0, 26.0, 6)), "22:00 23:00 day 2 01:00 02:00");
        assert_eq!(labels(clocks(29.5, 31.0, 4)), "day 2, 05:30 06:00 06:30 07:00");
        assert_eq!(labels(clocks(4.0, 24.0 * 9.0, 6)), "day 3 day 5 day 7 day 9");
        assert_eq!(day_and_clock_text(29.5), "day 2, 05:30");
        assert_eq!(day_and_clock_text(5.5), "05:30");
    }

    #[test]
    fn logarithmic_ticks_grow_by_ratios() {
        assert_eq!(labels(logarithmic(1.0, 100.0, 8)), "1 2 5 10 20 50 100");
        assert_eq!(labels(logarithmic(0.002, 40.0, 6)), "0.01 0.1 1 10");
        assert_eq!(labels(logarithmic(1e-9, 1e9, 5)), "1e-8 1e-4 1 1e4 1e8");
        assert_eq!(labels(logarithmic(20.0, 40.0, 6)), "20 25 30 35 40");
    }

    #[test]
    fn numbers_show_as_many_digits_as_keep_them_apart() {
        assert_eq!(numbers(&[44.04, 44.06, 3.0]), ["44", "44.1", "3"]);
        assert_eq!(numbers(&[44.06, 44.08, 3.0]), ["44.06", "44.08", "3"]);
        assert_eq!(numbers(&[12345.6, 0.001234]), ["12346", "0.00123"]);
        assert_eq!(numbers(&[5.0, 5.0]), ["5", "5"]);
    }

    proptest! {
        #[test]
        fn linear_ticks_lie_in_the_range_and_cover_it(low in -1e6..1e6f64, span in 1e-3..1e7f64, most in 2usize..12) {
            let high = low + span;
            let ticks = linear(low, high, most);
            prop_assert!(ticks.len() <= most.max(2));
            prop_assert!(ticks.iter().all(|tick| tick.value >= low - 1e-6 * span && tick.value <= high + 1e-6 * span));
            if ticks.len() >= 2 {
                let step = ticks[1].value - ticks[0].value;
                prop_assert!(ticks[0].value - low < step * 1.000_001 && high - ticks[ticks.len() - 1].value < step * 1.000_001);
                prop_assert!(ticks.windows(2).all(|pair| pair[0].label != pair[1].label));
            }
            let (wide_low, wide_high) = round_out(low, high, most);
            prop_assert!(wide_low <= low + 1e-6 * span && wide_high >= high - 1e-6 * span);
        }

        #[test]
        fn labels_read_back_as_their_value(low in -1e9..1e9f64, span in 1e-3..1e9f64) {
            for tick in linear(low, low + span, 7) {
                let read: f64 = tick.label.parse().expect("a number");
                prop_assert!((read - tick.value).abs() <= 1e-9 * span, "{} {}", tick.label, tick.value);
            }
        }

        #[test]
        fn logarithmic_ticks_lie_in_the_range(low in -20.0..20.0f64, decades in 0.01..30.0f64, most in 2usize..12) {
            let (low, high) = (10f64.powf(low), 10f64.powf(low + decades));
            let ticks = logarithmic(low, high, most);
            prop_assert!(ticks.len() <= most + 1);
            prop_assert!(ticks.iter().all(|tick| tick.value >= low * 0.999_999 && tick.value <= high * 1.000_001));
        }
    }
}
