//! A zone in two: some of its legs move to a valve of their own, beside the old one.
//!
//! Where hoses lead from the valve to the branching, the new valve gets such hoses too, from the stock.

use super::made::{Made, called};
use crate::garden::{Garden, GardenError};
use crate::parts::{Id, Part, Placing};

/// At most this many legs at a branching are divided in every way; more are cut in two in their order.
const FEW_LEGS: usize = 5;
/// Most parts of a leg, and of the way to a branching.
const MOST_PARTS: usize = 200;

/// A zone whose legs are divided between its valve and a new one.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Split {
    pub valve: String,
    pub valve_from_stock: usize,
    /// The hose that is laid along the way, where there is one.
    hose_from_stock: Option<usize>,
    /// What leads from the valve to the branching: hoses, and changes of height.
    way: Vec<String>,
    moved: Vec<Leg>,
}

/// Parts one after another, then several legs or none.
#[derive(Clone, Debug, PartialEq)]
struct Leg {
    parts: Vec<String>,
    onward: Vec<Leg>,
}

/// A place where a zone can be divided.
struct Branching {
    way: Vec<usize>,
    legs: Vec<Leg>,
}

/// All ways to split a zone with a valve of the stock; the parts in these places stay where they are.
pub(super) fn splits(garden: &Garden, valve: usize, from_stock: usize, stock: &[Part], kept: &[usize]) -> Vec<Split> {
    let hoses: Vec<usize> = (0..stock.len()).filter(|&at| stock[at].spec().is_line()).collect();
    let stays = |name: &String| garden.find(name).is_ok_and(|place| kept.contains(&place));
    let mut found = Vec::new();
    for branching in branchings(garden, valve) {
        let way: Vec<String> = branching.way.iter().map(|&place| garden.name(place).to_string()).collect();
        let is_laid = branching.way.iter().any(|&place| garden.spec(place).is_line());
        let with: Vec<Option<usize>> = if is_laid { hoses.iter().copied().map(Some).collect() } else { vec![None] };
        for hose_from_stock in with {
            for moved in divisions(&branching.legs, way.is_empty()) {
                if moved.iter().any(|leg| leg.names().into_iter().any(stays)) {
                    continue;
                }
                let valve = garden.name(valve).to_string();
                found.push(Split { valve, valve_from_stock: from_stock, hose_from_stock, way: way.clone(), moved });
            }
        }
    }
    found
}

/// The legs that move, for each way to divide them; where both valves are alike, the first leg stays.
fn divisions(legs: &[Leg], are_alike: bool) -> Vec<Vec<Leg>> {
    let taken = |is_moved: &dyn Fn(usize) -> bool| -> Vec<Leg> {
        legs.iter().enumerate().filter(|(at, _)| is_moved(*at)).map(|(_, leg)| leg.clone()).collect()
    };
    if legs.len() > FEW_LEGS {
        return (1..legs.len()).map(|first| taken(&|at| at >= first)).collect();
    }
    let sets = 1..(1usize << legs.len()) - 1;
    sets.filter(|set| !are_alike || set & 1 == 0).map(|set| taken(&|at| set >> at & 1 == 1)).collect()
}

/// Where two legs or more with heads begin downstream of a valve.
fn branchings(garden: &Garden, valve: usize) -> Vec<Branching> {
    let layout = garden.layout();
    let mut found = Vec::new();
    let mut ahead = vec![(layout.places[valve].to, valve, Vec::new())];
    while let Some((node, by, way)) = ahead.pop() {
        let Some((here, onward)) = beyond(garden, node, by) else { continue };
        let mut legs: Vec<Leg> = here
            .iter()
            .filter(|&&place| garden.spec(place).traits.waters)
            .map(|&place| Leg { parts: vec![garden.name(place).to_string()], onward: Vec::new() })
            .collect();
        legs.extend(onward.iter().filter_map(|&place| leg(garden, place)).filter(|leg| leg.waters(garden)));
        if legs.len() > 1 {
            found.push(Branching { way: way.clone(), legs });
        }
        for place in onward {
            let spec = garden.spec(place);
            if (spec.is_line() || spec.has(Id::Height)) && way.len() < MOST_PARTS {
                let further = way.iter().copied().chain([place]).collect();
                ahead.push((layout.places[place].to, place, further));
            }
        }
    }
    found
}

/// What is at a node, besides the part by which it is reached: parts at the point, and parts in line that lead on. None where water comes
/// to it by another way too.
fn beyond(garden: &Garden, node: usize, by: usize) -> Option<(Vec<usize>, Vec<usize>)> {
    let (mut here, mut onward) = (Vec::new(), Vec::new());
    for &place in garden.layout().joined()[node].iter().filter(|&&place| place != by) {
        let ends = &garden.layout().places[place];
        match garden.spec(place).placing {
            Placing::Source => return None,
            Placing::Inline if ends.from == node && ends.to != node => onward.push(place),
            Placing::Inline => return None,
            Placing::Outlet | Placing::AtPoint => here.push(place),
        }
    }
    Some((here, onward))
}

/// The leg that begins with a part in line. None where it is no tree, or has valves or pumps in it.
fn leg(garden: &Garden, first: usize) -> Option<Leg> {
    let (mut parts, mut at) = (Vec::new(), first);
    loop {
        let traits = &garden.spec(at).traits;
        if traits.opens || traits.pumps || parts.len() > MOST_PARTS {
            return None;
        }
        parts.push(garden.name(at).to_string());
        let (here, onward) = beyond(garden, garden.layout().places[at].to, at)?;
        if here.iter().any(|&place| garden.spec(place).traits.starts.is_some()) {
            return None;
        }
        parts.extend(here.iter().map(|&place| garden.name(place).to_string()));
        match onward[..] {
            [only] => at = only,
            _ => {
                let onward = onward.into_iter().map(|place| leg(garden, place)).collect::<Option<Vec<_>>>()?;
                return Some(Leg { parts, onward });
            }
        }
    }
}

impl Leg {
    fn names(&self) -> Vec<&String> {
        self.parts.iter().chain(self.onward.iter().flat_map(Leg::names)).collect()
    }

    fn waters(&self, garden: &Garden) -> bool {
        self.names().into_iter().any(|name| garden.part(name).is_ok_and(|part| part.traits().waters))
    }

    /// The leg as a line of its own, and as script.
    fn line(&self, garden: &Garden) -> Result<(Garden, String), GardenError> {
        let mut made: Option<(Garden, String)> = None;
        for name in &self.parts {
            let part = Garden::of(garden.part(name)?.clone().named(name)?);
            let text = format!("garden.part(\"{name}\")");
            made = Some(match made {
                None => (part, text),
                Some((line, before)) => (line.then(&part)?, format!("{before} >> {text}")),
            });
        }
        on_to(made.ok_or(GardenError::NoLength)?, &self.onward, garden)
    }
}

/// A line and downstream of it some legs.
fn on_to((line, text): (Garden, String), legs: &[Leg], garden: &Garden) -> Result<(Garden, String), GardenError> {
    let (lines, texts): (Vec<Garden>, Vec<String>) =
        legs.iter().map(|leg| leg.line(garden)).collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
    Ok(match &lines[..] {
        [] => (line, text),
        [only] => (line.then(only)?, format!("{text} >> {}", texts[0])),
        _ => (line.then_branches(&lines)?, format!("{text} >> [{}]", texts.join(", "))),
    })
}

impl Split {
    /// What the new valve and the hoses to the branching cost.
    pub fn cost(&self, prices: &[f64], pieces: impl Fn(&String, usize) -> f64, garden: &Garden) -> f64 {
        let is_line = |name: &&String| garden.part(name).is_ok_and(|part| part.spec().is_line());
        let hoses = self
            .hose_from_stock
            .map_or(0.0, |hose| self.way.iter().filter(is_line).map(|name| pieces(name, hose) * prices[hose]).sum());
        prices[self.valve_from_stock] + hoses
    }

    /// The garden with two zones in the place of one; the old valve and the new one.
    pub fn made(&self, garden: &Garden, stock: &[Part]) -> Result<Made, GardenError> {
        let valve = garden.free_name(&format!("{} 2", self.valve));
        let new_valve = Garden::of(stock[self.valve_from_stock].clone().named(&valve)?);
        let mut line = (new_valve, format!("stock[{}].named(\"{valve}\")", self.valve_from_stock));
        let (mut lengths, mut hoses) = (Vec::new(), Vec::new());
        for name in &self.way {
            let twin = garden.free_name(&format!("second {name}"));
            let old = garden.part(name)?;
            let (part, text) = match self.hose_from_stock.filter(|_| old.spec().is_line()) {
                Some(hose) => {
                    lengths.push((format!("{twin}.length"), format!("{name}.length")));
                    hoses.push(twin.clone());
                    (stock[hose].clone(), format!("stock[{hose}].named(\"{twin}\")"))
                }
                None => (old.clone(), format!("garden.part(\"{name}\").named(\"{twin}\")")),
            };
            line = (line.0.then(&Garden::of(part.named(&twin)?))?, format!("{} >> {text}", line.1));
        }
        let (line, text) = on_to(line, &self.moved, garden)?;
        let gone: Vec<&String> = self.moved.iter().flat_map(Leg::names).collect();
        let names: Vec<&str> = gone.iter().map(|name| name.as_str()).collect();
        let at = upstream(garden, garden.find(&self.valve)?).ok_or(GardenError::NoOpenEnd)?;
        let mut changed = garden.without(&names)?.branch(garden.name(at), &line)?;
        let quoted: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
        let mut script = format!(".without([{}]).branch(\"{}\", {text})", quoted.join(", "), garden.name(at));
        for (path, from) in &lengths {
            changed = changed.with(path, garden.parameter(from)?)?;
            script += &format!(".with(\"{path}\", garden[\"{from}\"])");
        }
        let heads = names.iter().filter(|name| garden.part(name).is_ok_and(|part| part.traits().waters));
        let heads: Vec<&str> = heads.copied().collect();
        let over =
            self.hose_from_stock.map_or(String::new(), |hose| format!(" over {} as {}", called(stock, hose), hoses.join(", ")));
        let words =
            format!("{} split: {} on {} as {valve}{over}", self.valve, heads.join(", "), called(stock, self.valve_from_stock));
        Ok(Made { garden: changed, script, words, twin: Some((self.valve.clone(), valve)) })
    }
}

/// A part that ends where another one begins.
fn upstream(garden: &Garden, place: usize) -> Option<usize> {
    let layout = garden.layout();
    let node = layout.places[place].from;
    let ends = |other: &usize| *other != place && layout.places[*other].to == node;
    let there = || layout.joined()[node].iter().copied().filter(ends);
    let of = |placing: Placing| there().find(|&other| garden.spec(other).placing == placing);
    of(Placing::Inline).or_else(|| of(Placing::Source))
}
