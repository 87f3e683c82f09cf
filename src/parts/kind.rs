//! The names of the kinds of parts. What each is stands in the file of its family; the catalogue joins the two.

macro_rules! kinds {
    ($($kind:ident),* $(,)?) => {
        /// The kinds of parts.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Kind {
            $($kind,)*
        }

        impl Kind {
            /// All kinds, in the order of the reference.
            pub const ALL: &'static [Kind] = &[$(Kind::$kind,)*];
        }
    };
}

kinds! {
    Supply,
    OpenTank,
    Hose,
    Pipe,
    Fitting,
    Filter,
    Meter,
    Washer,
    Climb,
    Valve,
    CheckValve,
    Backflow,
    Regulator,
    Relief,
    Booster,
    PressureSwitch,
    PressureTank,
    Head,
    Emitter,
    Soaker,
    Draw,
    Leak,
    Point,
}
