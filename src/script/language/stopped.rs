//! What is said of an evaluation that was stopped.
//!
//! A stop stays until the evaluation is over, and no `try` holds it up. Whatever fails meanwhile, fails for that reason.

use super::diagnostic::{Diagnostic, Trouble};
use crate::limits::{Reached, Watch};

/// Turns what failed while the evaluation was being stopped into the message of the stop, which stands in its place.
pub fn report_stop(error: &mut Diagnostic, watch: &Watch) {
    if !watch.budget().ended() && error.kind != Trouble::Stopped {
        return;
    }
    let told = of_limit(watch).unwrap_or_else(|| Diagnostic::new(Trouble::Stopped, "the evaluation was stopped"));
    (error.kind, error.message, error.hint) = (told.kind, told.message, told.hint);
}

/// The message when a limit stopped the last evaluation.
fn of_limit(watch: &Watch) -> Option<Diagnostic> {
    let (message, hint) = match watch.reached() {
        Reached::Time => (
            format!("this takes longer than {} s, the time limit", watch.limits().time?.as_secs_f64()),
            "check for an endless loop; raise --time-limit, or leave it out",
        ),
        Reached::Memory => (
            format!("this needs more than {} MB of memory, which is the limit", watch.limits().memory_bytes? / 1_000_000),
            "check for an endless loop; write a large sweep to a file with sweep_to(...), or raise --memory-limit",
        ),
        Reached::Lost => ("the table of a part is gone or damaged".to_string(), "run the part again"),
        Reached::Nothing => return None,
    };
    Some(Diagnostic { hint: Some(hint.into()), ..Diagnostic::new(Trouble::Limit, message) })
}
