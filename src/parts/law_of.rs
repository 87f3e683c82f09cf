//! The law of a kind for one part, and for one in many cases: the same function, compiled once more into a loop over rows, where it costs a
//! fraction of a call.

use super::law::{Curved, Law, Terms};
use super::part::{Around, Part};
use super::rows::{LawRows, OF_PIPE, Rows};
use std::mem::discriminant;

/// The law of a kind, by its function.
macro_rules! law_of {
    ($law:expr) => {
        crate::parts::part::LawOf {
            one: $law,
            rows: |part, rows, numbers| crate::parts::law_of::write_rows(part, rows, numbers, $law),
        }
    };
}
pub(super) use law_of;

/// What [`Part::law_rows`] does, by the law of the kind.
#[inline(always)]
pub(super) fn write_rows(part: &mut Part, rows: &Rows, out: &mut LawRows, law: impl Fn(&Part, &Around) -> Law) -> bool {
    let spec = part.spec();
    out.resize(rows.count);
    let LawRows { offset_pa: offsets, linear: linears, quadratic: quadratics, pipe: [walls, reynolds, factors] } = out;
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
