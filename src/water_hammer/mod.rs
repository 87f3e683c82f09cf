//! Water hammer: how hard the water strikes when a valve closes, along the line from the supply to the valve.
//!
//! - `waves`: wave speed, and the formulas of Joukowsky and Michaud
//! - `hose`: a hose as waves see it
//! - `model`: hoses, nodes and elements from a solution
//! - `node`: the balance of the places where hoses meet
//! - `step`: how long a step is, and what it costs
//! - `slow`: the steady state late in a slow closing
//! - `march`: the method of characteristics, step by step
//! - `run`: from a garden and a valve to pressures part by part and traces
//! - `words`: the result in words and findings
//!
//! What it does not know: what happens downstream of the valve that closes (the line there empties through its heads), water columns
//! that part and slam together (reported, not computed), the viscous losses in the walls of soft hoses and the extra friction of
//! quick changes, which both damp a real surge faster. It knows nothing of scripts and tables.

mod hose;
mod march;
mod model;
mod node;
mod run;
mod slow;
mod step;
#[cfg(test)]
mod tests;
mod waves;
mod words;

pub use run::{Struck, Trace, WaterHammer, WaterHammerError, water_hammer};
pub use waves::{
    DEFAULT_HOSE_WALL, DEFAULT_PIPE_WALL, Wall, compliance_of_wall, joukowsky_pa, michaud_pa, reflection_time_s, wave_speed,
};
