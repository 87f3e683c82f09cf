//! How long maps of coverage take: 60 heads on 200 by 200 cells, in calm air, in wind, on a bed with a path and a shed.
//!
//! `cargo bench --bench coverage`

use divan::{Bencher, black_box};
use hosewright::coverage::{Bed, Coverage, Ground, Outline, Pattern, Spray, Wind};
use hosewright::parts::RadialProfile;
use std::sync::Arc;

fn main() {
    divan::main();
}

/// Ten columns and six rows of heads, head to head, each with a pressure and a throw of its own.
fn heads() -> Vec<Spray> {
    let number = |index: i32| (f64::from(index % 10), f64::from(index / 10));
    let head = |index: i32| {
        let (column, row) = number(index);
        let pressure_pa = 280e3 - 800.0 * f64::from(index);
        let (arc_deg, middle_deg) = match (column == 0.0 || column == 9.0, row == 0.0 || row == 5.0) {
            (true, true) if row == 0.0 => (90.0, if column == 0.0 { 45.0 } else { 135.0 }),
            (true, true) => (90.0, if column == 0.0 { 315.0 } else { 225.0 }),
            (true, false) => (180.0, if column == 0.0 { 0.0 } else { 180.0 }),
            (false, true) => (180.0, if row == 0.0 { 90.0 } else { 270.0 }),
            (false, false) => (360.0, 0.0),
        };
        let radius_m = 9.0 * (pressure_pa / 280e3).sqrt();
        let flow_m3_per_s = 1.5e-4 * arc_deg / 360.0;
        Spray { x_m: 9.0 * column, y_m: 9.0 * row, radius_m, arc_deg, middle_deg, flow_m3_per_s, pressure_pa, ..Spray::default() }
    };
    (0..60).map(head).collect()
}

const LAWN: Bed = Bed { left_m: 0.0, right_m: 81.0, bottom_m: 0.0, top_m: 45.0 };

fn calm(ground: impl Into<Ground>) -> Coverage {
    Coverage::sampled(heads(), ground, Pattern::Cone, 200, 200).expect("coverage")
}

#[divan::bench]
fn sixty_heads_calm(bencher: Bencher) {
    bencher.bench_local(|| {
        let found = calm(black_box(LAWN));
        assert!(found.caught_share() > 0.9);
        found
    });
}

#[divan::bench]
fn sixty_heads_in_wind(bencher: Bencher) {
    let calm = calm(LAWN);
    bencher.bench_local(|| {
        let found = calm.in_wind(black_box(Some(Wind { speed_m_per_s: 3.0, from_deg: 250.0 }))).expect("coverage");
        assert!(found.caught_share() < calm.caught_share());
        found
    });
}

#[divan::bench]
fn sixty_heads_on_a_bed_with_a_path(bencher: Bencher) {
    let outline = |corners: &[(f64, f64)]| Outline::new(corners.to_vec()).expect("an outline");
    let bed = outline(&[(0.0, 0.0), (81.0, 0.0), (81.0, 30.0), (60.0, 45.0), (0.0, 45.0)]);
    let path = outline(&[(10.0, -1.0), (12.0, -1.0), (70.0, 50.0), (67.0, 50.0)]);
    bencher.bench_local(|| {
        let found = calm(Ground::new(vec![bed.clone()], vec![black_box(path.clone())]).expect("ground"));
        assert!(found.caught_share() < 0.95);
        found
    });
}

#[divan::bench]
fn sixty_measured_heads(bencher: Bencher) {
    let cans = [(0.0, 9.0), (2.0, 7.0), (4.0, 5.5), (6.0, 4.0), (8.0, 1.5), (9.0, 0.0)].map(|(at, rate)| (at, rate / 3.6e6));
    let profile = Arc::new(RadialProfile::new(&cans).expect("a profile"));
    let measured: Vec<Spray> = heads().into_iter().map(|spray| Spray { measured: Some(profile.clone()), ..spray }).collect();
    bencher.bench_local(|| Coverage::sampled(black_box(measured.clone()), LAWN, Pattern::Cone, 200, 200).expect("coverage"));
}
