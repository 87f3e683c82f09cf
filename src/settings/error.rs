//! Why there is no answer about settings.

use crate::garden::GardenError;
use crate::hydraulics::RunError;
use crate::operation::OperationError;
use crate::told::Told;
use thiserror::Error;

/// Why a window or a fall of pressure could not be worked out.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SettingsError {
    #[error(transparent)]
    Garden(#[from] GardenError),
    #[error(transparent)]
    Run(#[from] RunError),
    #[error(transparent)]
    Operation(#[from] OperationError),
    #[error("there is no pressure switch in this garden")]
    NoSwitch,
    #[error("'{name}' is a {word}, not a pressure switch")]
    NotASwitch { name: String, word: &'static str },
    #[error("pressure switch '{name}' has no booster to drive")]
    NoBooster { name: String },
    #[error("no supply reaches pressure switch '{name}' with {zones}")]
    NotReached { name: String, zones: String },
    #[error("the pressure must fall, found {from} at the start and {to} at the end")]
    NoFall { from: String, to: String },
    #[error("the time must be above zero, found {found}")]
    NoTime { found: String },
    #[error("nothing in this garden stores water under pressure")]
    NoStore,
    #[error("nothing holds the pressure: water runs back to '{name}'")]
    RunsBack { name: String },
    #[error("the lowest pressure of the main, {lowest}, lies above its highest, {highest}")]
    MainsUpsideDown { lowest: String, highest: String },
    #[error("there is no leak in this garden")]
    NoLeak,
    #[error("there is no place to read the pressure at")]
    NoPlace,
    #[error("the leaks this garden has already let the pressure fall in less than {time}")]
    Explained { time: String },
    #[error("no leak at '{name}' is fast enough: what stores the water is too far away for a fall in {time}")]
    TooFast { name: String, time: String },
}

impl Told for SettingsError {
    fn hint(&self) -> Option<String> {
        let hint = match self {
            SettingsError::Garden(error) => return error.hint(),
            SettingsError::Run(error) => return error.hint(),
            SettingsError::Operation(error) => return error.hint(),
            SettingsError::NoSwitch => {
                "put pressure_switch(30.psi, 50.psi) where its tube would be joined; its settings need not be right yet"
            }
            SettingsError::NotASwitch { .. } => "name the pressure switch, as in #{ at: \"switch\" }",
            SettingsError::NoBooster { .. } => "put the booster before the switch in the line",
            SettingsError::NotReached { .. } => "look for a shut valve or a check valve turned round before it",
            SettingsError::NoFall { .. } => "give the higher pressure first, as in (60.psi, 40.psi)",
            SettingsError::NoTime { .. } => "give how long the fall took, as in 25.minutes",
            SettingsError::NoStore => "give the hoses a stretch, as in .stretch(2.mL_per_bar_m), or add a pressure_tank",
            SettingsError::RunsBack { .. } => "put a check valve before the pump, behind which the garden keeps its pressure",
            SettingsError::NoLeak => "add one, as in .branch(\"feed\", leak(\"drip\", 1.gph, 40.psi)), or ask leak_from",
            SettingsError::MainsUpsideDown { .. } => "give lowest_static below highest_static",
            SettingsError::NoPlace => "name a part, as in #{ at: \"feed\" }",
            SettingsError::Explained { .. } => {
                "take the leaks out of the garden, or give the time that was seen with all of them"
            }
            SettingsError::TooFast { .. } => "read the pressure at the tank, as in #{ at: \"tank\" }, or check the time",
        };
        Some(hint.into())
    }
}
