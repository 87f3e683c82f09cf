//! Every kind of finding once: code, level, why it matters, what is said, what to do, and the source of the judgment.
//!
//! Sentences have named places for values, as `phrase` reads them; `{part}` is the part a finding is about, with its kind, and
//! `{name}` its name alone: they are there without being given. A finding that is more severe in a stated case, or that is worded
//! otherwise there, has a second entry made from the first, which says the case. Judges give entry, place and values; nothing is
//! decided here, and no garden is known.
//!
//! - `water`: heads, demands, hoses, flows that nothing decides
//! - `hose`: hoses between waterings, friction in hoses
//! - `zone`: even pressure, drainage, filters
//! - `coverage`: spacing, matched precipitation, rain on the ground, catch cans
//! - `source`: taps, tanks, and what keeps their water apart
//! - `pump`: boosters and their suction
//! - `switch`: pressure switches, their settings and their tanks
//! - `start`: relays of the timer and flow-and-pressure controls
//! - `drive`: variable-speed drives
//! - `relief`: relief valves and ratings
//! - `water_hammer`: the pressure surge when a valve closes
//! - `weather`, `watering`: weather files, seasons and weeks of beds
//! - `money`: bills and paybacks
//! - `sizes`: values far outside of what is sold or measured
//! - `whole`: runs that ended early, states that were not found

pub mod coverage;
pub mod drive;
mod entry;
pub mod hose;
pub mod money;
pub mod pump;
pub mod relief;
pub mod sizes;
pub mod source;
pub mod start;
pub mod switch;
pub mod water;
pub mod water_hammer;
pub mod watering;
pub mod weather;
pub mod whole;
pub mod zone;

pub use entry::{Entry, Level, Source};

/// All entries, those of a case right after the one they are made from.
pub fn all() -> impl Iterator<Item = &'static Entry> {
    let beds = [weather::ALL, watering::ALL, money::ALL];
    let rooms = [
        water::ALL,
        coverage::ALL,
        zone::ALL,
        hose::ALL,
        source::ALL,
        pump::ALL,
        switch::ALL,
        start::ALL,
        drive::ALL,
        relief::ALL,
        sizes::ALL,
        water_hammer::ALL,
        whole::ALL,
    ];
    rooms.into_iter().chain(beds).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;
    use std::fs;
    use std::path::{Path, PathBuf};

    /// The files of this crate below a folder of `src`.
    fn sources(folder: &Path) -> Vec<PathBuf> {
        let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
        let mut found: Vec<PathBuf> = Vec::new();
        for path in entries {
            if path.is_dir() {
                found.extend(sources(&path));
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                found.push(path);
            }
        }
        found
    }

    fn src() -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
    }

    /// The code of a file without comments and without the tests at its end; nothing of a file of tests.
    fn code_of(path: &Path) -> String {
        if path.ends_with("tests.rs") {
            return String::new();
        }
        let text = fs::read_to_string(path).expect("a text");
        let lines = text.lines().take_while(|line| !line.contains("#[cfg(test)]"));
        lines.filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn each_code_stands_once_in_the_program_and_nothing_is_known_by_its_letters() {
        let codes: HashSet<&str> = all().map(|entry| entry.code).collect();
        let program: String = sources(&src()).iter().map(|path| code_of(path)).collect::<Vec<_>>().join("\n");
        for code in codes {
            assert_eq!(program.matches(&format!("code: \"{code}\"")).count(), 1, "{code} of an entry");
            for known_by in ["== \"{}\"", "!= \"{}\"", "\"{}\" =>", "contains(\"{}\")", "contains(&\"{}\")"] {
                let comparison = known_by.replace("{}", code);
                // Codes of one word may be words of something else.
                assert!(!code.contains('-') || !program.contains(&comparison), "{comparison}: ask for the entry");
            }
        }
    }

    #[test]
    fn no_entry_is_left_out_and_none_stands_twice() {
        let folder = src().join("findings").join("catalog");
        let written: usize = sources(&folder).iter().map(|path| code_of(path).matches(": Entry =").count()).sum();
        let listed: Vec<&Entry> = all().collect();
        assert_eq!(written, listed.len());
        for (index, entry) in listed.iter().enumerate() {
            assert!(!listed[..index].contains(entry), "{} twice", entry.code);
        }
    }

    #[test]
    fn entries_of_a_code_stand_together() {
        let codes: Vec<&str> = all().map(|entry| entry.code).collect();
        for (index, code) in codes.iter().enumerate().skip(1) {
            assert!(codes[index - 1] == *code || !codes[..index].contains(code), "{code}");
        }
    }

    #[test]
    fn a_code_has_one_level_but_for_cases_that_are_graver_and_say_so() {
        let folder = src().join("findings").join("catalog");
        let texts: String = sources(&folder).iter().map(|path| fs::read_to_string(path).expect("a text")).collect();
        let firsts: Vec<&Entry> = all().collect();
        for entry in all() {
            let first = firsts.iter().find(|first| first.code == entry.code).expect("itself");
            assert!(entry.level <= first.level, "{}: a case that is milder than the first: '{}'", entry.code, entry.what);
        }
        // An entry that is made from another one and has a level of its own.
        for (before, entry) in texts.split("pub const ").zip(texts.split("pub const ").skip(1)) {
            let body = entry.split("};").next().unwrap_or_default();
            if body.contains("..") && body.contains("level:") && !body.contains("code:") {
                let case = before.trim_end().lines().last().unwrap_or_default();
                assert!(case.starts_with("/// More severe"), "the comment says the case: '{case}' of {body}");
            }
        }
    }

    #[test]
    fn every_entry_is_well_formed() {
        for entry in all() {
            assert_eq!(entry.broken(), None, "{}", entry.code);
            let sound = |letter: char| letter.is_ascii_lowercase() || letter == '-';
            assert!(!entry.code.is_empty() && entry.code.chars().all(sound), "{}", entry.code);
            for text in [entry.what, entry.action, entry.why] {
                assert!(!text.trim().is_empty() && !text.ends_with('.') && text == text.trim(), "{}: '{text}'", entry.code);
            }
            assert!(!entry.why.contains('['), "{}: its reason has no values", entry.code);
        }
    }
}
