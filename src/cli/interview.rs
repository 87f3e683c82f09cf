//! `new`: asks what a gardener knows of a plot and writes a study from the answers.
//!
//! Knows how questions are asked and what the study says; the files are the caller's.

use crate::quantity::{Dimension, Quantity, UnitSystem, dim, read_quantity};
use std::io::{self, BufRead, Write};

/// What was answered, each quantity as it stands in a script.
struct Plot {
    title: String,
    standing: String,
    running: String,
    flow: String,
    length: String,
    bore: String,
    heads: usize,
    nozzle: String,
    low: String,
    high: String,
}

/// Asks, and gives the text of the study. Errors: a terminal that cannot be read or written, or an end before the last answer.
pub fn interview(name: &str, input: &mut dyn BufRead, output: &mut dyn Write) -> io::Result<String> {
    let mut ask = Asking { input, output };
    ask.say(
        "A few questions; Enter takes the answer in brackets. Units such as psi, bar, gpm, L/min, ft, m, in, mm are known.\n",
    )?;
    let title = ask.text("What is it called?", &name.replace(['-', '_'], " "))?;
    let (standing, standing_si) = ask.quantity("Gauge at the tap, everything shut?", "58 psi", dim::PRESSURE, f64::INFINITY)?;
    let (flow, _) = ask.quantity("Flow of the bucket test?", "6 gpm", dim::FLOW, f64::INFINITY)?;
    let usual = if standing.contains("bar") { "3 bar" } else { "44 psi" };
    let (running, _) = ask.quantity("Gauge at the tap during the bucket test?", usual, dim::PRESSURE, standing_si)?;
    let (length, _) = ask.quantity("Length of the feed hose?", "100 ft", dim::LENGTH, f64::INFINITY)?;
    let (bore, _) = ask.quantity("Bore of the feed hose, inside?", "0.625 in", dim::LENGTH, 1.0)?;
    let heads = ask.count("How many heads run at once?", 2)?;
    let (nozzle, _) = ask.quantity("Bore of their nozzle?", "0.125 in", dim::LENGTH, 0.2)?;
    let (low, low_si) = ask.quantity("Below which pressure does a head stall?", "30 psi", dim::PRESSURE, f64::INFINITY)?;
    let high = loop {
        let (high, si) = ask.quantity("Above which pressure does it mist?", "60 psi", dim::PRESSURE, f64::INFINITY)?;
        if si > low_si {
            break high;
        }
        ask.say("That must be above the pressure at which it stalls.\n")?;
    };
    Ok(study(&Plot { title, standing, running, flow, length, bore, heads, nozzle, low, high }))
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

    fn text(&mut self, question: &str, usual: &str) -> io::Result<String> {
        self.say(&format!("{question} [{usual}] "))?;
        let mut line = String::new();
        if self.input.read_line(&mut line)? == 0 {
            return Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the answers ended too early"));
        }
        let answer: String = line.trim().chars().filter(|c| !c.is_control()).collect();
        Ok(if answer.is_empty() { usual.to_string() } else { answer })
    }

    /// Asks until the answer is a quantity above zero and below a limit: as script text, and in SI.
    fn quantity(&mut self, question: &str, usual: &str, dimension: Dimension, below_si: f64) -> io::Result<(String, f64)> {
        loop {
            let answer = self.text(question, usual)?;
            match read_quantity(&answer) {
                Ok(quantity) if quantity.dimension != dimension => {
                    let usual = format!("That is {}; give it as in {usual}.\n", quantity.described());
                    self.say(&usual)?;
                }
                Ok(quantity) if quantity.si <= 0.0 => self.say("It must be above zero.\n")?,
                Ok(quantity) if quantity.si >= below_si => {
                    let limit = Quantity { si: below_si, ..quantity }.show(UnitSystem::AsWritten);
                    self.say(&format!("It must be below {limit}.\n"))?;
                }
                Ok(quantity) => return Ok((in_script(quantity), quantity.si)),
                Err(error) => self.say(&format!("{error}; {}\n", error.hint()))?,
            }
        }
    }

    fn count(&mut self, question: &str, usual: usize) -> io::Result<usize> {
        loop {
            match self.text(question, &usual.to_string())?.parse() {
                Ok(count) if (1..=50).contains(&count) => return Ok(count),
                _ => self.say("Give a whole number from 1 to 50.\n")?,
            }
        }
    }
}

/// A quantity as a script writes it: `58.psi`, `0.625.inch`.
fn in_script(quantity: Quantity) -> String {
    let unit = quantity.shown_unit(UnitSystem::AsWritten);
    let value = unit.map_or(quantity.si, |unit| unit.from_si(quantity.si));
    let digits = format!("{value:.9e}").parse::<f64>().unwrap_or(value);
    format!("{digits}.{}", unit.map_or("Pa", |unit| unit.names[0]))
}

fn study(plot: &Plot) -> String {
    let Plot { title, standing, running, flow, length, bore, heads, nozzle, low, high } = plot;
    let heads: Vec<String> =
        (1..=*heads).map(|number| format!("         head(\"head{}\", {nozzle}).needs({low}, {high})", letter(number))).collect();
    let title = title.replace("*/", "* /").replace("/*", "/ *");
    format!(
        "/* # {title}\n\n   What the tap gives, and what reaches the heads. Change a number and run it again. */\n\n\
         let plot = supply({standing}).measured({running}, {flow})\n    >> backflow_preventer()\n    >> hose({length}, {bore}).named(\"feed\")\n    >> [\n{}\n    ];\n\n\
         // What reaches each head, and what to mind:\nplot.run();\n\n\
         /* ## How long may the feed be?\n\n   Where the line dips under the dashed one, the first head stalls. */\n\n\
         let by_length = sweep(plot, vary(\"feed.length\", steps(0.25 * {length}, 3 * {length}, 0.25 * {length})));\n\
         chart(by_length).x(\"feed.length\").y(\"head{}.pressure\").mark({low}, \"stalls below\");\n\n\
         // ## What to mind, and why\nplot.run().findings();\n",
        heads.join(",\n"),
        letter(1)
    )
}

/// `_a`, `_b`, ... for names, which hold no digits at their end.
fn letter(number: usize) -> String {
    let letter = |at: usize| (b'a' + (at % 26) as u8) as char;
    let number = number - 1;
    if number < 26 { format!("_{}", letter(number)) } else { format!("_{}{}", letter(number / 26 - 1), letter(number)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;
    use crate::script::Session;

    fn asked(answers: &str) -> io::Result<String> {
        interview("willow-lane", &mut answers.as_bytes(), &mut Vec::new())
    }

    #[test]
    fn usual_answers_make_a_study_that_runs() {
        let text = asked(&"\n".repeat(10)).expect("a study");
        let folder = tempfile::tempdir().expect("a folder");
        let outcome = Session::new(Folder::new(folder.path())).evaluate(&text);
        assert_eq!(outcome.error(), None, "{text}");
        insta::assert_snapshot!(text);
    }

    #[test]
    fn wrong_answers_are_asked_again_and_metric_ones_stay_metric() {
        let answers =
            "Plot */ x\n4 ft\n-1 bar\n4 bar\n20 L/min\n5 bar\n3 bar\n30 m\n15 mm\nmany\n28\n3 mm\n2 bar\n1 bar\n4 bar\n";
        let text = asked(answers).expect("a study");
        assert!(text.contains("supply(4.bar).measured(3.bar, 20.lpm)") && text.contains("\"head_ab\""), "{text}");
        let outcome = Session::new(Folder::new(".")).evaluate(&text);
        assert_eq!(outcome.error(), None, "{text}");
    }

    #[test]
    fn an_end_of_the_answers_is_an_error() {
        assert!(asked("a\n").is_err());
    }
}
