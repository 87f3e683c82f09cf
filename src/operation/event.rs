//! What happens at a moment of a run.

/// Something that happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// Seconds after midnight of the first day.
    pub time_s: f64,
    /// The part it happened to, by its place in the garden.
    pub place: usize,
    /// What happened to it.
    pub kind: EventKind,
}

/// What can happen to a part in a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum EventKind {
    /// A timer or a hand opens a valve.
    ValveOpens,
    /// A timer or a hand closes a valve.
    ValveCloses,
    /// A demand is opened.
    DemandStarts,
    /// A demand is closed.
    DemandStops,
    /// A booster starts, by its switch or by a fault.
    PumpStarts,
    /// A booster stops, by its switch or by a fault.
    PumpStops,
    /// The guard against running dry has stopped the pump for good.
    PumpStopsDry,
    /// A relief valve begins to let water go.
    ReliefOpens,
    /// A relief valve lets no more water go.
    ReliefCloses,
    /// A check valve begins to let water through.
    CheckOpens,
    /// A check valve lets no more water through.
    CheckCloses,
    /// A pressure tank is down to its precharge and has no more to give.
    TankEmpties,
    /// The pressure at a tank rises above its precharge, so that it takes water.
    TankFills,
    /// An open tank is empty.
    BarrelEmpties,
    /// An open tank that was empty holds enough to give water again.
    BarrelServes,
    /// A part begins to fail.
    FaultBegins,
    /// A part that failed works again.
    FaultEnds,
    /// The static pressure of a supply rises by the clock, to the level of this number.
    MainRises(usize),
    /// The static pressure of a supply falls by the clock, to the level of this number.
    MainFalls(usize),
}

impl Event {
    /// The same event later by this time, s.
    pub fn later_by(self, later_s: f64) -> Event {
        Event { time_s: later_s + self.time_s, ..self }
    }
}

impl EventKind {
    /// The event in words, to follow the name of the part.
    pub fn words(self) -> &'static str {
        match self {
            EventKind::ValveOpens | EventKind::ReliefOpens | EventKind::CheckOpens => "opens",
            EventKind::ValveCloses | EventKind::ReliefCloses | EventKind::CheckCloses => "closes",
            EventKind::DemandStarts => "is opened",
            EventKind::DemandStops => "is closed",
            EventKind::PumpStarts => "starts",
            EventKind::PumpStops => "stops",
            EventKind::PumpStopsDry => "locks out (dry run)",
            EventKind::TankEmpties => "is down to precharge",
            EventKind::TankFills => "starts to fill",
            EventKind::BarrelEmpties => "is empty",
            EventKind::BarrelServes => "has water again",
            EventKind::FaultBegins => "fails",
            EventKind::FaultEnds => "works again",
            EventKind::MainRises(_) => "pressure rises",
            EventKind::MainFalls(_) => "pressure falls",
        }
    }

    /// The level by the clock to which the static pressure of a supply goes.
    pub fn level(self) -> Option<usize> {
        match self {
            EventKind::MainRises(level) | EventKind::MainFalls(level) => Some(level),
            _ => None,
        }
    }
}
