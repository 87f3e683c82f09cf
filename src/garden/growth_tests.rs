//! A garden that grows step by step: it is laid out once, and is the same as one that is laid out at each step.

use super::growth::FEW_PARTS;
use super::{Garden, GardenError};
use crate::parts::{Kind, Part, Placing};
use crate::quantity::{Quantity, find_unit};
use proptest::prelude::*;

fn part(kind: Kind, name: Option<String>) -> Part {
    let part = Part::new(kind);
    name.map_or(part.clone(), |name| part.named(&name).expect("a good name"))
}

fn line(kind: Kind, name: &str) -> Garden {
    Garden::of(part(kind, Some(name.to_string()).filter(|name| !name.is_empty())))
}

fn grown(links: usize) -> Vec<Garden> {
    let mut all = vec![line(Kind::Supply, "tap")];
    for link in 0..links {
        let kind = if link % 7 == 3 { Kind::Head } else { Kind::Hose };
        let next = Garden::of(part(kind, (link % 3 == 0).then(|| format!("p{}", link.pow(2) % 100_003))));
        all.push(all[link].then(&next).expect("joins"));
    }
    all
}

fn feet(value: f64) -> Quantity {
    Quantity::written(value, find_unit("ft").expect("a unit"))
}

fn laid_out(all: &[Garden]) -> usize {
    all.iter().filter(|garden| garden.is_laid_out()).count()
}

#[test]
fn a_line_is_laid_out_only_where_somebody_looks() {
    let all = grown(5000);
    assert_eq!(laid_out(&all), FEW_PARTS);
    assert_eq!(all[5000].parts().len(), 5001);
    assert_eq!(laid_out(&all), FEW_PARTS + 1);
    assert!(all[5000].grows_from(&all[4999]) && !all[5000].grows_from(&all[4998]));
}

/// The work of a loop is what each step adds: no step lays out the garden, and its names are gathered once.
#[test]
fn no_way_to_build_in_a_loop_lays_out_the_garden_at_each_step() {
    type Way = fn(&Garden, usize) -> Result<Garden, GardenError>;
    let ways: [(&str, Way); 7] = [
        ("branches", |garden, step| garden.branch("p9", &line(Kind::Head, &format!("b{step}")))),
        ("branches of branches", |garden, step| {
            let at = if step == 0 { "p9".to_string() } else { format!("b{}", step - 1) };
            garden.branch(&at, &line(Kind::Valve, &format!("b{step}")))
        }),
        ("branches at generated names", |garden, step| garden.branch(&format!("hose{}", step + 3), &line(Kind::Hose, ""))),
        ("lists of arms", |garden, step| {
            let arms = ["left", "right"].map(|side| line(Kind::Hose, &format!("{side}{step}")));
            garden.then_branches(&arms)
        }),
        ("changes", |garden, step| garden.with(&format!("hose{}.length", step % 9 + 2), feet(step as f64 + 1.0))),
        ("loops", |garden, step| garden.connect("p9", "p36", &line(Kind::Hose, &format!("c{step}")))),
        ("sources", |garden, step| {
            let well = line(Kind::Supply, &format!("s{step}")).then(&line(Kind::Hose, ""))?;
            garden.add_source("p9", &well)
        }),
    ];
    for (word, way) in ways {
        let mut all = grown(40);
        let before = all.len();
        for step in 0..1000 {
            let next = way(&all[all.len() - 1], step).unwrap_or_else(|error| panic!("{word}, {step}: {error}"));
            assert!(next.grows_from(&all[all.len() - 1]), "{word}");
            all.push(next);
        }
        assert_eq!(laid_out(&all[before..]), 0, "{word}");
        assert!(all[before + 999].shares_what_is_known_with(&all[before]), "{word}");
        assert_eq!(all[before + 999].parts().len(), all[before + 999].layout().places.len(), "{word}");
        assert_eq!(laid_out(&all[before..]), 1, "{word}");
    }
}

#[test]
fn a_name_is_taken_once_and_a_second_line_from_the_same_place_has_its_own() {
    let all = grown(100);
    let hose = |name: &str| line(Kind::Hose, name);
    let error = all[100].then(&hose("p9")).unwrap_err();
    assert_eq!(error, GardenError::TwoOfAName { name: "p9".into() });
    let error = all[100].then_branches(&[hose("x"), hose("x")]).unwrap_err();
    assert_eq!(error, GardenError::TwoOfAName { name: "x".into() });
    let (one, other) = (all[80].then(&hose("x")).expect("joins"), all[80].then(&hose("x")).expect("joins"));
    assert_eq!(one.then(&hose("x")).unwrap_err(), GardenError::TwoOfAName { name: "x".into() });
    assert!(other.then(&hose("y")).is_ok() && all[80].then(&hose("p6561")).is_ok());
    assert_eq!(one, other);
    let source = line(Kind::Supply, "");
    assert!(matches!(one.then(&source), Err(GardenError::NothingBefore { .. })));
    assert_eq!(one.with_altitude(500.0).expect("an altitude").then(&hose("y")).expect("joins").parts().len(), 83);
}

#[test]
fn an_older_garden_knows_its_own_names_and_parameters() {
    let all = grown(100);
    let old = &all[90];
    let new = old.branch("p9", &line(Kind::Hose, "late")).and_then(|garden| garden.with("hose2.length", feet(7.0)));
    let new = new.and_then(|garden| garden.branch("late", &line(Kind::Head, "hose3"))).expect("grows");
    assert!(old.find("late").is_err() && new.find("late").is_ok());
    assert_ne!(old.find("hose3"), new.find("hose3"), "the given name takes that of another hose");
    assert_eq!(new.parameter("hose2.length"), Ok(feet(7.0)));
    assert!(old.parameter("hose2.length").is_err(), "a length was never given");
}

proptest! {
    /// Each way to group the joins gives the same garden as all at once.
    #[test]
    fn a_chain_is_the_same_garden(kinds in prop::collection::vec(0usize..5, 40..120), looked in prop::collection::vec(0usize..120, 0..4)) {
        let single = |at: usize, kind: usize| match kind {
            0 => part(Kind::Head, None),
            1 => part(Kind::Hose, Some(format!("hose{at}"))),
            2 => part(Kind::Valve, None),
            3 => part(Kind::Uphill, None),
            _ => part(Kind::Hose, None),
        };
        let parts: Vec<Part> = std::iter::once(part(Kind::Supply, None))
            .chain(kinds.iter().enumerate().map(|(at, &kind)| single(at, kind))).collect();
        let mut line = Garden::of(parts[0].clone());
        let mut joints = vec![(0, 0)];
        for (at, next) in parts.iter().enumerate().skip(1) {
            line = line.then(&Garden::of(next.clone())).expect("joins");
            if looked.contains(&at) {
                prop_assert_eq!(line.parts().len(), at + 1);
            }
            let node = joints.last().expect("a part").1;
            joints.push((node, node + usize::from(next.spec().placing == Placing::Inline)));
        }
        let at_once = Garden::from_joints(parts, &joints).expect("joins");
        prop_assert_eq!(&line.layout().places, &at_once.layout().places);
        prop_assert_eq!(&line.layout().diameter_from(), &at_once.layout().diameter_from());
        prop_assert_eq!(line.parts(), at_once.parts());
    }

    /// Random steps, good and wrong ones, from random earlier states: garden and errors are those of a garden that is laid out at each step.
    #[test]
    fn steps_of_all_kinds_give_the_same_garden_and_the_same_errors(
        steps in prop::collection::vec((0usize..12, 0usize..70, 0usize..70, 0usize..8), 1..60),
    ) {
        let name = |number: usize| match number % 5 {
            0 => format!("p{}", (number / 5).pow(2)),
            1 => "hose".to_string(),
            2 => format!("hose{number}"),
            3 => format!("head{}", number / 4),
            _ => format!("b{number}"),
        };
        let mut lazy = vec![grown(50).pop().expect("a garden")];
        let mut eager = vec![lazy[0].clone()];
        eager[0].layout();
        for (way, one, other, back) in steps {
            let given = |kind: Kind| if other % 3 == 0 { line(kind, "") } else { line(kind, &name(other)) };
            let at = if back < 6 { lazy.len() - 1 } else { (one + other) % lazy.len() };
            let step = |garden: &Garden| -> Result<Garden, GardenError> {
                match way {
                    0 => garden.then(&given(Kind::Hose)),
                    1 => garden.then_branches(&[given(Kind::Hose), line(Kind::Head, "")]),
                    2 => garden.then_branches(&[line(Kind::Hose, ""), given(Kind::Valve), given(Kind::Point)]),
                    3 => garden.then_branches(&[given(Kind::Head), line(Kind::Head, "")]),
                    4 | 5 => garden.branch(&name(one), &given(Kind::Hose)),
                    6 => garden.branch(&name(one), &given(if other % 7 == 0 { Kind::Supply } else { Kind::Point })),
                    7 => garden.connect(&name(one), &name(one + 5), &given(if other % 4 == 1 { Kind::Point } else { Kind::Hose })),
                    8 => garden.add_source(&name(one), &given(if other % 4 == 1 { Kind::Hose } else { Kind::Supply })),
                    9 => garden.replace(&name(one), &part(if other % 4 == 1 { Kind::Valve } else { Kind::Hose }, None)),
                    _ => garden.with(&format!("{}.length", name(one)), feet(other as f64 - 5.0)),
                }
            };
            let (grown, reference) = (step(&lazy[at]), step(&eager[at]));
            match (grown, reference) {
                (Ok(grown), Ok(reference)) => {
                    reference.layout();
                    lazy.push(grown);
                    eager.push(reference);
                }
                (grown, reference) => prop_assert_eq!(grown.err(), reference.err()),
            }
        }
        for (grown, reference) in lazy.iter().zip(&eager) {
            prop_assert_eq!(grown, reference);
        }
    }
}
