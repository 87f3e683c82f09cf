//! Runs with pauses: each run stops before the puddle runs over, and the next begins when it is gone.

/// How a depth of water is given so that it never runs off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycles {
    /// How many runs.
    pub count: usize,
    /// How long each lasts, s.
    pub run_s: f64,
    /// How long each pause lasts, s; zero for a single run.
    pub soak_s: f64,
    /// The longest run before a puddle runs over, s; none where it never does.
    pub longest_s: Option<f64>,
}

impl Cycles {
    /// All runs and pauses, s.
    pub fn elapsed_s(&self) -> f64 {
        self.count as f64 * self.run_s + self.count.saturating_sub(1) as f64 * self.soak_s
    }
}

/// Equal runs for a depth at a rate on ground with a steady intake that holds a puddle.
///
/// The longest run is puddle / (rate - intake); a pause lasts until the puddle is gone. Rate and intake are above zero.
/// Common practice, no source.
pub fn cycles(rate_mm_per_h: f64, intake_mm_per_h: f64, puddle_mm: f64, depth_mm: f64) -> Cycles {
    let whole_s = 3600.0 * depth_mm / rate_mm_per_h;
    let beyond = rate_mm_per_h - intake_mm_per_h;
    if beyond <= 0.0 {
        return Cycles { count: 1, run_s: whole_s, soak_s: 0.0, longest_s: None };
    }
    let longest_s = 3600.0 * puddle_mm / beyond;
    // A hair more than a whole number is rounding.
    let count = (whole_s / longest_s * (1.0 - 1e-12)).ceil().max(1.0);
    let run_s = whole_s / count;
    let soak_s = if count > 1.0 { run_s * beyond / intake_mm_per_h } else { 0.0 };
    Cycles { count: count as usize, run_s, soak_s, longest_s: Some(longest_s) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_puddle_never_runs_over_and_is_gone_before_the_next_run(rate in 1.0..60.0, intake in 0.5..40.0, puddle in 0.5..10.0, depth in 0.5..40.0) {
            let found = cycles(rate, intake, puddle, depth);
            prop_assert!((found.count as f64 * found.run_s * rate / 3600.0 - depth).abs() < 1e-9);
            let mut standing: f64 = 0.0;
            for run in 0..found.count {
                standing = (standing + (rate - intake) * found.run_s / 3600.0).max(0.0);
                prop_assert!(standing <= puddle * (1.0 + 1e-9), "{standing} after run {run}");
                if run + 1 < found.count {
                    standing -= intake * found.soak_s / 3600.0;
                    prop_assert!(standing < 1e-9);
                }
            }
        }
    }
}
