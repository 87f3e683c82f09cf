//! Studies: one garden and many cases of it; what a number must be; tables of answers.
//!
//! All native: no script engine is known here. Closures of scripts come in as plain functions.

mod axes;
mod axis;
mod compare;
pub mod fit;
mod limit;
mod operation;
mod optimum;
mod parts;
mod random;
pub mod remedy;
pub mod restriction;
mod sensitivity_table;
mod setting;
mod sobol;
mod sweep;
#[cfg(test)]
mod tests;
mod tornado;
pub mod zoning;

pub use axes::Axes;
pub use axis::{Axis, AxisError, AxisValues, steps};
pub use compare::{CompareError, Compared, Need, Wanted, compared};
pub use fit::{Fit, FitError, Measurement, fit};
pub use limit::{Limit, LimitError};
pub use operation::{failure_study, sweep_operation};
pub use optimum::{MOST_KNOBS, Optimum, OptimumError, Variable, Worth, optimum};
pub use parts::{
    Demand, Gathering, Inputs, Joint, PartError, PartNote, PartOfSweep, gather, mark_of, note_failure, notes_as_read, read_part,
    report,
};
pub use random::{Distribution, DistributionError, Samples, Spreading, standard_normal};
pub use sensitivity_table::{LeverError, SensitivityRow, SensitivityTable, sensitivity_table};
pub use setting::{Goal, Said, Setting, Turn, Unjudged, best_setting};
pub use sobol::{SobolError, SobolIndex, design, sobol_indices};
pub use sweep::{
    BLOCK, CaseWorker, NativeStudy, SeasonSweep, SweepError, SweepOptions, SweepPlan, Swept, Written, axis_columns, axis_table,
    check_size, season_columns, solution_column, sweep, sweep_to,
};
pub use tornado::{TornadoRow, garden_answers, season_answers, tornado, tornado_table};
