//! Names that hosewright does not have, and those that mean the same here: an error about the one names the other.

use hosewright::files::Folder;
use hosewright::nearest::MEANING;
use hosewright::parts::Id;
use hosewright::quantity::find_unit;
use hosewright::script::{Session, VOCABULARY};

/// Properties and columns of answers, which neither help nor parts list.
const OF_ANSWERS: &[&str] = &[
    "application_rate",
    "backflow",
    "chi_square",
    "controlling limit",
    "cu",
    "dry_area",
    "du",
    "duty cycle",
    "first_order",
    "first_order_error",
    "lowest tap pressure",
    "margin",
    "overspray",
    "parameter",
    "peak starts per hour",
    "peak_pressure",
    "per_currency_unit",
    "pressure_rise",
    "remedies",
    "shortest off time",
    "working_pressure",
];

fn is_function(name: &str) -> bool {
    VOCABULARY.functions().iter().any(|function| function.name == name)
}

#[test]
fn what_a_name_means_is_there_and_the_name_itself_is_not() {
    for (name, meant) in MEANING {
        for meant in *meant {
            assert!(
                is_function(meant) || Id::of(meant).is_some() || find_unit(meant).is_some() || OF_ANSWERS.contains(meant),
                "{name}: there is no {meant}"
            );
        }
        assert!(!meant.contains(name), "{name} means itself");
    }
}

/// What the shell advises on an entry that fails.
fn advice(entry: &str) -> String {
    let mut session = Session::new(Folder::new("tests"));
    let setting = "let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named(\"feed\") >> check_valve().named(\"check\")
        >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named(\"pump\") >> relief(90.psi)
        >> [ valve(\"beds\") >> head(\"bed\", (1/8).inch), hose(10.ft, 1.inch) >> restrictor((1/4).inch) >> head(\"far\", (1/8).inch) ];";
    assert!(session.evaluate(setting).error().is_none());
    let outcome = session.evaluate(entry);
    let error = outcome.error().unwrap_or_else(|| panic!("{entry} does not fail"));
    format!("{} {}", error.message, error.hint.as_deref().unwrap_or_default())
}

#[test]
fn a_function_that_has_another_name_here_is_found() {
    // What is a unit as well is taken for one.
    for (name, meant) in MEANING.iter().filter(|(name, _)| !is_function(name) && find_unit(name).is_none()) {
        for meant in meant.iter().filter(|meant| is_function(meant)) {
            let advice = advice(&format!("{name}(plot)"));
            assert!(advice.contains(meant), "{name}: {advice}");
        }
    }
}

#[test]
fn a_parameter_that_has_another_name_here_is_found() {
    for (path, meant) in [
        ("feed.bore", "diameter"),
        ("bed.bore", "nozzle"),
        ("feed.stretch", "compliance"),
        ("feed.rating", "pressure_rating"),
        ("feed.rough", "roughness"),
        ("bed.needs_low", "range_low"),
        ("bed.needs_high", "range_high"),
        ("bed.rated_pressure", "rated_flow_pressure"),
        ("pump.watts", "input_power"),
        ("pump.dry_stop", "dry_run_cutoff"),
        ("check.cracking", "cracking_pressure"),
        ("relief.over", "overpressure"),
    ] {
        let advice = advice(&format!("plot.with(\"{path}\", 1)"));
        assert!(advice.contains(&format!("did you mean {meant}?")), "{path}: {advice}");
    }
}

#[test]
fn a_column_that_has_another_name_here_is_found() {
    for (table, former, name) in [
        ("plot.water_hammer(\"beds\").table()", "before", "working_pressure"),
        ("plot.water_hammer(\"beds\").table()", "left", "margin"),
        ("plot.failure_study(timer(\"east\").start(\"05:00\").zone(\"beds\", 5.min), 6.h)", "ran back", "backflow"),
    ] {
        let advice = advice(&format!("{table}[\"{former}\"]"));
        assert!(advice.contains(&format!("did you mean {name}?")), "{former}: {advice}");
    }
}
