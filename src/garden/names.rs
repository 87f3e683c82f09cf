//! Names of parts: given, or generated from the function of the part and a number that is free. They are made for all parts at once,
//! and found one by one in a garden that grows.

use super::error::GardenError;
use crate::parts::Part;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// Given names as they are, generated ones from the word of the part and a number that is free.
///
/// Errors: two parts that were given the same name.
pub(super) fn unique_names(parts: &[Arc<Part>]) -> Result<Vec<Arc<str>>, GardenError> {
    let mut taken: HashSet<Arc<str>> = HashSet::new();
    for name in given(parts) {
        if !taken.insert(name.into()) {
            return Err(GardenError::TwoOfAName { name: name.to_string() });
        }
    }
    let mut counts: HashMap<&str, usize> = HashMap::new();
    let mut names = Vec::with_capacity(parts.len());
    for part in parts {
        if let Some(name) = part.name() {
            names.push(Arc::from(name));
            continue;
        }
        let word = part.spec().word;
        let count = counts.entry(word).or_insert(0);
        let name: Arc<str> = loop {
            *count += 1;
            let name: Arc<str> = if *count == 1 { word.into() } else { format!("{word}{count}").into() };
            if taken.insert(Arc::clone(&name)) {
                break name;
            }
        };
        names.push(name);
    }
    Ok(names)
}

/// The names that somebody gave to some of these parts.
pub(super) fn given(parts: &[Arc<Part>]) -> impl Iterator<Item = &str> {
    parts.iter().filter_map(|part| part.name())
}

/// The names of parts to which others are added, without those that are generated: these depend on what comes later.
#[derive(Debug, Default)]
pub(super) struct Names {
    number_of_parts: usize,
    given: HashMap<Arc<str>, usize>,
    /// The numbers that given names take from the generated ones, in order, by what is before the number.
    taken: HashMap<String, Vec<usize>>,
    /// The places of the parts without a name, in order, by their function.
    unnamed: HashMap<&'static str, Vec<usize>>,
}

impl Names {
    /// Adds parts. Errors: a name that another part has; then none of them is added.
    pub fn add(&mut self, parts: &[&[Arc<Part>]]) -> Result<(), GardenError> {
        self.look_for_two(parts)?;
        for part in parts.iter().copied().flatten() {
            let place = self.number_of_parts;
            self.number_of_parts += 1;
            let Some(name) = part.name() else {
                self.unnamed.entry(part.spec().word).or_default().push(place);
                continue;
            };
            self.given.insert(name.into(), place);
            let (word, number) = numbered(name);
            let taken = self.taken.entry(word.to_string()).or_default();
            taken.insert(taken.partition_point(|&other| other < number), number);
        }
        Ok(())
    }

    fn look_for_two(&self, parts: &[&[Arc<Part>]]) -> Result<(), GardenError> {
        let mut new = HashSet::new();
        for name in parts.iter().flat_map(|line| given(line)) {
            // The names of one line are unique.
            if self.given.contains_key(name) || (parts.len() > 1 && !new.insert(name)) {
                return Err(GardenError::TwoOfAName { name: name.to_string() });
            }
        }
        Ok(())
    }

    /// The place of the part of that name, given or generated; none where no part has it.
    pub fn find(&self, name: &str) -> Option<usize> {
        if let Some(&place) = self.given.get(name) {
            return Some(place);
        }
        let (word, number) = numbered(name);
        let before = self.taken.get(word).map_or(0, |taken| taken.partition_point(|&other| other < number));
        self.unnamed.get(word)?.get(number - 1 - before).copied()
    }

    /// The place of the part that was given that name.
    pub fn find_given(&self, name: &str) -> Option<usize> {
        self.given.get(name).copied()
    }
}

/// What a generated name would be made of: a function, and a number from one on, which a name without a number has.
fn numbered(name: &str) -> (&str, usize) {
    let word = name.trim_end_matches(|sign: char| sign.is_ascii_digit());
    let digits = &name[word.len()..];
    match digits.parse() {
        Ok(number) if number > 1 && !digits.starts_with('0') => (word, number),
        _ => (name, 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::Kind;
    use proptest::prelude::*;

    #[test]
    fn a_name_has_a_number_only_where_it_could_be_generated() {
        for (name, parts) in
            [("hose", ("hose", 1)), ("hose2", ("hose", 2)), ("hose1", ("hose1", 1)), ("hose02", ("hose02", 1)), ("7", ("", 7))]
        {
            assert_eq!(numbered(name), parts);
        }
        assert_eq!(numbered("hose99999999999999999999999").1, 1);
    }

    proptest! {
        /// Names found one by one, while parts are added, are those made for all parts at once.
        #[test]
        fn names_found_are_names_made(kinds in prop::collection::vec((0usize..3, 0usize..9, 1usize..4), 1..60)) {
            let part = |&(kind, name, _): &(usize, usize, usize)| {
                let part = Part::new([Kind::Hose, Kind::Head, Kind::Valve][kind]);
                let names = ["hose", "hose2", "hose3", "head2", "valve4", "hose02", "bed"];
                Arc::new(match names.get(name) {
                    Some(name) => part.named(name).expect("a good name"),
                    None => part,
                })
            };
            let (mut all, mut names): (Vec<Arc<Part>>, Names) = (Vec::new(), Names::default());
            for line in kinds.chunk_by(|_, next| next.2 > 1) {
                let line: Vec<Arc<Part>> = line.iter().map(part).collect();
                let own = unique_names(&line);
                let made = unique_names(&[&all[..], &line[..]].concat());
                if own.is_err() {
                    continue;
                }
                prop_assert_eq!(names.add(&[&line]).err(), made.as_ref().err().cloned());
                let Ok(made) = made else { continue };
                all.extend(line);
                for (place, name) in made.iter().enumerate() {
                    prop_assert_eq!(names.find(name), Some(place), "{}", name);
                }
                for name in ["hose", "hose1", "hose2", "hose7", "hose70", "head", "valve4", "bed", "", "3"] {
                    prop_assert_eq!(names.find(name), made.iter().position(|other| &**other == name), "{}", name);
                }
            }
        }
    }
}
