//! What is asked of kinds of parts: how each sits in a line, what judgments want to know, what a map shows for it.

/// How a part sits in a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placing {
    /// It starts a line: water comes from it.
    Source,
    /// Water flows through it.
    Inline,
    /// Water leaves the garden by it; the line may go on past it.
    Outlet,
    /// It sits at a point of the line and takes no water in a steady state.
    AtPoint,
}

/// How near to the soil an outlet lies, through which dirty water can come back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Soil {
    /// Nowhere near.
    Away,
    /// At grade or above it: a puddle can reach it.
    Near,
    /// On or in the soil.
    In,
}

/// What a part does about water that would run back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Backward {
    /// It lets it through.
    Passes,
    /// It stops it by the way, as a regulator does.
    Stops,
    /// It is there to stop it.
    Keeps,
    /// It is approved to keep it out of the drinking water.
    Protects,
}

/// How a part starts and stops a booster.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// Between two pressures at its place.
    Pressure,
    /// With the zones that the timer opens.
    Zones,
    /// At or below a pressure at its place, and then for as long as water flows.
    Flow,
    /// The same, at the speed that holds a pressure at the outlet of the booster.
    Speed,
}

/// What a type of backflow preventer stands, and where it may be installed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Guard {
    /// It also protects where the pressure downstream is higher than upstream, as downstream of a pump.
    pub backpressure: bool,
    /// It is for what can make people ill: fertilizer, soil.
    pub high_hazard: bool,
    /// It may stay under pressure all day.
    pub continuous_pressure: bool,
    /// How far above the highest outlet downstream it has to stand, m.
    pub above_outlets_m: Option<f64>,
}

/// What judgments about safety and use ask of a kind of part. Rules ask for these and for the parameters that a part has, never
/// for lists of kinds.
#[derive(Clone, Copy, Debug)]
pub struct Traits {
    /// Water leaves by it because somebody wants it to: zones run for its sake.
    pub gives_water: bool,
    /// It waters the ground; without it something stays dry.
    pub waters: bool,
    /// How near the soil it lies: how dirty the water is that suction can draw in by it.
    pub soil: Soil,
    /// Small passages on barbed fittings: made for low pressure.
    pub drips: bool,
    /// Its wall is what bursts first: its rating is asked for.
    pub bursts: bool,
    /// Its flexible wall lies in the open: sun heats it and the water that stands in it.
    pub flexible: bool,
    /// It is usually laid in a trench.
    pub trenched: bool,
    /// It can push the water that it holds back against a weaker source.
    pub pushes_back: bool,
    /// A source that water may run into: it is filled. Into other sources it must not run back.
    pub fills: bool,
    /// What it does about water that would run back through it.
    pub backward: Backward,
    /// What it stands as a backflow preventer; none where its type is not known.
    pub guard: Option<Guard>,
    /// Somebody or a timer opens it for a zone; otherwise it is closed.
    pub opens: bool,
    /// A timer of its own opens it, to which no wire of another timer and no relay can be connected.
    pub own_timer: bool,
    /// It opens by itself above the pressure that it is set to, and water is lost by it.
    pub relieves: bool,
    /// It takes water at times of its own, as a house does, and not all the time.
    pub demands: bool,
    /// It adds pressure while it runs, and somebody or a switch starts it.
    pub pumps: bool,
    /// How it starts and stops a booster; none where it does not.
    pub starts: Option<Start>,
    /// It puts fertilizer or chemicals into the water.
    pub injects: bool,
    /// It takes up what water gains by being heated in closed house plumbing.
    pub takes_expansion: bool,
    /// It lets the line run empty when the pressure is gone.
    pub drains: bool,
    /// It holds back grit that clogs small passages.
    pub filters: bool,
    /// It counts the water that goes through it, and wears beyond its rated flow.
    pub meters: bool,
}

impl Traits {
    /// A part of which nothing particular is to be said.
    pub const PLAIN: Traits = Traits {
        gives_water: false,
        waters: false,
        soil: Soil::Away,
        drips: false,
        bursts: false,
        flexible: false,
        trenched: false,
        pushes_back: false,
        fills: false,
        backward: Backward::Passes,
        guard: None,
        opens: false,
        own_timer: false,
        relieves: false,
        demands: false,
        pumps: false,
        starts: None,
        injects: false,
        takes_expansion: false,
        drains: false,
        filters: false,
        meters: false,
    };
}

/// What a map shows for a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SymbolShape {
    /// A label on a line without a shape of its own, such as a hose.
    Bare,
    /// A disc in a ring: a supply.
    Tap,
    /// A tub without a lid, with water in it.
    OpenTank,
    /// Two triangles tip to tip: a zone valve.
    Valve,
    /// A triangle against a bar: water passes from its base to the bar.
    OneWay,
    /// Two triangles against bars: a backflow preventer.
    TwoWay,
    /// A rhomb with a bar: a pressure regulator.
    Regulator,
    /// A cone below a bar: a relief valve.
    Relief,
    /// A circle with a triangle that points where it pushes.
    Pump,
    /// A box with an edge that steps up: a pressure switch.
    Switch,
    /// A box with an open contact: a relay.
    Relay,
    /// A box with a wave: a control that senses the flow.
    FlowSwitch,
    /// A box with a ramp from its lower to its upper edge: a variable-speed drive.
    Drive,
    /// A closed tank, air in its upper half.
    PressureTank,
    /// A disc with rays: a sprinkler head.
    Head,
    /// A drop: an emitter or soaker.
    Drip,
    /// A triangle below the line: a fixture in the house.
    Draw,
    /// A cross: water lost.
    Leak,
    /// A small rhomb: a bend, tee or coupling.
    Fitting,
    /// A box with bars across.
    Filter,
    /// A dial with its hand.
    Meter,
    /// Two bars with a gap between: a restriction.
    Restrictor,
    /// Stairs: a change of height.
    Climb,
    /// A small ring: a named place.
    Point,
}
