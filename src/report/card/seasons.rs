//! The card for fall and spring: what is drained, where air goes in, in which order zones are blown out, and how the garden starts again.
//!
//! All of it follows from the parts and how they are joined: the compressor never pushes air through a pump, a backflow device, a meter or an injector.

use super::super::ReportError;
use super::lines::{both, names, sheet, table, text};
use crate::figure::{Sheet, SheetBlock, SheetCell};
use crate::findings::title;
use crate::garden::Garden;
use crate::garden::walk::Way;
use crate::parts::{Backward, Id, Part, Placing, Spec};
use crate::quantity::{PSI_PA, Quantity, dim};
use std::cmp::Ordering;

/// Air pressure that no pipe or hose of a garden gets more of. Common practice, no source: that for polyethylene; PVC stands 80 psi.
const MOST_AIR_PA: f64 = 50.0 * PSI_PA;
/// Heights that differ by less count as one, m.
const ALIKE_M: f64 = 0.1;

/// The garden as water finds it: from its sources through parts in line.
struct Ways<'a> {
    garden: &'a Garden,
    /// The part by which each node is reached first, and the node it comes from.
    before: Vec<Option<(usize, usize)>>,
    /// Height of each node above its source, m.
    rise_m: Vec<f64>,
    /// Length of hose and pipe to each node, m.
    length_m: Vec<f64>,
    /// Parts in line in the order in which they are passed.
    order: Vec<usize>,
}

/// Where air goes in for a zone.
#[derive(Clone, Debug, PartialEq)]
struct Inlet {
    /// The last part upstream that takes no air; none where only the shut-off is upstream.
    behind: Option<usize>,
    /// The hose or pipe right downstream of it.
    at: Option<usize>,
}

/// A zone with what its order depends on.
struct Zone {
    valve: usize,
    rise_m: f64,
    lowest_m: f64,
    length_m: f64,
    inlets: Vec<Inlet>,
    /// The most air pressure that its parts take, Pa.
    air_pa: f64,
    outlets: usize,
    is_buried: bool,
}

fn takes_no_air(spec: &Spec) -> bool {
    let traits = &spec.traits;
    traits.pumps || traits.meters || traits.injects || traits.backward == Backward::Protects
}

impl<'a> Ways<'a> {
    fn of(garden: &'a Garden) -> Ways<'a> {
        let layout = garden.layout();
        let nodes = layout.number_of_nodes;
        let sources = garden.of_spec(|spec| spec.placing == Placing::Source).map(|place| layout.places[place].to);
        let (mut before, mut rise_m, mut length_m) = (vec![None; nodes], vec![0.0; nodes], vec![0.0; nodes]);
        let mut order = Vec::new();
        for (passage, ()) in garden.walk().from(sources, |_| Some(())) {
            let part = &garden.parts()[passage.place];
            let sign = if passage.way == Way::Down { 1.0 } else { -1.0 };
            before[passage.to] = Some((passage.place, passage.from));
            rise_m[passage.to] = rise_m[passage.from] + sign * part.rise_m();
            length_m[passage.to] = length_m[passage.from] + part.si(Id::Length).unwrap_or(0.0);
            order.push(passage.place);
        }
        Ways { garden, before, rise_m, length_m, order }
    }

    /// The parts in line from a source to a node.
    fn way_to(&self, node: usize) -> Vec<usize> {
        let mut way = Vec::new();
        let mut here = node;
        while let Some((place, from)) = self.before[here] {
            way.push(place);
            here = from;
        }
        way.reverse();
        way
    }

    fn zones(&self) -> Vec<Zone> {
        let garden = self.garden;
        let zones_of = garden.zones_of_places();
        let outlets = |valve: usize| -> Vec<usize> {
            let waters = garden.of_spec(|spec| spec.placing == Placing::Outlet && spec.traits.gives_water);
            waters.filter(|outlet| zones_of[*outlet].contains(&valve)).map(|outlet| garden.layout().places[outlet].from).collect()
        };
        let zone = |valve: usize| {
            let nodes = outlets(valve);
            let mut zone = Zone {
                valve,
                rise_m: f64::NEG_INFINITY,
                lowest_m: f64::INFINITY,
                length_m: 0.0,
                inlets: Vec::new(),
                air_pa: MOST_AIR_PA,
                outlets: nodes.len(),
                is_buried: false,
            };
            for node in &nodes {
                let way = self.way_to(*node);
                let behind = way.iter().rposition(|place| takes_no_air(garden.spec(*place)));
                let blown = &way[behind.map_or(0, |at| at + 1)..];
                let at = blown.first().copied().filter(|place| garden.spec(*place).is_line());
                let inlet = Inlet { behind: behind.map(|at| way[at]), at };
                if !zone.inlets.contains(&inlet) {
                    zone.inlets.push(inlet);
                }
                let weakest_pa = blown.iter().filter_map(|place| garden.parts()[*place].si(Id::PressureRating));
                zone.air_pa = weakest_pa.fold(zone.air_pa, f64::min);
                zone.is_buried |= blown.iter().any(|place| garden.spec(*place).traits.trenched);
                zone.rise_m = zone.rise_m.max(self.rise_m[*node]);
                zone.lowest_m = zone.lowest_m.min(self.rise_m[*node]);
                zone.length_m = zone.length_m.max(self.length_m[*node]);
            }
            zone
        };
        garden.valves().map(zone).filter(|zone| zone.outlets > 0).collect()
    }
}

/// The highest zone first, of those at one height the farthest. Common practice, no source.
fn highest_first(a: &Zone, b: &Zone) -> Ordering {
    if (a.rise_m - b.rise_m).abs() > ALIKE_M { b.rise_m.total_cmp(&a.rise_m) } else { b.length_m.total_cmp(&a.length_m) }
}

/// The card for fall and spring. Errors: no source.
pub fn seasons_card(garden: &Garden) -> Result<Sheet, ReportError> {
    if garden.of_spec(|spec| spec.placing == Placing::Source).next().is_none() {
        return Err(ReportError::EmptyCard { card: "spring and fall", missing: "supply or open tank" });
    }
    let ways = Ways::of(garden);
    let mut zones = ways.zones();
    let lowest = zones.iter().min_by(|a, b| a.lowest_m.total_cmp(&b.lowest_m)).map(|zone| zone.valve);
    let farthest = zones.iter().max_by(|a, b| a.length_m.total_cmp(&b.length_m)).map(|zone| zone.valve);
    let mut blocks = vec![SheetBlock::Heading("Fall: close the water".into()), SheetBlock::Steps(close(garden, lowest))];
    zones.sort_by(highest_first);
    let buried: Vec<&Zone> = zones.iter().filter(|zone| zone.is_buried).collect();
    if !buried.is_empty() {
        blocks.extend(blow_out(garden, &buried));
    }
    blocks.push(SheetBlock::Heading("Fall: drain and store, in the order of the water".into()));
    blocks.push(SheetBlock::Steps(drain(&ways)));
    zones.sort_by(|a, b| a.length_m.total_cmp(&b.length_m));
    blocks.push(SheetBlock::Heading("Spring: start".into()));
    blocks.push(SheetBlock::Steps(start(garden, farthest, &zones)));
    let lines = ["Drained on", "by", "Started on", "by"];
    blocks.push(SheetBlock::Blanks(lines.map(String::from).to_vec()));
    Ok(sheet(garden, "Spring and fall", String::new(), blocks))
}

/// The names of the parts of a sort.
fn named(garden: &Garden, is_so: impl Fn(&Spec) -> bool) -> Vec<&str> {
    garden.of_spec(is_so).map(|place| garden.name(place)).collect()
}

/// A step about parts of a sort, where there are some.
fn step(garden: &Garden, is_so: impl Fn(&Spec) -> bool, sentence: impl Fn(&str) -> String) -> Option<String> {
    let found = named(garden, is_so);
    (!found.is_empty()).then(|| sentence(&names(&found)))
}

fn close(garden: &Garden, lowest: Option<usize>) -> Vec<String> {
    let lowest = lowest.map(|valve| garden.name(valve));
    let steps = [
        step(garden, Spec::is_main, |names| format!("Close the shut-off of {names} indoors and open its drain.")),
        step(garden, |spec| spec.traits.opens, |_| "Turn the timer off and take its batteries out.".into()),
        step(garden, |spec| spec.traits.pumps, |names| format!("Switch {names} off and unplug it.")),
        lowest.map(|zone| format!("Open '{zone}', the lowest zone, until the gauge reads zero.")),
        step(
            garden,
            |spec| spec.has_cushion() && !spec.traits.takes_expansion,
            |names| format!("Drain {names}; the air charge stays in."),
        ),
    ];
    steps.into_iter().flatten().collect()
}

/// Where the compressor is joined, and the zones in order.
fn blow_out(garden: &Garden, zones: &[&Zone]) -> Vec<SheetBlock> {
    let mut inlets: Vec<(Inlet, Vec<&str>)> = Vec::new();
    for zone in zones {
        for inlet in &zone.inlets {
            let name = garden.name(zone.valve);
            match inlets.iter_mut().find(|(known, _)| known == inlet) {
                Some((_, zones)) => zones.push(name),
                None => inlets.push((inlet.clone(), vec![name])),
            }
        }
    }
    let alone = inlets.len() == 1;
    let sentence = |(inlet, zones): &(Inlet, Vec<&str>)| {
        let whose = if alone { String::new() } else { format!(" for {}", names(zones)) };
        let at = inlet.at.map_or(String::new(), |place| format!(", at the inlet of {}", title(garden, place)));
        match inlet.behind {
            Some(place) => format!("Connect the compressor{whose} downstream of {}{at}.", title(garden, place)),
            None => format!("Connect the compressor{whose} downstream of the closed shut-off{at}."),
        }
    };
    let mut steps: Vec<String> = inlets.iter().map(sentence).collect();
    let never = named(garden, takes_no_air);
    if !never.is_empty() {
        steps.push(format!("Never blow through {}.", names(&never)));
    }
    steps.push(
        "Open one zone at a time, then let air in. Stop when only mist comes, after 2 minutes at most; go round twice.".into(),
    );
    let pressure =
        |si: f64| both(Quantity { preference: garden.units().preference_of("psi"), ..Quantity::new(si, dim::PRESSURE) }, garden);
    let row = |(index, zone): (usize, &&Zone)| {
        vec![
            text((index + 1).to_string()),
            text(garden.name(zone.valve)),
            text(format!("at most {}", pressure(zone.air_pa))),
            text(zone.outlets.to_string()),
            SheetCell::Blank,
        ]
    };
    let rows = zones.iter().enumerate().map(row).collect();
    vec![
        SheetBlock::Heading("Fall: blow out".into()),
        SheetBlock::Steps(steps),
        table(&["Order", "Zone", "Air", "Outlets", "Blown out"], rows),
    ]
}

/// What is done with one sort of part in fall.
struct Sort {
    is_so: fn(&Spec) -> bool,
    sentence: fn(&str) -> String,
}

/// Sorts of parts that hold water; a part belongs to the first that fits.
const SORTS: [Sort; 12] = [
    Sort { is_so: |spec| spec.is_tank(), sentence: |names| format!("Empty {names} and leave the drain open.") },
    Sort {
        is_so: |spec| spec.traits.guard.is_some_and(|guard| !guard.continuous_pressure),
        sentence: |names| format!("Drain {names}; take it indoors where it comes off."),
    },
    Sort {
        is_so: |spec| spec.traits.backward == Backward::Protects,
        sentence: |names| format!("Set the ball valves of {names} half open (45 degrees) and open the test cocks."),
    },
    Sort {
        is_so: |spec| spec.traits.filters,
        sentence: |names| format!("Take the element out of {names}, clean it, and leave the bowl off."),
    },
    Sort {
        is_so: |spec| spec.traits.pumps,
        sentence: |names| format!("Open the drain plug of {names}; store it where it does not freeze."),
    },
    Sort {
        is_so: |spec| spec.traits.injects,
        sentence: |names| format!("Flush {names} with clean water, empty it, and take it indoors."),
    },
    Sort { is_so: |spec| spec.traits.drains, sentence: |names| format!("See that {names} runs empty and is free of mud.") },
    Sort { is_so: |spec| spec.traits.relieves, sentence: |names| format!("Lift the lever of {names} until no water comes.") },
    Sort { is_so: Spec::regulates, sentence: |names| format!("Take {names} indoors, drained.") },
    Sort {
        is_so: |spec| spec.is_one_way(),
        sentence: |names| format!("Loosen a coupling downstream of {names}, which holds water back."),
    },
    Sort {
        is_so: |spec| spec.traits.flexible,
        sentence: |names| format!("Uncouple {names}, drain toward the lower end, coil and store dry."),
    },
    Sort { is_so: |spec| spec.traits.opens, sentence: |names| format!("Leave {names} open.") },
];

/// Sources, parts in line in the order of the water, then outlets and what sits at a point; like parts are one step.
fn drain(ways: &Ways) -> Vec<String> {
    let garden = ways.garden;
    let sources = garden.of_spec(|spec| spec.placing == Placing::Source);
    let others = garden.of_spec(|spec| matches!(spec.placing, Placing::Outlet | Placing::AtPoint));
    let all: Vec<usize> = sources.chain(ways.order.iter().copied()).chain(others).collect();
    let mut steps: Vec<(usize, Vec<&str>)> = Vec::new();
    for place in all {
        let Some(sort) = SORTS.iter().position(|sort| (sort.is_so)(garden.spec(place))) else { continue };
        match steps.iter_mut().find(|(known, _)| *known == sort) {
            Some((_, names)) => names.push(garden.name(place)),
            None => steps.push((sort, vec![garden.name(place)])),
        }
    }
    steps.into_iter().map(|(sort, found)| (SORTS[sort].sentence)(&names(&found))).collect()
}

/// The values of a parameter of the parts of a sort, each with its part.
fn values(garden: &Garden, id: Id, part: &Part, place: usize) -> Option<String> {
    Some(format!("{} of '{}'", both(part.shown(id, garden.units())?, garden), garden.name(place)))
}

fn start(garden: &Garden, farthest: Option<usize>, nearest_first: &[Zone]) -> Vec<String> {
    let each = |id: Id| -> Vec<String> {
        let parts = garden.parts().iter().enumerate();
        parts.filter_map(|(place, part)| values(garden, id, part, place)).collect()
    };
    let precharges = each(Id::Precharge);
    let switched: Vec<String> = each(Id::CutIn).into_iter().map(|value| format!("cut-in {value}")).collect();
    let stopped: Vec<String> = each(Id::CutOut).into_iter().map(|value| format!("cut-out {value}")).collect();
    let farthest = farthest.map(|valve| format!(" with '{}', the farthest zone, open until no air comes", garden.name(valve)));
    let flushed: Vec<&str> = nearest_first.iter().map(|zone| garden.name(zone.valve)).collect();
    let steps = [
        step(garden, |spec| spec.traits.flexible, |names| format!("Look over {names} for bulges, cracks and worn washers.")),
        Some("Close all drains and test cocks, and put filter elements back.".into()),
        (!precharges.is_empty()).then(|| format!("Set the precharge with the tank drained: {}.", precharges.join(", "))),
        step(garden, Spec::is_main, |names| {
            format!("Open the shut-off of {names} slowly{}.", farthest.clone().unwrap_or_default())
        }),
        step(
            garden,
            |spec| spec.traits.backward == Backward::Protects,
            |names| format!("Have {names} tested by a certified tester where code requires it."),
        ),
        step(garden, |spec| spec.traits.pumps, |names| format!("Prime {names}, plug it in, and trip its GFCI (RCD).")),
        (!switched.is_empty()).then(|| format!("Check by the gauge: {}.", [switched, stopped].concat().join(", "))),
        step(garden, |spec| spec.traits.relieves, |names| format!("Lift {names} by hand: it must close again.")),
        (!flushed.is_empty()).then(|| format!("Flush the zones with their ends open, the nearest first: {}.", names(&flushed))),
        Some("Run each zone: look for leaks, clean nozzles, turn the heads.".into()),
        step(garden, |spec| spec.traits.opens, |_| "Put new batteries into the timer and set it from the watering card.".into()),
    ];
    steps.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use crate::findings::CAUTIONS;

    #[test]
    fn the_most_air_is_what_the_caution_says() {
        let caution = CAUTIONS.iter().find(|caution| caution.id == "blow-out").expect("the caution");
        let most = format!("{:.0} psi", super::MOST_AIR_PA / crate::quantity::PSI_PA);
        assert!(caution.text.contains(&format!("no more than {most}")), "{}", caution.text);
    }
}
