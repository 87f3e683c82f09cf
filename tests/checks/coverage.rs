//! Uniformity, overlap of heads and rates of application against their check values.

use crate::harness::{Answer, Found, Row, check, to_si};
use hosewright::coverage::{
    Bed, Coverage, Drift, Landing, Launch, LowQuarter, Pattern, Spray, Uniformity, Wind, application_rate, christiansen_expected,
    driest_window, jet_m_per_s, low_quarter_expected, run_time_s, terminal_speed_m_per_s,
};
use hosewright::parts::RadialProfile;
use std::sync::Arc;

fn uniformity(row: &Row) -> Answer {
    let percent = |share: f64| Some(Ok(Found::InUnitOfRow(100.0 * share)));
    match row.quantity() {
        "du_from_cu" => return percent(low_quarter_expected(row.need("cu_pct") / 100.0)),
        "cu_from_du" => return percent(christiansen_expected(row.need("du_lq_pct") / 100.0)),
        _ => {}
    }
    let catches: Vec<f64> = row.text("values").split(' ').map(|value| value.parse().expect("a catch")).collect();
    let found = Uniformity::of(&catches)?;
    match row.quantity() {
        "mean" => Some(Ok(Found::InUnitOfRow(found.mean))),
        "cu" => percent(found.christiansen),
        "du_lq" => percent(found.du),
        "du_lh" => percent(found.low_half),
        "cv" => percent(found.variation?),
        "scheduling_coefficient_lq" => Some(Ok(Found::InUnitOfRow(found.scheduling_coefficient()))),
        _ => None,
    }
}

/// Heads of an endless lattice that reach the ground between them; the ground is a column wide and two rows high.
fn lattice(row: &Row, pattern: Pattern) -> Option<Coverage> {
    let (triangular, radius_m) = (row.text("layout") == "triangular", row.need("radius_over_spacing"));
    let height = if triangular { 0.75_f64.sqrt() } else { 1.0 };
    let sprays = (-4..=6).flat_map(|line: i32| {
        let shift = if triangular && line.rem_euclid(2) == 1 { 0.5 } else { 0.0 };
        (-4..=5).map(move |place: i32| {
            let (x_m, y_m) = (f64::from(place) + shift, f64::from(line) * height);
            // A flow that makes the rate at the head one.
            let full = Spray { x_m, y_m, radius_m, arc_deg: 360.0, middle_deg: 0.0, flow_m3_per_s: 1.0, ..Spray::default() };
            Spray { flow_m3_per_s: full.area_m2() * pattern.mean(), ..full }
        })
    });
    let cells = row.need("cells_per_side") as usize;
    let bed = Bed { left_m: 0.0, right_m: 1.0, bottom_m: 0.0, top_m: 2.0 * height };
    Coverage::sampled(sprays.collect(), bed, pattern, cells, cells).ok()
}

fn overlap(row: &Row) -> Answer {
    let word = row.text("profile").trim_start_matches("flat ");
    let (_, pattern) = Pattern::ALL.into_iter().find(|(name, _)| *name == word)?;
    let found = lattice(row, pattern)?.uniformity;
    let value = match row.quantity() {
        "cu" => 100.0 * found.christiansen,
        "du_lq" => 100.0 * found.du,
        "mean_relative_rate" => found.mean,
        "min_over_mean" => found.lowest / found.mean,
        _ => return None,
    };
    Some(Ok(Found::InUnitOfRow(value)))
}

/// Readings of a grid, and a leg of cans from one head that overlaps with its neighbors.
fn grids(row: &Row) -> Answer {
    if !row.text("profile").is_empty() {
        return leg(row);
    }
    let catches: Vec<f64> = row.text("values").split(' ').map(|value| value.parse().expect("a catch")).collect();
    let columns = row.need("columns") as usize;
    let rule = row.text("low_quarter_rule");
    let rule = LowQuarter::ALL.into_iter().find(|(word, _)| *word == rule).map_or(LowQuarter::Parts, |found| found.1);
    let found = Uniformity::by_rule(&catches, rule)?;
    let window = || driest_window(&catches, columns, row.need("window_cells") as usize).map(|(_, mean)| mean);
    Some(Ok(Found::InUnitOfRow(match row.quantity() {
        "mean" => found.mean,
        "cu" => 100.0 * found.christiansen,
        "du_lq" => 100.0 * found.du,
        "du_lh" => 100.0 * found.low_half,
        "cv" => 100.0 * found.variation?,
        "lowest_over_mean" => found.lowest / found.mean,
        "sc_lq" => found.scheduling_coefficient(),
        "sc_lowest" => found.mean / found.lowest,
        "driest_window_mean" => window()?,
        "scheduling_coefficient" => found.mean / window()?,
        _ => return None,
    })))
}

fn leg(row: &Row) -> Answer {
    let can = |text: &str| {
        let (distance, rate) = text.split_once(':')?;
        Some((distance.parse().ok()?, to_si(rate.parse().ok()?, "mm/h")))
    };
    let cans: Vec<(f64, f64)> = row.text("profile").split(' ').map(|text| can(text).expect("a can")).collect();
    let profile = RadialProfile::new(&cans).expect("a profile");
    let flow_m3_per_s = profile.flow_m3_per_s(360.0);
    if row.quantity() == "flow_of_profile" {
        return Some(Ok(Found::Si(flow_m3_per_s)));
    }
    let (across_m, up_m) = (row.need("head_spacing_m"), row.need("row_spacing_m"));
    let triangular = row.text("layout") == "triangular";
    let head = Spray { radius_m: profile.reach_m(), flow_m3_per_s, measured: Some(Arc::new(profile)), ..Spray::default() };
    let sprays = (-3..=5).flat_map(|line: i32| {
        let shift = if triangular && line.rem_euclid(2) == 1 { 0.5 } else { 0.0 };
        let head = &head;
        (-3..=4).map(move |place: i32| Spray {
            x_m: (f64::from(place) + shift) * across_m,
            y_m: f64::from(line) * up_m,
            ..head.clone()
        })
    });
    let bed = Bed { left_m: 0.0, right_m: across_m, bottom_m: 0.0, top_m: 2.0 * up_m };
    let found = Coverage::sampled(sprays.collect(), bed, Pattern::default(), 131, 131).ok()?.uniformity;
    match row.quantity() {
        "mean_rate" => Some(Ok(Found::Si(found.mean))),
        "cu" => Some(Ok(Found::InUnitOfRow(100.0 * found.christiansen))),
        "du_lq" => Some(Ok(Found::InUnitOfRow(100.0 * found.du))),
        _ => None,
    }
}

/// A drop that flies with or without air, in wind or without it.
fn flight(row: &Row) -> Answer {
    let drop_m = || 1e-3 * row.need("drop_mm");
    if row.quantity() == "terminal_speed" {
        return Some(Ok(Found::Si(terminal_speed_m_per_s(drop_m()))));
    }
    let launch =
        Launch { speed_m_per_s: row.need("speed_m_per_s"), angle_deg: row.need("angle_deg"), height_m: row.need("height_m") };
    if let Some(pressure_kpa) = row.number("nozzle_pressure_kPa") {
        let jet = jet_m_per_s(1000.0 * pressure_kpa);
        assert!((jet / launch.speed_m_per_s - 1.0).abs() < 1e-6, "{}: the jet leaves with {jet} m/s", row.case());
    }
    let fly = || {
        let bearing_rad = row.number("bearing_to_wind_deg").unwrap_or(0.0).to_radians();
        launch.fly(drop_m(), row.number("wind_m_per_s").unwrap_or(0.0), bearing_rad)
    };
    let of = |part: fn(&Landing) -> f64| Some(Ok(Found::Si(part(&fly()))));
    match row.quantity() {
        "throw_without_air" => Some(Ok(Found::Si(launch.throw_without_air_m()))),
        "throw" | "landing_along_wind" => of(|landing| landing.along_m),
        "landing_across_wind" => of(|landing| landing.across_m),
        "flight_time" => of(|landing| landing.time_s),
        _ => None,
    }
}

/// The way of a pattern in wind over that wind, and a square bed with a quarter circle in each corner.
fn in_wind(row: &Row) -> Answer {
    let (throw_m, wind_m_per_s) = (row.need("throw_m"), row.need("wind_m_per_s"));
    let pressure_pa = 1000.0 * row.need("nozzle_pressure_kPa");
    let (angle_deg, height_m) = (row.need("angle_deg"), row.need("height_m"));
    if row.quantity() == "shift_over_wind" {
        let launch = Launch { speed_m_per_s: jet_m_per_s(pressure_pa), angle_deg, height_m };
        let drift = Drift::of(&launch, throw_m, wind_m_per_s);
        let (mut sum, mut water) = (0.0, 0.0);
        for share in [0.3, 0.5, 0.7, 0.9] {
            let of_water = share * Pattern::Cone.at(share);
            let ways = [0.0_f64, 90.0, 180.0, 270.0].map(|bearing| drift.at(share, bearing.to_radians()).0);
            (sum, water) = (sum + of_water * ways.iter().sum::<f64>() / 4.0, water + of_water);
        }
        return Some(Ok(Found::Si(sum / water / wind_m_per_s)));
    }
    let side_m = row.need("bed_m");
    let corners = [(0.0, 0.0, 45.0), (side_m, 0.0, 135.0), (side_m, side_m, 225.0), (0.0, side_m, 315.0)];
    let quarter = |(x_m, y_m, middle_deg)| Spray {
        x_m,
        y_m,
        radius_m: throw_m,
        arc_deg: 90.0,
        middle_deg,
        flow_m3_per_s: 1e-4,
        pressure_pa,
        trajectory_deg: angle_deg,
        riser_m: height_m,
        measured: None,
    };
    let bed = Bed { left_m: 0.0, right_m: side_m, bottom_m: 0.0, top_m: side_m };
    let calm = Coverage::sampled(corners.map(quarter).to_vec(), bed, Pattern::Cone, 10, 10).ok()?;
    let found = calm.in_wind(Some(Wind { speed_m_per_s: wind_m_per_s, from_deg: 270.0 })).ok()?;
    let percent = match row.quantity() {
        "on_bed" => found.caught_share(),
        "cu" => found.uniformity.christiansen,
        "du_lq" => found.uniformity.du,
        _ => return None,
    };
    Some(Ok(Found::InUnitOfRow(100.0 * percent)))
}

fn area_m2(row: &Row) -> f64 {
    row.si(&[("area_ft2", "ft2"), ("area_m2", "m2")]).unwrap_or_else(|| {
        row.need_si(&[("head_spacing_ft", "ft"), ("head_spacing_m", "m")])
            * row.need_si(&[("row_spacing_ft", "ft"), ("row_spacing_m", "m")])
    })
}

fn rates(row: &Row) -> Answer {
    let si = match row.quantity() {
        "rate" => application_rate(row.need_si(&[("flow_gpm", "gpm"), ("flow_L_per_min", "L/min")]), area_m2(row)),
        "rate_from_catch" => {
            let flow = to_si(row.need("catch_mL"), "mL") / to_si(row.need("run_min"), "min");
            application_rate(flow, row.need_si(&[("catch_area_in2", "in2")]))
        }
        "volume_for_depth" => {
            // The flow that brings the depth in an hour, over an hour.
            let hour_s = 3600.0;
            let rate = row.need_si(&[("depth_in", "in")]) / hour_s;
            let area_m2 = area_m2(row);
            rate / application_rate(1.0, area_m2) * hour_s
        }
        "run_time_for_net_depth" => {
            run_time_s(row.need_si(&[("depth_in", "in")]), row.need_si(&[("rate_in_per_h", "in/h")]), row.need("efficiency"))
        }
        // Rows of a triangular layout stand at sin 60 of the spacing.
        "triangular_row_spacing" => row.need_si(&[("head_spacing_ft", "ft")]) * 60.0_f64.to_radians().sin(),
        _ => return None,
    };
    Some(Ok(Found::Si(si)))
}

#[test]
fn evenness_agrees_with_published_examples_and_numpy() {
    check("uniformity.csv", 45, &[], uniformity);
}

#[test]
fn overlapping_heads_agree_with_numpy() {
    check("coverage_overlap.csv", 32, &[], overlap);
}

#[test]
fn grids_and_legs_of_cans_agree_with_numpy() {
    check("uniformity_grids.csv", 89, &[], grids);
}

#[test]
fn drops_fly_as_an_independent_integration_says() {
    check("drop_flight.csv", 79, &[], flight);
}

#[test]
fn patterns_in_wind_agree_with_parcels_flown_one_by_one() {
    check("wind_shift.csv", 24, &[], in_wind);
}

#[test]
fn rates_of_application_agree_with_published_formulas() {
    check("application_rate.csv", 23, &[], rates);
}
