//! From the values of the cases of a block to the numbers of their laws: place by place, then the sums of them.

use super::bends::Bent;
use super::changes::{Bore, Changes, Changing, StepOffset};
use super::model::{LINK, Own, Plain, crests};
use crate::hydraulics::setting::Setting;
use crate::parts::{Around, Beside, Id, Law, LawRows, Part, PartError, Rows};
use crate::water::Water;
use smallvec::SmallVec;
use std::mem::discriminant;

/// Parameters of a part that a study varies at the same time: rarely more.
const FEW: usize = 8;

/// Of an axis whose value is not set, or was refused.
const NOT_SET: usize = usize::MAX;

/// The values of all axes in the cases of a block.
#[derive(Clone, Copy, Debug)]
pub struct Given<'a> {
    /// Of each axis of numbers its value in each case, SI; none for others.
    pub numbers: &'a [Option<&'a [f64]>],
    /// Of each axis which of its values each case has.
    pub which: &'a [Vec<usize>],
}

impl Given<'_> {
    /// The value of an axis of numbers in a case, SI.
    fn si(&self, axis: usize, case: usize) -> f64 {
        self.numbers[axis].map_or(f64::NAN, |numbers| numbers[case])
    }
}

/// A case of a block: its number there, and where its numbers go in each column.
#[derive(Clone, Copy, Debug)]
pub struct Seat {
    pub case: usize,
    pub at: usize,
}

/// The numbers that change in the cases of a block, column by column.
pub struct Table<'t> {
    /// By the numbers of their cases, ascending.
    pub seats: &'t [Seat],
    pub columns: &'t mut [f64],
    /// From one column to the next.
    pub length: usize,
}

impl Table<'_> {
    /// True where every case has a seat up to the last.
    fn is_full(&self) -> bool {
        self.seats.last().is_none_or(|seat| seat.case + 1 == self.seats.len())
    }

    /// Writes a column: a number for each seat, times a sign.
    fn write(&mut self, column: usize, values: &[f64], sign: f64) {
        let column = &mut self.columns[column * self.length..][..self.length];
        self.seats.iter().zip(values).for_each(|(seat, value)| column[seat.at] = sign * value);
    }
}

/// What became of a case.
#[derive(Clone, Debug)]
pub enum Renewed {
    /// Its numbers are in the columns.
    Whole,
    /// Lanes cannot hold a law of it.
    Unheld,
    /// A part refuses its values, the first axis of which is this one.
    Refused(usize, PartError),
}

/// The laws that change, as they are in the case at hand.
#[derive(Clone, Debug)]
pub struct Renewal {
    places: Vec<Laws>,
    /// Room for a sum in each case.
    sums: Vec<f64>,
}

/// The laws of a place in the cases of a block.
#[derive(Clone, Debug)]
struct Laws {
    part: Part,
    /// Which value of each axis of its setting is set.
    present: Vec<usize>,
    /// The inside diameter beside it, m.
    diameter_m: f64,
    /// Its law is that of the part, with this diameter beside it.
    is_fresh: bool,
    /// Lanes can hold its law.
    is_held: bool,
    /// Its own numbers.
    numbers: Vec<f64>,
    /// Offset, factor of the flow and factor of its square, as its link passes it; of a demand its flow.
    terms: [f64; LINK],
    /// Those in each case, and where it is plain the numbers of its pipe.
    rows: LawRows,
    /// The values that its axes set in each case, SI, where it is plain.
    values: Vec<Vec<f64>>,
    /// Its inside diameter in each case, m, where others need it.
    bores_m: Vec<f64>,
    /// Others need its inside diameter.
    lends_bore: bool,
}

impl Renewal {
    /// The laws of changes, none of them set yet, with room for a number of cases.
    pub fn of(changes: &Changes, cases: usize) -> Renewal {
        let lends_bore = |one: usize| changes.places.iter().any(|other| matches!(other.bore, Bore::Of(lender) if lender == one));
        let axes = |changing: &Changing| changing.setting.iter().flat_map(Setting::axes).collect::<Vec<_>>().into_iter();
        let laws = |(one, changing): (usize, &Changing)| Laws {
            part: changing.part.clone(),
            present: axes(changing).map(|_| NOT_SET).collect(),
            diameter_m: f64::NAN,
            is_fresh: false,
            is_held: false,
            numbers: vec![0.0; changing.columns.len()],
            terms: [0.0; LINK],
            rows: LawRows::with_room_for(cases),
            values: axes(changing).map(|_| Vec::with_capacity(cases)).collect(),
            bores_m: Vec::with_capacity(cases),
            lends_bore: lends_bore(one),
        };
        Renewal { places: changes.places.iter().enumerate().map(laws).collect(), sums: Vec::with_capacity(cases) }
    }

    /// Writes the numbers of some cases into a table, and what became of each case.
    pub fn write(&mut self, changes: &Changes, given: &Given, table: &mut Table, fates: &mut Vec<Renewed>) {
        fates.clear();
        fates.resize(table.seats.len(), Renewed::Whole);
        // Hoses come before those that need their diameters.
        let lenders = (0..self.places.len()).filter(|&one| matches!(changes.places[one].bore, Bore::Fixed(_)));
        let borrowers = (0..self.places.len()).filter(|&one| matches!(changes.places[one].bore, Bore::Of(_)));
        for one in lenders.chain(borrowers).collect::<SmallVec<[usize; FEW]>>() {
            self.write_place(one, changes, given, table, fates);
        }
        for sum in &changes.sums {
            for &(term, column) in &sum.columns {
                self.sums.clear();
                self.sums.resize(table.seats.len(), sum.fixed[term]);
                for &one in &sum.changing {
                    self.sums.iter_mut().zip(self.places[one].terms(term)).for_each(|(sum, term)| *sum += term);
                }
                table.write(column, &self.sums, 1.0);
            }
            let Some(of) = &sum.crests else { continue };
            for (index, seat) in table.seats.iter().enumerate() {
                let offset = |step: &(StepOffset, bool)| match step.0 {
                    StepOffset::Fixed(offset_pa) => (offset_pa, step.1),
                    StepOffset::Of(one) => (self.places[one].rows.offset_pa[index], step.1),
                };
                let found = crests(of.steps.iter().map(offset), of.one_way);
                for (column, crest) in of.columns.into_iter().zip(found) {
                    table.columns[column * table.length + seat.at] = crest;
                }
            }
        }
    }

    /// Brings one place up to date with each case, and writes its own numbers.
    fn write_place(&mut self, one: usize, changes: &Changes, given: &Given, table: &mut Table, fates: &mut [Renewed]) {
        let changing = &changes.places[one];
        let lender = if let Bore::Of(lender) = changing.bore { Some(lender) } else { None };
        let lent_m = lender.map(|lender| std::mem::take(&mut self.places[lender].bores_m));
        let beside = match (&lent_m, changing.bore) {
            (Some(lent_m), _) => Beside::Each(lent_m),
            (None, Bore::Fixed(diameter_m)) => Beside::Same(diameter_m),
            (None, Bore::Of(_)) => Beside::Same(f64::NAN),
        };
        let laws = &mut self.places[one];
        if !changing.is_plain() || !laws.write_rows(changing, given, table, beside, &changes.water) {
            laws.write_one_by_one(changing, given, table, beside, &changes.water, fates);
        }
        if let (Some(lender), Some(lent_m)) = (lender, lent_m) {
            self.places[lender].bores_m = lent_m;
        }
    }
}

impl Laws {
    /// Offsets, factors of the flow or factors of its square in all cases.
    fn terms(&self, which: usize) -> &[f64] {
        match which {
            0 => &self.rows.offset_pa,
            1 => &self.rows.linear,
            _ => &self.rows.quadratic,
        }
    }

    /// Writes the numbers of a plain law in all cases at once; false where that cannot be done.
    fn write_rows(&mut self, changing: &Changing, given: &Given, table: &mut Table, beside: Beside, water: &Water) -> bool {
        let (Some((_, forward)), parameters) = (changing.link, changing.setting.as_ref().and_then(Setting::parameters)) else {
            return false;
        };
        let parameters = parameters.unwrap_or_default();
        self.values.resize_with(parameters.len(), Vec::new);
        let mut changed: SmallVec<[(usize, &[f64]); FEW]> = SmallVec::new();
        for (&(axis, id), values) in parameters.iter().zip(&mut self.values) {
            let Some(place) = self.part.spec().parameters.place_of(id) else { continue };
            let values = match given.numbers[axis] {
                Some(numbers) if table.is_full() => &numbers[..table.seats.len()],
                _ => {
                    values.clear();
                    values.extend(table.seats.iter().map(|seat| given.si(axis, seat.case)));
                    values
                }
            };
            changed.push((place, values));
        }
        let rows = Rows { changed: &changed, beside, water: *water, count: table.seats.len(), kind: discriminant(&changing.law) };
        self.present.fill(NOT_SET);
        self.is_fresh = false;
        if !self.part.law_rows(&rows, &mut self.rows) {
            return false;
        }
        let LawRows { offset_pa, linear, quadratic, pipe, .. } = &mut self.rows;
        let mut columns = changing.columns.iter();
        let mut write = |values: &[f64], sign: f64| {
            if let Some(column) = columns.next() {
                table.write(*column, values, sign);
            }
        };
        if changing.pipe.is_some() {
            pipe.iter().for_each(|numbers| write(numbers, 1.0));
        }
        // In the direction of its link.
        let sign = if forward || changing.law.discharges() { 1.0 } else { -1.0 };
        for own in &changing.own {
            if let Own::Source(_) = own {
                write(offset_pa, -1.0);
                write(quadratic, 1.0);
            } else {
                write(offset_pa, sign);
                write(linear, 1.0);
                write(quadratic, 1.0);
            }
        }
        if sign < 0.0 {
            offset_pa.iter_mut().for_each(|offset_pa| *offset_pa = -*offset_pa);
        }
        if self.lends_bore {
            let place = self.part.spec().parameters.place_of(Id::Diameter);
            self.bores_m.clear();
            match place.and_then(|place| rows.values_at(place)) {
                Some(diameters_m) => self.bores_m.extend_from_slice(diameters_m),
                None => self.bores_m.resize(rows.count, self.part.value(Id::Diameter)),
            }
        }
        true
    }

    /// The same case by case, with what becomes of each.
    fn write_one_by_one(
        &mut self,
        changing: &Changing,
        given: &Given,
        table: &mut Table,
        beside: Beside,
        water: &Water,
        fates: &mut [Renewed],
    ) {
        self.rows.resize(table.seats.len());
        self.bores_m.clear();
        for (index, (&Seat { case, at }, fate)) in table.seats.iter().zip(fates).enumerate() {
            if let Err((axis, error)) = self.set(changing, given, case)
                && !matches!(fate, Renewed::Refused(other, _) if *other < axis)
            {
                *fate = Renewed::Refused(axis, error);
            }
            let diameter_m = beside.at(index);
            if !self.is_fresh || diameter_m.to_bits() != self.diameter_m.to_bits() {
                self.diameter_m = diameter_m;
                self.is_held = self.renew(changing, water).is_some();
                self.is_fresh = true;
            }
            if !self.is_held && matches!(fate, Renewed::Whole) {
                *fate = Renewed::Unheld;
            }
            for (column, number) in changing.columns.iter().zip(&self.numbers) {
                table.columns[column * table.length + at] = *number;
            }
            let LawRows { offset_pa, linear, quadratic, .. } = &mut self.rows;
            [offset_pa[index], linear[index], quadratic[index]] = self.terms;
            if self.lends_bore {
                self.bores_m.push(self.part.value(Id::Diameter));
            }
        }
    }

    /// Sets the part as a case has it. Errors: the part refuses that; with the first axis.
    fn set(&mut self, changing: &Changing, given: &Given, case: usize) -> Result<(), (usize, PartError)> {
        let Some(setting) = &changing.setting else { return Ok(()) };
        if setting.axes().zip(&self.present).all(|(axis, present)| given.which[axis][case] == *present) {
            return Ok(());
        }
        self.is_fresh = false;
        let put = setting.put(&mut self.part, |axis| given.si(axis, case), |axis| given.which[axis][case]);
        for (axis, present) in setting.axes().zip(&mut self.present) {
            *present = if put.is_ok() { given.which[axis][case] } else { NOT_SET };
        }
        put.map_err(|error| (setting.first_axis(), error))
    }

    /// Asks the part for its law, and keeps the numbers of that; none where lanes cannot hold it.
    fn renew(&mut self, changing: &Changing, water: &Water) -> Option<()> {
        let law = self.part.law(&Around { water: *water, diameter_m: self.diameter_m });
        if discriminant(&law) != discriminant(&changing.law) {
            return None;
        }
        let mut numbers = self.numbers.iter_mut();
        // In the order of `Changing::columns`.
        let mut keep = |values: &[f64]| values.iter().zip(numbers.by_ref()).for_each(|(value, number)| *number = *value);
        if let Law::Demand { flow_m3_per_s } = law {
            self.terms = [flow_m3_per_s, 0.0, 0.0];
        } else if let Some((_, forward)) = changing.link {
            let plain = Plain::of(&law, forward)?;
            self.terms = [plain.offset_pa, plain.linear, plain.quadratic];
            if let Some(pipe) = plain.pipe {
                keep(&pipe);
            }
            if let Some(bend) = changing.bend {
                let bent = Bent::of(&law).filter(|bent| bent.pieces() <= bend.pieces)?;
                (0..bend.pieces).for_each(|piece| keep(&bent.piece(piece)));
            }
        } else if law.lacks_bore() {
            return None;
        }
        for own in &changing.own {
            match (own, &law) {
                (Own::Source(_), Law::Source { pressure_pa, resistance }) => keep(&[*pressure_pa, *resistance]),
                (Own::Outlet(_), _) => keep(&self.terms),
                (Own::Demand(_), Law::Demand { flow_m3_per_s }) => keep(&[*flow_m3_per_s]),
                (Own::Starter(_), _) => keep(&Own::settings(&self.part)),
                (Own::Set(_), law) => keep(&[law.holds_pa()?]),
                _ => return None,
            }
        }
        Some(())
    }
}
