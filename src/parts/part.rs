//! The part itself: what its kind is, its parameters, a name, and for a booster its curve.

use super::curve::Curve;
use super::error::{Contradiction, PartError};
use super::faults::FaultKind;
use super::flow_table::FlowTable;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::parameter::{Parameter, Parameters};
use super::rows::{LawRows, Rows};
use super::throw::{RadialProfile, ThrowError, ThrowTable};
use super::traits::{Backward, Placing, Start, SymbolShape, Traits};
use crate::laws::vessel::Vessel;
use crate::quantity::{Preference, Quantity, UnitSystem, find_unit, unit_for};
use crate::visible;
use crate::water::Water;
use std::sync::Arc;

/// Characters of the name of a part.
const LONGEST_NAME: usize = 100;
/// Characters of a refused name that a message repeats.
const SHOWN_OF_A_NAME: usize = 20;

/// What a kind is: one constant in its file, the only home of these facts.
pub struct Spec {
    /// The kind that this is all about.
    pub kind: Kind,
    /// The name for it in scripts, names of parts and messages.
    pub word: &'static str,
    /// What it is and which law it follows: one line, for help.
    pub about: &'static str,
    /// How it sits in a line.
    pub placing: Placing,
    /// Its parameters, in the order in which they are shown.
    pub parameters: Parameters,
    /// What judgments ask of it.
    pub traits: Traits,
    /// What a map shows for it.
    pub symbol: SymbolShape,
    /// The one or two parameters that a drawing shows beside its name.
    pub headline: &'static [Id],
    /// The ways in which it can fail.
    pub faults: &'static [FaultKind],
    /// Refuses values that are each in range, but not together.
    pub check: fn(&Part) -> Result<(), PartError>,
    /// How it holds water at the pressure of the line; `None` where it holds none.
    pub stores: fn(&Part) -> Option<Vessel>,
    /// The law with its parameters filled in.
    pub law: LawOf,
}

/// The law of a kind: for one part, and row by row for one in many cases. Made by `law_of!`.
#[derive(Clone, Copy)]
pub struct LawOf {
    /// The law of a part with its parameters filled in, for water and surroundings as given.
    pub(super) one: fn(&Part, &Around) -> Law,
    /// The numbers of that law in many cases.
    pub(super) rows: fn(&mut Part, &Rows, &mut LawRows) -> bool,
}

/// What a law needs to know of the surroundings of its part.
#[derive(Clone, Copy, Debug)]
pub struct Around {
    /// The water that flows: its density and viscosity.
    pub water: Water,
    /// Inside diameter of the nearest hose, for parts whose law depends on it, m; not a number where there is none.
    pub diameter_m: f64,
}

impl std::fmt::Debug for Spec {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(self.word)
    }
}

impl Spec {
    /// True for a kind that has this parameter.
    pub fn has(&self, id: Id) -> bool {
        self.parameters.place_of(id).is_some()
    }

    /// A parameter of the kind, if it has it.
    pub fn parameter(&self, id: Id) -> Option<&Parameter> {
        self.parameters.place_of(id).map(|place| &self.parameters[place])
    }

    /// True for hoses, pipes and the like: water runs a length through them.
    pub fn is_line(&self) -> bool {
        self.placing == Placing::Inline && self.has(Id::Length)
    }

    /// True for a part through which water goes one way only.
    pub fn is_one_way(&self) -> bool {
        self.traits.backward != Backward::Passes
    }

    /// True for a part that is installed to stop backflow, approved for that or not.
    pub fn keeps_back(&self) -> bool {
        matches!(self.traits.backward, Backward::Keeps | Backward::Protects)
    }

    /// True for a source that holds its pressure by itself: a main or a well system.
    pub fn is_main(&self) -> bool {
        self.placing == Placing::Source && !self.traits.fills
    }

    /// True for a source whose own level makes its pressure.
    pub fn is_tank(&self) -> bool {
        self.placing == Placing::Source && self.traits.fills
    }

    /// True for a part in line that holds a pressure downstream of it.
    pub fn regulates(&self) -> bool {
        self.placing == Placing::Inline && self.has(Id::Set)
    }

    /// True for a pressure switch, which starts and stops a booster between two pressures.
    pub fn is_switch(&self) -> bool {
        self.traits.starts == Some(Start::Pressure)
    }

    /// True for a closed tank with an air cushion.
    pub fn has_cushion(&self) -> bool {
        self.has(Id::Precharge)
    }

    /// True for an outlet that throws water over the ground around it.
    pub fn throws(&self) -> bool {
        self.placing == Placing::Outlet && self.has(Id::Radius)
    }

    /// True for an outlet that waters along its length.
    pub fn is_long(&self) -> bool {
        self.placing == Placing::Outlet && self.has(Id::Length)
    }

    /// True for an outlet by which water is lost: nobody wants it to come out there.
    pub fn loses_water(&self) -> bool {
        self.placing == Placing::Outlet && !self.traits.gives_water
    }
}

/// A part with its parameters.
#[derive(Clone, Debug)]
pub struct Part {
    spec: &'static Spec,
    name: Option<Arc<str>>,
    /// SI values in the order of the spec; NaN stands for "not given".
    pub(super) values: Vec<f64>,
    preferences: Vec<Preference>,
    curve: Option<Arc<Curve>>,
    table: Option<Arc<FlowTable>>,
    throws: Option<Arc<ThrowTable>>,
    profile: Option<Arc<RadialProfile>>,
    readings: Option<Arc<Vec<(f64, f64)>>>,
    clock: Option<Arc<Vec<(f64, f64)>>>,
}

/// Parts of a kind with the same name, parameters, units and points. Parameters that are not given are equal; bits are compared.
impl PartialEq for Part {
    fn eq(&self, other: &Part) -> bool {
        let mut values = self.values.iter().zip(&other.values);
        self.spec.kind == other.spec.kind
            && self.name == other.name
            && values.all(|(own, its)| own.to_bits() == its.to_bits())
            && self.preferences == other.preferences
            && self.curve == other.curve
            && self.table == other.table
            && self.throws == other.throws
            && self.profile == other.profile
            && self.readings == other.readings
            && self.clock == other.clock
    }
}

impl Part {
    /// A part of a kind with its defaults; parameters without one are not given yet.
    pub(super) fn of(spec: &'static Spec) -> Part {
        Part {
            spec,
            name: None,
            values: spec.parameters.iter().map(|number| number.default.unwrap_or(f64::NAN)).collect(),
            preferences: spec.parameters.iter().map(Parameter::preference).collect(),
            curve: None,
            table: None,
            throws: None,
            profile: None,
            readings: None,
            clock: None,
        }
    }

    /// A copy that shares nothing with this part, for another thread.
    pub fn detached(&self) -> Part {
        Part {
            name: self.name.as_deref().map(Arc::from),
            curve: self.curve.as_deref().map(|curve| Arc::new(curve.clone())),
            table: self.table.as_deref().map(|table| Arc::new(table.clone())),
            throws: self.throws.as_deref().map(|throws| Arc::new(throws.clone())),
            profile: self.profile.as_deref().map(|profile| Arc::new(profile.clone())),
            readings: self.readings.as_deref().map(|readings| Arc::new(readings.clone())),
            clock: self.clock.as_deref().map(|clock| Arc::new(clock.clone())),
            ..self.clone()
        }
    }

    /// What it is. Rules ask [`Part::spec`] for traits rather than compare kinds.
    pub fn kind(&self) -> Kind {
        self.spec.kind
    }

    /// All that is known of its kind.
    pub fn spec(&self) -> &'static Spec {
        self.spec
    }

    /// The name somebody gave it.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// The part as messages call it: its kind and name.
    pub fn title(&self) -> String {
        match &self.name {
            Some(name) => format!("{} '{name}'", self.spec().word),
            None => self.spec().word.to_string(),
        }
    }

    /// The same part under a name, without the blanks around it.
    ///
    /// Errors: [`PartError::BadName`] for an empty name or one with a dot, [`PartError::LongName`] above 100 characters,
    /// [`PartError::InvisibleSign`] for an invisible character.
    pub fn named(mut self, name: &str) -> Result<Part, PartError> {
        if let Some(sign) = visible::first_unseen(name) {
            let begin: String = name.chars().take(SHOWN_OF_A_NAME).collect();
            return Err(PartError::InvisibleSign { name: visible::written_out(&begin), sign });
        }
        if name.trim().is_empty() || name.contains('.') {
            return Err(PartError::BadName { name: name.to_string() });
        }
        if name.chars().count() > LONGEST_NAME {
            let begin: String = name.chars().take(SHOWN_OF_A_NAME).collect();
            return Err(PartError::LongName { begin, most: LONGEST_NAME });
        }
        self.name = Some(name.trim().into());
        Ok(self)
    }

    /// The parameter of this part with this name in scripts.
    ///
    /// Errors: [`PartError::UnknownParameter`] lists the names that there are.
    pub fn id_of(&self, word: &str) -> Result<Id, PartError> {
        Id::of(word).filter(|id| self.spec().has(*id)).ok_or_else(|| self.unknown(word))
    }

    /// The SI value of a parameter; NaN when it is not given, or the part does not have it.
    #[inline]
    pub fn value(&self, id: Id) -> f64 {
        self.spec.parameters.place_of(id).map_or(f64::NAN, |place| self.values[place])
    }

    /// The SI value of a parameter, if it is given.
    pub fn si(&self, id: Id) -> Option<f64> {
        Some(self.value(id)).filter(|value| !value.is_nan())
    }

    /// A parameter as a quantity, in the unit in which it was given.
    ///
    /// Errors: [`PartError::UnknownParameter`] where the part does not have it, [`PartError::NotGiven`] where it has no value.
    pub fn get(&self, id: Id) -> Result<Quantity, PartError> {
        self.place_of(id)?;
        self.quantity(id).ok_or_else(|| PartError::NotGiven { part: self.title(), parameter: id })
    }

    /// A parameter as a quantity, in the unit in which it was given; `None` where it has no value.
    pub fn quantity(&self, id: Id) -> Option<Quantity> {
        let place = self.spec.parameters.place_of(id)?;
        let value = self.values[place];
        let preference = self.preferences[place];
        let dimension = preference.unit().map_or(id.dimension(), |unit| unit.dimension);
        (!value.is_nan()).then_some(Quantity { si: value, dimension, preference })
    }

    /// Sets a parameter and checks the part as a whole; the part is unchanged after an error.
    ///
    /// Errors: the part does not have it, or the value has another dimension, is out of range, or contradicts another.
    pub fn set(&mut self, id: Id, value: Quantity) -> Result<(), PartError> {
        let before = self.clone();
        let result = self.put(id, value).and_then(|()| (self.spec().check)(self));
        if result.is_err() {
            *self = before;
        }
        result
    }

    /// Sets several parameters before it checks the part, for pairs that only make sense together.
    ///
    /// Errors: as for [`Part::set`].
    pub fn with(mut self, parameters: &[(Id, Quantity)]) -> Result<Part, PartError> {
        for (id, value) in parameters {
            self.put(*id, *value)?;
        }
        (self.spec().check)(&self)?;
        Ok(self)
    }

    /// Sets a parameter in SI, and checks range and part; for sweeps. After an error the part keeps the refused value: set another
    /// before using it.
    ///
    /// Errors: the part does not have the parameter, or refuses the value.
    pub fn set_si(&mut self, id: Id, si: f64) -> Result<(), PartError> {
        self.set_all_si([(id, si)])
    }

    /// Sets parameters in SI, and checks their ranges, then the part with all of them; for sweeps. After an error the part keeps the refused
    /// values: set others before using it.
    ///
    /// Errors: the part does not have a parameter, or refuses a value, or they contradict each other.
    #[inline]
    pub fn set_all_si(&mut self, values: impl IntoIterator<Item = (Id, f64)>) -> Result<(), PartError> {
        let mut outside = None;
        for (id, si) in values {
            let place = self.place_of(id)?;
            self.values[place] = si;
            if !self.spec.parameters[place].rule.allows(si) {
                outside = outside.or(Some((place, id, si)));
            }
        }
        match outside {
            Some((place, id, si)) => {
                Err(self.out_of_range(place, Quantity { si, dimension: id.dimension(), preference: self.preferences[place] }))
            }
            None => (self.spec.check)(self),
        }
    }

    /// The curve of a booster, at the speed that it was measured at; `None` for other parts.
    pub fn curve(&self) -> Option<&Arc<Curve>> {
        self.curve.as_ref()
    }

    /// The same part with a curve; the points are pairs of flow (m3/s) and rise (Pa).
    ///
    /// Errors: [`PartError::Curve`], as for [`Curve::new`].
    pub fn with_curve(self, points: &[(f64, f64)]) -> Result<Part, PartError> {
        let curve = Curve::new(points).map_err(|error| PartError::Curve { part: self.title(), error })?;
        Ok(self.running_on(curve))
    }

    /// The same part with a curve made before, as by [`Curve::by_three`].
    pub fn running_on(self, curve: Curve) -> Part {
        Part { curve: Some(Arc::new(curve)), ..self }
    }

    /// The same part with its curve shown in the units of a flow and of a rise.
    pub fn with_curve_in(self, flow: Preference, rise: Preference) -> Part {
        Part { curve: self.curve.as_deref().map(|curve| Arc::new(curve.clone().given_in(flow, rise))), ..self }
    }

    /// The performance table of a head, for a new nozzle; `None` for other parts and heads without one.
    pub fn table(&self) -> Option<&Arc<FlowTable>> {
        self.table.as_ref()
    }

    /// The same part with a performance table; the points are pairs of gauge pressure (Pa) and flow (m3/s).
    ///
    /// Errors: [`PartError::Contradiction`] for a part that is no head, [`PartError::Table`] as for [`FlowTable::new`].
    pub fn with_table(mut self, points: &[(f64, f64)]) -> Result<Part, PartError> {
        if self.spec.kind != Kind::Head {
            let what = "a table of pressure and flow belongs to a head";
            return Err(self.contradiction(what, "give a booster its points in booster([[flow, rise], ...])"));
        }
        let table = FlowTable::new(points).map_err(|error| PartError::Table { part: self.title(), error })?;
        self.table = Some(Arc::new(table));
        Ok(self)
    }

    /// The same head with its throw at one pressure or at several: pairs of gauge pressure (Pa) and radius (m), with the units in which
    /// both were given. Its radius becomes that of the last pair.
    ///
    /// Errors: a part that throws nothing, or what [`ThrowTable::new`] refuses.
    pub fn with_throws(mut self, pairs: &[(f64, f64)], units: (Preference, Preference)) -> Result<Part, PartError> {
        self.place_of(Id::Radius)?;
        let table = ThrowTable::new(pairs).map_err(|error| self.throw_error(error))?;
        let (pressure_pa, radius_m) = pairs.last().copied().unwrap_or_default();
        let quantity = |id: Id, si, preference| (id, Quantity { si, dimension: id.dimension(), preference });
        self.throws = (pairs.len() > 1).then(|| Arc::new(table));
        self.with(&[quantity(Id::Radius, radius_m, units.1), quantity(Id::RadiusPressure, pressure_pa, units.0)])
    }

    /// The same part without throws at several pressures.
    pub fn without_throws(self) -> Part {
        Part { throws: None, ..self }
    }

    /// The same head with what a row of cans from it caught: pairs of distance (m) and rate (m/s), with the unit of the distances. Its
    /// radius becomes the reach of the water where none was given.
    ///
    /// Errors: a part that throws nothing, or what [`RadialProfile::new`] refuses.
    pub fn with_profile(mut self, cans: &[(f64, f64)], unit: Preference) -> Result<Part, PartError> {
        self.place_of(Id::Radius)?;
        let profile = RadialProfile::new(cans).map_err(|error| self.throw_error(error))?;
        let reach = Quantity { si: profile.reach_m(), dimension: Id::Radius.dimension(), preference: unit };
        self.profile = Some(Arc::new(profile));
        if self.si(Id::Radius).is_some() { Ok(self) } else { self.with(&[(Id::Radius, reach)]) }
    }

    /// What a row of cans from this head caught, where somebody measured it.
    pub fn profile(&self) -> Option<&Arc<RadialProfile>> {
        self.profile.as_ref()
    }

    /// How far the head throws at a pressure upstream of it (gauge, Pa), m; `None` where it has no radius.
    ///
    /// Between measured pairs a straight line, above the last pair the same radius, below the first the square root of the pressure
    /// (common practice, no source). A regulator inside the head limits the pressure at its nozzle.
    pub fn throw_m(&self, pressure_pa: f64) -> Option<f64> {
        let radius_m = self.si(Id::Radius)?;
        let Some(known_pa) = self.si(Id::RadiusPressure) else { return Some(radius_m) };
        let share = self.at_nozzle_pa(pressure_pa) / known_pa;
        let of_radius = self.throws.as_ref().map_or_else(|| share.clamp(0.0, 1.0).sqrt(), |table| table.at(share));
        Some(radius_m * of_radius)
    }

    /// The least pressure at which the throw was measured, Pa.
    pub fn least_throw_pressure_pa(&self) -> Option<f64> {
        let known_pa = self.si(Id::RadiusPressure)?;
        Some(self.throws.as_ref().map_or(1.0, |table| table.first_share()) * known_pa)
    }

    /// Pressure at the nozzle of a head for one upstream of it, Pa.
    pub fn at_nozzle_pa(&self, pressure_pa: f64) -> f64 {
        self.si(Id::Regulated).map_or(pressure_pa, |set_pa| pressure_pa.min(set_pa))
    }

    fn throw_error(&self, error: ThrowError) -> PartError {
        PartError::Throw { part: self.title(), error }
    }

    /// The law of this part in its surroundings. Where it depends on a diameter that nothing gives, [`Law::lacks_bore`] is true.
    pub fn law(&self, around: &Around) -> Law {
        (self.spec.law.one)(self, around)
    }

    /// Writes the numbers of the law in many cases. The part keeps the parameters of the last.
    ///
    /// False where that cannot be done: the part refuses a value, its law is not of the kind that is expected, or has more to it than offset, factor
    /// of the flow, factor of its square and a pipe. Then its parameters and the numbers mean nothing.
    pub(crate) fn law_rows(&mut self, rows: &Rows, out: &mut LawRows) -> bool {
        (self.spec.law.rows)(self, rows, out)
    }

    /// Its parameters that have a value, in the order of the spec.
    pub fn given(&self) -> impl Iterator<Item = (&'static Parameter, Quantity)> + '_ {
        self.spec().parameters.iter().filter_map(|number| Some((number, self.quantity(number.id)?)))
    }

    /// Its parameters that somebody gave, not those by default.
    pub fn written(&self) -> impl Iterator<Item = Quantity> + '_ {
        let parameters = self.spec().parameters.iter().zip(&self.values);
        let by_default = |known: &Parameter, si: f64| known.default.is_some_and(|default| default.to_bits() == si.to_bits());
        parameters
            .filter(move |(known, si)| !si.is_nan() && !by_default(known, **si))
            .filter_map(|(known, _)| self.quantity(known.id))
            .chain(self.curve.iter().flat_map(|curve| curve.quantities().take(1).flatten()))
    }

    /// A parameter for people: as it was given, and one by default in the units of what is around it.
    pub fn shown(&self, id: Id, units: UnitSystem) -> Option<Quantity> {
        let quantity = self.quantity(id)?;
        let known = self.spec.parameter(id)?;
        let preference = known.preference();
        let by_default =
            known.default.is_some_and(|si| si.to_bits() == quantity.si.to_bits()) && quantity.preference == preference;
        let metric = preference.unit().and_then(|unit| find_unit(unit.metric));
        Some(match metric.filter(|_| by_default && units.is_metric()) {
            Some(unit) => Quantity { preference: Preference::Written(unit), ..quantity },
            None => quantity,
        })
    }

    /// How it holds water at the pressure of the line: by an air cushion, or by a wall that stretches. `None` for other parts, and
    /// for hoses without compliance.
    pub fn vessel(&self) -> Option<Vessel> {
        (self.spec.stores)(self)
    }

    /// What judgments ask of its kind.
    pub fn traits(&self) -> &'static Traits {
        &self.spec.traits
    }

    /// Height gained in the direction of the part, m: zero for all parts but a change of height.
    pub fn rise_m(&self) -> f64 {
        let height_m = self.si(Id::Height).unwrap_or(0.0);
        if self.kind() == Kind::Downhill { -height_m } else { height_m }
    }

    /// The error for parameters that contradict each other. The hint may have parts for both systems of units, as
    /// [`chosen`](crate::unit_system::chosen) reads them.
    pub(super) fn contradiction(&self, what: impl Into<Contradiction>, hint: &'static str) -> PartError {
        PartError::Contradiction { part: self.title(), what: what.into(), hint }
    }

    /// A contradiction between parameters, whose values take their places in the pattern.
    pub(super) fn contradiction_of(&self, pattern: &'static str, ids: &[Id], hint: &'static str) -> PartError {
        let values: Vec<Quantity> = ids.iter().filter_map(|id| self.quantity(*id)).collect();
        self.contradiction(Contradiction::of(pattern, &values), hint)
    }

    pub(super) fn put(&mut self, id: Id, value: Quantity) -> Result<(), PartError> {
        let place = self.place_of(id)?;
        let dimension = id.dimension();
        if !dimension.takes(value.dimension) {
            return Err(PartError::WrongDimension { part: self.title(), parameter: id, found: value });
        }
        if !self.spec().parameters[place].rule.allows(value.si) {
            return Err(self.out_of_range(place, value));
        }
        if self.values[place] != value.si {
            match id {
                Id::StaticPressure => self.keep_test(),
                Id::MeasuredPressure | Id::MeasuredFlow => self.forget_test(),
                _ => {}
            }
        }
        self.values[place] = value.si;
        if value.preference != Preference::Usual {
            self.preferences[place] = value.preference;
        } else if let Some(unit) = unit_for(value.dimension, false).filter(|unit| unit.dimension != dimension) {
            // The unit gives the currency of a price.
            self.preferences[place] = Preference::Written(unit);
        }
        Ok(())
    }

    /// Before the static pressure of a measured supply changes: notes the one of its test, so that the resistance of the service
    /// line stays.
    pub(crate) fn keep_test(&mut self) {
        let places = [Id::StaticAtTest, Id::StaticPressure].map(|id| self.spec.parameters.place_of(id));
        if let [Some(at_test), Some(usual)] = places
            && self.values[at_test].is_nan()
            && self.si(Id::MeasuredFlow).is_some()
        {
            (self.values[at_test], self.preferences[at_test]) = (self.values[usual], self.preferences[usual]);
        }
    }

    /// A new measurement is made at the static pressure that the supply has then.
    pub(crate) fn forget_test(&mut self) {
        if let Some(place) = self.spec.parameters.place_of(Id::StaticAtTest) {
            self.values[place] = f64::NAN;
            self.readings = None;
        }
    }

    /// The static pressure of a supply by the time of day: seconds after midnight, in order, with the pressure from then on, gauge,
    /// Pa; empty where it is the same all day, and for other parts.
    pub fn clock(&self) -> &[(f64, f64)] {
        self.clock.as_deref().map_or(&[], Vec::as_slice)
    }

    /// A supply with a static pressure for each time of day, for runs over time; a steady state has its static pressure.
    ///
    /// Errors: a part that is no supply, or a pressure that is not above zero.
    pub fn with_clock(mut self, clock: &[(f64, f64)]) -> Result<Part, PartError> {
        if !self.spec.is_main() {
            return Err(
                self.contradiction("a pressure by the clock belongs to a supply", "give it to the supply(..) of the garden")
            );
        }
        if clock.iter().any(|(_, pressure_pa)| *pressure_pa <= 0.0) {
            return Err(self.contradiction("a static pressure must be above zero", ""));
        }
        let mut sorted = clock.to_vec();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.clock = (!sorted.is_empty()).then(|| Arc::new(sorted));
        Ok(self)
    }

    /// Gauge and bucket readings of a supply besides its measurement: flow (m3/s) and pressure (gauge, Pa); empty for other parts.
    pub fn readings(&self) -> &[(f64, f64)] {
        self.readings.as_deref().map_or(&[], Vec::as_slice)
    }

    /// A supply measured at several flows (m3/s, with gauge pressure, Pa): the resistance is that of least squares in pressure,
    /// and the measured pair is put on its curve at the greatest flow.
    ///
    /// Errors: no readings, or a flow or curve that the part refuses.
    pub fn with_readings(mut self, readings: &[(f64, f64)], units: (Preference, Preference)) -> Result<Part, PartError> {
        let static_pa = self.value(Id::StaticPressure);
        let (lost, fourth) = readings.iter().fold((0.0, 0.0), |(lost, fourth), (flow, pressure_pa)| {
            let square = flow * flow;
            (lost + (static_pa - pressure_pa) * square, fourth + square * square)
        });
        let most = readings.iter().map(|(flow, _)| *flow).fold(0.0, f64::max);
        let pressure_pa = static_pa - lost / fourth * most * most;
        let quantity = |id: Id, si, preference| (id, Quantity { si, dimension: id.dimension(), preference });
        let numbers = [quantity(Id::MeasuredPressure, pressure_pa, units.1), quantity(Id::MeasuredFlow, most, units.0)];
        self.forget_test();
        let part = self.with(&numbers)?;
        Ok(Part { readings: Some(Arc::new(readings.to_vec())), ..part })
    }

    /// Where a parameter is. Errors: the part has none of this name.
    fn place_of(&self, id: Id) -> Result<usize, PartError> {
        self.spec.parameters.place_of(id).ok_or_else(|| self.unknown(id.word()))
    }

    fn unknown(&self, word: &str) -> PartError {
        let known = self.spec().parameters.iter().map(Parameter::name).collect();
        PartError::UnknownParameter { part: self.title(), parameter: word.to_string(), known }
    }

    fn out_of_range(&self, place: usize, found: Quantity) -> PartError {
        let parameter = &self.spec().parameters[place];
        PartError::OutOfRange { part: self.title(), parameter: parameter.id, rule: parameter.rule.words_for(found.si), found }
    }
}

/// For parts that hold no water of their own.
pub(super) fn stores_none(_: &Part) -> Option<Vessel> {
    None
}

/// A check for parts whose parameters stand alone.
pub(super) fn no_check(_: &Part) -> Result<(), PartError> {
    Ok(())
}
