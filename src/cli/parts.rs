//! `parts`: the sweeps of a study, and into how many parts it is well divided.

use super::choices::{Choices, session};
use super::input::study_text;
use super::settings::{all_are_taken, set_controls};
use super::status::{Status, say_error, status_of};
use crate::limits::used_bytes;
use crate::quantity::with_commas;
use crate::script::Diagnostic;
use crate::script::share::{Look, Share};
use crate::visible::{visible, visible_json};
use serde_json::json;
use std::io::{self, Write};
use std::path::Path;

/// How long a part should take on one core, s: long against the start of a program, short against the loss when a machine stops.
const PART_SECONDS: f64 = 300.0;
/// What a part should take of the memory for its cases, bytes.
const PART_BYTES: usize = 1 << 30;
/// Memory for the cases that a thread solves and packs at a time, bytes for each column.
const BYTES_OF_A_GROUP: usize = 1 << 20;
const MB: f64 = 1e6;

/// A study divided.
struct Division {
    looks: Vec<Look>,
    parts: usize,
    /// Memory of the program with a part on one thread, bytes.
    bytes: usize,
}

impl Look {
    /// All cases on one core, s.
    fn seconds(&self) -> f64 {
        self.cases as f64 * self.seconds_a_case
    }
}

impl Division {
    fn of(looks: Vec<Look>) -> Division {
        let seconds: f64 = looks.iter().map(Look::seconds).sum();
        let bytes = looks.iter().map(|look| look.cases.saturating_mul(look.bytes_a_case)).max().unwrap_or(0);
        let cases = looks.iter().map(|look| look.cases).max().unwrap_or(0);
        let parts = ((seconds / PART_SECONDS).ceil() as usize).max(bytes.div_ceil(PART_BYTES)).clamp(1, cases.max(1));
        let columns = looks.iter().map(|look| look.columns).max().unwrap_or(0);
        let program = usize::try_from(used_bytes().unwrap_or(0)).unwrap_or(0);
        Division { looks, parts, bytes: program + columns * BYTES_OF_A_GROUP + bytes / parts }
    }

    /// A part on one core, s.
    fn seconds_a_part(&self) -> f64 {
        self.looks.iter().map(Look::seconds).sum::<f64>() / self.parts as f64
    }
}

/// Looks at the sweeps of a study, which runs with a few cases of each and writes no files.
pub fn parts(file: &Path, is_json: bool, choices: Choices, set: &[String]) -> io::Result<Status> {
    let Some((name, source)) = study_text(file)? else { return Ok(Status::FileProblem) };
    let mut session = session(file.parent().unwrap_or(Path::new(".")), choices);
    drop(set_controls(session.context(), set)); // They were looked at before.
    session.context().set_share(Share::of_look());
    let mut failed: Option<Diagnostic> = None;
    session.evaluate_each(&name, &source, &mut |cell| failed = failed.take().or(cell.error));
    let division = Division::of(session.context().take_looks());
    let status = match (&failed, is_json) {
        (Some(error), true) => status_of(error),
        (Some(error), false) => return Ok(say_error(error)),
        (None, _) if !all_are_taken(session.context()) => Status::Usage,
        (None, _) => Status::Fine,
    };
    let mut out = io::stdout().lock();
    if is_json {
        writeln!(out, "{}", visible_json(&as_json(&division, failed.as_ref()).to_string()))?;
    } else {
        out.write_all(visible(&as_text(&division, file)).as_bytes())?;
    }
    Ok(status)
}

fn as_json(division: &Division, failed: Option<&Diagnostic>) -> serde_json::Value {
    let sweep = |(place, look): (usize, &Look)| json!({ "sweep": place + 1, "cases": look.cases, "columns": look.columns, "seconds": look.seconds() });
    json!({
        "sweeps": division.looks.iter().enumerate().map(sweep).collect::<Vec<_>>(),
        "parts": division.parts,
        "seconds_a_part": division.seconds_a_part(),
        "memory_mb": (division.bytes as f64 / MB).round(),
        "error": failed,
    })
}

fn as_text(division: &Division, file: &Path) -> String {
    let mut text = String::new();
    for (place, look) in division.looks.iter().enumerate() {
        let (cases, time) = (with_commas(look.cases), time_text(look.seconds()));
        text += &format!("sweep {}: {cases} cases, {} columns, about {time} on one core\n", place + 1, look.columns);
    }
    if division.looks.is_empty() {
        return "this study has no sweep to divide\n".into();
    }
    let (parts, time) = (division.parts, time_text(division.seconds_a_part()));
    let memory = (division.bytes as f64 / MB).round();
    let each = if parts == 1 { "1 part".to_string() } else { format!("{} parts, each", with_commas(parts)) };
    text += &format!("suggested: {each} about {time} on one core and {memory} MB\n");
    text += &format!("  hosewright run {} --part 1/{parts} --out parts --threads 1\n", file.display());
    text
}

/// A time for people.
fn time_text(seconds: f64) -> String {
    match seconds {
        seconds if seconds < 1.0 => "less than 1 s".into(),
        seconds if seconds < 120.0 => format!("{seconds:.0} s"),
        seconds if seconds < 7200.0 => format!("{:.0} min", seconds / 60.0),
        seconds => format!("{:.0} h", seconds / 3600.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(cases: usize, seconds_a_case: f64, bytes_a_case: usize) -> Look {
        Look { cases, columns: 10, seconds_a_case, bytes_a_case }
    }

    #[test]
    fn a_study_is_divided_by_its_time_or_its_memory() {
        let parts = |looks: Vec<Look>| Division::of(looks).parts;
        assert_eq!(parts(vec![look(1_000_000, 1e-6, 0)]), 1);
        assert_eq!(parts(vec![look(3_000_000_000, 1e-6, 0)]), 10);
        assert_eq!(parts(vec![look(3_000_000_000, 1e-6, 0), look(1000, 0.6, 0)]), 12);
        assert_eq!(parts(vec![look(40_000_000, 1e-6, 100)]), 4);
        assert_eq!(parts(vec![look(3, 1e6, 0)]), 3);
        assert_eq!(parts(Vec::new()), 1);
    }

    #[test]
    fn the_division_is_said_in_words() {
        let mut division = Division::of(vec![look(3_000_000_000, 1e-6, 0)]);
        division.bytes = 70_000_000;
        insta::assert_snapshot!(as_text(&division, Path::new("study.rhai")), @r"
        sweep 1: 3,000,000,000 cases, 10 columns, about 50 min on one core
        suggested: 10 parts, each about 5 min on one core and 70 MB
          hosewright run study.rhai --part 1/10 --out parts --threads 1
        ");
    }
}
