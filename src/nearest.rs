//! "Did you mean": the known names that look most like a given one.
//!
//! Knows nothing of what the names stand for.

/// Likeness from which a name is worth suggesting (Jaro-Winkler measure).
const ALIKE: f64 = 0.84;

/// A longer text is no name that somebody mistyped, and comparing it takes the square of its length.
const LONGEST_BYTES: usize = 200;

/// Up to `most` of the known names that look like `name`, best first.
///
/// A name counts as alike when its Jaro-Winkler measure is above 0.84, when it is one slip of the fingers away
/// (a letter more, less, wrong, or two swapped), or when one of the two begins with the other.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>, most: usize) -> Vec<&'a str> {
    if name.len() > LONGEST_BYTES {
        return Vec::new();
    }
    let wanted = name.to_lowercase();
    let known = known.into_iter().filter(|candidate| candidate.len() <= LONGEST_BYTES);
    let mut scored: Vec<(f64, &'a str)> =
        known.filter_map(|candidate| Some((likeness(&wanted, &candidate.to_lowercase())?, candidate))).collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let mut names: Vec<&'a str> = Vec::new();
    for (_, candidate) in scored {
        if names.len() < most && !names.contains(&candidate) {
            names.push(candidate);
        }
    }
    names
}

/// The end of a sentence such as `; did you mean feed or seed?`, empty when nothing is alike.
pub fn did_you_mean<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let found = nearest(name, known, 3);
    (!found.is_empty()).then(|| format!("did you mean {}?", found.join(" or ")))
}

fn likeness(wanted: &str, candidate: &str) -> Option<f64> {
    if wanted.is_empty() {
        return None;
    }
    let measure = strsim::jaro_winkler(wanted, candidate);
    if strsim::damerau_levenshtein(wanted, candidate) <= 1 {
        return Some(measure.max(0.95));
    }
    let begins = wanted.len() >= 3 && candidate.len() >= 3 && (candidate.starts_with(wanted) || wanted.starts_with(candidate));
    (measure > ALIKE || begins).then_some(measure)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_swapped_letters_and_unfinished_words() {
        assert_eq!(nearest("gmp", ["gpm", "psi", "gph"], 3), ["gpm"]);
        assert_eq!(nearest("berr", ["feed", "berry"], 3), ["berry"]);
        assert_eq!(did_you_mean("zzz", ["feed", "berry"]), None);
    }
}
