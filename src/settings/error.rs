//! Why there is no answer about settings.

use crate::garden::GardenError;
use crate::hydraulics::RunError;
use crate::operation::OperationError;
use crate::quantity::Quantity;
use crate::told::Told;
use crate::unit_system::units_of_texts;
use thiserror::Error;

/// Why a window or a fall of pressure could not be worked out.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SettingsError {
    /// A zone or a part is not in the garden, or the garden makes no sense.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// A steady state in the garden was not found.
    #[error(transparent)]
    Run(#[from] RunError),
    /// The fall of pressure over time could not be followed.
    #[error(transparent)]
    Operation(#[from] OperationError),
    /// A window was asked for, and the garden has no pressure switch.
    #[error("there is no pressure switch in this garden")]
    NoSwitch,
    /// A relay or control starts the pump: there are no cut-in and cut-out to look for.
    #[error("no pressure switch window is needed: {what} '{name}' starts '{pump}'")]
    NoWindowNeeded {
        /// Name of what starts the pump.
        name: String,
        /// What it is: the function that makes such a part.
        what: &'static str,
        /// Name of the booster.
        pump: String,
    },
    /// A window of a switch was asked for, and a drive runs the pump.
    #[error("drive '{name}' runs '{pump}': there is no cut-in and cut-out to choose, but a set pressure")]
    HasDrive {
        /// Name of the drive.
        name: String,
        /// Name of the booster.
        pump: String,
    },
    /// A window of a drive was asked for, and the garden has none that drives a booster.
    #[error("there is no drive with a booster in this garden")]
    NoDrive,
    /// The part named as the drive is none, or drives nothing.
    #[error("'{name}' is a {what}, not a drive of a booster")]
    NotADrive {
        /// Name of the part.
        name: String,
        /// What it is: the function that makes such a part.
        what: &'static str,
    },
    /// The part named as the switch is none.
    #[error("'{name}' is a {what}, not a pressure switch")]
    NotASwitch {
        /// Name of the part.
        name: String,
        /// What it is: the function that makes such a part.
        what: &'static str,
    },
    /// No booster lies upstream of the switch.
    #[error("pressure switch '{name}' has no booster to drive")]
    NoBooster {
        /// Name of the switch.
        name: String,
    },
    /// Closed valves or one-way parts keep all supplies from the switch or drive.
    #[error("no supply reaches '{name}' with {zones}")]
    NotReached {
        /// Name of the switch.
        name: String,
        /// The zones that were open, in words.
        zones: String,
    },
    /// The pressure at the start is not above that at the end, or that at the end is below zero.
    #[error("the pressure must drop, found {from} at the start and {to} at the end")]
    NoFall {
        /// The pressure at the start.
        from: Quantity,
        /// The pressure at the end.
        to: Quantity,
    },
    /// The time of a fall is not above zero, or not finite.
    #[error("the time must be above zero, found {found}")]
    NoTime {
        /// The time that was given.
        found: Quantity,
    },
    /// No part at the place takes water in under pressure, so it falls at once.
    #[error("no part of this garden stores water under pressure")]
    NoStore,
    /// Nothing keeps the water at the place from running back into a source.
    #[error("no check valve holds the pressure: water flows back to '{name}'")]
    RunsBack {
        /// Name of the source.
        name: String,
    },
    /// Two pressures of the main are given the wrong way round.
    #[error("the lowest main pressure, {lowest}, is above the highest, {highest}")]
    MainsUpsideDown {
        /// The lowest pressure that was given.
        lowest: Quantity,
        /// The highest pressure that was given.
        highest: Quantity,
    },
    /// How long a fall takes was asked for, and no outlet lets water out where it is stored.
    #[error("there is no leak in this garden")]
    NoLeak,
    /// No part was named, and the garden has neither a pressure switch nor a pressure tank.
    #[error("there is no part at which to read the pressure")]
    NoPlace,
    /// A leak was sought, and the known ones make the pressure fall faster than was seen.
    #[error("the leaks this garden already has drop the pressure in less than {time}")]
    Explained {
        /// The time that was given.
        time: Quantity,
    },
    /// A leak was sought, and even the largest does not make the pressure fall as fast as was seen.
    #[error("no leak at '{name}' is fast enough: the tank or hose that stores the water is too far away for a drop in {time}")]
    TooFast {
        /// Name of the part at which the pressure is read.
        name: String,
        /// The time that was given.
        time: Quantity,
    },
}

impl Told for SettingsError {
    fn hint(&self) -> Option<String> {
        let pick = |us, metric| units_of_texts().pick(us, metric);
        let hint = match self {
            SettingsError::Garden(error) => return error.hint(),
            SettingsError::Run(error) => return error.hint(),
            SettingsError::Operation(error) => return error.hint(),
            SettingsError::NoSwitch => pick(
                "add pressure_switch(30.psi, 50.psi) where its tube will be connected; its settings can be preliminary",
                "add pressure_switch(2.bar, 3.5.bar) where its tube will be connected; its settings can be preliminary",
            ),
            SettingsError::NoWindowNeeded { .. } => "look at its zones with run and operate; findings say what it needs",
            SettingsError::HasDrive { .. } => "drive_window() gives the set pressures that work in all zones",
            SettingsError::NoDrive => pick(
                "put drive(60.psi) right after the booster; its set pressure can be preliminary",
                "put drive(4.bar) right after the booster; its set pressure can be preliminary",
            ),
            SettingsError::NotADrive { .. } => "name the drive, as in #{ at: \"drive\" }",
            SettingsError::NotASwitch { .. } => "name the pressure switch, as in #{ at: \"switch\" }",
            SettingsError::NoBooster { .. } => "put the booster upstream of the switch in the line",
            SettingsError::NotReached { .. } => "look upstream of it for a closed valve or a check valve installed backward",
            SettingsError::NoFall { .. } => pick(
                "give the higher pressure first, as in (60.psi, 40.psi)",
                "give the higher pressure first, as in (4.bar, 3.bar)",
            ),
            SettingsError::NoTime { .. } => "give the time of the pressure drop, as in 25.minutes",
            SettingsError::NoStore => "give the hoses a compliance, as in .compliance(2.mL_per_bar_m), or add a pressure_tank",
            SettingsError::RunsBack { .. } => "fit a check valve upstream of the pump, so that the garden holds its pressure",
            SettingsError::NoLeak => pick(
                "add one, as in .branch(\"feed\", leak(\"drip\", 1.gph, 40.psi)), or ask leak_from_decay",
                "add one, as in .branch(\"feed\", leak(\"drip\", 4.lph, 3.bar)), or ask leak_from_decay",
            ),
            SettingsError::MainsUpsideDown { .. } => "give lowest_static below highest_static",
            SettingsError::NoPlace => "name a part, as in #{ at: \"feed\" }",
            SettingsError::Explained { .. } => "remove the leaks from the garden, or give the time measured with all of them",
            SettingsError::TooFast { .. } => "read the pressure at the tank, as in #{ at: \"tank\" }, or check the time",
        };
        Some(hint.into())
    }
}
