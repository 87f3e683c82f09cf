//! Seasons and weeks of beds.

use super::catalog::watering as say;
use super::finding::Finding;
use super::phrase::Value;
use super::weather::{depth, in_unit, of_remarks};
use crate::quantity::{Quantity, dim};
use crate::season::{Bed, BedDay, CountsOn, Season, Totals, Week};
use crate::unit_system::UnitSystem;
use crate::weather::{Remark, Weather};

/// Share of rain and watering that may percolate. Common practice, no source: a fifth.
const MOST_PERCOLATED_SHARE: f64 = 0.2;
/// Days of stress, as a share of all, that are not worth a warning. Common practice, no source.
const FEW_STRESS_DAYS: f64 = 0.05;
/// Uniformity of the low quarter below which water counts as uneven. Common practice, no source.
const UNEVEN_DU: f64 = 0.6;
/// A watering that does not fit between midnight and sunrise in summer, s. Common practice, no source: six hours.
const NIGHT_S: f64 = 6.0 * 3600.0;
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
        findings.extend(of_bed(&bed.bed, bed.days.last()));
    }
    findings.push(Finding::of_whole(&say::ESTIMATE));
    super::in_order(findings)
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
        if cycles.elapsed_s() > NIGHT_S {
            findings.push(about(&say::LONG).with("elapsed", hours(cycles.elapsed_s())));
        }
        if cycles.run_s < SHORT_RUN_S {
            findings.push(about(&say::SHORT_RUN).with("run", minutes(cycles.run_s)));
        }
    }
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
