//! Functions for uncertain parameters: distributions, and the number of samples.
//!
//! The generator and the sequences are in `crate::study`.

use crate::quantity::Quantity;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, describe};
use crate::study::{Axes, AxisError, Distribution, Samples, Spreading};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A normal distribution by mean and standard deviation: a reading and its error.
    ///
    /// ```hw
    /// normal(44.psi, 1.psi)   // => normal around 44 psi, deviation 1 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn normal(mean: Dynamic, deviation: Dynamic) -> Result<Distribution, Box<EvalAltResult>> {
        Distribution::normal(quantity(&mean, "normal")?, quantity(&deviation, "normal")?).map_err(raise)
    }

    /// A uniform distribution between two ends, or the range of a variable of `best`.
    ///
    /// ```hw
    /// between(95.ft, 105.ft)   // => between 95 ft and 105 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn between(low: Dynamic, high: Dynamic) -> Result<Distribution, Box<EvalAltResult>> {
        Distribution::between(quantity(&low, "between")?, quantity(&high, "between")?).map_err(raise)
    }

    /// A triangular distribution by its ends and its most likely value.
    ///
    /// ```hw
    /// triangular(5.gpm, 6.gpm, 8.gpm)   // => triangular from 5 gpm over 6 gpm to 8 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn triangular(low: Dynamic, mode: Dynamic, high: Dynamic) -> Result<Distribution, Box<EvalAltResult>> {
        let of = |value: &Dynamic| quantity(value, "triangular");
        Distribution::triangular(of(&low)?, of(&mode)?, of(&high)?).map_err(raise)
    }

    /// A distribution resampled from a list, such as the column of a table; each value is equally likely.
    ///
    /// ```hw
    /// let log = table([#{ p: 41.psi }, #{ p: 44.psi }, #{ p: 46.psi }]);
    /// resampled(log["p"])   // => one of 3 values
    /// ```
    #[rhai_fn(return_raw)]
    pub fn resampled(values: Array) -> Result<Distribution, Box<EvalAltResult>> {
        let there = values.iter().filter(|value| !value.is_unit());
        let values: Vec<Quantity> = there.map(|value| quantity(value, "resampled")).collect::<Result<_, _>>()?;
        Distribution::of_values(&values).map_err(raise)
    }

    /// The number of random samples of the distributions, and the seed (default 1).
    ///
    /// ```hw
    /// vary("feed.length", between(95.ft, 105.ft)).samples(500).cases   // => 500
    /// vary("feed.length", between(95.ft, 105.ft)).samples(500, 42).cases   // => 500
    /// ```
    #[rhai_fn(return_raw)]
    pub fn samples(axes: Axes, n: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, 1, Spreading::Independent)
    }

    #[rhai_fn(name = "samples", return_raw)]
    pub fn samples_from(axes: Axes, n: INT, seed: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, seed, Spreading::Independent)
    }

    /// As `samples`, but with a scrambled Sobol sequence: means and percentiles converge with far fewer samples.
    /// Best with a power of two.
    ///
    /// ```hw
    /// let axes = vary("x", between(0, 1)).sobol_samples(256);
    /// mean(sweep(axes, |case| #{ y: case.x * case.x })["y"])   // => 0.333348
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sobol_samples(axes: Axes, n: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, 1, Spreading::Even)
    }

    #[rhai_fn(name = "sobol_samples", return_raw)]
    pub fn even_samples_from(axes: Axes, n: INT, seed: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, seed, Spreading::Even)
    }
}

fn quantity(value: &Dynamic, word: &str) -> Answer<Quantity> {
    as_quantity(value)
        .ok_or_else(|| ScriptError::new(format!("{word} needs numbers or quantities, found {}", describe(value))).into())
}

fn sampled(axes: Axes, n: INT, seed: INT, spreading: Spreading) -> Answer<Axes> {
    let Some(count) = usize::try_from(n).ok().filter(|n| *n > 0) else {
        return Err(raise(AxisError::NoSamples { found: n }));
    };
    axes.sampled(Samples { n: count, seed: seed as u64, spreading }).map_err(raise)
}
