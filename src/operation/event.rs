//! What happens at a moment of a run.

/// Something that happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// Seconds after midnight of the first day.
    pub time_s: f64,
    /// The part it happened to, by its place in the garden.
    pub place: usize,
    pub kind: EventKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum EventKind {
    ValveOpens,
    ValveShuts,
    DrawBegins,
    DrawEnds,
    PumpStarts,
    PumpStops,
    /// The guard against running dry has stopped the pump for good.
    PumpStopsDry,
    ReliefOpens,
    ReliefShuts,
    CheckOpens,
    CheckShuts,
    TankEmpties,
    TankFills,
    BarrelEmpties,
    BarrelServes,
    FaultBegins,
    FaultEnds,
}

impl EventKind {
    /// The event in words, to stand behind the name of the part.
    pub fn words(self) -> &'static str {
        match self {
            EventKind::ValveOpens | EventKind::ReliefOpens | EventKind::CheckOpens => "opens",
            EventKind::ValveShuts | EventKind::ReliefShuts | EventKind::CheckShuts => "shuts",
            EventKind::DrawBegins => "is opened",
            EventKind::DrawEnds => "is shut",
            EventKind::PumpStarts => "starts",
            EventKind::PumpStops => "stops",
            EventKind::PumpStopsDry => "stops for want of water",
            EventKind::TankEmpties => "is down to its precharge",
            EventKind::TankFills => "takes water",
            EventKind::BarrelEmpties => "is empty",
            EventKind::BarrelServes => "gives water again",
            EventKind::FaultBegins => "fails",
            EventKind::FaultEnds => "works again",
        }
    }
}
