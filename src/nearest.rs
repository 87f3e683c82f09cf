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
///
/// A known name that means the same (see [`MEANING`]) goes before names that look alike.
pub fn did_you_mean<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let known: Vec<&'a str> = known.into_iter().collect();
    let meant = meaning(name).iter().filter_map(|meant| known.iter().copied().find(|known| known == meant)).collect::<Vec<_>>();
    let found = if meant.is_empty() { nearest(name, known, 3) } else { meant };
    (!found.is_empty()).then(|| format!("did you mean {}?", found.join(" or ")))
}

/// The names by which hosewright calls what somebody calls by this one.
pub fn meaning(name: &str) -> &'static [&'static str] {
    MEANING.iter().find(|(other, _)| *other == name).map_or(&[], |(_, names)| names)
}

/// Names that people type for functions, parameters, columns and topics, and the names that stand for them here.
pub const MEANING: &[(&str, &[&str])] = &[
    ("but", &["with", "replace"]),
    ("dollar", &["USD"]),
    ("dollars", &["USD"]),
    ("money", &["USD"]),
    ("dollars_per_ft", &["USD_per_ft"]),
    ("dollars_per_m", &["USD_per_m"]),
    ("dollars_per_gal", &["USD_per_gal"]),
    ("dollars_per_m3", &["USD_per_m3"]),
    ("dollars_per_kWh", &["USD_per_kWh"]),
    ("per_dollar", &["per_currency_unit"]),
    ("feed", &["add_source"]),
    ("join", &["connect"]),
    ("climb", &["uphill", "downhill"]),
    ("draw", &["demand"]),
    ("draw_at", &["open_by_hand"]),
    ("washer", &["restrictor"]),
    ("orifice", &["restrictor"]),
    ("bore", &["diameter", "nozzle"]),
    ("rough", &["roughness"]),
    ("stretch", &["compliance"]),
    ("rise_at", &["boost_at"]),
    ("booster_by_three", &["booster_from"]),
    ("dry_stop", &["dry_run_cutoff"]),
    ("needs", &["operating_range"]),
    ("needs_low", &["range_low"]),
    ("needs_high", &["range_high"]),
    ("rated", &["rated_flow", "pressure_rating"]),
    ("rated_pressure", &["rated_flow_pressure"]),
    ("rating", &["pressure_rating"]),
    ("rated_table", &["performance_table"]),
    ("cracking", &["cracking_pressure"]),
    ("passes", &["capacity"]),
    ("over", &["overpressure"]),
    ("watts", &["input_power"]),
    ("speed", &["velocity"]),
    ("speed_in", &["velocity_in"]),
    ("profile", &["pressure_profile"]),
    ("grade_chart", &["pressure_profile_chart"]),
    ("bill", &["bill_of_materials"]),
    ("programme", &["schedule"]),
    ("pause", &["delay_between_zones"]),
    ("lasts", &["lasts_for"]),
    ("begins", &["starts_at"]),
    ("held", &["initial_pressure"]),
    ("busiest_hour", &["peak_starts_per_hour"]),
    ("on_fraction", &["duty_cycle"]),
    ("shortest_rest", &["shortest_off_time"]),
    ("starved", &["time_below_range"]),
    ("try_faults", &["failure_study"]),
    ("fault", &["failure"]),
    ("time_to_fall", &["leak_down_time"]),
    ("leak_from", &["leak_from_decay"]),
    ("openers", &["remedies"]),
    ("knock", &["water_hammer"]),
    ("peak", &["peak_pressure"]),
    ("rise", &["pressure_rise"]),
    ("rain", &["coverage"]),
    ("rate", &["application_rate"]),
    ("evenness", &["cu"]),
    ("low_quarter", &["du"]),
    ("on_bed", &["overspray"]),
    ("bare", &["dry_area"]),
    ("catch_test", &["catch_cans"]),
    ("time_for", &["run_time_for"]),
    ("pattern", &["radial_profile"]),
    ("paired", &["zipped"]),
    ("only", &["filter"]),
    ("draw_from", &["resampled"]),
    ("even_samples", &["sobol_samples"]),
    ("shares", &["sobol_indices"]),
    ("alone", &["first_order"]),
    ("alone_error", &["first_order_error"]),
    ("trade_off", &["pareto"]),
    ("front", &["pareto_front"]),
    ("fit", &["calibrate"]),
    ("misfit", &["chi_square"]),
    ("error_of", &["standard_error"]),
    ("number", &["parameter"]),
    ("head_rows", &["first_rows"]),
    ("tail_rows", &["last_rows"]),
    ("some_rows", &["sample_rows"]),
    ("renamed", &["rename"]),
    ("join_all", &["left_join"]),
    ("busiest hour", &["peak starts per hour"]),
    ("shortest rest", &["shortest off time"]),
    ("on", &["duty cycle"]),
    ("ran back", &["backflow"]),
    ("house", &["lowest tap pressure"]),
    ("decides", &["controlling limit"]),
    ("before", &["working_pressure"]),
    ("left", &["margin"]),
    ("find_help", &["search_help"]),
    ("where", &["filter"]),
    ("drop", &["without"]),
    ("isin", &["is_in"]),
    ("cumsum", &["cumulative_sum"]),
    ("std", &["sd"]),
    ("stdev", &["sd"]),
    ("average", &["mean"]),
    ("avg", &["mean"]),
    ("percentile", &["quantile"]),
    ("fillna", &["fill"]),
    ("dropna", &["drop_missing"]),
    ("melt", &["unpivot"]),
    ("vlookup", &["left_join"]),
    ("sumif", &["group_by"]),
    ("countif", &["group_by"]),
    ("count_values", &["group_by"]),
    ("value_counts", &["group_by"]),
    ("duplicates", &["unique"]),
    ("mutate", &["with"]),
    ("summarize", &["group_by"]),
    ("iif", &["if_else"]),
    ("add_row", &["append"]),
    ("add_column", &["with"]),
];

fn likeness(wanted: &str, candidate: &str) -> Option<f64> {
    if wanted.is_empty() {
        return None;
    }
    let measure = strsim::jaro_winkler(wanted, candidate);
    // Of several names one slip away, the one that looks most alike goes first: `inch` before `in2` for `inh`.
    if strsim::damerau_levenshtein(wanted, candidate) <= 1 {
        return Some(0.95 + 0.05 * measure);
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
        assert_eq!(nearest("inh", ["in2", "in3", "in", "inch"], 3), ["inch", "in", "in2"]);
        assert_eq!(did_you_mean("zzz", ["feed", "berry"]), None);
    }
}
