//! What an evaluation may use: the one stop flag, and the budget of memory and time.
//!
//! Every loop that may take long asks [`go_on`] (or [`ended`], where it gives no result of its own) at least every 50 ms, and
//! everything that grows with what is given asks [`room_for`] before it takes memory. All of them ask the [`Budget`] of the
//! evaluation that runs in their thread; where none does, nothing is limited. A stop stays until the evaluation is over, so
//! whoever leaves a loop early may give what it has: nobody sees it, since the evaluation ends with an error.
//! Knows nothing of what is evaluated.
//!
//! - `budget`: the flag, the memory, and whose they are in this thread
//! - `limit`: what an evaluation may use
//! - `watch`: the thread that looks at time and memory
//! - `memory`: what the system reports about memory
//! - `aside`: a call of a library that asks nobody

mod aside;
mod budget;
mod limit;
mod memory;
mod watch;

pub use aside::{aside, sorted};
pub use budget::{Budget, Ended, Entered, Steps, current, ended, go_on, lose, room_for, unasked, while_going_on};
pub use limit::{Limits, Reached};
pub use memory::used_bytes;
pub use watch::{Watch, Watched};
