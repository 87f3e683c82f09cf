//! What is asked of a plot, what each question means, and which answers contradict each other.

use crate::quantity::{Dimension, Quantity, Unit, UnitSystem, dim, find_unit};
use crate::unit_system::{chosen, told_in};

/// What a question asks for, in the order of the questions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Item {
    Standing,
    Flow,
    Running,
    Length,
    Diameter,
    Heads,
    Nozzle,
    Low,
    High,
}

/// A question.
pub struct Question {
    pub item: Item,
    pub asks: &'static str,
    /// Parts such as `{6 gpm|20 L/min}` are written for both systems of units.
    explains: &'static str,
    pub dimension: Dimension,
    /// The most that a garden has, as a number and a unit, in US and in metric units.
    most: [(f64, &'static str); 2],
}

/// All questions, each at the place of its item.
pub const QUESTIONS: [Question; 9] = [
    Question {
        item: Item::Standing,
        asks: "What is the static pressure at the tap, with all valves closed, in the house too?",
        explains: "  Screw a pressure gauge to the garden tap, open the tap, let no water run anywhere, and read it.\n  \
                   {40 to 70 psi|3 to 5 bar} is common; keep the value in brackets if you have no gauge yet.",
        dimension: dim::PRESSURE,
        most: [(200.0, "psi"), (14.0, "bar")],
    },
    Question {
        item: Item::Flow,
        asks: "What is the flow of the tap in a bucket test?",
        explains: "  Open the tap, fill a bucket of known size and take the time; answer as in {5 gal in 50 s|10 L in 30 s}, or with a flow, {6 gpm|20 L/min}.\n  \
                   Read a gauge on a tee at the same tap meanwhile: the next question asks for it.",
        dimension: dim::FLOW,
        most: [(100.0, "gpm"), (400.0, "L/min")],
    },
    Question {
        item: Item::Running,
        asks: "What is the working pressure at the tap at that flow?",
        explains: "  The reading of the same gauge while the bucket fills. It is below the static pressure.\n  \
                   The difference shows how much water the tap can deliver.",
        dimension: dim::PRESSURE,
        most: [(200.0, "psi"), (14.0, "bar")],
    },
    Question {
        item: Item::Length,
        asks: "How long is the hose from the tap to the plot?",
        explains: "  The feed hose alone, along its route. The study then tries shorter and longer hoses.",
        dimension: dim::LENGTH,
        most: [(3000.0, "ft"), (1000.0, "m")],
    },
    Question {
        item: Item::Diameter,
        asks: "What is the inside diameter of that hose?",
        explains: "  It is printed on most hoses: {1/2, 5/8 and 3/4 in|13, 16 and 19 mm} are common.",
        dimension: dim::LENGTH,
        most: [(4.0, "in"), (100.0, "mm")],
    },
    Question {
        item: Item::Heads,
        asks: "How many sprinkler heads run at once?",
        explains: "  All heads that are on at the same time, on all branches; a whole number from 1 to 50.",
        dimension: dim::NUMBER,
        most: [(50.0, ""); 2],
    },
    Question {
        item: Item::Nozzle,
        asks: "What is their nozzle diameter?",
        explains: "  The diameter of the orifice: often stamped on the nozzle, otherwise the largest drill bit that fits.\n  \
                   {1/8 in|3 mm} is common.",
        dimension: dim::LENGTH,
        most: [(1.0, "in"), (25.0, "mm")],
    },
    Question {
        item: Item::Low,
        asks: "Below which pressure does a head stall?",
        explains: "  Below its operating range a head stops turning and leaves dry ground. The range is printed on the package;\n  \
                   this is the lower end.",
        dimension: dim::PRESSURE,
        most: [(200.0, "psi"), (14.0, "bar")],
    },
    Question {
        item: Item::High,
        asks: "Above which pressure does it mist?",
        explains: "  Above its operating range a head makes a mist that drifts in the wind. This is the upper end of the range.",
        dimension: dim::PRESSURE,
        most: [(200.0, "psi"), (14.0, "bar")],
    },
];

impl Question {
    /// What is meant, with examples in the units of the reader.
    pub fn explained(&self, system: UnitSystem) -> String {
        told_in(system, || chosen(self.explains))
    }

    /// Why an answer cannot be, or nothing.
    pub fn refuse(&self, answer: Quantity) -> Option<String> {
        let (most, unit) = if is_metric(answer) { self.most[1] } else { self.most[0] };
        if self.item == Item::Heads {
            let fits = answer.dimension == dim::NUMBER && answer.si.fract() == 0.0 && (1.0..=most).contains(&answer.si);
            return (!fits).then(|| format!("Give a whole number from 1 to {most}."));
        }
        let most = find_unit(unit).map(|unit| Quantity::written(most, unit));
        match most {
            _ if answer.dimension != self.dimension => {
                Some(format!("The answer must be {}, found {}.", self.dimension, answer.described()))
            }
            _ if answer.si <= 0.0 => Some("It must be above zero.".into()),
            Some(most) if answer.si > most.si => Some(format!("The maximum is {most}; check the unit.")),
            _ => None,
        }
    }
}

/// Two answers of which one must be below the other.
pub struct Pair {
    pub low: Item,
    pub high: Item,
    pub law: &'static str,
    pub low_words: &'static str,
    pub high_words: &'static str,
}

/// What can contradict each other.
pub const PAIRS: [Pair; 3] = [
    Pair {
        low: Item::Running,
        high: Item::Standing,
        law: "working pressure is below static pressure",
        low_words: "working pressure",
        high_words: "static pressure",
    },
    Pair {
        low: Item::Nozzle,
        high: Item::Diameter,
        law: "a nozzle is smaller than the inside diameter of the hose",
        low_words: "nozzle",
        high_words: "hose",
    },
    Pair {
        low: Item::Low,
        high: Item::High,
        law: "a head stalls at a lower pressure than it mists",
        low_words: "stalls below",
        high_words: "mists above",
    },
];

impl Pair {
    /// The item that is asked first.
    pub fn first(&self) -> Item {
        if (self.low as usize) < self.high as usize { self.low } else { self.high }
    }

    /// The item that is asked last.
    pub fn last(&self) -> Item {
        if (self.low as usize) < self.high as usize { self.high } else { self.low }
    }
}

/// The units of the reader: those of the first answer, before it those that were chosen.
pub fn units(answers: &Answers, chosen: UnitSystem) -> UnitSystem {
    let metric = answers[Item::Standing as usize].map_or(chosen.is_metric(), is_metric);
    if metric { UnitSystem::AsWrittenMetric } else { UnitSystem::AsWritten }
}

/// What is offered: it fits the answers before, and is in their units.
pub fn usual(item: Item, answers: &Answers, system: UnitSystem) -> Quantity {
    let system = units(answers, system);
    let pick = |us: (f64, &str), si: (f64, &str)| {
        let (value, unit) = system.pick(us, si);
        find_unit(unit).map_or(Quantity::number(value), |unit| Quantity::written(value, unit))
    };
    let part_of = |of: Item, part: f64| answers[of as usize].map(|answer| rounded(answer, part));
    match item {
        Item::Standing => pick((58.0, "psi"), (4.0, "bar")),
        Item::Flow => pick((6.0, "gpm"), (20.0, "lpm")),
        Item::Running => part_of(Item::Standing, 0.75).unwrap_or(pick((44.0, "psi"), (3.0, "bar"))),
        Item::Length => pick((100.0, "ft"), (30.0, "m")),
        Item::Diameter => pick((0.625, "in"), (16.0, "mm")),
        Item::Heads => Quantity::number(2.0),
        Item::Nozzle => pick((0.125, "in"), (3.0, "mm")),
        Item::Low => pick((30.0, "psi"), (2.0, "bar")),
        Item::High => part_of(Item::Low, 2.0).unwrap_or(pick((60.0, "psi"), (4.0, "bar"))),
    }
}

/// A part of a quantity in its own unit, with two digits.
fn rounded(quantity: Quantity, part: f64) -> Quantity {
    let Some(unit) = quantity.shown_unit(UnitSystem::AsWritten) else { return quantity };
    let value = unit.from_si(quantity.si * part);
    Quantity::written(format!("{value:.1e}").parse().unwrap_or(value), unit)
}

fn is_metric(quantity: Quantity) -> bool {
    quantity.shown_unit(UnitSystem::AsWritten).is_some_and(Unit::is_metric)
}

/// What was answered, a place for each [`Item`].
pub type Answers = [Option<Quantity>; QUESTIONS.len()];

#[cfg(test)]
mod tests {
    use super::super::reading::friendly;
    use super::*;

    #[test]
    fn questions_stand_at_the_place_of_their_item_and_take_what_they_offer() {
        for (at, question) in QUESTIONS.iter().enumerate() {
            assert_eq!(question.item as usize, at);
            for system in [UnitSystem::Us, UnitSystem::Metric] {
                let offered = usual(question.item, &Default::default(), system);
                assert_eq!(question.refuse(offered), None, "{}: {}", question.asks, friendly(offered));
            }
        }
    }

    #[test]
    fn what_is_offered_for_a_running_tap_is_below_what_stands() {
        for standing in [0.3, 1.0, 7.0, 33.0, 58.0, 199.0] {
            let mut answers = Answers::default();
            let standing = find_unit("psi").map(|unit| Quantity::written(standing, unit));
            answers[Item::Standing as usize] = standing;
            let offered = usual(Item::Running, &answers, UnitSystem::AsWritten);
            assert!(standing.is_some_and(|standing| offered.si < standing.si && offered.si > 0.0), "{offered}");
        }
    }
}
