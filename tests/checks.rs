//! The library against check values from published tables, standards and independent libraries.
//!
//! One file of cases in `tests/checks/` is one test here; `tests/checks/README.md` says what the columns mean.

#[path = "checks/coverage.rs"]
mod coverage;
#[path = "checks/drawdown.rs"]
mod drawdown;
#[path = "checks/harness.rs"]
mod harness;
#[path = "checks/losses.rs"]
mod losses;
#[path = "checks/money.rs"]
mod money;
#[path = "checks/nozzles.rs"]
mod nozzles;
#[path = "checks/operation.rs"]
mod operation;
#[path = "checks/outlets.rs"]
mod outlets;
#[path = "checks/pumps.rs"]
mod pumps;
#[path = "checks/seasons.rs"]
mod seasons;
#[path = "checks/sources.rs"]
mod sources;
#[path = "checks/surge.rs"]
mod surge;
#[path = "checks/tables.rs"]
mod tables;
#[path = "checks/terms.rs"]
mod terms;
#[path = "checks/water.rs"]
mod water;
#[path = "checks/weather.rs"]
mod weather;
