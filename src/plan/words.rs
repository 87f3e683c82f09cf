//! What the labels of a plan say.

use super::view::View;
use crate::hydraulics::Doing;
use crate::parts::{Id, Placing, Start};
use crate::quantity::dim;

/// What is said of a part that no water reaches.
const NO_WATER: &str = "no water";

impl View<'_> {
    /// The name, what the part is, and how it fares.
    pub(super) fn lines(&self, place: usize) -> Vec<String> {
        let mut lines = vec![self.title(place), self.numbers(place).join(", ")];
        lines.extend(self.fares(place));
        lines.retain(|line| !line.is_empty());
        lines
    }

    /// The name, and how it fares or, where that is not known, what it is; of one without water only the name, as its valve is closed.
    pub(super) fn short_lines(&self, place: usize) -> Vec<String> {
        let rest = match self.fares(place) {
            Some(words) if words != NO_WATER => words,
            Some(_) => String::new(),
            None => self.numbers(place).join(", "),
        };
        [self.title(place), rest].into_iter().filter(|line| !line.is_empty()).collect()
    }

    /// The name; one that was not given, such as `check_valve`, in plain words.
    pub(super) fn title(&self, place: usize) -> String {
        let name = self.garden.name(place);
        if self.garden.parts()[place].name().is_some() { name.to_string() } else { name.replace('_', " ") }
    }

    /// The one or two numbers that matter most for its kind.
    pub(super) fn numbers(&self, place: usize) -> Vec<String> {
        let part = &self.garden.parts()[place];
        // A rated table says more than any one number.
        let names = if part.table().is_some() { &[] } else { part.spec().headline };
        let value = |id: &Id| part.get(*id).ok().map(|value| value.show(self.system));
        let mut texts: Vec<String> = names.iter().filter_map(value).collect();
        if let (true, Some(height)) = (part.spec().has(Id::Height), texts.first_mut()) {
            let way = if part.rise_m() < 0.0 { "down" } else { "up" };
            *height = format!("{way} {}", height.trim_start_matches('-'));
        }
        texts
    }

    /// Pressure and flow in the solution.
    fn fares(&self, place: usize) -> Option<String> {
        let solution = self.solution?;
        let state = &solution.parts[place];
        let part = &self.garden.parts()[place];
        if part.traits().opens && !solution.open[place] {
            return Some("closed".into());
        }
        let Some(pressure) = state.pressure_out_pa else { return Some(NO_WATER.into()) };
        let pressure = self.text(pressure, dim::PRESSURE);
        let backward = if state.flow_m3_per_s < 0.0 { " backwards" } else { "" };
        let flow = || format!("{}{backward}", self.text(state.flow_m3_per_s.abs(), dim::FLOW));
        let loss = || Some(self.text(state.loss_pa()? * state.flow_m3_per_s.signum(), dim::PRESSURE));
        let flows = state.flow_m3_per_s != 0.0;
        let text = match part.spec().placing {
            // A drive has its set pressure above that which it reads.
            Placing::AtPoint if part.traits().starts == Some(Start::Speed) => format!("reads {pressure}"),
            Placing::AtPoint => pressure,
            Placing::Outlet if part.traits().relieves && !flows => "closed".into(),
            Placing::Outlet if !flows => "dry".into(),
            Placing::Inline if !flows => "no flow".into(),
            Placing::Source if part.spec().traits.fills && state.flow_m3_per_s < 0.0 => {
                format!("{pressure}, fills at {}", self.text(-state.flow_m3_per_s, dim::FLOW))
            }
            Placing::Source | Placing::Outlet => format!("{pressure}, {}", flow()),
            Placing::Inline if part.traits().pumps && solution.runs[place] => {
                let adds = format!("adds {}", self.text(-state.loss_pa()?, dim::PRESSURE));
                match solution.doing(place) {
                    Some(Doing::RunsAt(percent)) => format!("{adds} at {percent}% speed"),
                    _ => adds,
                }
            }
            Placing::Inline if self.is_run(place) => format!("{}, loss {}", flow(), loss()?),
            Placing::Inline => return None,
        };
        Some(text)
    }
}
