//! The standing cautions, the one home of their wording. They are not findings: they hold for any values.

use crate::garden::Garden;
use crate::parts::{Backward, Spec};

/// For gardens with a check valve.
pub(super) const CHECK_IS_NO_PREVENTER: &str = "A check valve is not an approved backflow preventer.";
/// For gardens on a tap.
pub(super) const DRINKING_WATER: &str = "Any hose or irrigation line connected to drinking water is a cross-connection: it needs the backflow preventer that local code \
     requires.";
/// For gardens with both a tap and a booster.
pub(super) const PUMP_ON_MAIN: &str = "A booster on a public main may be prohibited: ask the water supplier first.";
/// For gardens with a booster or a pressure switch.
pub(super) const ELECTRICITY: &str =
    "Pump and switch near water need an outlet with GFCI (RCD) protection and licensed electrical work.";
/// For gardens with a relief valve.
pub const RELIEF: &str = "A relief valve set at or below cut-out weeps, and one without capacity for the pump does not protect.";
/// For every garden.
pub const ESTIMATES: &str = "Results are estimates for planning.";

/// The standing cautions that apply to a garden.
pub fn cautions(garden: &Garden) -> Vec<&'static str> {
    let has = |is_so: fn(&Spec) -> bool| garden.of_spec(is_so).next().is_some();
    let (tap, pump) = (has(Spec::is_main), has(|spec| spec.traits.pumps));
    let all = [
        (has(|spec| spec.traits.backward == Backward::Keeps), CHECK_IS_NO_PREVENTER),
        (tap, DRINKING_WATER),
        (tap && pump, PUMP_ON_MAIN),
        (pump || has(|spec| spec.traits.switches), ELECTRICITY),
        (has(|spec| spec.traits.relieves), RELIEF),
        (true, ESTIMATES),
    ];
    all.into_iter().filter_map(|(applies, caution)| applies.then_some(caution)).collect()
}
