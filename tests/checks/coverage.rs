//! Uniformity, overlap of heads and rates of application against their check values.

use crate::harness::{Answer, Found, Row, check, to_si};
use hosewright::coverage::{
    Bed, Coverage, Pattern, Spray, Uniformity, application_rate, christiansen_expected, low_quarter_expected, run_time_s,
};

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
            let full = Spray { x_m, y_m, radius_m, arc_deg: 360.0, middle_deg: 0.0, flow_m3_per_s: 1.0 };
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
fn rates_of_application_agree_with_published_formulas() {
    check("application_rate.csv", 23, &[], rates);
}
