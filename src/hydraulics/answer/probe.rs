//! What a sweep wants to know of a solve.

/// One number to read after a solve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    /// Place of the part in its garden.
    pub place: usize,
    /// Whether to read its pressure or its flow.
    pub kind: ProbeKind,
}

/// What is read at a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProbeKind {
    /// Gauge pressure downstream of a part, or upstream of an outlet, Pa.
    Pressure,
    /// Flow through a part in its own direction, or out of an outlet, m3/s.
    Flow,
}
