//! The catalog: what each kind of part is, and new parts of a kind.

use super::error::PartError;
use super::id::Id;
use super::kind::Kind;
use super::part::{Part, Spec};
use super::{booster, devices, hose, inline, outlets, preventers, soaker, source, start, storage};
use crate::quantity::Quantity;

impl Kind {
    /// All that is known of the kind: its parameters with ranges and defaults, its traits, its law.
    pub const fn spec(self) -> &'static Spec {
        match self {
            Kind::Supply => &source::SUPPLY,
            Kind::OpenTank => &source::OPEN_TANK,
            Kind::Hose => &hose::HOSE,
            Kind::Pipe => &hose::PIPE,
            Kind::Fitting => &inline::FITTING,
            Kind::Filter => &inline::FILTER,
            Kind::Meter => &inline::METER,
            Kind::Restrictor => &inline::RESTRICTOR,
            Kind::Uphill => &inline::UPHILL,
            Kind::Downhill => &inline::DOWNHILL,
            Kind::Valve => &inline::VALVE,
            Kind::DiaphragmValve => &devices::DIAPHRAGM_VALVE,
            Kind::HoseTimer => &devices::HOSE_TIMER,
            Kind::CheckValve => &inline::CHECK_VALVE,
            Kind::FootValve => &devices::FOOT_VALVE,
            Kind::Backflow => &preventers::BACKFLOW_PREVENTER,
            Kind::DoubleCheck => &preventers::DOUBLE_CHECK,
            Kind::ReducedPressure => &preventers::REDUCED_PRESSURE,
            Kind::PressureVacuumBreaker => &preventers::PRESSURE_VACUUM_BREAKER,
            Kind::AtmosphericVacuumBreaker => &preventers::ATMOSPHERIC_VACUUM_BREAKER,
            Kind::HoseVacuumBreaker => &preventers::HOSE_VACUUM_BREAKER,
            Kind::Regulator => &inline::REGULATOR,
            Kind::Relief => &outlets::RELIEF,
            Kind::Booster => &booster::BOOSTER,
            Kind::PressureSwitch => &storage::PRESSURE_SWITCH,
            Kind::PumpStart => &start::PUMP_START,
            Kind::PumpControl => &start::PUMP_CONTROL,
            Kind::Drive => &start::DRIVE,
            Kind::PressureTank => &storage::PRESSURE_TANK,
            Kind::ExpansionTank => &devices::EXPANSION_TANK,
            Kind::Injector => &devices::INJECTOR,
            Kind::DrainValve => &devices::DRAIN_VALVE,
            Kind::Head => &outlets::HEAD,
            Kind::Emitter => &outlets::EMITTER,
            Kind::Soaker => &soaker::SOAKER,
            Kind::Dripline => &soaker::DRIPLINE,
            Kind::Demand => &outlets::DEMAND,
            Kind::Leak => &outlets::LEAK,
            Kind::Point => &storage::POINT,
        }
    }
}

impl Part {
    /// A part of a kind with its defaults and nothing else: unchecked, for what follows to complete.
    pub fn new(kind: Kind) -> Part {
        Part::of(kind.spec())
    }

    /// A part of a kind with some of its parameters given, checked as a whole.
    ///
    /// Errors: [`PartError`] names the parameter that is out of range, of the wrong dimension, or contradicts another, and a name
    /// that [`Part::named`] refuses.
    pub fn build(kind: Kind, name: Option<&str>, parameters: &[(Id, Quantity)]) -> Result<Part, PartError> {
        let mut part = Part::new(kind);
        if let Some(name) = name {
            part = part.named(name)?;
        }
        for (id, value) in parameters {
            part.put(*id, *value)?;
        }
        (part.spec().check)(&part)?;
        Ok(part)
    }

    /// As [`Part::build`], with parameters by their names, as texts give them.
    ///
    /// Errors: also [`PartError::UnknownParameter`] for a name that the kind has no parameter for.
    pub fn of_words(kind: Kind, name: Option<&str>, parameters: &[(&str, Quantity)]) -> Result<Part, PartError> {
        let part = Part::new(kind);
        let ids = parameters.iter().map(|(word, value)| Ok((part.id_of(word)?, *value)));
        Part::build(kind, name, &ids.collect::<Result<Vec<_>, PartError>>()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_a_spec_of_its_own() {
        for (index, kind) in Kind::ALL.iter().enumerate() {
            assert_eq!(kind.spec().kind, *kind);
            assert!(Kind::ALL[..index].iter().all(|other| other.spec().word != kind.spec().word), "{}", kind.spec().word);
        }
    }

    #[test]
    fn every_name_belongs_to_a_kind_and_is_found_where_it_stands() {
        for &id in Id::ALL {
            assert!(Kind::ALL.iter().any(|kind| kind.spec().has(id)), "{id}");
        }
        for kind in Kind::ALL {
            for (index, number) in kind.spec().parameters.iter().enumerate() {
                assert_eq!(kind.spec().parameters.place_of(number.id), Some(index));
            }
            assert_eq!(
                kind.spec().parameters.len(),
                Id::ALL.iter().filter(|id| kind.spec().parameters.place_of(**id).is_some()).count()
            );
        }
    }
}
