//! The names of the numbers of parts: each stands here once, with its word and its dimension.
//!
//! Knows neither which kind of part has which number, nor its range: that is in the specs.

use crate::quantity::{Dimension, dim};

/// Makes the names of numbers: for each its word in scripts, paths and columns, and its dimension, the same in every kind of part.
macro_rules! ids {
    ($($id:ident = $word:literal, $dimension:ident;)*) => {
        /// The name of a number of parts.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Id {
            $($id,)*
        }

        impl Id {
            /// All names.
            pub const ALL: &'static [Id] = &[$(Id::$id,)*];

            /// The word by which scripts read and set it.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Id::$id => $word,)*
                }
            }

            pub const fn dimension(self) -> Dimension {
                match self {
                    $(Id::$id => dim::$dimension,)*
                }
            }
        }
    };
}

ids! {
    Arc = "arc", NUMBER;
    Bore = "bore", LENGTH;
    Cd = "cd", NUMBER;
    ClosingTime = "closing_time", TIME;
    Cracking = "cracking", PRESSURE;
    CutIn = "cut_in", PRESSURE;
    CutOut = "cut_out", PRESSURE;
    Cv = "cv", NUMBER;
    DryStop = "dry_stop", PRESSURE;
    Efficiency = "efficiency", NUMBER;
    Elevation = "elevation", LENGTH;
    Exponent = "exponent", NUMBER;
    Facing = "facing", NUMBER;
    Flow = "flow", FLOW;
    HazenWilliamsC = "hazen_williams_c", NUMBER;
    Height = "height", LENGTH;
    Inflow = "inflow", FLOW;
    K = "k", NUMBER;
    Length = "length", LENGTH;
    Level = "level", LENGTH;
    Loss = "loss", PRESSURE;
    MeasuredFlow = "measured_flow", FLOW;
    MeasuredPressure = "measured_pressure", PRESSURE;
    MinorK = "minor_k", NUMBER;
    NeedsHigh = "needs_high", PRESSURE;
    NeedsLow = "needs_low", PRESSURE;
    Npsh = "npsh", LENGTH;
    Outlets = "outlets", NUMBER;
    Over = "over", PRESSURE;
    Precharge = "precharge", PRESSURE;
    Pressure = "pressure", PRESSURE;
    Price = "price", MONEY;
    Radius = "radius", LENGTH;
    RadiusPressure = "radius_pressure", PRESSURE;
    RatedFlow = "rated_flow", FLOW;
    RatedPressure = "rated_pressure", PRESSURE;
    Rating = "rating", PRESSURE;
    Regulated = "regulated", PRESSURE;
    Roughness = "roughness", LENGTH;
    Set = "set", PRESSURE;
    Speed = "speed", NUMBER;
    StaticPressure = "static_pressure", PRESSURE;
    Stretch = "stretch", STRETCH;
    Volume = "volume", VOLUME;
    Watts = "watts", POWER;
    Wear = "wear", NUMBER;
    X = "x", LENGTH;
    Y = "y", LENGTH;
}

impl Id {
    /// The name that a word stands for, if any kind of part has such a number.
    pub fn of(word: &str) -> Option<Id> {
        Id::ALL.iter().copied().find(|id| id.word() == word)
    }
}

impl std::fmt::Display for Id {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_word_stands_for_one_name() {
        let words: BTreeSet<&str> = Id::ALL.iter().map(|id| id.word()).collect();
        assert_eq!(words.len(), Id::ALL.len());
        for &id in Id::ALL {
            assert_eq!(Id::of(id.word()), Some(id));
        }
        assert_eq!(Id::of("bores"), None);
    }
}
