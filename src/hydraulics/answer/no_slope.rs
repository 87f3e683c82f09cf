//! Why a derivative does not exist.

use crate::garden::Garden;
use thiserror::Error;

/// Why a derivative of a pressure or flow to a parameter does not exist.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum NoSlope {
    /// What is read is not connected to a source through open valves.
    #[error("no supply reaches it")]
    NotFed,
    /// Its pressure is whatever it was when the valves closed: no parameter decides it.
    #[error("water is trapped there between closed valves")]
    Trapped,
    /// A valve, regulator or outlet changes its state at just this solution: the slopes on both sides differ.
    #[error("'{name}' is at a switching point: the derivative is undefined")]
    Turning {
        /// Place of the part.
        place: usize,
        /// Name of the part in its garden; empty until [`NoSlope::named`] gives it.
        name: String,
    },
    /// A pipe at the edge of a flow regime, or a booster at a point of its curve: the slopes on both sides differ.
    #[error("'{name}' is at a kink of its characteristic: the derivative is undefined")]
    Corner {
        /// Place of the part.
        place: usize,
        /// Name of the part in its garden; empty until [`NoSlope::named`] gives it.
        name: String,
    },
    /// A demand gets less than it asks for: its junction is at vapor pressure.
    #[error("'{name}' gets less than its demand: the line to it is at full vacuum")]
    Short {
        /// Place of the part.
        place: usize,
        /// Name of the part in its garden; empty until [`NoSlope::named`] gives it.
        name: String,
    },
    /// A flow is read that belongs to a ring without loss.
    #[error("the flow split there is undetermined: several paths have no loss")]
    Undetermined,
    /// The parameter has no value around which to vary it.
    #[error("the parameter is not given")]
    NotGiven,
    /// The part, such as a leak of no flow, follows no law that its parameters change.
    #[error("'{name}' is closed: its flow is zero")]
    Closed {
        /// Place of the part.
        place: usize,
        /// Name of the part in its garden; empty until [`NoSlope::named`] gives it.
        name: String,
    },
    /// The part refuses values of the parameter on both sides of the present one.
    #[error("'{name}' cannot be perturbed: it allows no value nearby")]
    Refused {
        /// Place of the part.
        place: usize,
        /// Name of the part in its garden; empty until [`NoSlope::named`] gives it.
        name: String,
    },
}

impl NoSlope {
    /// [`NoSlope::Turning`] at a place whose name is not known yet.
    pub fn turning(place: usize) -> NoSlope {
        NoSlope::Turning { place, name: String::new() }
    }

    /// The reason with the name that the part has in its garden.
    pub fn named(mut self, garden: &Garden) -> NoSlope {
        if let NoSlope::Turning { place, name }
        | NoSlope::Corner { place, name }
        | NoSlope::Closed { place, name }
        | NoSlope::Short { place, name }
        | NoSlope::Refused { place, name } = &mut self
        {
            *name = garden.name(*place).to_string();
        }
        self
    }
}
