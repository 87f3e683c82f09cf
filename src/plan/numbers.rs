//! Numbers for what waters on a crowded plan, the table that belongs to them, and what stands beside each symbol.

use super::view::{View, decimals};
use crate::figure::{Ground, Label, Roster, RosterGroup};
use crate::parts::{Id, Part, Placing};
use crate::quantity::{Dimension, dim};
use std::collections::BTreeMap;

/// With more outlets that water than this, they have numbers and a table.
const MOST_NAMED: usize = 6;
/// With more hoses than this, their labels are left out where there is little room.
const MOST_HOSES: usize = 8;
/// What this number of hoses or more have in common is said once.
const MANY_ALIKE: usize = 4;
/// What is said of outlets of a closed zone.
const NO_FLOW: &str = "no flow";
/// What stands in place of a value that is missing.
const NONE: &str = "–";

/// The numbers of a plan.
pub(super) struct Numbers {
    /// The number of each part; none for what has its name on the plan.
    number_of: Vec<Option<usize>>,
    /// First and last number downstream of each valve.
    range_of: Vec<Option<(usize, usize)>>,
    pub roster: Option<Roster>,
    /// Whether each part is an outlet of zones that are closed while others run.
    pub idle: Vec<bool>,
    /// What they are: heads, or outlets of several kinds.
    word: &'static str,
    few_hoses: bool,
    /// The size that many hoses without a name have in common, which have no label.
    alike: Option<String>,
    /// What is said of them.
    pub left_out: Option<String>,
}

impl Numbers {
    pub fn of(view: &View) -> Numbers {
        let count = view.garden.parts().len();
        let few_hoses = (0..count).filter(|place| view.is_run(*place)).count() <= MOST_HOSES;
        let mut numbers = Numbers {
            number_of: vec![None; count],
            range_of: vec![None; count],
            roster: None,
            idle: vec![false; count],
            word: "head",
            few_hoses,
            alike: None,
            left_out: None,
        };
        let waters: Vec<usize> = (0..count).filter(|place| view.garden.spec(*place).traits.waters).collect();
        if waters.len() <= MOST_NAMED {
            return numbers;
        }
        let zones_of = view.garden.zones_of_places();
        let mut groups: Vec<(&[usize], Vec<usize>)> = Vec::new();
        for place in waters {
            match groups.iter_mut().find(|(zones, _)| *zones == zones_of[place]) {
                Some((_, places)) => places.push(place),
                None => groups.push((&zones_of[place], vec![place])),
            }
        }
        // What no valve closes comes last.
        groups.sort_by_key(|(zones, _)| zones.is_empty());
        let mut next = 1;
        for (zones, places) in &groups {
            for place in places {
                numbers.number_of[*place] = Some(next);
                next += 1;
            }
            for zone in *zones {
                let (first, last) = (next - places.len(), next - 1);
                let range = numbers.range_of[*zone].get_or_insert((first, last));
                *range = (range.0.min(first), range.1.max(last));
            }
        }
        if !groups.iter().flat_map(|(_, places)| places).all(|place| view.garden.spec(*place).throws()) {
            numbers.word = "outlet";
        }
        // Beside zones that run, those that are closed take little room.
        if groups.iter().any(|(zones, _)| !view.is_closed(zones)) {
            let closed = groups.iter().filter(|(zones, _)| view.is_closed(zones)).flat_map(|(_, places)| places);
            closed.for_each(|place| numbers.idle[*place] = true);
        }
        numbers.roster = Some(numbers.table(view, &groups));
        numbers.find_alike(view);
        numbers
    }

    /// Finds the size that most hoses without a name have.
    fn find_alike(&mut self, view: &View) {
        let mut sizes: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for place in (0..self.number_of.len()).filter(|place| view.is_run(*place) && view.garden.parts()[*place].name().is_none())
        {
            sizes.entry(view.numbers(place).join(", ")).or_default().push(place);
        }
        let Some((size, places)) = sizes.into_iter().max_by_key(|(_, places)| places.len()) else { return };
        if places.len() >= MANY_ALIKE && !size.is_empty() {
            let kind = view.garden.spec(places[0]).word;
            let kind = if places.iter().all(|place| view.garden.spec(*place).word == kind) { kind } else { "line" };
            self.left_out = Some(format!("{} {kind}s of {size} have no label", places.len()));
            self.alike = Some(size);
        }
    }

    fn table(&self, view: &View, groups: &[(&[usize], Vec<usize>)]) -> Roster {
        let places: Vec<usize> = groups.iter().flat_map(|(_, places)| places.iter().copied()).collect();
        let mut columns = vec![self.word.to_string()];
        let mut cells: Vec<Vec<String>> = places.iter().map(|place| vec![view.title(*place)]).collect();
        for (title, values) in view.columns(&places) {
            if values.iter().any(|value| value != NONE) {
                columns.push(title);
                cells.iter_mut().zip(values).for_each(|(row, value)| row.push(value));
            }
        }
        let mut cells = cells.into_iter();
        let group = |(zones, places): &(&[usize], Vec<usize>)| RosterGroup {
            title: view.zone_title(zones),
            rows: places.iter().filter_map(|place| self.number_of[*place]).zip(cells.by_ref().take(places.len())).collect(),
            folded: places.iter().all(|place| self.idle[*place]),
        };
        Roster { columns, groups: groups.iter().map(group).collect() }
    }

    /// Leaves out of the table what is drawn as one thing.
    pub fn without_folded(mut self, folded: &[Option<Vec<usize>>]) -> Numbers {
        let gone: Vec<usize> = folded.iter().flatten().flatten().filter_map(|place| self.number_of[*place]).collect();
        if let Some(roster) = &mut self.roster {
            roster.groups.iter_mut().for_each(|group| group.rows.retain(|(number, _)| !gone.contains(number)));
            roster.groups.retain(|group| !group.rows.is_empty());
        }
        self
    }

    /// What is said of outlets that are drawn as one thing: the names of all for the description, of the first and the last on the plan.
    pub fn told_together(&self, view: &View, outlets: &[usize]) -> (Vec<String>, Label) {
        let names: Vec<String> = outlets.iter().map(|place| view.title(*place)).collect();
        let ends = names.first().zip(names.last()).map_or(String::new(), |(first, last)| format!("{first} to {last}"));
        (vec![names.join(", "), NO_FLOW.to_string()], Label::Lines(vec![ends]))
    }

    /// What is said of a part: all of it for the description, and what of it stands on the plan.
    pub fn told(&self, view: &View, place: usize, ground: &Ground) -> (Vec<String>, Label) {
        let mut lines = view.lines(place);
        if let Some(number) = self.number_of[place] {
            lines[0] = format!("{number} {}", lines[0]);
            return (lines, Label::Number(number));
        }
        let to_scale = *ground != Ground::Grid;
        let part = &view.garden.parts()[place];
        if let (true, Some(range)) = (part.traits().opens, self.range_of[place]) {
            let label = Label::Lines(vec![view.title(place), view.zone_line(place, range, (!to_scale).then_some(self.word))]);
            return (lines, label);
        }
        let is_named = part.name().is_some();
        let is_run = view.is_run(place);
        let label = match &self.roster {
            // Of the many hoses of a crowded plan only the sizes are shown.
            Some(_) if is_run && !is_named => {
                let size = view.numbers(place).join(", ");
                if self.alike.as_ref() == Some(&size) { Label::Nothing } else { Label::Spare(vec![size]) }
            }
            Some(_) if is_run && to_scale => Label::Spare(lines.clone()),
            _ if is_run && to_scale && !self.few_hoses => Label::Spare(lines.clone()),
            _ if to_scale && !is_named && !part.traits().gives_water && view.placing(place) == Placing::Inline => {
                if self.few_hoses { Label::Lines(lines.clone()) } else { Label::Spare(lines.clone()) }
            }
            _ => Label::Lines(lines.clone()),
        };
        (lines, label)
    }
}

impl View<'_> {
    /// The columns after the names, with their titles.
    fn columns(&self, places: &[usize]) -> Vec<(String, Vec<String>)> {
        let part = |place: &usize| &self.garden.parts()[*place];
        let sizes = || {
            places
                .iter()
                .map(|place| self.numbers(*place).join(", "))
                .map(|text| if text.is_empty() { NONE.into() } else { text })
        };
        let Some(solution) = self.solution else {
            let title = if places.iter().all(|place| self.garden.spec(*place).throws()) { "nozzle" } else { "rated" };
            let throws = places.iter().map(|place| part(place).si(Id::Radius));
            return vec![(title.into(), sizes().collect()), self.column("throw", dim::LENGTH, throws)];
        };
        let state = |place: &usize| &solution.parts[*place];
        let flows = |place: &usize| state(place).flow_m3_per_s != 0.0;
        let of_flowing = |value: fn(&Part, f64) -> Option<f64>| {
            places.iter().map(move |place| value(part(place), state(place).pressure_out_pa.filter(|_| flows(place))?))
        };
        let doing =
            places.iter().map(|place| solution.doing(*place).map_or_else(|| NONE.to_string(), |doing| doing.words().into()));
        vec![
            self.column("pressure", dim::PRESSURE, of_flowing(|_, pressure_pa| Some(pressure_pa))),
            self.column("flow", dim::FLOW, places.iter().map(|place| flows(place).then(|| state(place).flow_m3_per_s))),
            self.column("throw", dim::LENGTH, of_flowing(Part::throw_m)),
            ("state".into(), doing.collect()),
        ]
    }

    /// A column of values with its unit in the title, all with as many decimals as give the largest three digits.
    fn column(&self, title: &str, dimension: Dimension, values: impl Iterator<Item = Option<f64>>) -> (String, Vec<String>) {
        let values: Vec<Option<f64>> = values.map(|value| Some(self.shown(value?, dimension))).collect();
        let decimals = decimals(values.iter().flatten().fold(0.0, |most, value| value.abs().max(most)));
        let text = |value: &Option<f64>| value.map_or_else(|| NONE.to_string(), |value| format!("{value:.decimals$}"));
        (format!("{title} ({})", self.unit_text(dimension)), values.iter().map(text).collect())
    }

    /// The title of a zone in the table: its valves, and how it runs.
    fn zone_title(&self, zones: &[usize]) -> String {
        let names: Vec<String> = zones.iter().map(|zone| self.title(*zone)).collect();
        let how: Vec<String> = zones.iter().filter_map(|zone| self.how_it_runs(*zone)).collect();
        match (names.is_empty(), zones) {
            (true, _) => "no valve".into(),
            (false, [_]) if how.len() == 1 => format!("{}: {}", names[0], how[0]),
            _ => names.join(" or "),
        }
    }

    /// Whether a solution says that all of these zones are closed; what no valve closes is open.
    fn is_closed(&self, zones: &[usize]) -> bool {
        self.solution.is_some_and(|solution| !zones.is_empty() && zones.iter().all(|zone| !solution.open[*zone]))
    }

    /// Closed, or the flow through a valve; nothing without a solution.
    fn how_it_runs(&self, zone: usize) -> Option<String> {
        let solution = self.solution?;
        if !solution.open[zone] {
            return Some("closed".into());
        }
        Some(self.text(solution.parts[zone].flow_m3_per_s.abs(), dim::FLOW))
    }

    /// What stands below the name of a valve: the numbers of its heads, or how many there are of a kind, and how it runs.
    fn zone_line(&self, zone: usize, (first, last): (usize, usize), word: Option<&str>) -> String {
        let heads = match (word, last - first + 1) {
            (None, 1) => format!("{first}"),
            (None, _) => format!("{first} to {last}"),
            (Some(word), 1) => format!("1 {word}"),
            (Some(word), count) => format!("{count} {word}s"),
        };
        self.how_it_runs(zone).map_or(heads.clone(), |how| format!("{heads}, {how}"))
    }
}
