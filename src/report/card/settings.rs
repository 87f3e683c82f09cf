//! The card beside the pump: settings, readings to expect, ratings, and what is checked when.

use super::super::ReportError;
use super::lines::{both, names, sheet, table, text};
use crate::figure::{Sheet, SheetBlock, SheetCell};
use crate::findings::{Level, title};
use crate::garden::Garden;
use crate::parts::{Backward, Id, Start};
use crate::quantity::Quantity;
use crate::settings::{Ask, DriveWindow, SettingsError, Window, drive_window, switch_window};

/// Settings of a part that somebody turns or pumps up, with what they are called.
const SET: [(Id, &str); 7] = [
    (Id::CutIn, "cut-in: the pump starts"),
    (Id::CutOut, "cut-out: the pump stops"),
    (Id::Precharge, "precharge, tank drained"),
    (Id::Volume, "volume"),
    (Id::Set, "set pressure"),
    (Id::StartMargin, "start margin: the pump starts this far below"),
    (Id::DryRunCutoff, "dry-run cut-off"),
];

/// The card of the settings. Errors: nothing to set.
pub fn settings_card(garden: &Garden) -> Result<Sheet, ReportError> {
    let shown = |value: Quantity| both(value, garden);
    let mut rows: Vec<Vec<SheetCell>> = Vec::new();
    for (place, part) in garden.parts().iter().enumerate() {
        // The volume of a barrel is no setting.
        let known = SET.iter().filter(|(id, _)| *id != Id::Volume || part.spec().has_cushion());
        for (id, words) in known {
            if let Some(value) = part.shown(*id, garden.units()) {
                rows.push(vec![text(title(garden, place)), text(*words), text(shown(value)), SheetCell::Blank]);
            }
        }
    }
    if rows.is_empty() {
        let missing = "pressure switch, tank, relief valve or regulator";
        return Err(ReportError::EmptyCard { card: "settings", missing });
    }
    let mut blocks = vec![SheetBlock::Heading("Settings".into()), table(&["Part", "Setting", "Value", "As found"], rows)];
    if garden.switches().next().is_some() {
        match switch_window(garden, &Ask::default()) {
            Ok(window) => blocks.extend(readings(&window)),
            Err(error) => blocks.push(unknown(&error)),
        }
    } else if !garden.layout().drives.is_empty() {
        match drive_window(garden, &Ask::default()) {
            Ok(window) => blocks.extend(readings_of_drive(&window)),
            Err(error) => blocks.push(unknown(&error)),
        }
    }
    blocks.extend(ratings(garden));
    blocks.push(SheetBlock::Heading("Checked".into()));
    blocks.push(SheetBlock::Blanks(checks(garden)));
    let pumps: Vec<&str> = garden.boosters().map(|place| garden.name(place)).collect();
    let subtitle = if pumps.is_empty() { String::new() } else { format!("Pump {}", names(&pumps)) };
    Ok(sheet(garden, "Pump and pressure settings", subtitle, blocks))
}

fn unknown(error: &SettingsError) -> SheetBlock {
    SheetBlock::Text(format!("Readings of the gauge were not computed: {error}."))
}

/// What the gauge at the switch reads in each zone, which settings work, and what is wrong with the present ones.
fn readings(window: &Window) -> Vec<SheetBlock> {
    let garden = &window.garden;
    let shown = |si: f64| both(window.pressure(si), garden);
    let mut rows: Vec<Vec<SheetCell>> = window
        .cases
        .iter()
        .map(|case| vec![text(case.title()), text(shown(case.off_pa)), text(shown(case.on_pa)), SheetCell::Blank])
        .collect();
    rows.push(vec![text("all closed"), text(shown(window.rest_pa)), text(shown(window.dead_head_pa)), SheetCell::Blank]);
    let mut blocks = vec![
        SheetBlock::Heading("What the gauge at the switch reads".into()),
        table(&["Zone", "Pump off", "Pump on", "Read"], rows),
    ];
    let range = |range: crate::settings::Range| format!("{} to {}", shown(range.low_pa), shown(range.high_pa));
    if let (Some(cut_in), Some(cut_out)) = (window.cut_in, window.cut_out) {
        let apart = shown(window.differential_pa);
        let text = format!(
            "Cut-in may be {}, cut-out {}, at least {apart} above cut-in ({}).",
            range(cut_in),
            range(cut_out),
            window.verdict.word()
        );
        blocks.push(SheetBlock::Text(text));
    } else {
        blocks.push(SheetBlock::Text("No settings of the pressure switch work in all zones.".into()));
    }
    let findings = window.findings();
    for finding in findings.iter().filter(|finding| finding.level() != Level::Note) {
        let system = garden.units();
        let (what, action) = (finding.what(system), finding.action(system));
        blocks.push(SheetBlock::Text(format!("{}: {what}; {action}.", finding.level().word())));
    }
    blocks
}

/// What the gauge at the pump reads in each zone without the pump and at full speed, what the heads need there, and which set pressures work.
fn readings_of_drive(window: &DriveWindow) -> Vec<SheetBlock> {
    let garden = &window.garden;
    let shown = |si: f64| both(window.pressure(si), garden);
    let needs = |needs_pa: Option<f64>| match needs_pa {
        Some(needs_pa) if needs_pa.is_infinite() => "more than full speed".into(),
        needs_pa => needs_pa.map_or_else(String::new, shown),
    };
    let rows = window.zones.iter().map(|zone| {
        let cells = [shown(zone.off_pa), needs(zone.needs_pa), shown(zone.full_speed_pa)];
        [text(zone.title())].into_iter().chain(cells.map(text)).chain([SheetCell::Blank]).collect()
    });
    let works = match window.range {
        Some(range) => {
            let (low, high) = (shown(range.low_pa), shown(range.high_pa));
            let takes =
                window.suggested.map_or(String::new(), |suggested| format!("; {} takes the least power", shown(suggested.si)));
            format!("The set pressure may be {low} to {high} ({}){takes}.", window.verdict.word())
        }
        None => "No set pressure of the drive works in all zones.".into(),
    };
    vec![
        SheetBlock::Heading("What the gauge at the pump reads".into()),
        table(&["Zone", "Pump off", "Needed", "Full speed", "Read"], rows.collect()),
        SheetBlock::Text(works),
    ]
}

/// Pressure ratings of the parts, the weakest first.
fn ratings(garden: &Garden) -> Vec<SheetBlock> {
    let rating = |place: usize| Some((place, garden.parts()[place].shown(Id::PressureRating, garden.units())?));
    let mut rated: Vec<(usize, Quantity)> = (0..garden.parts().len()).filter_map(rating).collect();
    rated.sort_by(|a, b| a.1.si.total_cmp(&b.1.si));
    // Like ratings share a row.
    let mut rows: Vec<(Quantity, Vec<&str>)> = Vec::new();
    for (place, value) in rated {
        match rows.last_mut() {
            Some((like, parts)) if like.si == value.si => parts.push(garden.name(place)),
            _ => rows.push((value, vec![garden.name(place)])),
        }
    }
    if rows.is_empty() {
        return Vec::new();
    }
    let cells = rows.iter().map(|(value, parts)| vec![text(both(*value, garden)), text(names(parts))]).collect();
    vec![SheetBlock::Heading("Ratings, never exceeded".into()), table(&["Rating", "Parts"], cells)]
}

/// What is checked, each with a line for date and name.
fn checks(garden: &Garden) -> Vec<String> {
    let mut checks = Vec::new();
    let any = |is_so: &dyn Fn(&crate::parts::Spec) -> bool| garden.of_spec(is_so).next().is_some();
    if any(&|spec| spec.has_cushion()) {
        checks.extend(["Precharge in spring", "Precharge in fall"]);
    }
    if any(&|spec| spec.is_switch()) {
        checks.extend(["Cut-in and cut-out by the gauge"]);
    }
    if any(&|spec| spec.traits.starts == Some(Start::Speed)) {
        checks.push("Set pressure of the drive by the gauge");
    }
    if any(&|spec| spec.traits.relieves) {
        checks.push("Relief valve lifted by hand");
    }
    if any(&|spec| spec.traits.pumps) {
        checks.push("GFCI (RCD) of the pump tripped");
    }
    if any(&|spec| spec.traits.backward == Backward::Protects) {
        checks.extend(["Backflow device tested on", "tested by"]);
    }
    checks.extend(["Settings changed on", "changed by"]);
    checks.into_iter().map(String::from).collect()
}
