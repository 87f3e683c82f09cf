//! In which units a script is written, by the units after its numbers: in those a hint gives its examples.

use super::tokens::{Token, TokenKind};
use crate::quantity::{UnitSystem, find_unit};

/// The units of one system that follow points in a script, whichever are more; `None` where there are none. Inches and
/// millimeters do not count: both are written for sizes of hoses and nozzles everywhere.
pub fn units_written(text: &str, tokens: &[Token]) -> Option<UnitSystem> {
    let (mut metric, mut us) = (0, 0);
    for pair in tokens.windows(2).filter(|pair| pair[0].kind == TokenKind::Symbol('.') && pair[1].kind == TokenKind::Word) {
        match find_unit(&text[pair[1].range.clone()])
            .filter(|unit| !matches!(unit.symbol, "in" | "mm"))
            .and_then(|unit| unit.suggests_metric())
        {
            Some(true) => metric += 1,
            Some(false) => us += 1,
            None => {}
        }
    }
    (metric + us > 0).then_some(if metric > us { UnitSystem::AsWrittenMetric } else { UnitSystem::AsWritten })
}

#[cfg(test)]
mod tests {
    use super::super::tokens::tokenize;
    use super::*;

    #[test]
    fn most_units_after_points_decide() {
        let of = |text: &str| units_written(text, &tokenize(text).tokens);
        assert_eq!(of("supply(4.bar) >> hose(30.m, (1/2).inch)"), Some(UnitSystem::AsWrittenMetric));
        assert_eq!(of("supply(58.psi) >> hose(30.5.ft, 13.mm)"), Some(UnitSystem::AsWritten));
        assert_eq!(of("let m = 3; m.length + 5.min // 3.bar"), None);
    }
}
