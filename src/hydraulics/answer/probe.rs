//! What a sweep wants to know of a solve.

/// Something to read after a solve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    pub place: usize,
    pub kind: ProbeKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProbeKind {
    /// Pressure behind a part, or before an outlet, Pa.
    Pressure,
    /// Flow through a part, m3/s.
    Flow,
}
