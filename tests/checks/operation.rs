//! The garden over time against its check values: cycling of a pump, drawdown of a tank.

use crate::harness::{Answer, Found, Row, check, to_si};
use hosewright::garden::Garden;
use hosewright::operation::{Log, Schedule, TankNeeds, Vessel, operate, tank_for};
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Quantity, dim};

const CUT_IN_PSI: f64 = 30.0;
const CUT_OUT_PSI: f64 = 50.0;
/// What a liter of water is compressed for each Pa; it counts into the drawdown, m3/Pa.
const SQUEEZED: f64 = 1e-3 / 2.15e9;

fn part(kind: Kind, name: &str, numbers: &[(&str, Quantity)]) -> Garden {
    Garden::of(Part::of_words(kind, Some(name), numbers).expect("a sound part"))
}

fn si(value: f64, dimension: hosewright::quantity::Dimension) -> Quantity {
    Quantity::new(value, dimension)
}

/// A pump that gives one flow at any pressure, a switch, a storage of constant stretch, and a steady draw.
fn garden(drawdown_m3: Option<f64>, pump_m3_per_s: f64, draw_m3_per_s: f64) -> Garden {
    let psi = to_si(1.0, "psi");
    // At 40 psi, in the middle between cut-in and cut-out, it gives just this flow.
    let curve = [(pump_m3_per_s * (1.0 - 1e-5), 80.0 * psi), (pump_m3_per_s * (1.0 + 1e-5), 0.0)];
    let pump = Part::new(Kind::Booster).named("pump").and_then(|pump| pump.with_curve(&curve)).expect("a pump");
    let switch = [("cut_in", si(CUT_IN_PSI * psi, dim::PRESSURE)), ("cut_out", si(CUT_OUT_PSI * psi, dim::PRESSURE))];
    let stretch = drawdown_m3.map(|drawdown| drawdown / ((CUT_OUT_PSI - CUT_IN_PSI) * psi) - SQUEEZED);
    let mut hose = vec![("length", si(1.0, dim::LENGTH)), ("diameter", si(0.02, dim::LENGTH))];
    hose.extend(stretch.map(|stretch| ("compliance", si(stretch, dim::COMPLIANCE))));
    let line = [
        part(Kind::Supply, "pond", &[("static_pressure", si(1e-3, dim::PRESSURE))]),
        part(Kind::CheckValve, "check", &[("diameter", si(0.025, dim::LENGTH))]),
        Garden::of(pump),
        part(Kind::Hose, "stretchy", &hose),
        part(Kind::PressureSwitch, "switch", &switch),
        part(Kind::Demand, "tap", &[("flow", si(draw_m3_per_s, dim::FLOW))]),
    ];
    line[1..].iter().fold(line[0].clone(), |line, next| line.then(next).expect("joins"))
}

fn run(row: &Row, draw_share: Option<f64>) -> Log {
    let pump = row.need_si(&[("pump_flow_gpm", "gpm"), ("pump_flow_L_per_min", "L/min")]);
    let draw =
        draw_share.map_or_else(|| row.need_si(&[("demand_gpm", "gpm"), ("demand_L_per_min", "L/min")]), |share| share * pump);
    let drawdown = row.need_si(&[("drawdown_gal", "gal"), ("drawdown_L", "L")]);
    operate(&garden(Some(drawdown), pump, draw), &Schedule::default(), 3600.0).expect("runs")
}

/// A full cycle between two starts late in the run, s.
fn cycle(log: &Log) -> (f64, f64) {
    let booster = log.boosters().next().expect("a pump");
    let runs: Vec<_> = log.runs(booster).collect();
    let (first, second) = (&runs[runs.len() - 3], &runs[runs.len() - 2]);
    let stop = first.to_s.expect("stopped");
    (stop - first.from_s, second.from_s - stop)
}

fn cycling(row: &Row) -> Answer {
    let found = match row.quantity() {
        "run_time" => cycle(&run(row, None)).0,
        "rest_time" => cycle(&run(row, None)).1,
        "starts_per_hour" => {
            let (run_s, rest_s) = cycle(&run(row, None));
            1.0 / (run_s + rest_s)
        }
        "worst_starts_per_hour" => {
            let (run_s, rest_s) = cycle(&run(row, Some(0.5)));
            1.0 / (run_s + rest_s)
        }
        "needed_drawdown" => {
            let pump = row.need_si(&[("pump_flow_gpm", "gpm")]);
            let needs = TankNeeds { starts_per_s: 1e3, shortest_run_s: row.need_si(&[("minimum_run_min", "min")]) };
            tank_for(&garden(None, pump, 0.0), &needs).expect("a tank")[0].drawdown_m3
        }
        _ => return None,
    };
    Some(Ok(Found::Si(found)))
}

fn drawdown(row: &Row) -> Answer {
    let psi = |name: &'static str| [(name, "psi")];
    let pressure = |us: &'static str, metric: &'static str| row.si(&psi(us)).unwrap_or_else(|| row.need_si(&[(metric, "kPa")]));
    let vessel = Vessel::Cushion {
        volume_m3: row.need_si(&[("tank_volume_gal", "gal"), ("tank_volume_L", "L")]),
        precharge_pa: pressure("precharge_psi", "precharge_kPa"),
    };
    let given = vessel.volume_m3(pressure("cut_out_psi", "cut_out_kPa")) - vessel.volume_m3(pressure("cut_in_psi", "cut_in_kPa"));
    match row.quantity() {
        "drawdown" => Some(Ok(Found::Si(given))),
        // The factor is the share of the volume.
        "drawdown_factor" => Some(Ok(Found::InUnitOfRow(given / vessel_m3(&vessel)))),
        _ => None,
    }
}

fn vessel_m3(vessel: &Vessel) -> f64 {
    match vessel {
        Vessel::Cushion { volume_m3, .. } => *volume_m3,
        Vessel::Linear { .. } => f64::NAN,
    }
}

#[test]
fn cycling_of_a_pump_agrees() {
    check("pump_cycling.csv", 19, &[], cycling);
}

#[test]
fn drawdown_of_a_tank_agrees() {
    check("tank_drawdown.csv", 13, &[], drawdown);
}
