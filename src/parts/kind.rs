//! The names of the kinds of parts. What each is stands in the file of its family; the catalog joins the two.

macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident),* $(,)?) => {
        /// The kinds of parts. [`Kind::spec`] holds all that is known of each.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Kind {
            $($(#[$doc])* $kind,)*
        }

        impl Kind {
            /// All kinds, in the order of the reference.
            pub const ALL: &'static [Kind] = &[$(Kind::$kind,)*];
        }
    };
}

kinds! {
    /// A tap on a main or a well system: its pressure falls with the square of the flow, from static to the measured pair.
    Supply,
    /// A tank open to the air: the height of its water is its pressure.
    OpenTank,
    /// A flexible hose; its wall may stretch.
    Hose,
    /// A rigid pipe; the laws of a hose.
    Pipe,
    /// A bend, tee, coupling or anything else with a loss coefficient.
    Fitting,
    /// A clean filter, by its loss at one flow.
    Filter,
    /// A water meter, by its loss at one flow.
    Meter,
    /// A restriction narrower than its hose: sudden contraction, then sudden expansion (Borda-Carnot).
    Restrictor,
    /// A rise in elevation along the line.
    Uphill,
    /// A drop in elevation along the line.
    Downhill,
    /// A zone valve, closed unless its zone runs.
    Valve,
    /// A zone valve that the pressure of the line closes.
    DiaphragmValve,
    /// A zone valve with a motor and a timer of its own, on a hose thread.
    HoseTimer,
    /// A check valve: one way only, but no protection of drinking water.
    CheckValve,
    /// A check valve with a strainer at the end of a suction line.
    FootValve,
    /// A backflow preventer approved for the protection of drinking water, of a type that is not given.
    Backflow,
    /// A double check assembly: a preventer for low hazard that stands backpressure.
    DoubleCheck,
    /// A reduced-pressure assembly: a preventer for high hazard that stands backpressure.
    ReducedPressure,
    /// A pressure vacuum breaker: above all outlets, without backpressure.
    PressureVacuumBreaker,
    /// An atmospheric vacuum breaker: above all outlets, without a valve downstream and without backpressure.
    AtmosphericVacuumBreaker,
    /// A vacuum breaker on a hose bibb: without a valve downstream and without backpressure.
    HoseVacuumBreaker,
    /// A pressure regulator: holds the pressure downstream of it, and lets no water back.
    Regulator,
    /// A relief valve: discharges in proportion to the pressure above its setting.
    Relief,
    /// A booster pump, by its curve; off, water flows through it freely.
    Booster,
    /// A switch that starts and stops a booster by the pressure at its place.
    PressureSwitch,
    /// A relay by which the timer runs a booster as long as a zone downstream of it is open.
    PumpStart,
    /// A control that starts a booster by the pressure at its place and stops it some time after the flow has stopped.
    PumpControl,
    /// A variable-speed drive that holds a pressure at the outlet of a booster.
    Drive,
    /// A closed tank with an air cushion (Boyle's law); in a steady state nothing flows in or out.
    PressureTank,
    /// A small closed tank that takes up what heated water gains.
    ExpansionTank,
    /// A fertilizer injector, by its loss at one flow.
    Injector,
    /// An automatic drain at a low point of a line.
    DrainValve,
    /// A sprinkler head: an orifice, a rated pair of pressure and flow, or a maker's table.
    Head,
    /// A drip emitter: a power law through a rated pair.
    Emitter,
    /// A hose with equal outlets along its length, closed at its end.
    Soaker,
    /// A drip line with emitters at a spacing.
    Dripline,
    /// A fixture in use in the house: takes its flow at every pressure.
    Demand,
    /// A leak: a power law through a rated pair, wanted by nobody.
    Leak,
    /// A gauge point, manifold or other named place; it loses nothing.
    Point,
}
