//! Textbook problems with known answers.

use super::*;
use std::convert::Infallible;

const fn between(low: f64, high: f64) -> Variable {
    Variable::Between { low, high }
}

fn found(variables: &[Variable], f: impl Fn(&[f64]) -> (f64, f64)) -> Optimum {
    let judged = optimum(variables, |x| {
        let (value, broken) = f(x);
        Ok::<_, Infallible>(Worth { value, broken: broken.max(0.0) })
    });
    judged.expect("an optimum")
}

fn near(found: &Optimum, expected: &[f64], within: f64) {
    for (a, b) in found.at.iter().zip(expected) {
        assert!((a - b).abs() < within, "found {:?}, expected {expected:?}", found.at);
    }
}

#[test]
fn rosenbrocks_valley_is_followed_to_its_end() {
    // H. H. Rosenbrock, An automatic method for finding the greatest or least value of a function (1960): 0 at (1, 1).
    let best =
        found(&[between(-2.0, 2.0), between(-1.0, 3.0)], |x| (100.0 * (x[1] - x[0] * x[0]).powi(2) + (1.0 - x[0]).powi(2), 0.0));
    near(&best, &[1.0, 1.0], 1e-5);
}

#[test]
fn the_constrained_quadratic_of_the_textbook_ends_on_its_limit() {
    // J. Nocedal and S. J. Wright, Numerical Optimization (2nd edition), example 16.4: (1.4, 1.7).
    let best = found(&[between(0.0, 10.0), between(0.0, 10.0)], |x| {
        let limits = [x[0] - 2.0 * x[1] + 2.0, -x[0] - 2.0 * x[1] + 6.0, -x[0] + 2.0 * x[1] + 2.0];
        ((x[0] - 1.0).powi(2) + (x[1] - 2.5).powi(2), limits.iter().map(|g| (-g).max(0.0)).sum())
    });
    near(&best, &[1.4, 1.7], 1e-3);
    assert_eq!(best.worth.broken, 0.0);
}

#[test]
fn the_deepest_of_many_valleys_is_found() {
    // Rastrigin's function: 0 at the origin, a valley at every whole number.
    let rastrigin = |x: &[f64]| x.iter().map(|x| x * x - 10.0 * (std::f64::consts::TAU * x).cos() + 10.0).sum::<f64>();
    let best = found(&[between(-5.12, 5.0); 3], |x| (rastrigin(x), 0.0));
    assert!(best.worth.value < 1e-6, "{best:?}");
    let best = found(&[between(-5.12, 5.0)], |x| (rastrigin(x), 0.0));
    near(&best, &[0.0], 1e-6);
}

#[test]
fn six_knobs_are_turned_at_once() {
    let center = [0.1, 0.9, 0.5, 0.3, 0.7, 0.2];
    let best = found(&[between(0.0, 1.0); 6], |x| (x.iter().zip(&center).map(|(x, c)| (x - c).powi(2)).sum(), 0.0));
    near(&best, &center, 1e-4);
}

#[test]
fn a_single_knob_stops_at_its_end_or_at_the_limit() {
    near(&found(&[between(2.0, 9.0)], |x| (x[0], 0.0)), &[2.0], 1e-12);
    near(&found(&[between(2.0, 9.0)], |x| (-x[0], x[0] - 7.0)), &[7.0], 1e-6);
}

#[test]
fn choices_and_running_knobs_go_together() {
    // Least cost of a price list with a limit that depends on both: choice 2 with x = 3 costs 13.
    let prices = [1.0, 5.0, 10.0, 30.0];
    let best = found(&[Variable::Choice { n: 4 }, between(0.0, 10.0)], |x| {
        let power = [1.0, 3.0, 7.0, 20.0][x[0] as usize];
        (prices[x[0] as usize] + x[1], 10.0 - power - x[1])
    });
    // 1 + 9 = 10; 5 + 7 = 12; 10 + 3 = 13; 30 + 0 = 30.
    near(&best, &[0.0, 9.0], 1e-6);
    let best = found(&[Variable::Choice { n: 100 }, Variable::Choice { n: 40 }], |x| {
        ((x[0] - 77.0).powi(2) + (x[1] - 3.0).powi(2), 0.0)
    });
    near(&best, &[77.0, 3.0], 1e-12);
}

#[test]
fn what_cannot_be_kept_is_broken_least_and_what_cannot_be_judged_is_an_error() {
    let best = found(&[between(0.0, 1.0)], |x| (x[0], 5.0 - x[0]));
    near(&best, &[1.0], 1e-9);
    assert!((best.worth.broken - 4.0).abs() < 1e-9);
    let none = optimum(&[between(0.0, 1.0)], |_| Ok::<_, Infallible>(Worth { value: f64::NAN, broken: 0.0 }));
    assert_eq!(none, Err(OptimumError::NothingJudged));
    let many = optimum(&[between(0.0, 1.0); 7], |_| Ok::<_, Infallible>(Worth::NONE));
    assert_eq!(many, Err(OptimumError::TooManyKnobs { found: 7, most: 6 }));
    let failed = optimum(&[between(0.0, 1.0)], |_| Err::<Worth, _>("broken"));
    assert_eq!(failed, Err(OptimumError::Failed("broken")));
}

#[test]
fn the_answer_is_the_same_every_time() {
    let once = || found(&[between(-3.0, 3.0); 2], |x| ((x[0] - 0.3).powi(4) + x[1].powi(2) * x[0].cos(), 0.0));
    assert_eq!(once(), once());
}
