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

/// A remark on the first number of a script that may have been meant as thousands, such as `1.000.ft`: of whole thousands a point of other
/// countries sets three zeros apart, and here it begins the decimals.
pub fn thousands_written(text: &str, tokens: &[Token]) -> Option<String> {
    let of = |token: &Token| &text[token.range.clone()];
    let after_point = |three: &[Token]| {
        let [number, point, unit] = three else { return None };
        let has_unit = point.kind == TokenKind::Symbol('.') && unit.kind == TokenKind::Word;
        Some((whole_of_thousand(of(number))?, ".", of(unit))).filter(|_| has_unit)
    };
    let in_a_string = |token: &Token| {
        let inside = of(token).strip_prefix('"')?.strip_suffix('"')?;
        let (number, unit) = inside.split_once(' ')?;
        Some((whole_of_thousand(number)?, " ", unit.trim())).filter(|_| token.kind == TokenKind::Text)
    };
    let found = tokens.windows(3).filter_map(after_point).chain(tokens.iter().filter_map(in_a_string));
    let (whole, between, unit) = found.into_iter().find(|(_, _, unit)| find_unit(unit).is_some())?;
    let instead = match between {
        "." => format!("{whole}000.{unit} or {whole}_000.{unit}"),
        _ => format!("{whole}000 {unit}"),
    };
    Some(format!("{whole}.000{between}{unit} is {whole} {unit}: a point begins the decimals, thousands are written {instead}"))
}

/// What stands before the point of a number that may have been meant as thousands.
fn whole_of_thousand(number: &str) -> Option<&str> {
    let whole = number.strip_suffix(".000")?;
    let is_thousand =
        (1..=3).contains(&whole.len()) && whole.bytes().all(|byte| byte.is_ascii_digit()) && !whole.starts_with('0');
    is_thousand.then_some(whole)
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

    #[test]
    fn three_zeros_after_a_point_are_remarked_and_other_decimals_are_not() {
        let of = |text: &str| thousands_written(text, &tokenize(text).tokens);
        let remark = "1.000.ft is 1 ft: a point begins the decimals, thousands are written 1000.ft or 1_000.ft";
        assert_eq!(of("let near = 2.00.ft; hose(1.000.ft, 16.mm)").as_deref(), Some(remark));
        let in_a_string = "1.000 ft is 1 ft: a point begins the decimals, thousands are written 1000 ft";
        assert_eq!(of("q(\"1.000 ft\")").as_deref(), Some(in_a_string));
        assert!(of("120.000.L").is_some_and(|remark| remark.starts_with("120.000.L is 120 L")));
        for plain in [
            "1.00.ft",
            "1.0000.ft",
            "1.200.m",
            "0.000.ft",
            "1000.000.ft",
            "x == 1.000",
            "1.000.round()",
            "\"1.000.ft\"",
            "\"1.000 apples\"",
            "\"1.500 ft\"",
            "1_000.ft",
        ] {
            assert_eq!(of(plain), None, "{plain}");
        }
    }
}
