//! Answers as people write them: `58`, `58 psi`, `5/8"`, `2,5 bar`, `5 gal in 50 s`.

use crate::quantity::{Dimension, Quantity, UnitSystem, dim, inch_fraction, read_quantity};

/// An answer; a number alone has the unit of what was offered. Errors: why it cannot be read, and what to write.
pub fn read(answer: &str, offered: Quantity) -> Result<Quantity, String> {
    let text = plain(answer);
    if offered.dimension == dim::FLOW
        && let Some((volume, time)) = text.split_once(" in ")
        && let Some(flow) = bucket(volume, time, offered)
    {
        return Ok(flow);
    }
    let read = read_quantity(&text).or_else(|error| read_quantity(&text.to_lowercase()).map_err(|_| error));
    match read {
        Ok(number) if number.dimension.is_number() => {
            let unit = offered.shown_unit(UnitSystem::AsWritten);
            Ok(unit.map_or(number, |unit| Quantity::written(number.si, unit)))
        }
        Ok(quantity) => Ok(quantity),
        Err(error) => Err(format!("{error}; answer as in {}, or ? explains", offered)),
    }
}

/// The flow that fills a volume in a time, in the unit of what was offered.
fn bucket(volume: &str, time: &str, offered: Quantity) -> Option<Quantity> {
    let of = |text: &str, dimension: Dimension| {
        read_quantity(text).ok().filter(|quantity| quantity.dimension == dimension && quantity.si > 0.0)
    };
    let si = of(volume, dim::VOLUME)?.si / of(time, dim::TIME)?.si;
    let unit = offered.shown_unit(UnitSystem::AsWritten)?;
    let value = unit.from_si(si);
    Some(Quantity::written(format!("{value:.3e}").parse().unwrap_or(value), unit))
}

/// Marks of feet and inches as units, a comma between digits as the point or the space that it is.
fn plain(answer: &str) -> String {
    let mut text = answer.trim().to_string();
    for (mark, unit) in [("\"", " in"), ("''", " in"), ("'", " ft")] {
        if let Some(number) = text.strip_suffix(mark) {
            text = format!("{number}{unit}");
        }
    }
    let Some((whole, rest)) = text.split_once(',') else { return text };
    let digits = rest.chars().take_while(char::is_ascii_digit).count();
    match digits {
        0 => text,
        3 => format!("{whole}{rest}"),
        _ => format!("{whole}.{rest}"),
    }
}

/// A quantity as a script writes it: `58.psi`, `(5/8).inch`.
pub fn in_script(quantity: Quantity) -> String {
    let unit = quantity.shown_unit(UnitSystem::AsWritten);
    let name = unit.map_or("Pa", |unit| unit.names[0]);
    if let Some((over, under)) = fraction(quantity) {
        return format!("({over}/{under}).{name}");
    }
    let value = unit.map_or(quantity.si, |unit| unit.from_si(quantity.si));
    let digits = format!("{value:.9e}").parse::<f64>().unwrap_or(value);
    format!("{digits}.{name}")
}

/// Inches below one that are a whole number of sixty-fourths, as a fraction.
fn fraction(quantity: Quantity) -> Option<(u32, u32)> {
    let unit = quantity.shown_unit(UnitSystem::AsWritten).filter(|unit| unit.symbol == "in")?;
    inch_fraction(unit.from_si(quantity.si)).filter(|(over, under)| over < under)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Quantity {
        read_quantity(text).expect("a quantity")
    }

    #[test]
    fn answers_are_read_as_people_write_them() {
        for (answer, offered, shown) in [
            ("46", "58 psi", "46 psi"),
            ("46 PSI", "58 psi", "46 psi"),
            ("2,5 bar", "58 psi", "2.5 bar"),
            ("1,200", "100 ft", "1200 ft"),
            ("5/8\"", "3/4 in", "5/8 in"),
            ("3/4", "5/8 in", "3/4 in"),
            ("100'", "30 ft", "100 ft"),
            ("5 gal in 50 s", "6 gpm", "6 gpm"),
            ("10 L in 30 s", "20 L/min", "20 L/min"),
        ] {
            assert_eq!(read(answer, of(offered)).map(|quantity| quantity.to_string()).as_deref(), Ok(shown), "{answer}");
        }
        for answer in ["", "much", "5 gal in a while", "5 psy", "\"", "'", ",", "é,1"] {
            assert!(read(answer, of("6 gpm")).is_err(), "{answer}");
        }
    }

    #[test]
    fn inches_are_fractions_where_they_are() {
        assert_eq!((of("5/8 in").to_string(), in_script(of("5/8 in"))), ("5/8 in".into(), "(5/8).inch".into()));
        assert_eq!((of("0.7 in").to_string(), in_script(of("0.7 in"))), ("0.7 in".into(), "0.7.inch".into()));
        assert_eq!((of("2 in").to_string(), in_script(of("16 mm"))), ("2 in".into(), "16.mm".into()));
    }
}
