//! Cards of a garden of twelve zones: what they say, and that it fits on a page.

use super::super::ReportError;
use super::*;
use crate::figure::{Sheet, faults_of_sheet};
use crate::garden::Garden;
use crate::operation::{CalendarDays, Schedule, Timer};
use crate::parts::{Id, Kind, Part};
use crate::quantity::{Quantity, read_quantity};

fn q(text: &str) -> Quantity {
    read_quantity(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn part(kind: Kind, name: &str, values: &[(Id, &str)]) -> Garden {
    let values: Vec<(Id, Quantity)> = values.iter().map(|(id, value)| (*id, q(value))).collect();
    Garden::of(Part::build(kind, Some(name), &values).unwrap_or_else(|error| panic!("{name}: {error}")))
}

fn line(parts: &[Garden]) -> Garden {
    let mut line = parts[0].clone();
    for part in &parts[1..] {
        line = line.then(part).expect("a line");
    }
    line
}

const ZONES: [&str; 12] = [
    "lawn north",
    "lawn south",
    "lawn west",
    "roses",
    "hedge",
    "tomatoes",
    "beans",
    "lettuce",
    "berries",
    "orchard",
    "herbs",
    "front bed",
];

/// A main, a backflow device, a pump on a switch with its tank, buried pipe, twelve zones of which three stand high.
fn twelve() -> Garden {
    let pump = Part::new(Kind::Booster).named("pump").and_then(|pump| pump.with_curve(&[(0.0, 275_800.0), (7.6e-4, 124_000.0)]));
    let pump = pump.and_then(|pump| pump.with(&[(Id::InputPower, q("650 W")), (Id::Price, q("$320"))])).expect("a pump");
    let trunk = [
        part(
            Kind::Supply,
            "tap",
            &[(Id::StaticPressure, "58 psi"), (Id::MeasuredPressure, "44 psi"), (Id::MeasuredFlow, "9 gpm")],
        ),
        part(Kind::ReducedPressure, "backflow", &[(Id::Price, "$180")]),
        part(
            Kind::Hose,
            "feed",
            &[(Id::Length, "30 ft"), (Id::Diameter, "3/4 in"), (Id::PressureRating, "150 psi"), (Id::Price, "$32")],
        ),
        Garden::of(pump),
        part(Kind::PressureTank, "tank", &[(Id::Volume, "5 gal"), (Id::Precharge, "48 psi"), (Id::Price, "$70")]),
        part(Kind::PressureSwitch, "switch", &[(Id::CutIn, "50 psi"), (Id::CutOut, "75 psi")]),
        part(Kind::Relief, "relief", &[(Id::Set, "95 psi")]),
        part(
            Kind::Pipe,
            "main",
            &[(Id::Length, "120 ft"), (Id::Diameter, "1 in"), (Id::PressureRating, "160 psi"), (Id::Price, "$96")],
        ),
    ];
    let zone = |(index, name): (usize, &&str)| {
        let (height, length) = (if index < 3 { "6 ft" } else { "1 ft" }, format!("{} ft", 30 + 8 * index));
        let rating = if index == 5 { "40 psi" } else { "160 psi" };
        line(&[
            part(Kind::Valve, name, &[(Id::Price, "$22")]),
            part(Kind::Uphill, &format!("{name} rise"), &[(Id::Height, height)]),
            part(
                Kind::Pipe,
                &format!("{name} pipe"),
                &[(Id::Length, &length), (Id::Diameter, "3/4 in"), (Id::PressureRating, rating), (Id::Price, "$28")],
            ),
            part(Kind::Head, &format!("{name} head"), &[(Id::Nozzle, "5/32 in"), (Id::Price, "$9.5")]),
        ])
    };
    let zones: Vec<Garden> = ZONES.iter().enumerate().map(zone).collect();
    line(&trunk).then_branches(&zones).expect("a garden")
}

fn schedule() -> Schedule {
    let mut east = Timer::new("east");
    (east.starts_s, east.every_s, east.pause_s) = (vec![5.5 * 3600.0], 2.0 * 86_400.0, 60.0);
    east.zones = ZONES[..11].iter().map(|zone| (zone.to_string(), 720.0)).collect();
    let mut west = Timer::new("west");
    (west.starts_s, west.calendar) = (vec![22.0 * 3600.0, 23.5 * 3600.0], Some(CalendarDays::Weekdays(vec![0, 3])));
    west.zones = vec![("roses".into(), 300.0)];
    Schedule { timers: vec![east, west], ..Schedule::default() }
}

#[test]
fn cards_of_twelve_zones_say_what_they_should_and_fit_on_a_page() {
    let garden = twelve();
    let cards = [
        ("settings", settings_card(&garden)),
        ("watering", watering_card(&garden, &schedule())),
        ("spring-and-fall", seasons_card(&garden)),
        ("parts", parts_card(&garden)),
    ];
    for (name, card) in cards {
        let mut card = card.unwrap_or_else(|error| panic!("{name}: {error}"));
        insta::assert_snapshot!(format!("card-{name}"), in_words(&card));
        for (_, paper) in crate::figure::Paper::ALL {
            card.paper = paper;
            assert_eq!(faults_of_sheet(&card), (Vec::new(), 1), "{name} on {paper:?}");
        }
    }
}

#[test]
fn air_goes_in_downstream_of_what_takes_none_and_at_the_weakest_rating() {
    let card = in_words(&seasons_card(&twelve()).expect("a card"));
    assert!(card.contains("Connect the compressor downstream of booster 'pump', at the inlet of pipe 'main'."), "{card}");
    assert!(card.contains("Never blow through 'backflow' and 'pump'."), "{card}");
    assert!(card.contains("| tomatoes | at most 40 psi (2.76 bar) |"), "{card}");
    let order: Vec<usize> = ["lawn west", "lawn south", "lawn north", "front bed", "roses"]
        .map(|zone| card.find(&format!("| {zone} | at most")).expect("a zone"))
        .to_vec();
    assert!(order.is_sorted(), "the highest first, then the farthest: {order:?}");
}

#[test]
fn a_zone_with_its_own_backflow_device_has_its_own_place_for_air() {
    let pipe = |name: &str| part(Kind::Pipe, name, &[(Id::Length, "30 ft"), (Id::Diameter, "1 in")]);
    let head = |name: &str| part(Kind::Head, name, &[(Id::Nozzle, "1/8 in")]);
    let start = line(&[part(Kind::Supply, "tap", &[(Id::StaticPressure, "58 psi")]), pipe("main")]);
    let drip = line(&[part(Kind::Valve, "beds", &[]), part(Kind::PressureVacuumBreaker, "breaker", &[]), pipe("row"), head("a")]);
    let lawn = line(&[part(Kind::Valve, "lawn", &[]), pipe("lateral"), head("b")]);
    let card = in_words(&seasons_card(&start.then_branches(&[drip, lawn]).expect("a garden")).expect("a card"));
    assert!(card.contains("for 'beds' downstream of pressure vacuum breaker 'breaker', at the inlet of pipe 'row'."), "{card}");
    assert!(card.contains("for 'lawn' downstream of the closed shut-off, at the inlet of pipe 'main'."), "{card}");
}

#[test]
fn a_garden_of_hoses_is_not_blown_out_and_a_metric_one_is_metric() {
    let metric = line(&[
        part(Kind::Supply, "tap", &[(Id::StaticPressure, "4 bar")]),
        part(Kind::Hose, "feed", &[(Id::Length, "20 m"), (Id::Diameter, "19 mm")]),
        part(Kind::Valve, "beds", &[]),
        part(Kind::Head, "a", &[(Id::Nozzle, "4 mm")]),
    ]);
    let card = seasons_card(&metric).expect("a card");
    assert!(!in_words(&card).contains("compressor") && in_words(&card).contains("Uncouple 'feed'"));
    assert_eq!(card.paper, crate::figure::Paper::A4);
    let parts = in_words(&parts_card(&metric).expect("a card"));
    assert!(parts.contains("20 m (65.6 ft), 19 mm (0.748 in)"), "{parts}");
    let mut timer = Timer::new("east");
    (timer.starts_s, timer.zones) = (vec![0.0, 12.5 * 3600.0], vec![("beds".into(), 90.0)]);
    let watering = in_words(&watering_card(&metric, &Schedule { timers: vec![timer], ..Schedule::default() }).expect("a card"));
    assert!(watering.contains("beds | every day | 00:00 (12:00 AM), 12:30 (12:30 PM) | 1.5 | 2 | ____"), "{watering}");
}

#[test]
fn a_card_of_nothing_is_refused() {
    let head = part(Kind::Head, "a", &[(Id::Nozzle, "4 mm")]);
    let words = |card: Result<Sheet, ReportError>| card.expect_err("no card").to_string();
    assert_eq!(
        words(settings_card(&head)),
        "nothing for a card of settings: the garden has no pressure switch, tank, relief valve or regulator"
    );
    assert_eq!(words(seasons_card(&head)), "nothing for a card of spring and fall: the garden has no supply or open tank");
    assert_eq!(
        words(watering_card(&head, &Schedule::default())),
        "nothing for a card of watering: the garden has no zone on a timer"
    );
    assert!(watering_card(&twelve(), &Schedule { timers: vec![], ..schedule() }).is_err());
}
