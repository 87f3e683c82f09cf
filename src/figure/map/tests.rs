//! Whole maps: what must be on them, and that no text covers another, a symbol or the edge.

use super::*;
use crate::figure::geometry::clip_segment;
use crate::parts::SymbolShape;
use proptest::prelude::*;

fn rect_around((x, y): Spot, half: f64) -> Rect {
    Rect { left: x - half, top: y - half, right: x + half, bottom: y + half }
}

/// The boxes of all texts of a scene; letters reach a little less far than the line.
fn texts(scene: &Scene) -> Vec<(String, Rect)> {
    let of_text = |shape: &Shape| {
        let Shape::Text(text) = shape else { return None };
        let bounds = text.bounds();
        Some((text.content.clone(), Rect { top: bounds.top + 0.2 * text.size, ..bounds }))
    };
    scene.shapes.iter().filter_map(of_text).collect()
}

/// What is wrong on a map: texts over texts, over symbols, or beyond the sheet.
pub(crate) fn faults(map: &Map) -> Vec<String> {
    let scene = compose(map).expect("a map");
    let texts = texts(&scene);
    let sheet = Rect { left: 0.0, top: 0.0, right: f64::from(scene.width), bottom: f64::from(scene.height) };
    let mut faults = Vec::new();
    for (index, (one, rect)) in texts.iter().enumerate() {
        if !(sheet.holds((rect.left, rect.top)) && sheet.holds((rect.right, rect.bottom))) {
            faults.push(format!("'{one}' leaves the sheet: {rect:?} of {sheet:?}"));
        }
        for (other, its) in &texts[..index] {
            if rect.shared_area(its) > 0.0 {
                faults.push(format!("'{one}' covers '{other}'"));
            }
        }
    }
    let table = map.roster.as_ref().map(|roster| table_of(map, roster));
    let laid = laid(map, table.as_ref(), heading(map).1);
    let spots: Vec<Spot> = match &laid.ground {
        Plot::Real(real) => real.spots.clone(),
        Plot::Scheme(scheme) => map.symbols.iter().map(|symbol| scheme.px(symbol.at)).collect(),
    };
    for (symbol, (x, y)) in map.symbols.iter().zip(spots).filter(|(symbol, _)| symbol.shape != SymbolShape::Bare) {
        let body = rect_around((x, y), 8.0);
        let own = if let Label::Number(number) = symbol.label { number.to_string() } else { String::new() };
        for (text, _) in texts.iter().filter(|(text, rect)| rect.shared_area(&body) > 0.0 && *text != own) {
            faults.push(format!("'{text}' covers the symbol of {:?} at {x} {y}", symbol.lines));
        }
    }
    faults
}

fn symbol(shape: SymbolShape, at: (f64, f64), seat: Seat, label: Label) -> Symbol {
    let lines = match &label {
        Label::Lines(lines) | Label::Spare(lines) => lines.clone(),
        Label::Number(number) => vec![number.to_string()],
        Label::Nothing => Vec::new(),
    };
    Symbol { shape, at, toward: (1.0, 0.3), seat, active: Activity::Active, lines, label }
}

fn lines(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| text.to_string()).collect()
}

fn roster(count: usize) -> Roster {
    let row = |number: usize| (number, lines(&[&format!("head in row {number}"), "46.7", "1.72", "24.0", "in range"]));
    let group = |zone: usize| RosterGroup {
        title: format!("zone {zone}: 6.3 gpm"),
        rows: (zone * 6 + 1..=(zone * 6 + 6).min(count)).map(row).collect(),
        folded: zone % 3 == 1,
    };
    Roster {
        columns: lines(&["head", "pressure (psi)", "flow (gpm)", "throw (ft)", "state"]),
        groups: (0..count.div_ceil(6)).map(group).collect(),
    }
}

/// Heads with numbers on rows of their own behind a manifold.
fn fan(count: usize) -> Map {
    let mut map = Map::empty(Ground::Grid);
    map.symbols.push(symbol(SymbolShape::Tap, (0.0, count as f64 / 2.0), Seat::AtStart, Label::Lines(lines(&["tap", "60 psi"]))));
    for number in 1..=count {
        let y = number as f64;
        map.routes.push(Route {
            points: vec![(0.0, count as f64 / 2.0), (0.0, y), (1.0, y)],
            width: 3.0,
            water: Water::Flows(y),
        });
        map.symbols.push(symbol(SymbolShape::Bare, (0.5, y), Seat::OnLine, Label::Spare(lines(&["20 ft, 1/2 in"]))));
        map.symbols.push(symbol(SymbolShape::Head, (1.0, y), Seat::AtEnd, Label::Number(number)));
    }
    map.roster = Some(roster(count));
    map.key = Some(Axis::new("pressure").unit("psi"));
    map
}

#[test]
fn rows_of_the_table_stand_beside_their_heads_in_a_scheme_and_need_no_numbers() {
    for count in [7, 12, 60] {
        let map = fan(count);
        assert_eq!(faults(&map), Vec::<String>::new());
        let scene = compose(&map).expect("a map");
        let numbers = texts(&scene).iter().filter(|(text, _)| *text == "7").count();
        assert_eq!(numbers, 0);
        assert!(scene.height < 200 + 34 * count as u32, "{} for {count}", scene.height);
    }
}

#[test]
fn a_label_of_a_heap_is_joined_to_its_place() {
    let mut map = Map::empty(Ground::Real { unit: "ft".into() });
    for index in 0..6 {
        let at = if index == 5 { (60.0, 40.0) } else { (0.0, 0.0) };
        map.symbols.push(symbol(
            SymbolShape::Valve,
            at,
            Seat::OnLine,
            Label::Lines(lines(&[&format!("valve {index}"), "closed"])),
        ));
    }
    assert_eq!(faults(&map), Vec::<String>::new());
    let scene = compose(&map).expect("a map");
    let threads = scene.shapes.iter().filter(|shape| matches!(shape, Shape::Line { width, .. } if *width == 1.0)).count();
    assert!((4..=5).contains(&threads), "{threads}");
}

/// A map of random things: to scale with names and numbers, or a scheme in which each thing has its row.
fn random_map() -> impl Strategy<Value = Map> {
    let thing = (0.0f64..120.0, 0.0f64..80.0, "[a-z]{2,12}( [a-z]{1,8})?", 0u8..6);
    (prop::collection::vec(thing, 1..40), any::<bool>(), prop_oneof![Just(390u32), Just(760), Just(1100)], 0usize..70).prop_map(
        |(things, to_scale, width, heads)| {
            let mut map = if to_scale { Map::empty(Ground::Real { unit: "ft".into() }) } else { fan(heads.max(1)) };
            map.width = width;
            if !to_scale {
                let from = map.symbols.len() as f64;
                for (index, (_, _, name, kind)) in things.iter().enumerate() {
                    let y = from + index as f64;
                    let seat = if *kind > 3 { Seat::OnLine } else { Seat::AtEnd };
                    let x = if *kind > 3 { 0.5 } else { 1.0 };
                    map.routes.push(Route { points: vec![(0.0, 0.5), (0.0, y), (1.0, y)], width: 3.0, water: Water::Still });
                    map.symbols.push(symbol(SymbolShape::Relief, (x, y), seat, Label::Lines(lines(&[name, "90 psi", "closed"]))));
                }
                return map;
            }
            for (index, (x, y, name, kind)) in things.iter().enumerate() {
                let (x, y) = if *kind == 5 { (60.0, 40.0) } else { (*x, *y) };
                map.routes.push(Route { points: vec![(60.0, 0.0), (x, y)], width: 3.0, water: Water::Unknown });
                let (shape, label) = match kind {
                    0 => (SymbolShape::Bare, Label::Spare(lines(&["20 ft, 1/2 in"]))),
                    1 if index < 12 => (SymbolShape::Valve, Label::Lines(lines(&[name, "1 to 6, closed"]))),
                    _ => (SymbolShape::Head, Label::Nothing),
                };
                map.symbols.push(symbol(shape, (x, y), Seat::OnLine, label));
            }
            let count = map.symbols.iter().filter(|symbol| symbol.shape == SymbolShape::Head).count();
            let named = map.symbols.iter_mut().filter(|symbol| symbol.shape == SymbolShape::Head);
            for (index, symbol) in named.enumerate() {
                symbol.label = if count > 8 { Label::Number(index + 1) } else { Label::Lines(vec![format!("head {index}")]) };
                let throw = Throw { center: symbol.at, radius: 14.0, middle_deg: 30.0, arc_deg: 180.0, active: Activity::Idle };
                map.throws.push(throw);
            }
            if count > 8 {
                map.roster = Some(roster(count));
            }
            map
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    #[test]
    fn no_text_of_a_random_map_covers_another_a_symbol_or_the_edge(map in random_map()) {
        prop_assert_eq!(faults(&map), Vec::<String>::new());
        // What is needed is there.
        let shown = texts(&compose(&map).expect("a map"));
        for symbol in &map.symbols {
            if let Label::Lines(lines) = &symbol.label {
                prop_assert!(shown.iter().any(|(text, _)| *text == lines[0]), "{:?} of {} things at {}", lines, map.symbols.len(), map.width);
            }
        }
    }
}

/// Rates that fall from the lower left to the upper right, on a bed with a corner cut off.
pub(crate) fn watered() -> Map {
    let mut map = Map::empty(Ground::Real { unit: "ft".into() });
    map.symbols.push(symbol(SymbolShape::Head, (0.0, 0.0), Seat::AtEnd, Label::Lines(lines(&["southwest"]))));
    let (columns, rows) = (24, 16);
    let value = |column: usize, row: usize| 1.0 - (column as f64 / 24.0 + row as f64 / 16.0) / 2.0;
    let cell = |index: usize| {
        let (column, row) = (index % columns, index / columns);
        (column < 18 || row < 12).then(|| value(column, row))
    };
    map.rain = Some(Rain {
        frame: ((0.0, 0.0), (48.0, 32.0)),
        columns,
        values: (0..columns * rows).map(cell).collect(),
        axis: Axis::new("application rate").unit("in/h").from_zero(),
        beds: vec![vec![(0.0, 0.0), (48.0, 0.0), (48.0, 24.0), (36.0, 32.0), (0.0, 32.0)]],
        obstacles: vec![vec![(10.0, 10.0), (16.0, 10.0), (16.0, 14.0), (10.0, 14.0)]],
        driest: Some(((36.0, 30.0), "driest 0.1 in/h".into())),
        wind: Some(((1.0, 0.0), "wind 8 mph".into())),
        cans: vec![((20.0, 20.0), 0.4)],
    });
    map
}

#[test]
fn water_on_the_ground_has_classes_with_a_key_and_its_driest_spot() {
    let map = watered();
    assert_eq!(faults(&map), Vec::<String>::new());
    let shown: Vec<String> = texts(&compose(&map).expect("a map")).into_iter().map(|(text, _)| text).collect();
    for wanted in ["application rate (in/h)", "driest 0.1 in/h", "wind 8 mph", "north", "0", "0.2"] {
        assert!(shown.iter().any(|text| text == wanted), "{wanted} is not in {shown:?}");
    }
    let rain = map.rain.as_ref().expect("rain");
    let classes = Classes::of(rain).expect("classes");
    assert_ne!(classes.ink_of(0.05), classes.ink_of(0.95));
    assert_eq!(classes.ink_of(-1.0), classes.ink_of(0.0));
}

#[test]
fn the_label_of_a_hose_lies_beside_its_line() {
    let mut map = Map::empty(Ground::Real { unit: "m".into() });
    map.routes.push(Route { points: vec![(0.0, 0.0), (40.0, 20.0)], width: 4.0, water: Water::Unknown });
    let label = Label::Lines(lines(&["feed", "100 ft, 5/8 in"]));
    map.symbols.push(Symbol { toward: (40.0, 20.0), ..symbol(SymbolShape::Bare, (20.0, 10.0), Seat::OnLine, label) });
    let Plot::Real(real) = laid(&map, None, 0.0).ground else { panic!("to scale") };
    let line = (real.px((0.0, 0.0)), real.px((40.0, 20.0)));
    assert_eq!(clip_segment(line.0, line.1, &real.printed[0].where_to.rect), None);
}
