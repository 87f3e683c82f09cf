//! The law of a kind for one part, and for one in many cases: the same function, compiled once more into a loop over rows, where it costs a
//! fraction of a call. Kinds that studies vary most have loops of their own for what they vary most, over numbers alone, which cost a fraction of that.

use super::id::Id;
use super::law::{Curved, Law, Terms};
use super::part::{Around, Part};
use super::rows::{LawRows, OF_LAW, OF_PIPE, Rows};
use std::mem::discriminant;

/// The law of a kind, by its function, and by one that does many cases by numbers alone or says that it cannot.
macro_rules! law_of {
    ($law:expr) => {
        crate::parts::part::LawOf {
            one: $law,
            rows: |part, rows, numbers| crate::parts::law_of::write_rows(part, rows, numbers, $law),
        }
    };
    ($law:expr, by numbers $by_numbers:expr) => {
        crate::parts::part::LawOf {
            one: $law,
            rows: |part, rows, numbers| crate::parts::law_of::write_by_numbers(part, rows, numbers, $law, $by_numbers),
        }
    };
}
pub(super) use law_of;

/// Writes the values of some parameters in all rows; none where others change too.
pub(super) fn given<'n, const N: usize>(
    part: &Part,
    rows: &Rows,
    ids: [Id; N],
    room: &'n mut [Vec<f64>; OF_LAW],
) -> Option<[&'n [f64]; N]> {
    const { assert!(N <= OF_LAW) };
    let places = ids.map(|id| part.spec().parameters.place_of(id));
    if rows.changed.iter().any(|(place, _)| !places.contains(&Some(*place))) {
        return None;
    }
    for (place, column) in places.into_iter().zip(room.iter_mut()) {
        column.clear();
        match place.and_then(|place| rows.values_at(place)) {
            Some(values) => column.extend_from_slice(values),
            None => column.resize(rows.count, place.map_or(f64::NAN, |place| part.values[place])),
        }
    }
    let mut columns = room.iter();
    Some(ids.map(|_| columns.next().map_or(&[][..], Vec::as_slice)))
}

/// True where all values that change are in the ranges of their parameters.
pub(super) fn are_allowed(part: &Part, rows: &Rows) -> bool {
    rows.changed.iter().all(|&(place, values)| part.spec().parameters[place].rule.allows_all(&values[..rows.count]))
}

/// What [`Part::law_rows`] does, by a loop over numbers alone where that can do it.
#[inline(always)]
pub(super) fn write_by_numbers(
    part: &mut Part,
    rows: &Rows,
    out: &mut LawRows,
    law: impl Fn(&Part, &Around) -> Law,
    by_numbers: impl Fn(&Part, &Rows, &mut LawRows) -> Option<bool>,
) -> bool {
    let is_of_kind = rows.count > 0 && {
        let around = Around { water: rows.water, diameter_m: rows.beside.at(0) };
        discriminant(&law(part, &around)) == rows.kind
    };
    let done = if is_of_kind { by_numbers(part, rows, out) } else { None };
    done.unwrap_or_else(|| write_rows(part, rows, out, law))
}

/// The same by the law of the kind, row by row.
#[inline(always)]
pub(super) fn write_rows(part: &mut Part, rows: &Rows, out: &mut LawRows, law: impl Fn(&Part, &Around) -> Law) -> bool {
    let spec = part.spec();
    out.resize(rows.count);
    let LawRows { offset_pa: offsets, linear: linears, quadratic: quadratics, pipe: [walls, reynolds, factors], .. } = out;
    let mut last = [0.0; 3 + OF_PIPE];
    for row in 0..rows.count {
        let diameter_m = rows.beside.at(row);
        let mut differs = row == 0 || rows.beside.at(row - 1) != diameter_m;
        for &(place, values) in rows.changed {
            differs |= part.values[place] != values[row];
            part.values[place] = values[row];
        }
        if differs {
            let is_allowed = |&(place, values): &(usize, &[f64])| spec.parameters[place].rule.allows(values[row]);
            if !rows.changed.iter().all(is_allowed) || (spec.check)(part).is_err() {
                return false;
            }
            let law = law(part, &Around { water: rows.water, diameter_m });
            if discriminant(&law) != rows.kind || law.lacks_bore() {
                return false;
            }
            let Some(Terms { offset_pa, linear, quadratic, curved }) = law.terms(true) else { return false };
            let pipe = match curved {
                None => [0.0; OF_PIPE],
                Some(Curved::Pipe(pipe)) => pipe.numbers(),
                Some(_) => return false,
            };
            last = [offset_pa, linear, quadratic, pipe[0], pipe[1], pipe[2]];
        }
        offsets[row] = last[0];
        linears[row] = last[1];
        quadratics[row] = last[2];
        walls[row] = last[3];
        reynolds[row] = last[4];
        factors[row] = last[5];
    }
    true
}
