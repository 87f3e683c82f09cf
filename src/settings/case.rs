//! The question that a window answers, and the pressures at the switch in a case.

/// What is asked of a window.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ask {
    /// Name of the switch; the first one by default.
    pub switch: Option<String>,
    /// Zones that run at the same time, one list each; every valve downstream of the pump alone by default.
    pub zones: Vec<Vec<String>>,
    /// The highest pressure of the main, as at night, Pa; that of the supply by default.
    pub highest_static_pa: Option<f64>,
    /// The lowest pressure of the main, as on a hot evening, Pa; by default the lowest static pressure that the supply gives, else its
    /// static pressure.
    pub lowest_static_pa: Option<f64>,
    /// Least difference between cut-in and cut-out, Pa; that of usual switches by default (15 psi, or 1 bar).
    pub differential_pa: Option<f64>,
    /// Widest difference between cut-in and cut-out, Pa; that of usual switches by default (30 psi, or 2 bar).
    pub widest_pa: Option<f64>,
}

/// What the switch reads while some zones run, Pa.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Names of the zones that run together.
    pub zones: Vec<String>,
    /// Without the pump, at the usual main pressure.
    pub off_pa: f64,
    /// With the pump, at the usual main pressure.
    pub on_pa: f64,
    /// Without the pump, at the highest main pressure.
    pub off_highest_pa: f64,
    /// With the pump, at the highest main pressure.
    pub on_highest_pa: f64,
    /// Flow through the pump while it runs, m3/s.
    pub flow_m3_per_s: f64,
    /// What relief valves let go meanwhile, m3/s.
    pub relieved_m3_per_s: f64,
    /// Whether heads that say what they need have it without the pump, also at the lowest pressure of the main.
    pub needs_no_pump: bool,
}

/// A range of a setting, Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The least setting, Pa.
    pub low_pa: f64,
    /// The greatest setting, Pa.
    pub high_pa: f64,
}
