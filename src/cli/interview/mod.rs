//! `new`: asks what a gardener knows of a plot and writes a study from the answers.
//!
//! Knows the order of the questions and what contradicts what; the files are the caller's.

mod draft; // the study that is written
mod questions; // what is asked, and what it means
mod reading; // answers as people write them

use crate::quantity::UnitSystem;
use questions::{Answer, Answers, Item, QUESTIONS, Question};
use std::io::{self, BufRead, Write};

/// Asks, and gives the text of the study with this file name, without its ending; `usual` is the system of the first answers
/// that are offered.
///
/// Where the answers end early, usual ones take the place of those that are missing, and the study says so.
/// Errors: a terminal that cannot be read or written.
pub fn interview(stem: &str, usual: UnitSystem, input: &mut dyn BufRead, output: &mut dyn Write) -> io::Result<String> {
    let mut ask = Asking { input, output };
    ask.say(&format!(
        "{} questions. Enter takes the answer in brackets, ? explains a question, back goes to the one before,\n\
         Ctrl-D takes the usual answers for the rest. Units such as {} are known;\n\
         a number alone has the unit in the brackets.\n",
        QUESTIONS.len(),
        usual.pick("psi, bar, gpm, L/min, ft, m, in, mm", "bar, psi, L/min, gpm, m, ft, mm, in")
    ))?;
    let mut answers: Answers = Default::default();
    if let Err(error) = ask.all(&mut answers, usual)
        && error.kind() != io::ErrorKind::UnexpectedEof
    {
        return Err(error);
    }
    let mut assumed = Vec::new();
    for (at, question) in QUESTIONS.iter().enumerate() {
        if answers[at].is_none() {
            answers[at] = Some(questions::usual(question.item, &answers, usual));
            assumed.push(question.word);
        }
    }
    if !assumed.is_empty() {
        ask.say(&format!("Usual values for the rest: {}.\n", assumed.join(", ")))?;
    }
    Ok(draft::study(stem, &answers, &assumed))
}

/// The name of a study that was begun without one.
pub fn ask_name(input: &mut dyn BufRead, output: &mut dyn Write) -> io::Result<String> {
    let mut ask = Asking { input, output };
    let name = ask.line("Name of the study? [my-plot] ")?;
    Ok(if name.is_empty() { "my-plot".into() } else { name.replace(char::is_whitespace, "-") })
}

enum Reply {
    Answer(Answer),
    Back,
}

struct Asking<'a> {
    input: &'a mut dyn BufRead,
    output: &'a mut dyn Write,
}

impl Asking<'_> {
    fn say(&mut self, text: &str) -> io::Result<()> {
        self.output.write_all(text.as_bytes())?;
        self.output.flush()
    }

    /// Asks all questions. Errors: the answers end, with those kept that were given.
    fn all(&mut self, answers: &mut Answers, usual: UnitSystem) -> io::Result<()> {
        let mut at = 0;
        while let Some(question) = QUESTIONS.get(at) {
            let offered = answers[at].clone().unwrap_or_else(|| questions::usual(question.item, answers, usual));
            match self.question(question, &offered, questions::units(answers, usual))? {
                Reply::Back if at == 0 => self.say("This is the first question.\n")?,
                Reply::Back => at -= 1,
                Reply::Answer(answer) => {
                    answers[at] = Some(answer);
                    at = self.settle(question.item, answers)?;
                }
            }
        }
        Ok(())
    }

    /// What is written after a question.
    fn line(&mut self, question: &str) -> io::Result<String> {
        self.say(question)?;
        let mut line = String::new();
        if self.input.read_line(&mut line)? == 0 {
            self.say("\n")?;
            return Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the answers ended before the last question"));
        }
        Ok(line.trim().chars().filter(|c| !c.is_control()).collect())
    }

    /// Asks until the answer is yes, as nothing is, or no.
    fn agrees(&mut self, prompt: &str) -> io::Result<bool> {
        loop {
            match self.line(prompt)?.to_lowercase().as_str() {
                "" | "y" | "yes" => return Ok(true),
                "n" | "no" => return Ok(false),
                other => self.say(&format!("  Answer yes or no, not '{other}'.\n"))?,
            }
        }
    }

    /// Asks until there is an answer that can be.
    fn question(&mut self, question: &Question, offered: &Answer, units: UnitSystem) -> io::Result<Reply> {
        loop {
            let prompt = format!("\n{}\n  [{}] ", question.asks, offered.shown());
            let line = self.line(&prompt)?;
            match line.to_lowercase().as_str() {
                "" => return Ok(Reply::Answer(offered.clone())),
                "back" => return Ok(Reply::Back),
                "?" | "help" => {
                    self.say(&format!("{}\n", question.explained(units)))?;
                    continue;
                }
                _ => {}
            }
            match question.read(&line, offered) {
                Ok(answer) => return Ok(Reply::Answer(answer)),
                Err(reason) => self.say(&format!("  {reason}\n"))?,
            }
        }
    }

    /// Where to go on after an answer: back to a pair of answers that contradict each other, else to the next question.
    fn settle(&mut self, item: Item, answers: &mut Answers) -> io::Result<usize> {
        let next = item as usize + 1;
        let Some(pair) = questions::PAIRS.iter().find(|pair| pair.last() == item) else { return Ok(next) };
        let (Some(low), Some(high)) = (questions::value(answers, pair.low), questions::value(answers, pair.high)) else {
            return Ok(next);
        };
        if low.si < high.si {
            return Ok(next);
        }
        // Where the answers end here, neither of the two counts.
        (answers[pair.low as usize], answers[pair.high as usize]) = (None, None);
        self.say(&format!("  These contradict each other: {} ({} and {}).\n", pair.law, low, high))?;
        if low.si > high.si {
            let prompt = format!("  Swap them: {} {high}, {} {low}? yes or no [yes] ", pair.low_words, pair.high_words);
            if self.agrees(&prompt)? {
                (answers[pair.low as usize], answers[pair.high as usize]) = (Some(Answer::Value(high)), Some(Answer::Value(low)));
                return Ok(next);
            }
        }
        self.say("  Both questions are repeated.\n")?;
        Ok(pair.first() as usize)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;
    use crate::script::Session;

    fn asked(answers: &str) -> io::Result<(String, String)> {
        let mut said = Vec::new();
        let text = interview("willow-lane", UnitSystem::AsWritten, &mut answers.as_bytes(), &mut said)?;
        Ok((text, String::from_utf8_lossy(&said).into_owned()))
    }

    fn runs(text: &str) {
        let folder = tempfile::tempdir().expect("a folder");
        let outcome = Session::new(Folder::new(folder.path())).evaluate(text);
        assert_eq!(outcome.error(), None, "{text}");
        assert!(folder.path().join("willow-lane.svg").exists(), "the figure is saved");
    }

    #[test]
    fn usual_answers_make_a_study_that_runs() {
        let (text, said) = asked(&"\n".repeat(QUESTIONS.len())).expect("a study");
        runs(&text);
        insta::assert_snapshot!(format!("{said}\n----\n{text}"));
    }

    #[test]
    fn wrong_answers_are_asked_again_and_metric_ones_stay_metric() {
        let answers = "\n4 ft\n-1 bar\n4 bar\n20 L/min\n3\n-2\nmaybe\ny\n30\n15 mm\na.b\nbeds, Beete\nmany\n28\n3 mm\n2 bar\n4 bar\nlira\nchf\n";
        let (text, said) = asked(answers).expect("a study");
        assert!(text.contains("supply(4.bar).measured(3.bar, 20.lpm)") && text.contains("\"Beete_ab\""), "{text}");
        assert!(text.contains("downhill(2.m)") && text.contains("booster_from(") && text.contains(".CHF"), "{text}");
        assert!(text.contains("30.m") && said.contains("[16 mm]"), "{said}\n{text}");
        runs(&text);
    }

    /// What is asked and explained, and what is written, knows no psi, gpm, ft or inch where metric units were chosen.
    #[test]
    fn an_interview_in_metric_units_asks_and_writes_metric() {
        let answers = QUESTIONS.iter().map(|_| "?\n\n").collect::<String>();
        let mut said = Vec::new();
        let text = interview("willow-lane", UnitSystem::Metric, &mut answers.as_bytes(), &mut said).expect("a study");
        let said = String::from_utf8(said).expect("text");
        assert!(text.contains("supply(4.bar).measured(3.bar, 20.lpm)") && text.contains("hose(30.m, 16.mm)"), "{text}");
        let questions = said.lines().skip(2).collect::<Vec<_>>().join("\n") + text.as_str();
        for unit in ["psi", "gpm", "ft", "gal", "in", "inch"] {
            let words = questions.split(|letter: char| !letter.is_alphanumeric());
            let mut units = words
                .clone()
                .zip(words.skip(1))
                .filter(|(number, word)| number.ends_with(|digit: char| digit.is_ascii_digit()) && *word == unit);
            assert_eq!(units.next(), None, "{questions}");
        }
        let too_high = "\n15 bar\n4 bar\n".to_string() + "\n".repeat(12).as_str();
        let mut said = Vec::new();
        interview("willow-lane", UnitSystem::Metric, &mut too_high.as_bytes(), &mut said).expect("a study");
        assert!(String::from_utf8_lossy(&said).contains("The maximum is 14 bar; check the unit."));
        runs(&text);
    }

    #[test]
    fn swapped_gauge_readings_are_told_and_swapped_back() {
        let (text, said) = asked(&format!("\n33\n6\n44\nsure\nyes\n{}", "\n".repeat(10))).expect("a study");
        assert!(said.contains("Answer yes or no, not 'sure'."), "{said}");
        assert!(text.contains("supply(44.psi).measured(33.psi, 6.gpm)"), "{text}");
        assert!(said.contains("working pressure is below static pressure (44 psi and 33 psi)"), "{said}");
    }

    #[test]
    fn readings_that_contradict_each_other_are_both_asked_again() {
        let (text, _) = asked(&format!("us\n33\n6\n44\nno\n60\n5\n50\n{}", "\n".repeat(10))).expect("a study");
        assert!(text.contains("supply(60.psi).measured(50.psi, 5.gpm)"), "{text}");
        let (text, _) = asked(&format!("\n33\n6\n33\n60\n\n50\n{}", "\n".repeat(10))).expect("a study");
        assert!(text.contains("supply(60.psi).measured(50.psi, 6.gpm)"), "{text}");
        let (text, _) = asked(&format!("{}60\n30\ny\n\n", "\n".repeat(11))).expect("a study");
        assert!(text.contains(".operating_range(30.psi, 60.psi)"), "{text}");
    }

    #[test]
    fn back_goes_to_the_question_before_and_offers_what_was_said() {
        let (text, said) = asked(&format!("back\n\n70\nback\n\n8\nback\n7\n{}", "\n".repeat(11))).expect("a study");
        assert!(text.contains("supply(70.psi)") && text.contains(", 7.gpm)"), "{text}");
        assert!(said.contains("This is the first question") && said.contains("[70 psi]") && said.contains("[8 gpm]"), "{said}");
    }

    #[test]
    fn a_question_mark_explains_and_a_bucket_is_a_flow() {
        let (text, said) = asked(&format!("\n?\n58\n?\n5 gal in 50 s\n{}", "\n".repeat(11))).expect("a study");
        assert!(said.contains("pressure gauge") && said.contains("bucket"), "{said}");
        assert!(text.contains("6.gpm"), "{text}");
    }

    #[test]
    fn an_end_of_the_answers_takes_usual_ones_and_the_study_says_so() {
        let (text, said) = asked("us\n70\n").expect("a study");
        assert!(text.contains("supply(70.psi).measured(52.psi, 6.gpm)"), "{text}");
        assert!(text.contains("Usual values, not yours: flow of the tap, working pressure, height"), "{text}");
        assert!(said.contains("Usual values for the rest: flow of the tap"), "{said}");
        runs(&text);
        // Of two readings that contradict each other, neither counts.
        let (text, _) = asked("\n33\n6\n44\n").expect("a study");
        assert!(text.contains("supply(58.psi).measured(44.psi, 6.gpm)"), "{text}");
        runs(&asked("").expect("a study").0);
        let small = "\n".repeat(7) + "2 mm\n";
        runs(&asked(&small).expect("a study").0);
    }

    /// Every choice makes a study that runs, with findings, a figure and cautions.
    #[test]
    fn every_choice_makes_a_study_that_runs() {
        for units in ["us", "metric"] {
            for (height, pump) in [("0", "no"), ("12", "yes"), ("-6", "no"), ("30", "yes")] {
                let answers = format!("{units}\n\n\n\n{height}\n{pump}\n\n\nbeds, tall hedge, 3\n{}", "\n".repeat(5));
                let (text, _) = asked(&answers.replace(", 3", "")).expect("a study");
                runs(&text);
                assert_eq!(text.contains("booster_from("), pump == "yes");
                assert_eq!(text.contains("uphill("), height.parse::<f64>().is_ok_and(|height| height > 0.0));
                assert_eq!(text.matches(".findings()").count(), 2);
            }
        }
    }
}
