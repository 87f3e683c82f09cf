//! Common fittings and valves by name, with the K values printed for them.
//!
//! K for the same fitting differs by tens of percent between tables, since shapes differ under one name: take these as a
//! first guess, and the Cv of the maker's sheet where there is one. How a K becomes a loss stands in `minor.rs`.

use super::LawError;
use super::minor::k_from_multiplier;
use crate::nearest::{did_you_mean, nearest};
use crate::told::Told;
use thiserror::Error;

/// Where a number comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// R. H. Perry and D. W. Green, Perry's Chemical Engineers' Handbook, 7th edition (1997), Table 6-4; table and edition
    /// from memory.
    PerryGreen,
    /// B. R. Munson, D. F. Young and T. H. Okiishi, Fundamentals of Fluid Mechanics, 4th edition (2002), Table 8.2; table and
    /// edition from memory.
    Munson,
    /// TP-410, Flow of Fluids Through Valves, Fittings and Pipe (1976 and later editions), K factor table: K = n fT.
    Tp410,
    /// The same, from memory, not looked up.
    Tp410FromMemory,
}

impl Source {
    /// The source in a few words, for a column of a table.
    pub fn short(self) -> &'static str {
        match self {
            Source::PerryGreen => "Perry and Green (1997), Table 6-4",
            Source::Munson => "Munson, Young and Okiishi (2002), Table 8.2",
            Source::Tp410 => "TP-410, K factor table",
            Source::Tp410FromMemory => "TP-410, K factor table (from memory)",
        }
    }

    /// The source in full, the same as in the check values of the fittings.
    pub fn describe(self) -> &'static str {
        match self {
            Source::PerryGreen => {
                "R. H. Perry and D. W. Green, Perry's Chemical Engineers' Handbook, 7th edition (1997), Table 6-4: additional \
                 frictional loss for turbulent flow through fittings and valves"
            }
            Source::Munson => {
                "B. R. Munson, D. F. Young and T. H. Okiishi, Fundamentals of Fluid Mechanics, 4th edition (2002), Table 8.2: \
                 loss coefficients for pipe components"
            }
            Source::Tp410 => {
                "TP-410, Flow of Fluids Through Valves, Fittings and Pipe (1976 and later editions), K factor table: equivalent \
                 length in diameters (K = n fT)"
            }
            Source::Tp410FromMemory => {
                "from memory, not looked up: TP-410, Flow of Fluids Through Valves, Fittings and Pipe (1976 and later \
                 editions), K factor table: equivalent length in diameters (K = n fT)"
            }
        }
    }
}

/// A K value and the table that prints it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PrintedK {
    /// Loss as a multiple of the dynamic pressure in the diameter; it has no unit.
    pub k: f64,
    /// What exactly the table means.
    pub detail: &'static str,
    /// The table.
    pub source: Source,
}

/// A fitting or valve.
#[derive(Debug, PartialEq)]
pub struct Fitting {
    /// The name for it, as scripts write it.
    pub name: &'static str,
    /// What it is, in words.
    pub detail: &'static str,
    /// The printed values, the one that is used first.
    pub printed: &'static [PrintedK],
    /// Equivalent length in diameters and its source, for K = n fT.
    pub diameters: Option<(f64, Source)>,
}

/// A fitting that is not in the table.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("there is no fitting '{name}'")]
pub struct UnknownFitting {
    /// The name that was asked for.
    pub name: String,
}

impl Told for UnknownFitting {
    fn hint(&self) -> Option<String> {
        let known = || FITTINGS.iter().map(|fitting| fitting.name);
        did_you_mean(&self.name, known()).or_else(|| {
            let names: Vec<&str> = known().collect();
            Some(format!("give its K directly, or use one of {}", names.join(", ")))
        })
    }
}

impl UnknownFitting {
    /// The known names that look like it, best first.
    pub fn nearest(&self) -> Vec<&'static str> {
        nearest(&self.name, FITTINGS.iter().map(|fitting| fitting.name), 3)
    }
}

impl Fitting {
    /// The K that is used for it.
    pub fn k(&self) -> f64 {
        self.printed[0].k
    }

    /// Where that K comes from.
    pub fn source(&self) -> Source {
        self.printed[0].source
    }

    /// The lowest and the highest K printed for it in our tables.
    pub fn spread(&self) -> (f64, f64) {
        let fold = |pick: fn(f64, f64) -> f64| self.printed.iter().map(|printed| printed.k).reduce(pick).unwrap_or(self.k());
        (fold(f64::min), fold(f64::max))
    }

    /// A remark on how much to trust the K.
    pub fn remark(&self) -> String {
        let (low, high) = self.spread();
        let tables = match self.printed.len() {
            1 => "one table; such tables differ by tens of percent".to_string(),
            _ if low == high => format!("several tables give {low}"),
            _ => format!("tables give {low} to {high}"),
        };
        if self.source() == Source::Tp410FromMemory { format!("{tables}; from memory") } else { tables }
    }

    /// K in a pipe of a fully turbulent friction factor fT, when an equivalent length is known.
    ///
    /// Errors: fT must not be below zero. Source: TP-410, K = n fT.
    pub fn k_in_pipe(&self, fully_turbulent_factor: f64) -> Option<Result<f64, LawError>> {
        self.diameters.map(|(n, _)| k_from_multiplier(n, fully_turbulent_factor))
    }
}

/// The fitting of that name.
///
/// Errors: an unknown name; the hint names the nearest ones.
pub fn find_fitting(name: &str) -> Result<&'static Fitting, UnknownFitting> {
    let wanted = name.trim();
    FITTINGS.iter().find(|fitting| fitting.name == wanted).ok_or_else(|| UnknownFitting { name: wanted.to_string() })
}

const fn perry(k: f64, detail: &'static str) -> PrintedK {
    PrintedK { k, detail, source: Source::PerryGreen }
}

const fn munson(k: f64, detail: &'static str) -> PrintedK {
    PrintedK { k, detail, source: Source::Munson }
}

const fn only(name: &'static str, detail: &'static str, printed: &'static [PrintedK]) -> Fitting {
    Fitting { name, detail, printed, diameters: None }
}

const fn with_length(name: &'static str, detail: &'static str, printed: &'static [PrintedK], n: f64, source: Source) -> Fitting {
    Fitting { name, detail, printed, diameters: Some((n, source)) }
}

/// All fittings. Valves are wide open unless the name says otherwise.
pub const FITTINGS: &[Fitting] = &[
    only("elbow_90", "elbow, 90 degrees", &[perry(0.75, "standard")]),
    with_length(
        "elbow_90_threaded",
        "threaded elbow, 90 degrees",
        &[munson(1.5, "regular threaded")],
        30.0,
        Source::Tp410FromMemory,
    ),
    only("elbow_90_square", "square or mitred elbow, 90 degrees", &[perry(1.3, "square or mitre")]),
    only("elbow_45", "elbow, 45 degrees", &[perry(0.35, "standard"), munson(0.4, "regular threaded")]),
    only("elbow_45_long", "long-radius elbow, 45 degrees", &[perry(0.2, "long radius")]),
    only("return_bend", "close return bend, 180 degrees", &[perry(1.5, "close return")]),
    with_length(
        "tee_run",
        "tee, straight through",
        &[perry(0.4, "run through, branch blanked"), munson(0.9, "line flow threaded")],
        20.0,
        Source::Tp410FromMemory,
    ),
    with_length(
        "tee_branch",
        "tee, into or out of the branch",
        &[perry(1.0, "branching flow"), munson(2.0, "branch flow threaded")],
        60.0,
        Source::Tp410FromMemory,
    ),
    only("coupling", "coupling", &[perry(0.04, "")]),
    only("union", "union", &[perry(0.04, "")]),
    with_length("gate_valve", "gate valve", &[perry(0.17, "open"), munson(0.15, "fully open")], 8.0, Source::Tp410),
    only("gate_valve_quarter", "gate valve, a quarter open", &[perry(24.0, "quarter open")]),
    // K at nominal 3/4 in, n = 3 (from memory) times fT = 0.025 (TP-410, older rounding).
    with_length(
        "ball_valve",
        "ball valve, full diameter",
        &[PrintedK { k: 0.075, detail: "3 fT at nominal 3/4 in", source: Source::Tp410FromMemory }],
        3.0,
        Source::Tp410FromMemory,
    ),
    with_length("globe_valve", "globe valve", &[perry(6.0, "open"), munson(10.0, "fully open")], 340.0, Source::Tp410FromMemory),
    only("angle_valve", "angle valve", &[munson(2.0, "fully open")]),
    only("diaphragm_valve", "diaphragm valve", &[perry(2.3, "open")]),
    with_length("swing_check", "swing check valve", &[perry(2.0, "swing"), munson(2.0, "forward flow")], 100.0, Source::Tp410),
    only("disk_check", "disk check valve", &[perry(10.0, "disk")]),
    only("foot_valve", "foot valve", &[perry(15.0, "")]),
    only("water_meter", "water meter with disk", &[perry(7.0, "disk")]),
    only("water_meter_turbine", "water meter with turbine wheel", &[perry(6.0, "turbine wheel")]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fitting_has_a_k_and_a_name_of_its_own_that_scripts_can_write() {
        let mut seen = std::collections::HashSet::new();
        for fitting in FITTINGS {
            assert!(!fitting.printed.is_empty() && fitting.printed.iter().all(|printed| printed.k > 0.0), "{}", fitting.name);
            assert!(seen.insert(fitting.name), "{} stands twice", fitting.name);
            assert!(fitting.name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_'), "{}", fitting.name);
        }
    }

    #[test]
    fn a_misspelled_fitting_finds_its_neighbor() {
        let error = find_fitting("elbow90").expect_err("not a name");
        assert_eq!(error.to_string(), "there is no fitting 'elbow90'");
        assert!(error.hint().is_some_and(|hint| hint.contains("elbow_90")), "{:?}", error.hint());
        assert!(error.nearest().contains(&"elbow_90"));
        let strange = find_fitting("zzz").expect_err("not a name").hint();
        assert!(strange.is_some_and(|hint| hint.contains("give its K directly")));
    }

    #[test]
    fn the_table_reads_well() {
        let lines: Vec<String> =
            FITTINGS.iter().map(|f| format!("{:<20} {:>6}  {} ({})", f.name, f.k(), f.detail, f.remark())).collect();
        insta::assert_snapshot!(lines.join("\n"), @r"
        elbow_90               0.75  elbow, 90 degrees (one table; such tables differ by tens of percent)
        elbow_90_threaded       1.5  threaded elbow, 90 degrees (one table; such tables differ by tens of percent)
        elbow_90_square         1.3  square or mitred elbow, 90 degrees (one table; such tables differ by tens of percent)
        elbow_45               0.35  elbow, 45 degrees (tables give 0.35 to 0.4)
        elbow_45_long           0.2  long-radius elbow, 45 degrees (one table; such tables differ by tens of percent)
        return_bend             1.5  close return bend, 180 degrees (one table; such tables differ by tens of percent)
        tee_run                 0.4  tee, straight through (tables give 0.4 to 0.9)
        tee_branch                1  tee, into or out of the branch (tables give 1 to 2)
        coupling               0.04  coupling (one table; such tables differ by tens of percent)
        union                  0.04  union (one table; such tables differ by tens of percent)
        gate_valve             0.17  gate valve (tables give 0.15 to 0.17)
        gate_valve_quarter       24  gate valve, a quarter open (one table; such tables differ by tens of percent)
        ball_valve            0.075  ball valve, full diameter (one table; such tables differ by tens of percent; from memory)
        globe_valve               6  globe valve (tables give 6 to 10)
        angle_valve               2  angle valve (one table; such tables differ by tens of percent)
        diaphragm_valve         2.3  diaphragm valve (one table; such tables differ by tens of percent)
        swing_check               2  swing check valve (several tables give 2)
        disk_check               10  disk check valve (one table; such tables differ by tens of percent)
        foot_valve               15  foot valve (one table; such tables differ by tens of percent)
        water_meter               7  water meter with disk (one table; such tables differ by tens of percent)
        water_meter_turbine       6  water meter with turbine wheel (one table; such tables differ by tens of percent)
        ");
    }
}
