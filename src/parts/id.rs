//! The names of the parameters of parts: each stands here once, with its script name and its dimension.
//!
//! Knows neither which kind of part has which parameter, nor its range: that is in the specs.

use crate::quantity::{Dimension, dim};

/// Makes the names of parameters: for each what it means, its name in scripts, paths and columns, and its dimension, all the same in
/// every kind of part.
macro_rules! ids {
    ($($(#[$doc:meta])* $id:ident = $word:literal, $dimension:ident;)*) => {
        /// The name of a parameter of parts. Values are SI; pressures are gauge pressures.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Id {
            $($(#[$doc])* $id,)*
        }

        impl Id {
            /// All names.
            pub const ALL: &'static [Id] = &[$(Id::$id,)*];

            /// The name by which scripts read and set it.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Id::$id => $word,)*
                }
            }

            /// What its values measure: a quantity of any other dimension is refused for it.
            pub const fn dimension(self) -> Dimension {
                match self {
                    $(Id::$id => dim::$dimension,)*
                }
            }
        }
    };
}

ids! {
    /// Arc that a head waters, degrees; 360 is a full circle. Its middle points where [`Id::Facing`] says.
    Arc = "arc", NUMBER;
    /// Inside diameter, m, of a hose or pipe. Of other parts in line the diameter whose velocity [`Id::K`] refers to.
    Diameter = "diameter", LENGTH;
    /// Diameter of the hole of a restrictor, m.
    Bore = "bore", LENGTH;
    /// Discharge coefficient of a nozzle: its flow over that of the ideal jet of Torricelli.
    Cd = "cd", NUMBER;
    /// Height of the water column above a head that the check valve built into it holds back, m.
    CheckHeight = "check_height", LENGTH;
    /// Time in which a valve stops the flow when it closes, s. Only water hammer depends on it.
    ClosingTime = "closing_time", TIME;
    /// Pressure difference, Pa, below which a check valve or backflow preventer stays closed; it is lost at every flow.
    CrackingPressure = "cracking_pressure", PRESSURE;
    /// Pressure at or below which a pressure switch or pump control starts its booster, Pa.
    CutIn = "cut_in", PRESSURE;
    /// Pressure at or above which a pressure switch stops its booster, Pa.
    CutOut = "cut_out", PRESSURE;
    /// Flow coefficient as the US trade gives it: gpm of cold water at 1 psi of loss. It takes the place of [`Id::K`].
    Cv = "cv", NUMBER;
    /// Time from what a control or relay sees to what it does, s.
    Delay = "delay", TIME;
    /// Inlet pressure at or below which a guard locks a booster out until somebody resets it, Pa.
    DryRunCutoff = "dry_run_cutoff", PRESSURE;
    /// Power given to the water over electrical power taken: motor and pump together. Of a drive the power that it passes on over the power
    /// that it takes.
    Efficiency = "efficiency", NUMBER;
    /// Height of a source above the datum of the garden, m; of an open tank that of its outlet.
    Elevation = "elevation", LENGTH;
    /// Exponent of pressure in the flow of an outlet: 0.5 for an orifice, near 0 for a pressure-compensating one.
    Exponent = "exponent", NUMBER;
    /// Direction of the middle of the arc of a head, degrees clockwise from the y axis of the plan.
    Facing = "facing", NUMBER;
    /// Flow at which another parameter holds, m3/s: [`Id::Pressure`] of an emitter, soaker or leak, [`Id::Loss`] of a filter or
    /// meter, [`Id::Overpressure`] of a relief valve. Of a draw the flow that it takes.
    Flow = "flow", FLOW;
    /// Hazen-Williams coefficient of a wall. Where given, friction follows that law, and [`Id::Roughness`] has no effect.
    HazenWilliamsC = "hazen_williams_c", NUMBER;
    /// Height gained in the direction of the part, m; negative downhill.
    Height = "height", LENGTH;
    /// Flow that refills an open tank by itself, m3/s. Only runs over time depend on it.
    Inflow = "inflow", FLOW;
    /// Loss coefficient of a part in line: loss over the dynamic pressure rho v^2 / 2 at [`Id::Diameter`].
    K = "k", NUMBER;
    /// Length along the line, m.
    Length = "length", LENGTH;
    /// Static pressure of a supply when the main is lowest, as on a hot evening, Pa: a pump has to stop at it too.
    LowestStatic = "lowest_static", PRESSURE;
    /// Height of the water of an open tank above its outlet, m.
    Level = "level", LENGTH;
    /// Pressure lost at the flow of [`Id::Flow`], Pa; at others it goes with the square of the flow.
    Loss = "loss", PRESSURE;
    /// Flow at which a supply was at [`Id::MeasuredPressure`], m3/s: a bucket test.
    MeasuredFlow = "measured_flow", FLOW;
    /// Working (dynamic) pressure of a supply at [`Id::MeasuredFlow`], Pa.
    MeasuredPressure = "measured_pressure", PRESSURE;
    /// Loss coefficient of all couplings and bends of a hose or pipe together, at its own diameter.
    MinorK = "minor_k", NUMBER;
    /// Diameter of the nozzle of a head, m.
    Nozzle = "nozzle", LENGTH;
    /// Upper end of the operating range of a part, Pa.
    RangeHigh = "range_high", PRESSURE;
    /// Lower end of the operating range of a part, Pa.
    RangeLow = "range_low", PRESSURE;
    /// Net positive suction head that a booster requires, m of water above vapor pressure (absolute).
    Npsh = "npsh", LENGTH;
    /// Number of equal, evenly spaced outlets of a soaker.
    Outlets = "outlets", NUMBER;
    /// Pressure above [`Id::Set`] at which a relief valve passes the flow of [`Id::Flow`], Pa.
    Overpressure = "overpressure", PRESSURE;
    /// Air pressure of a pressure tank that holds no water, Pa.
    Precharge = "precharge", PRESSURE;
    /// Pressure upstream of an outlet at which it gives the flow of [`Id::Flow`], Pa.
    Pressure = "pressure", PRESSURE;
    /// Openings an inch of a filter screen.
    Mesh = "mesh", NUMBER;
    /// Share of the openings of a filter that are not clogged.
    OpenArea = "open_area", NUMBER;
    /// Flow below which a diaphragm valve may not close, a regulator may not hold its setting, and a pump control or drive stops its booster, m3/s.
    MinimumFlow = "minimum_flow", FLOW;
    /// Distance from outlet to outlet of a drip line, m.
    Spacing = "spacing", LENGTH;
    /// Cost of one such part, in the one currency of the garden.
    Price = "price", MONEY;
    /// Radius of throw of a head at [`Id::RadiusPressure`], m.
    Radius = "radius", LENGTH;
    /// Pressure at which a head throws as far as [`Id::Radius`], Pa.
    RadiusPressure = "radius_pressure", PRESSURE;
    /// Flow of a head at [`Id::RatedFlowPressure`], m3/s. The pair takes the place of [`Id::Diameter`] and [`Id::Cd`].
    RatedFlow = "rated_flow", FLOW;
    /// Pressure at which a head gives [`Id::RatedFlow`], Pa.
    RatedFlowPressure = "rated_flow_pressure", PRESSURE;
    /// Working pressure that the maker allows, Pa. No law depends on it; findings do.
    PressureRating = "pressure_rating", PRESSURE;
    /// Pressure at the nozzle that a regulator inside a head does not let it exceed, Pa.
    Regulated = "regulated", PRESSURE;
    /// Height of the nozzle of a head above the ground, m. Only coverage in wind depends on it.
    Riser = "riser", LENGTH;
    /// Equivalent sand roughness of a wall, m, as in the Colebrook equation.
    Roughness = "roughness", LENGTH;
    /// Pressure that a regulator holds downstream of it, or a drive at the outlet of its booster, Pa; of a relief valve that above which it
    /// opens.
    Set = "set", PRESSURE;
    /// Speed of a pump as a share of the one that its curve was measured at. The curve follows the affinity laws.
    Speed = "speed", NUMBER;
    /// Fall below its set pressure at which a drive starts its booster, Pa.
    StartMargin = "start_margin", PRESSURE;
    /// Static pressure of a supply when its bucket test was made, Pa.
    StaticAtTest = "static_at_test", PRESSURE;
    /// Pressure of a supply while nothing flows, Pa.
    StaticPressure = "static_pressure", PRESSURE;
    /// Compliance of a wall: water taken up for each pressure and length, m2/Pa (m3 a pascal and meter).
    Compliance = "compliance", COMPLIANCE;
    /// Angle at which a head throws, degrees above level ground. Only coverage in wind depends on it.
    Trajectory = "trajectory", NUMBER;
    /// Water that an open tank holds when full, or room for air and water in a pressure tank, m3.
    Volume = "volume", VOLUME;
    /// Electrical power of a booster while it runs, W, at every flow. It takes the place of [`Id::Efficiency`].
    InputPower = "input_power", POWER;
    /// Flow of a worn nozzle over that of the new one, at the same pressure.
    Wear = "wear", NUMBER;
    /// Place of a part in the plan, m to the right.
    X = "x", LENGTH;
    /// Place of a part in the plan, m upward.
    Y = "y", LENGTH;
}

impl Id {
    /// The parameter of that name, if any kind of part has it.
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
        assert_eq!(Id::of("diameters"), None);
    }
}
