//! What holds for every command that evaluates, and the session that follows from it.

use super::library::libraries;
use super::status::{INTERRUPTED, Status};
use crate::files::Folder;
use crate::limits::Limits;
use crate::quantity::UnitSystem;
use crate::script::{Context, Session};
use crate::shell::{status_line, terminal};
use crate::signals;
use clap::ValueEnum;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// What holds for every command that evaluates.
#[derive(clap::Args, Clone)]
pub struct Choices {
    /// Units of results; default as written.
    #[arg(long, global = true, value_enum)]
    pub units: Option<Units>,
    /// A folder that import and read_table read where the folder of the study lacks a file; more than one may be given.
    #[arg(long, global = true, value_name = "FOLDER")]
    library: Vec<PathBuf>,
    /// Time limit of an evaluation; in a report or a live page, of each statement. Default none.
    #[arg(long, global = true, value_name = "SECONDS", value_parser = seconds)]
    time_limit: Option<Duration>,
    /// Memory limit of the program; default three quarters of the free memory.
    #[arg(long, global = true, value_name = "MB", value_parser = clap::value_parser!(u32).range(1..))]
    memory_limit: Option<u32>,
}

/// A time limit. Errors: not a number above zero.
fn seconds(text: &str) -> Result<Duration, String> {
    let seconds = text.parse().ok().filter(|seconds: &f64| *seconds > 0.0);
    let time = seconds.and_then(|seconds| Duration::try_from_secs_f64(seconds).ok());
    time.ok_or_else(|| "give a number of seconds above 0, such as 60".into())
}

#[derive(Clone, Copy, ValueEnum)]
pub enum Units {
    Us,
    Metric,
}

impl Units {
    pub fn system(self) -> UnitSystem {
        match self {
            Units::Us => UnitSystem::Us,
            Units::Metric => UnitSystem::Metric,
        }
    }
}

/// A session in a folder, with Ctrl-C bound to its stop flag.
pub fn session(folder: impl Into<PathBuf>, choices: Choices) -> Session {
    Session::with_context(context(folder, choices))
}

pub fn context(folder: impl Into<PathBuf>, choices: Choices) -> Arc<Context> {
    let context = plain_context(folder, choices);
    stop_on_interrupt(context.stop.clone());
    context
}

pub fn plain_context(folder: impl Into<PathBuf>, choices: Choices) -> Arc<Context> {
    let folder = folder.into();
    let libraries = libraries(&folder, &choices.library);
    let folder = Folder::new(folder).with_libraries(libraries);
    folder.sweep_up();
    let context = Arc::new(Context::new(folder));
    if let Some(units) = choices.units {
        context.set_units(units.system());
    }
    if let Some(watcher) = status_line::watcher() {
        context.watch_progress(watcher);
    }
    let usual = context.watch.limits();
    let memory_bytes = choices.memory_limit.map(|megabytes| u64::from(megabytes) * 1_000_000).or(usual.memory_bytes);
    context.watch.set_limits(Limits { time: choices.time_limit, memory_bytes });
    context
}

/// Fits what is printed, `set_in` columns from the edge, to the page of the standard output; where that has no edge, tables stand whole.
pub fn fit(context: &Context, set_in: usize) {
    match terminal::columns_of_output() {
        Some(columns) => context.set_width(columns.saturating_sub(set_in)),
        None => context.print_whole_tables(),
    }
}

/// The first Ctrl-C asks the evaluation to stop, a second one while it has not yet leaves at once.
fn stop_on_interrupt(stop: Arc<AtomicBool>) {
    let bound = ctrlc::set_handler(move || {
        INTERRUPTED.store(true, Ordering::Relaxed);
        if stop.swap(true, Ordering::Relaxed) {
            if io::stderr().is_terminal() {
                let _ = write!(io::stderr(), "\r\x1b[2K"); // A line of progress may stand there, held by who writes it.
            }
            signals::leave(Status::Interrupted.code());
        }
    });
    drop(bound); // Without the handler Ctrl-C ends the program, which is what is left.
}
