//! Coverage: water that misses the bed, wind, dry corners, heads out of range; and catch-can tests.

use super::catalog::coverage as say;
use super::finding::{Finding, in_order, like, pressure};
use super::limits::{
    BLOWN, LEAST_CANS, LEAST_CATCH_M, LEAST_DU, MOST_BAND, MOST_TEST_WIND_M_PER_S, OFF_BED, RING, SPACING_IN_STRONG_WIND,
    SPACING_IN_WIND,
};
use super::phrase::{Limit, Value};
use crate::coverage::{CatchCans, Coverage, Depth, HeadState, Wind};
use crate::quantity::{Quantity, UnitSystem, dim};

/// What is to be said of the coverage of a bed.
pub fn of_coverage(coverage: &Coverage) -> Vec<Finding> {
    if coverage.sprays.is_empty() {
        let heads = Value::Count { number: coverage.stalled.len(), word: "head" };
        return vec![Finding::of_whole(&say::COVERAGE_OF_NONE_IN_RANGE).with("heads", heads)];
    }
    let mut findings = stalled(&coverage.stalled);
    findings.extend(rings(coverage));
    findings.extend(mists(coverage));
    let units = coverage.units;
    let off = 1.0 - coverage.caught_share();
    let most = OFF_BED.given_in(&coverage.accepted);
    if off > most {
        let finding = Finding::of_whole(&say::OVERSPRAY);
        findings.push(finding.with("off", Value::percent(off)).with("most", Value::percent(most)));
    }
    let least_du = LEAST_DU.given_in(&coverage.accepted);
    if coverage.uniformity.du < least_du {
        findings.push(uneven((coverage.uniformity.du, least_du), coverage.place_m(coverage.driest()), units));
    }
    if let Some(wind) = coverage.wind {
        findings.extend(blown(coverage, wind, off));
        findings.extend(apart_in_wind(coverage, wind));
    }
    in_order(findings)
}

/// What is to be said of depths over a schedule.
pub fn of_depth(depth: &Depth) -> Vec<Finding> {
    let names: Vec<String> = depth.stalled.iter().cloned().collect();
    let mut findings = stalled(&names);
    let least_du = LEAST_DU.given_in(&depth.accepted);
    if depth.uniformity.du < least_du {
        findings.push(uneven((depth.uniformity.du, least_du), depth.grid.place_m(depth.driest()), depth.units));
    }
    in_order(findings)
}

/// What is to be said of a catch-can test.
pub fn of_cans(cans: &CatchCans) -> Vec<Finding> {
    let mut findings = Vec::new();
    let number = cans.catches.len();
    let count = || Value::Count { number, word: "can" };
    let band = cans.band();
    let least = || Value::Count { number: LEAST_CANS, word: "can" };
    if let Some(band) = band.filter(|band| *band > MOST_BAND) {
        findings.push(Finding::of_whole(&say::CANS_UNSURE).with("cans", count()).with("band", Value::percent(band)));
    } else if number < LEAST_CANS {
        let finding = Finding::of_whole(&say::CANS_FEW).with("cans", count()).with("least", least());
        findings.push(finding.with_some("band", band.map(Value::percent)));
    }
    let dry: Vec<usize> = (0..number).filter(|can| cans.catches[*can] == 0.0).collect();
    if let [first, others @ ..] = dry.as_slice() {
        let can = match cans.row_and_column(*first) {
            Some((row, column)) => format!("can {column} of row {row}"),
            None => format!("can {}", first + 1),
        };
        findings.push(and_others(Finding::of_whole(&say::CANS_EMPTY).with("can", can), others.len()));
    }
    if let Some(wind_m_per_s) = cans.wind_m_per_s.filter(|wind| *wind > MOST_TEST_WIND_M_PER_S) {
        let finding = Finding::of_whole(&say::CANS_WIND).with("wind", wind_speed(wind_m_per_s, UnitSystem::default()));
        let most = Limit::published(wind_speed(MOST_TEST_WIND_M_PER_S, UnitSystem::default()), "mph");
        findings.push(finding.with("most", most));
    }
    if let Ok(depth_m) = cans.depth_m(cans.uniformity.mean)
        && depth_m < LEAST_CATCH_M
    {
        let inches = UnitSystem::default().preference_of("in");
        let depth = |depth_m: f64| Quantity { preference: inches, ..Quantity::new(depth_m, dim::LENGTH) };
        let (mean, least) = (depth(depth_m), Limit::of_practice(depth(LEAST_CATCH_M), "mm"));
        findings.push(Finding::of_whole(&say::CANS_SHORT).with("mean", mean).with("least", least));
    }
    in_order(findings)
}

fn stalled(names: &[String]) -> Vec<Finding> {
    let [first, others @ ..] = names else { return Vec::new() };
    let first = |entry| Finding::of_whole(entry).with("first", first.as_str());
    vec![match others {
        [] => first(&say::COVERAGE_BELOW_RANGE),
        [second] => first(&say::COVERAGE_OF_TWO_BELOW_RANGE).with("second", second.as_str()),
        more => first(&say::COVERAGE_OF_MANY_BELOW_RANGE).with("others", Value::Count { number: more.len(), word: "other" }),
    }]
}

fn and_others(finding: Finding, others: usize) -> Finding {
    finding.with_some("others", (others > 0).then_some(Value::Count { number: others, word: "other" }))
}

/// Heads without a range that run far below the pressure of their throw.
fn rings(coverage: &Coverage) -> Option<Finding> {
    let share = RING.given_in(&coverage.accepted);
    let least = |head: &HeadState| head.least_throw_pa.filter(|least_pa| head.pressure_pa < share * least_pa);
    let low: Vec<&HeadState> = coverage.heads.iter().filter(|head| head.range[0].is_none() && least(head).is_some()).collect();
    let first = low.first()?;
    let finding =
        Finding::of_whole(&say::COVERAGE_RING).with("head", first.name.as_str()).with("has", pressure(first.pressure_pa));
    Some(and_others(finding.with("least", pressure(least(first)?)), low.len() - 1))
}

/// Heads above their range.
fn mists(coverage: &Coverage) -> Option<Finding> {
    let most = |head: &HeadState| head.range[1].filter(|most| head.pressure_pa > most.si);
    let high: Vec<&HeadState> = coverage.heads.iter().filter(|head| most(head).is_some()).collect();
    let first = high.first()?;
    let most = most(first)?;
    let finding = Finding::of_whole(&say::COVERAGE_MIST).with("head", first.name.as_str());
    Some(and_others(finding.with("has", like(first.pressure_pa, most)).with("most", most), high.len() - 1))
}

fn uneven((du, least_du): (f64, f64), (x_m, y_m): (f64, f64), units: UnitSystem) -> Finding {
    let length = |length_m: f64| units.quantity(length_m, dim::LENGTH);
    let finding = Finding::of_whole(&say::COVERAGE_UNEVEN).with("du", Value::percent(du)).with("least", Value::percent(least_du));
    finding.with("x", length(x_m)).with("y", length(y_m))
}

fn blown(coverage: &Coverage, wind: Wind, off: f64) -> Option<Finding> {
    let calm_off = 1.0 - coverage.in_wind(None).ok()?.caught_share();
    if off < calm_off + BLOWN.given_in(&coverage.accepted) {
        return None;
    }
    let units = coverage.units;
    let shift_m = coverage.shift_m.0.hypot(coverage.shift_m.1);
    let finding = Finding::of_whole(&say::COVERAGE_WIND).with("wind", wind_speed(wind.speed_m_per_s, units));
    let finding = finding.with("shift", units.quantity(shift_m, dim::LENGTH));
    Some(finding.with("off", Value::percent(off)).with("calm", Value::percent(calm_off)))
}

/// The first head whose nearest neighbor is farther away than the wind allows.
fn apart_in_wind(coverage: &Coverage, wind: Wind) -> Option<Finding> {
    let known = SPACING_IN_WIND.iter().find(|(speed, _)| wind.speed_m_per_s <= *speed);
    let most = known.map_or(SPACING_IN_STRONG_WIND, |known| known.1);
    let sprays = &coverage.sprays;
    for (index, spray) in sprays.iter().enumerate() {
        let others = (0..sprays.len()).filter(|other| *other != index);
        let apart = |other: usize| (sprays[other].x_m - spray.x_m).hypot(sprays[other].y_m - spray.y_m);
        let Some(nearest) = others.min_by(|a, b| apart(*a).total_cmp(&apart(*b))) else { continue };
        let share = apart(nearest) / (2.0 * spray.radius_m);
        // Heads that do not meet in calm air are on different beds.
        if share > most && apart(nearest) <= spray.radius_m + sprays[nearest].radius_m {
            let [first, second] = [index, nearest].map(|head| coverage.heads.get(head).map(|head| head.name.clone()));
            let finding = Finding::of_whole(&say::SPACING_IN_WIND).with("first", first?).with("second", second?);
            let apart = coverage.units.quantity(apart(nearest), dim::LENGTH);
            let finding = finding.with("apart", apart).with("percent", Value::percent(share)).with("most", Value::percent(most));
            return Some(finding.with("wind", wind_speed(wind.speed_m_per_s, coverage.units)));
        }
    }
    None
}

/// A speed of wind as people read it.
fn wind_speed(speed_m_per_s: f64, units: UnitSystem) -> Quantity {
    Quantity { preference: units.preference_of("mph"), ..Quantity::new(speed_m_per_s, dim::SPEED) }
}
