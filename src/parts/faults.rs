//! The ways in which parts fail. Which of them a kind of part knows stands in its spec; what each leads to is the work of
//! `operation`.

/// How a part fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FaultKind {
    /// The contacts of a switch are welded: its pump runs and does not stop.
    WillNotStop,
    /// A pump or its switch is dead.
    WillNotStart,
    /// The small hose to a switch is blocked: it keeps reading the last pressure.
    Blocked,
    /// A relief, a valve or a check valve stays open; a check valve held open by grit lets water back.
    SticksOpen,
    /// A relief or a valve stays closed.
    SticksClosed,
    /// A supply is closed at the main, or an open tank at its outlet: no flow.
    Fails,
    /// A supply has no pressure, but its pipe is open: water can flow back and be under suction.
    LosesPressure,
}

impl FaultKind {
    /// All faults, in the order in which they are listed to people.
    pub const ALL: &'static [FaultKind] = &[
        FaultKind::WillNotStop,
        FaultKind::WillNotStart,
        FaultKind::Blocked,
        FaultKind::SticksOpen,
        FaultKind::SticksClosed,
        FaultKind::Fails,
        FaultKind::LosesPressure,
    ];

    /// Its name in scripts and tables.
    pub fn words(self) -> &'static str {
        match self {
            FaultKind::WillNotStop => "will not stop",
            FaultKind::WillNotStart => "will not start",
            FaultKind::Blocked => "blocked",
            FaultKind::SticksOpen => "stuck open",
            FaultKind::SticksClosed => "stuck closed",
            FaultKind::Fails => "fails",
            FaultKind::LosesPressure => "loses pressure",
        }
    }
}
