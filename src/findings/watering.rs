//! Seasons and weeks of beds.

use super::catalog::watering as say;
use super::finding::Finding;
use super::phrase::Value;
use super::weather::{depth, in_unit, of_remarks};
use crate::quantity::{Quantity, dim};
use crate::season::{BarrelSeason, Bed, BedDay, BedSeason, CountsOn, Season, Totals, Week, WindowEnd};
use crate::unit_system::UnitSystem;
use crate::weather::{Field, Remark, Weather};

/// Share of rain and watering that may percolate. Common practice, no source: a fifth.
const MOST_PERCOLATED_SHARE: f64 = 0.2;
/// Days of stress, as a share of all, that are not worth a warning. Common practice, no source.
const FEW_STRESS_DAYS: f64 = 0.05;
/// Uniformity of the low quarter below which water counts as uneven. Common practice, no source.
const UNEVEN_DU: f64 = 0.6;
/// A pause between runs that is longer than the usual, s. Common practice, no source: 30 to 60 minutes.
const LONG_SOAK_S: f64 = 3600.0;
/// Share lost in the air above the mean of what was measured.
const MOST_LOST_SHARE: f64 = 0.21;
/// Crop coefficients of gardens: bare dry ground to a tall crop in dry wind.
const COEFFICIENTS: std::ops::RangeInclusive<f64> = 0.15..=1.3;
/// Shares of the reservoir at which crops are watered.
const SHARES: std::ops::RangeInclusive<f64> = 0.2..=0.65;
/// Depths of the loose ground of beds, m. Common practice, no source.
const DEPTHS_M: std::ops::RangeInclusive<f64> = 0.2..=0.6;
/// Puddles that stay, mm. Common practice, no source.
const PUDDLES_MM: std::ops::RangeInclusive<f64> = 1.0..=8.0;
/// A low that harms tender crops, degC.
const FROST_C: f64 = 0.0;
/// Shares of the water of a barrel that are worth a note: spilled, and given of what is needed.
const MUCH_SPILLED_SHARE: f64 = 0.5;
const LITTLE_GIVEN_SHARE: f64 = 0.8;
/// A run that is too short, s. Common practice, no source: two minutes.
const SHORT_RUN_S: f64 = 120.0;

/// What is to be said of a season and its weather.
pub fn of_season(season: &Season, weather: &Weather) -> Vec<Finding> {
    let mut findings = of_remarks(&remarks(weather, &season.remarks));
    for bed in &season.beds {
        let about = |entry: &'static super::Entry| Finding::of_whole(entry).with("bed", bed.bed.name.as_str());
        let crop = bed.bed.crop.name.as_str();
        if let Some((first, last)) = bed.days.first().zip(bed.days.last())
            && (bed.cut_off.is_some() || bed.begun_late.is_some())
        {
            let (from, to) = (bed.begun_late.unwrap_or(first.date), bed.cut_off.unwrap_or(last.date));
            let finding =
                about(&say::BEYOND_WEATHER).with("crop", crop).with("from", from.to_string()).with("to", to.to_string());
            findings.push(finding.with("first", first.date.to_string()).with("last", last.date.to_string()));
        }
        let totals = bed.totals();
        let share = totals.percolated_mm / (totals.rain_mm + totals.given_mm - totals.rain_lost_mm).max(1e-9);
        if share > MOST_PERCOLATED_SHARE && totals.given_mm > 0.0 {
            let finding =
                about(&say::PERCOLATES).with("percent", Value::percent(share)).with("depth", depth(totals.percolated_mm));
            findings.push(finding.with("given", depth(totals.given_mm)));
        }
        findings.extend(of_days(&bed.bed, &bed.days));
        if season.plan.allowed.is_some() && totals.stress_days > 0 {
            let finding = about(&say::RULE_LETS_DRY).with("crop", crop);
            findings.push(finding.with("days", Value::Count { number: totals.stress_days, word: "day" }));
        }
        findings.extend(of_bed(&bed.bed, bed.days.last()));
        findings.extend(of_frost(bed, weather));
        findings.extend(of_log_of_waterings(&bed.bed, &bed.days));
    }
    findings.push(Finding::of_whole(&say::ESTIMATE));
    super::in_order(findings)
}

/// A tender crop on days with frost.
fn of_frost(bed: &BedSeason, weather: &Weather) -> Option<Finding> {
    let (first, last) = bed.days.first().zip(bed.days.last()).filter(|_| bed.bed.crop.is_tender() && weather.span().is_some())?;
    let low = |day: &BedDay| weather.day(day.date).and_then(|day| day.get(Field::Low)).filter(|low_c| *low_c <= FROST_C);
    let mut frosts = bed.days.iter().filter_map(|day| low(day).map(|low_c| (day.date, low_c)));
    let (day, low_c) = frosts.next()?;
    let days = Value::Count { number: 1 + frosts.count(), word: "day" };
    let finding =
        Finding::of_whole(&say::MEETS_FROST).with("bed", bed.bed.name.as_str()).with("crop", bed.bed.crop.name.as_str());
    let finding = finding.with("from", first.date.to_string()).with("to", last.date.to_string()).with("days", days);
    Some(finding.with("day", day.to_string()).with("low", in_unit(low_c, "degC")))
}

/// Waterings of a log that no day of a season has.
fn of_log_of_waterings(bed: &Bed, days: &[BedDay]) -> Option<Finding> {
    let (first, last) = days.first().zip(days.last())?;
    let (day, _) = bed.log.iter().find(|(day, _)| !(first.date..=last.date).contains(day))?;
    let finding = Finding::of_whole(&say::LOG_OUTSIDE).with("bed", bed.name.as_str()).with("day", day.to_string());
    Some(finding.with("from", first.date.to_string()).with("to", last.date.to_string()))
}

/// What is to be said of a barrel over a season.
pub fn of_barrel(barrel: &BarrelSeason) -> Vec<Finding> {
    let mut findings = vec![Finding::of_whole(&say::BARREL_NOT_FOR_DRINKING)];
    let volume = |m3: f64| Quantity::new(m3, dim::VOLUME);
    let share = barrel.spilled_m3() / barrel.caught_m3().max(1e-12);
    if share > MUCH_SPILLED_SHARE {
        let finding = Finding::of_whole(&say::BARREL_SPILLS).with("volume", volume(barrel.barrel.volume_m3));
        findings.push(finding.with("percent", Value::percent(share)).with("spilled", volume(barrel.spilled_m3())));
    }
    let given = barrel.saved_m3() / barrel.wanted_m3().max(1e-12);
    if barrel.wanted_m3() > 0.0 && given < LITTLE_GIVEN_SHARE {
        let days = Value::Count { number: barrel.short_days(), word: "day" };
        findings.push(Finding::of_whole(&say::BARREL_SHORT).with("percent", Value::percent(given)).with("days", days));
    }
    super::in_order(findings)
}

/// A time of the day; of the next day where it is beyond one.
fn clock(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as i64;
    let of_day = minutes.rem_euclid(24 * 60);
    let next = if minutes >= 24 * 60 { " of the next day" } else { "" };
    format!("{:02}:{:02}{next}", of_day / 60, of_day % 60)
}

/// What is to be said of the hours of a week that starts at a time of the day; without one it ends with its hours where it fits.
pub fn of_start(week: &Week, start_s: Option<f64>) -> Vec<Finding> {
    let Ok(start_s) = start_s.map_or_else(|| week.latest_start_s(), Ok) else { return Vec::new() };
    let Ok(late) = week.late(start_s) else { return Vec::new() };
    let sun = match week.window.end {
        WindowEnd::Sunrise => Some("when the sun rises"),
        WindowEnd::SolarSunrise => Some("when the sun rises by its own time; .clock(..) of the weather gives that of the clock"),
        WindowEnd::Morning => Some("taken as the morning, since the place is not known"),
        WindowEnd::Rule => None,
    };
    let of_day = |late: &crate::season::Late| {
        let finding = Finding::of_whole(&say::OUTSIDE_HOURS).with("day", late.date.to_string());
        let finding = finding.with("begin", clock(late.begin_s)).with("end", clock(late.end_s));
        finding.with("from", clock(week.window.from_s)).with("to", clock(week.window.to_s)).with_some("sun", sun)
    };
    // The longest day stands for all.
    let longest = late.iter().max_by(|one, other| (one.end_s - one.begin_s).total_cmp(&(other.end_s - other.begin_s)));
    longest.map(of_day).into_iter().collect()
}

/// What is to be said of a week and its weather.
pub fn of_week(week: &Week, weather: &Weather) -> Vec<Finding> {
    let mut findings = of_remarks(&remarks(weather, &week.remarks));
    if let Some(day) = week.assumed_from {
        findings.push(Finding::of_whole(&say::DAYS_TO_COME).with("day", day.to_string()));
    }
    for job in &week.jobs {
        let bed = &job.bed;
        let about = |entry: &'static super::Entry| Finding::of_whole(entry).with("bed", bed.name.as_str());
        findings.extend(of_days(bed, &job.days));
        findings.extend(of_bed(bed, job.days.last()));
        if bed.water.is_none() {
            findings.push(about(&say::NO_RATE));
        }
        let cycles = job.waterings.iter().filter_map(|watering| watering.cycles);
        let most = cycles.max_by(|one, other| one.count.cmp(&other.count));
        let (Some(cycles), Some(water)) = (most, bed.water) else { continue };
        if let Some(longest_s) = cycles.longest_s.filter(|_| cycles.count > 1) {
            let finding = about(&say::RUNS_OFF).with("rate", rate(water.rate_mm_per_h)).with("intake", intake(bed));
            let finding = finding
                .with("longest", minutes(longest_s))
                .with("run", minutes(cycles.run_s))
                .with("soak", minutes(cycles.soak_s));
            findings.push(finding.with("cycles", Value::Count { number: cycles.count, word: "run" }));
        }
        if cycles.elapsed_s() > week.window.length_s() {
            findings.push(about(&say::LONG).with("elapsed", hours(cycles.elapsed_s())));
        }
        if cycles.soak_s > LONG_SOAK_S {
            findings.push(about(&say::LONG_SOAK).with("soak", minutes(cycles.soak_s)));
        }
        if cycles.run_s < SHORT_RUN_S {
            findings.push(about(&say::SHORT_RUN).with("run", minutes(cycles.run_s)));
        }
    }
    findings.extend(of_start(week, None));
    findings.push(Finding::of_whole(&say::ESTIMATE));
    super::in_order(findings)
}

/// The remarks on a weather and on the days that were used of it; what is missing matters where it was filled.
fn remarks(weather: &Weather, of_days: &[Remark]) -> Vec<Remark> {
    let matters = |remark: &&Remark| !matches!(remark, Remark::NoValue { .. } | Remark::DaysMissing { .. });
    weather.remarks.iter().filter(matters).chain(of_days).cloned().collect()
}

/// Stress, and reservoirs that are too small for a day.
fn of_days(bed: &Bed, days: &[BedDay]) -> Vec<Finding> {
    let mut findings = Vec::new();
    let about = |entry: &'static super::Entry| {
        Finding::of_whole(entry).with("bed", bed.name.as_str()).with("crop", bed.crop.name.as_str())
    };
    let totals = Totals::of(days);
    if totals.stress_days as f64 > FEW_STRESS_DAYS * totals.days as f64 && totals.stress_days > 1 {
        let finding = about(&say::STRESS).with("days", totals.stress_days.to_string()).with("of", totals.days.to_string());
        findings.push(finding.with("percent", Value::percent(totals.lowest_stress)));
    }
    let would_use = |day: &BedDay| day.coefficient * day.et0_mm;
    if let Some(day) = days.iter().find(|day| would_use(day) > day.limit_mm()) {
        let finding = about(&say::SMALL_RESERVOIR).with("limit", depth(day.limit_mm())).with("used", depth(would_use(day)));
        findings.push(finding.with("day", day.date.to_string()));
    }
    findings
}

/// What was taken for granted of a bed.
fn of_bed(bed: &Bed, last: Option<&BedDay>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let about = |entry: &'static super::Entry| Finding::of_whole(entry).with("bed", bed.name.as_str());
    let Some(last) = last else { return findings };
    if bed.soil.is_by_name() {
        let finding = about(&say::SOIL_BY_NAME).with("soil", bed.soil.name.as_str()).with("intake", intake(bed));
        findings.push(finding.with("reservoir", depth(last.reservoir_mm)));
    }
    if bed.crop.roots_m[1] > bed.ground_m && bed.ground_is_usual() {
        let length = |length_m: f64| Quantity::new(length_m, dim::LENGTH);
        let finding = about(&say::ROOTS_STOPPED).with("crop", bed.crop.name.as_str()).with("table", length(bed.crop.roots_m[1]));
        findings.push(finding.with("depth", length(bed.ground_m)));
    }
    let crop = bed.crop.name.as_str();
    if let Some(kc) = bed.crop.coefficients.into_iter().find(|kc| !COEFFICIENTS.contains(kc)) {
        findings.push(about(&say::COEFFICIENT_UNUSUAL).with("crop", crop).with("kc", Value::Number { value: kc, decimals: 2 }));
    }
    if !SHARES.contains(&bed.crop.share) {
        findings.push(about(&say::DEPLETION_UNUSUAL).with("crop", crop).with("percent", Value::percent(bed.crop.share)));
    }
    let is_pot = bed.soil.texture.is_some_and(|texture| texture.name == "potting mix");
    if !DEPTHS_M.contains(&last.roots_m.max(bed.ground_m)) && !is_pot {
        findings.push(about(&say::ROOTS_UNUSUAL).with("depth", Quantity::new(bed.ground_m, dim::LENGTH)));
    }
    if !PUDDLES_MM.contains(&bed.soil.puddle_mm) {
        findings.push(about(&say::PUDDLE_UNUSUAL).with("depth", depth(bed.soil.puddle_mm)));
    }
    if bed.lost_share > MOST_LOST_SHARE {
        findings.push(about(&say::AIR_LOSSES).with("percent", Value::percent(bed.lost_share)));
    }
    if let Some(water) = bed.water.filter(|water| water.du < UNEVEN_DU && bed.counts_on == CountsOn::LowQuarter) {
        let factor = Value::Number { value: 1.0 / water.du, decimals: 1 };
        findings.push(about(&say::UNEVEN).with("percent", Value::percent(water.du)).with("factor", factor));
    }
    findings
}

fn rate(mm_per_h: f64) -> Quantity {
    Quantity { preference: UnitSystem::default().preference_of("in/h"), ..Quantity::new(mm_per_h / 3.6e6, dim::SPEED) }
}

fn intake(bed: &Bed) -> Quantity {
    rate(bed.soil.intake.final_mm_per_h())
}

fn minutes(seconds: f64) -> Value {
    in_unit(seconds / 60.0, "min")
}

fn hours(seconds: f64) -> Value {
    in_unit(seconds / 3600.0, "h")
}
