//! What is asked of a plot, what each question means, and which answers contradict each other.

use super::reading::read;
use crate::quantity::{Currency, Dimension, Quantity, Unit, UnitSystem, dim, find_unit};
use crate::unit_system::{chosen, told_in};

/// What a question asks for, in the order of the questions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Item {
    Units,
    Standing,
    Flow,
    Running,
    Height,
    Pump,
    Length,
    Diameter,
    Zones,
    Heads,
    Nozzle,
    Low,
    High,
    Currency,
}

/// What is answered.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    Value(Quantity),
    /// Names, or one word of a choice.
    Words(Vec<String>),
}

/// What can be an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Takes {
    /// A quantity above zero.
    Positive,
    /// A quantity of any sign, or zero.
    Signed,
    /// A whole number.
    Count,
    /// One of these words, or the beginning of one.
    OneOf(&'static [&'static str]),
    /// Names of zones, or how many there are.
    Names,
    /// The code of a currency.
    Currency,
}

/// A question.
pub struct Question {
    pub item: Item,
    pub asks: &'static str,
    /// What is answered, in a few words.
    pub word: &'static str,
    /// Parts such as `{6 gpm|20 L/min}` are written for both systems of units.
    explains: &'static str,
    pub takes: Takes,
    pub dimension: Dimension,
    /// The most that a garden has, as a number and a unit, in US and in metric units.
    most: [(f64, &'static str); 2],
}

const PRESSURES: [(f64, &str); 2] = [(200.0, "psi"), (14.0, "bar")];
/// Most zones, and letters of the name of one.
const MOST_ZONES: usize = 20;
const MOST_LETTERS: usize = 30;
/// Names that parts of the study have.
const TAKEN: &[&str] = &["supply", "feed", "pump", "relief", "backflow_preventer", "uphill", "downhill"];

const fn question(item: Item, asks: &'static str, word: &'static str, explains: &'static str) -> Question {
    Question { item, asks, word, explains, takes: Takes::Positive, dimension: dim::PRESSURE, most: PRESSURES }
}

/// All questions, each at the place of its item.
pub const QUESTIONS: [Question; 14] = [
    Question {
        takes: Takes::OneOf(&["US", "metric"]),
        ..question(
            Item::Units,
            "Which units: US or metric?",
            "units",
            "  US: psi, gpm, feet and inches. Metric: bar, liters, meters and millimeters. A unit that you write counts in any case.",
        )
    },
    question(
        Item::Standing,
        "What is the static pressure at the tap, with all valves closed, in the house too?",
        "static pressure",
        "  Screw a pressure gauge to the garden tap, open the tap, let no water run anywhere, and read it.\n  \
         {40 to 70 psi|3 to 5 bar} is common; keep the value in brackets if you have no gauge yet.",
    ),
    Question {
        dimension: dim::FLOW,
        most: [(100.0, "gpm"), (400.0, "L/min")],
        ..question(
            Item::Flow,
            "What is the flow of the tap in a bucket test?",
            "flow of the tap",
            "  Open the tap, fill a bucket of known size and take the time; answer as in {5 gal in 50 s|10 L in 30 s}, or with a flow, {6 gpm|20 L/min}.\n  \
             Read a gauge on a tee at the same tap meanwhile: the next question asks for it.",
        )
    },
    question(
        Item::Running,
        "What is the working pressure at the tap at that flow?",
        "working pressure",
        "  The reading of the same gauge while the bucket fills. It is below the static pressure.\n  \
         The difference shows how much water the tap can deliver.",
    ),
    Question {
        takes: Takes::Signed,
        dimension: dim::LENGTH,
        most: [(500.0, "ft"), (150.0, "m")],
        ..question(
            Item::Height,
            "How much higher than the tap is the plot?",
            "height of the plot",
            "  From the tap to the heads, straight up; with a minus where the plot is lower than the tap.\n  \
             {Each 10 ft up take 4.3 psi|Each 10 m up take 1 bar}.",
        )
    },
    Question {
        takes: Takes::OneOf(&["no", "yes"]),
        ..question(
            Item::Pump,
            "Is there a booster pump? yes or no",
            "booster pump",
            "  A pump that raises the pressure of the tap. The study has a common one; put in the curve of yours.",
        )
    },
    Question {
        dimension: dim::LENGTH,
        most: [(3000.0, "ft"), (1000.0, "m")],
        ..question(
            Item::Length,
            "How long is the hose from the tap to the plot?",
            "length of the feed hose",
            "  The feed hose alone, along its route. The study then tries shorter and longer hoses.",
        )
    },
    Question {
        dimension: dim::LENGTH,
        most: [(4.0, "in"), (100.0, "mm")],
        ..question(
            Item::Diameter,
            "What is the inside diameter of that hose?",
            "diameter of the feed hose",
            "  It is printed on most hoses: {1/2, 5/8 and 3/4 in|13, 16 and 19 mm} are common.",
        )
    },
    Question {
        takes: Takes::Names,
        ..question(
            Item::Zones,
            "Which zones are there? Their names, or how many",
            "zones",
            "  A zone is what one valve opens. Names with commas between them, as in: beds, berries. One zone is enough to begin with.",
        )
    },
    Question {
        takes: Takes::Count,
        dimension: dim::NUMBER,
        most: [(50.0, ""); 2],
        ..question(
            Item::Heads,
            "How many sprinkler heads does each zone have?",
            "heads of a zone",
            "  All heads that run when its valve is open; a whole number from 1 to 50.",
        )
    },
    Question {
        dimension: dim::LENGTH,
        most: [(1.0, "in"), (25.0, "mm")],
        ..question(
            Item::Nozzle,
            "What is their nozzle diameter?",
            "nozzle diameter",
            "  The diameter of the orifice: often stamped on the nozzle, otherwise the largest drill bit that fits.\n  \
             {1/8 in|3 mm} is common.",
        )
    },
    question(
        Item::Low,
        "Below which pressure does a head stall?",
        "lowest pressure of a head",
        "  Below its operating range a head stops turning and leaves dry ground. The range is printed on the package;\n  \
         this is the lower end.",
    ),
    question(
        Item::High,
        "Above which pressure does it mist?",
        "highest pressure of a head",
        "  Above its operating range a head makes a mist that drifts in the wind. This is the upper end of the range.",
    ),
    Question {
        takes: Takes::Currency,
        ..question(
            Item::Currency,
            "In which currency are prices?",
            "currency",
            "  Its code, as banks write it: USD, EUR, GBP, AUD. The study looks for the cheapest cure of what it finds.",
        )
    },
];

impl Question {
    /// What is meant, with examples in the units of the reader.
    pub fn explained(&self, system: UnitSystem) -> String {
        told_in(system, || chosen(self.explains))
    }

    /// The answer that is written. Errors: why it cannot be one.
    pub fn read(&self, line: &str, offered: &Answer) -> Result<Answer, String> {
        let words = |words: &str| Answer::Words(vec![words.into()]);
        match (self.takes, offered) {
            (Takes::Positive | Takes::Signed | Takes::Count, Answer::Value(offered)) => {
                let answer = read(line, *offered)?;
                self.refuse(answer).map_or(Ok(Answer::Value(answer)), Err)
            }
            (Takes::OneOf(choices), _) => {
                let begun = |choice: &&&str| choice.to_lowercase().starts_with(&line.to_lowercase());
                choices.iter().find(begun).map(|choice| words(choice)).ok_or(format!("Answer {}.", choices.join(" or ")))
            }
            (Takes::Currency, _) => {
                let code = line.to_uppercase();
                let known = code.len() == 3 && Currency::of_code(&code).is_some();
                known.then(|| words(&code)).ok_or("Answer with a code such as USD or EUR.".into())
            }
            (_, _) => names(line).map(Answer::Words),
        }
    }

    /// Why an answer cannot be, or nothing.
    pub fn refuse(&self, answer: Quantity) -> Option<String> {
        let (most, unit) = if is_metric(answer) { self.most[1] } else { self.most[0] };
        if self.takes == Takes::Count {
            let fits = answer.dimension == dim::NUMBER && answer.si.fract() == 0.0 && (1.0..=most).contains(&answer.si);
            return (!fits).then(|| format!("Give a whole number from 1 to {most}."));
        }
        let most = find_unit(unit).map(|unit| Quantity::written(most, unit));
        match most {
            _ if answer.dimension != self.dimension => {
                Some(format!("The answer must be {}, found {}.", self.dimension, answer.described()))
            }
            _ if self.takes == Takes::Positive && answer.si <= 0.0 => Some("It must be above zero.".into()),
            Some(most) if answer.si.abs() > most.si => Some(format!("The maximum is {most}; check the unit.")),
            _ => None,
        }
    }
}

impl Answer {
    /// As it is offered.
    pub fn shown(&self) -> String {
        match self {
            Answer::Value(quantity) => quantity.to_string(),
            Answer::Words(words) => words.join(", "),
        }
    }
}

/// Names of zones that parts can have, or as many as a number says. Errors: why they cannot be.
fn names(line: &str) -> Result<Vec<String>, String> {
    if let Ok(number) = line.parse::<usize>() {
        let fits = (1..=MOST_ZONES).contains(&number);
        let zones = || (1..=number).map(|number| format!("zone{}", letter(number))).collect();
        return fits.then(zones).ok_or(format!("Give a number from 1 to {MOST_ZONES}, or names."));
    }
    let names: Vec<String> = line.split([',', ';']).map(|name| name.trim().to_string()).filter(|name| !name.is_empty()).collect();
    let plain = |name: &&String| {
        let is_plain = |sign: char| sign.is_alphanumeric() || matches!(sign, ' ' | '-' | '_');
        name.chars().all(is_plain) && name.starts_with(char::is_alphabetic) && name.chars().count() <= MOST_LETTERS
    };
    if names.is_empty() || names.len() > MOST_ZONES {
        return Err(format!("Give 1 to {MOST_ZONES} names with commas between them."));
    }
    if let Some(name) = names.iter().find(|name| !plain(name)) {
        return Err(format!("'{name}' cannot be a name: begin with a letter, then letters, digits, blanks, - and _."));
    }
    let heads =
        |name: &String| names.iter().any(|other| name.strip_prefix(other.as_str()).is_some_and(|rest| rest.starts_with('_')));
    let twice =
        names.iter().enumerate().find(|(at, name)| names[..*at].contains(name) || TAKEN.contains(&name.as_str()) || heads(name));
    match twice {
        Some((_, name)) => Err(format!("The name '{name}' is taken: give another one.")),
        None => Ok(names),
    }
}

/// `_a`, `_b`, ... for names, which hold no digits at their end.
pub fn letter(number: usize) -> String {
    let letter = |at: usize| (b'a' + (at % 26) as u8) as char;
    let number = number - 1;
    if number < 26 { format!("_{}", letter(number)) } else { format!("_{}{}", letter(number / 26 - 1), letter(number)) }
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

/// The quantity that was answered, if it was.
pub fn value(answers: &Answers, item: Item) -> Option<Quantity> {
    match answers[item as usize] {
        Some(Answer::Value(quantity)) => Some(quantity),
        _ => None,
    }
}

/// The words that were answered, if they were.
pub fn words(answers: &Answers, item: Item) -> &[String] {
    match &answers[item as usize] {
        Some(Answer::Words(words)) => words,
        _ => &[],
    }
}

/// The units of the reader: those of the first pressure, before it those that were answered or chosen.
pub fn units(answers: &Answers, chosen: UnitSystem) -> UnitSystem {
    let asked = words(answers, Item::Units).first().map_or(chosen.is_metric(), |word| word == "metric");
    let metric = value(answers, Item::Standing).map_or(asked, is_metric);
    if metric { UnitSystem::AsWrittenMetric } else { UnitSystem::AsWritten }
}

/// What is offered: it fits the answers before, and is in their units.
pub fn usual(item: Item, answers: &Answers, chosen: UnitSystem) -> Answer {
    let system = units(answers, chosen);
    let pick = |us: (f64, &str), si: (f64, &str)| {
        let (value, unit) = system.pick(us, si);
        find_unit(unit).map_or(Quantity::number(value), |unit| Quantity::written(value, unit))
    };
    let part_of = |of: Item, part: f64| value(answers, of).map(|answer| rounded(answer, part));
    let word = |word: &str| Answer::Words(vec![word.into()]);
    Answer::Value(match item {
        Item::Units => return word(system.pick("US", "metric")),
        Item::Pump => return word("no"),
        Item::Zones => return word("beds"),
        Item::Currency => return word(system.pick("USD", "EUR")),
        Item::Standing => pick((58.0, "psi"), (4.0, "bar")),
        Item::Flow => pick((6.0, "gpm"), (20.0, "lpm")),
        Item::Running => part_of(Item::Standing, 0.75).unwrap_or(pick((44.0, "psi"), (3.0, "bar"))),
        Item::Height => pick((0.0, "ft"), (0.0, "m")),
        Item::Length => pick((100.0, "ft"), (30.0, "m")),
        Item::Diameter => pick((0.625, "in"), (16.0, "mm")),
        Item::Heads => Quantity::number(2.0),
        Item::Nozzle => {
            let usual = pick((0.125, "in"), (3.0, "mm"));
            part_of(Item::Diameter, 0.25).filter(|part| part.si < 0.5 * usual.si).unwrap_or(usual)
        }
        Item::Low => pick((30.0, "psi"), (2.0, "bar")),
        Item::High => part_of(Item::Low, 2.0).unwrap_or(pick((60.0, "psi"), (4.0, "bar"))),
    })
}

/// A part of a quantity in its own unit, with two digits.
pub fn rounded(quantity: Quantity, part: f64) -> Quantity {
    let Some(unit) = quantity.shown_unit(UnitSystem::AsWritten) else { return quantity };
    let value = unit.from_si(quantity.si * part);
    Quantity::written(format!("{value:.1e}").parse().unwrap_or(value), unit)
}

fn is_metric(quantity: Quantity) -> bool {
    quantity.shown_unit(UnitSystem::AsWritten).is_some_and(Unit::is_metric)
}

/// What was answered, a place for each [`Item`].
pub type Answers = [Option<Answer>; QUESTIONS.len()];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn questions_stand_at_the_place_of_their_item_and_take_what_they_offer() {
        for (at, question) in QUESTIONS.iter().enumerate() {
            assert_eq!(question.item as usize, at);
            for system in [UnitSystem::Us, UnitSystem::Metric] {
                let offered = usual(question.item, &Default::default(), system);
                assert_eq!(question.read(&offered.shown(), &offered), Ok(offered), "{}", question.asks);
            }
        }
    }

    #[test]
    fn what_is_offered_for_a_running_tap_is_below_what_stands() {
        for standing in [0.3, 1.0, 7.0, 33.0, 58.0, 199.0] {
            let mut answers = Answers::default();
            let standing = Quantity::written(standing, find_unit("psi").expect("a unit"));
            answers[Item::Standing as usize] = Some(Answer::Value(standing));
            let Answer::Value(offered) = usual(Item::Running, &answers, UnitSystem::AsWritten) else { panic!("no quantity") };
            assert!(offered.si < standing.si && offered.si > 0.0, "{offered}");
        }
    }

    #[test]
    fn zones_have_names_that_parts_can_have() {
        let of = |line: &str| names(line).map(|names| names.join("|"));
        assert_eq!(of("beds, berries; Beete im Hof"), Ok("beds|berries|Beete im Hof".into()));
        assert_eq!(of("2"), Ok("zone_a|zone_b".into()));
        for wrong in ["0", "21", "a.b", "\"x\"", "beds, beds", "feed", "1st", ",", "beds, beds_a"] {
            assert!(of(wrong).is_err(), "{wrong}");
        }
        assert_eq!((letter(1), letter(28)), ("_a".into(), "_ab".into()));
    }
}
