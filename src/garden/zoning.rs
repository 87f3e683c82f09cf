//! Which zones a part belongs to: the valves through which water comes to it.

use super::{Garden, Sections};

impl Garden {
    /// For each place the valves that let water to it, in order: of several any one does. None for what is under pressure while all
    /// valves are closed, and for the valves themselves.
    pub fn zones_of_places(&self) -> Vec<Vec<usize>> {
        let sections = Sections::of(self);
        let mut valves_of = vec![Vec::new(); sections.count()];
        for valve in self.valves() {
            let joint = &self.layout().places[valve];
            for section in [sections.of_node(joint.from), sections.of_node(joint.to)] {
                if !sections.is_fed(section) && !valves_of[section].contains(&valve) {
                    valves_of[section].push(valve);
                }
            }
        }
        let beyond = |valve: &usize, section: usize| sections.of_node(self.layout().places[*valve].to) == section;
        let zones = |place: usize| {
            if self.spec(place).traits.opens {
                return Vec::new();
            }
            let section = sections.of_node(self.layout().places[place].to);
            // The valves that lead into a section, not those that lead on from it, as a master valve and its zones do.
            let into: Vec<usize> = valves_of[section].iter().copied().filter(|valve| beyond(valve, section)).collect();
            if into.is_empty() { valves_of[section].clone() } else { into }
        };
        (0..self.parts().len()).map(zones).collect()
    }
}
