//! Why a derivative does not exist.

use crate::garden::Garden;
use thiserror::Error;

/// Why a derivative does not exist.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum NoSlope {
    #[error("no supply reaches it")]
    NotFed,
    #[error("water is trapped there between shut valves")]
    Trapped,
    /// A valve, regulator or outlet changes its state right here.
    #[error("'{name}' is just about to open, shut or change its hold")]
    Turning { place: usize, name: String },
    /// A pipe between two regimes, or a booster at a point of its curve.
    #[error("'{name}' works just at a corner of its law")]
    Corner { place: usize, name: String },
    #[error("'{name}' gets only what comes: water parts on the way to it")]
    Short { place: usize, name: String },
    #[error("nothing decides how the flow is split there: several ways lose no pressure")]
    Undetermined,
    #[error("the number is not given")]
    NotGiven,
    #[error("'{name}' is closed as long as its flow is nothing")]
    Closed { place: usize, name: String },
    #[error("'{name}' allows no other value nearby")]
    Refused { place: usize, name: String },
}

impl NoSlope {
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
