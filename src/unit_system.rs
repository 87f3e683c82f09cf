//! Which units a reader gets: the system that answers are shown in, and the one of the text that is being made.
//!
//! Knows no unit; `quantity` shows values in them.

use std::cell::Cell;

/// Which units results are shown in.
///
/// How the units of a result are chosen: a value that somebody wrote keeps its unit, a value that a garden gives is in the units in which
/// the garden was given (`Garden::units`), any other computed value is in US units; `units(..)` in a script and `--units` override all three.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// As written where a unit was written, US units for computed values.
    #[default]
    AsWritten,
    /// As written where a unit was written, metric units for computed values: the units of a garden that was given in metric units.
    AsWrittenMetric,
    /// US customary units.
    Us,
    /// Metric units.
    Metric,
}

impl UnitSystem {
    /// The units of answers about something that was given in units of its own: these, unless others were chosen.
    pub fn or_own(self, own: UnitSystem) -> UnitSystem {
        if self == UnitSystem::AsWritten { own } else { self }
    }

    /// True where computed values show in metric units.
    pub fn is_metric(self) -> bool {
        matches!(self, UnitSystem::AsWrittenMetric | UnitSystem::Metric)
    }

    /// The first of two, or the second in metric units.
    pub fn pick<T>(self, us: T, metric: T) -> T {
        if self.is_metric() { metric } else { us }
    }
}

thread_local! {
    static OF_TEXTS: Cell<UnitSystem> = const { Cell::new(UnitSystem::AsWritten) };
}

/// Makes a text whose values display themselves in a system: how an error, which carries values, becomes words for a reader.
pub fn told_in<T>(system: UnitSystem, make: impl FnOnce() -> T) -> T {
    /// Gives the system before back, also where `make` ends in a panic.
    struct Before(UnitSystem);
    impl Drop for Before {
        fn drop(&mut self) {
            OF_TEXTS.set(self.0);
        }
    }
    let _before = Before(OF_TEXTS.replace(system));
    make()
}

/// The system of the text that is being made: as written, unless [`told_in`] says another.
pub fn units_of_texts() -> UnitSystem {
    OF_TEXTS.get()
}

/// The first of two texts with an example in them, or the second where texts are made in metric units.
pub fn example(us: &str, metric: &str) -> String {
    units_of_texts().pick(us, metric).into()
}

/// A text of which parts such as `{30.psi|2.bar}` are written for both systems, for the system of the text that is being made.
pub fn chosen(text: &str) -> String {
    let mut pieces = text.split('{');
    let mut made = pieces.next().unwrap_or_default().to_string();
    for piece in pieces {
        match piece.split_once('}').and_then(|(inside, rest)| Some((inside.split_once('|')?, rest))) {
            Some(((us, metric), rest)) => {
                made.push_str(units_of_texts().pick(us, metric));
                made.push_str(rest);
            }
            None => {
                made.push('{');
                made.push_str(piece);
            }
        }
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_made_in_the_units_of_the_reader_and_no_longer() {
        let text = || chosen("write .needs({30.psi|2.bar}) or #{ at: 1 }");
        assert_eq!(text(), "write .needs(30.psi) or #{ at: 1 }");
        assert_eq!(told_in(UnitSystem::AsWrittenMetric, text), "write .needs(2.bar) or #{ at: 1 }");
        let nested = told_in(UnitSystem::Metric, || (told_in(UnitSystem::Us, || example("a", "b")), example("a", "b")));
        assert_eq!(nested, ("a".into(), "b".into()));
        assert_eq!(units_of_texts(), UnitSystem::AsWritten);
        let stopped = std::panic::catch_unwind(|| told_in(UnitSystem::Metric, || panic!("a panic of this test")));
        assert!(stopped.is_err() && units_of_texts() == UnitSystem::AsWritten);
    }
}
