//! The study that is written from the answers.

use super::questions::{Answers, Item};
use super::reading::in_script;

/// The heading of a study of this name.
fn title(stem: &str) -> String {
    let words = stem.replace(['-', '_'], " ").replace("*/", "* /").replace("/*", "/ *");
    let mut signs = words.trim().chars();
    signs.next().map_or_else(|| "My plot".into(), |first| first.to_uppercase().chain(signs).collect())
}

/// The text of the study; its figure has its name.
pub fn study(stem: &str, answers: &Answers) -> String {
    let of = |item: Item| answers[item as usize].map(in_script).unwrap_or_default();
    let (standing, running, flow) = (of(Item::Standing), of(Item::Running), of(Item::Flow));
    let (length, diameter, nozzle) = (of(Item::Length), of(Item::Diameter), of(Item::Nozzle));
    let (low, high) = (of(Item::Low), of(Item::High));
    let number = answers[Item::Heads as usize].map_or(1, |heads| heads.si as usize).max(1);
    let heads: Vec<String> = (1..=number).map(|number| format!("         new_head.named(\"head{}\")", letter(number))).collect();
    let heads = heads.join(",\n");
    let (title, first) = (title(stem), letter(1));
    let figure: String = stem.chars().map(|c| if matches!(c, '"' | '\\') { '-' } else { c }).collect();
    format!(
        r##"/* # {title}

   Pressure and flow of the tap, and what each head gets. Change a value and run it again. */

// ## The plot
// The gauge at the tap with all valves closed, and during the bucket test.
let tap = supply({standing}).measured({running}, {flow});

// A backflow preventer is included, with its pressure loss; local code names the type.
let feed = hose({length}, {diameter}).named("feed");
let new_head = head("head", {nozzle}).operating_range({low}, {high});
let plot = tap >> backflow_preventer() >> feed >> [
{heads}
    ];

// ## Pressure and flow at each head
plot.run();

/* ## How long may the feed be?

   Where the line drops below the dashed one, the first head stalls. */
let lengths = steps(0.25 * feed.length, 3 * feed.length, 0.25 * feed.length);
let by_length = sweep(plot, vary("feed.length", lengths));
chart(by_length).x("feed.length").y("head{first}.pressure").mark({low}, "stalls below").save("{figure}.svg");

// ## Findings: problems and what to do
plot.run().findings();

/* ## Before you buy or dig

   - These results are estimates for planning: measure before you buy.
   - A check valve is not an approved backflow preventer; a hose joined to drinking water needs the device that local code
     requires.
   - A booster on a public main may be prohibited: ask the water supplier first. Pump and switch need a GFCI outlet (RCD), wired by a
     licensed electrician. */
"##
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

    #[test]
    fn a_name_becomes_a_heading() {
        assert_eq!(title("willow-lane_7"), "Willow lane 7");
        assert_eq!(title("*/"), "* /");
        assert_eq!(title(""), "My plot");
        assert_eq!((letter(1), letter(28)), ("_a".into(), "_ab".into()));
    }
}
