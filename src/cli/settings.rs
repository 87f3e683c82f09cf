//! `--set "feed length=150 ft"`: values for the controls of a study.

use super::input::say_problem;
use crate::files::Folder;
use crate::nearest::did_you_mean;
use crate::quantity::{Quantity, read_quantity};
use crate::script::controls::Given;
use crate::script::{Context, Session, as_quantity};

/// Gives the controls of a session their values. Errors: what is no name and value.
pub fn set_controls(context: &Context, given: &[String]) -> Result<(), String> {
    for setting in given {
        let pair = setting.split_once('=').filter(|(name, _)| !name.trim().is_empty());
        let (name, value) = pair.ok_or_else(|| format!("'{setting}' is no name and value, such as \"feed length=150 ft\""))?;
        let text = value.trim().to_string();
        context.controls.give(name.trim(), Given { quantity: quantity(&text), text });
    }
    Ok(())
}

/// A value as people write it, `150 ft`, or as scripts do, `150.ft`.
fn quantity(text: &str) -> Option<Quantity> {
    let written = || {
        let outcome = Session::new(Folder::new(".")).evaluate(text);
        outcome.cells.first().and_then(|cell| cell.value.as_ref()).and_then(as_quantity)
    };
    read_quantity(text).ok().or_else(written)
}

/// Says which values no control of the study took. False where there are some.
pub fn all_are_taken(context: &Context) -> bool {
    let (unknown, known) = context.controls.unknown();
    for name in &unknown {
        let names = || if known.is_empty() { "it has none".into() } else { format!("its controls are {}", known.join(", ")) };
        let hint = did_you_mean(name, known.iter().map(String::as_str)).unwrap_or_else(names);
        say_problem(&format!("this study has no control '{name}'"), &hint);
    }
    unknown.is_empty()
}
