//! The names known at a moment: functions, variables, properties; for completion, "did you mean" and messages.
//!
//! Also the terms for types that messages use instead of the engine's.

use super::context::Context;
use super::tokens::{depth_change, tokenize};
use super::types::is_name;
use super::vocabulary::Vocabulary;
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::nearest::did_you_mean;
use crate::parts::{Id, Kind, Part, Placing};
use crate::table::Table;
use rhai::{AST, Dynamic, Engine, Map, Scope};
use std::any::TypeId;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// Words of the script language itself.
pub const KEYWORDS: &[&str] = &[
    "let", "const", "if", "else", "switch", "while", "loop", "for", "in", "do", "until", "break", "continue", "return", "throw",
    "try", "catch", "fn", "private", "import", "export", "as", "true", "false", "this", "print", "debug", "type_of", "exit",
];

/// Characters of an example that fits into a hint.
const LONGEST_EXAMPLE: usize = 70;

/// All names of a session.
#[derive(Clone, Default)]
pub struct Names {
    /// Functions that can be called, those of the session too.
    pub functions: BTreeSet<String>,
    /// Variables and constants of the session.
    pub variables: BTreeSet<String>,
    /// Properties of any value, with the units.
    pub properties: BTreeSet<String>,
    /// Names inside the maps that variables hold.
    pub map_names: BTreeSet<String>,
    /// Properties and methods by the type of their value.
    members: HashMap<TypeId, BTreeSet<String>>,
    /// Properties alone.
    own_properties: HashMap<TypeId, BTreeSet<String>>,
    types: HashMap<String, TypeId>,
    /// The parameters of parts that variables hold.
    part_numbers: HashMap<String, BTreeSet<&'static str>>,
    /// What our functions document.
    vocabulary: Option<&'static Vocabulary>,
    /// What stands in texts: paths of numbers, names of parts, columns of tables.
    pub paths: BTreeSet<String>,
    /// Names of the parts of gardens.
    pub parts: BTreeSet<String>,
    /// Names of the valves of gardens.
    pub valves: BTreeSet<String>,
    /// Columns of the tables that variables hold.
    pub columns: BTreeMap<String, Vec<String>>,
    /// Parts of the gardens, and of the results of gardens, that variables hold.
    pub gardens: BTreeMap<String, Vec<PartName>>,
}

/// The name of a part, with what can be asked of the part.
#[derive(Clone, Debug)]
pub struct PartName {
    /// Its name in the garden.
    pub name: String,
    /// The parts between a source and it that somebody opens, of which any one lets water to it; a valve itself;
    /// none where water always reaches it.
    zones: Vec<String>,
    /// In a result, whether water reaches it; otherwise that depends on what is opened.
    reached: Option<bool>,
    /// It has a velocity: it has a diameter.
    pub has_velocity: bool,
    /// It takes electrical power.
    pub pumps: bool,
    /// It is the valve of a zone.
    pub opens: bool,
}

impl PartName {
    /// Whether it has a pressure when these are open.
    pub fn has_pressure(&self, open: &[&str]) -> bool {
        self.reached.unwrap_or(self.zones.is_empty() || self.zones.iter().any(|zone| open.contains(&zone.as_str())))
    }

    fn all_of(garden: &Garden, result: Option<&Solution>) -> Vec<PartName> {
        let zones = garden.zones_of_places();
        let name = |place: usize| garden.name(place).to_string();
        let of = |place: usize| {
            let spec = garden.spec(place);
            let state = result.map(|result| &result.parts[place]);
            PartName {
                name: name(place),
                zones: if spec.traits.opens { vec![name(place)] } else { zones[place].iter().map(|&zone| name(zone)).collect() },
                reached: state.map(|state| state.pressure_out_pa.is_some()),
                has_velocity: state
                    .map_or(spec.placing == Placing::Inline && !spec.has(Id::Height), |state| state.speed_m_per_s.is_some()),
                pumps: spec.traits.pumps,
                opens: spec.traits.opens,
            }
        };
        (0..garden.parts().len()).map(of).collect()
    }
}

impl Names {
    /// No names but those that our functions document.
    pub fn of_functions(vocabulary: &'static Vocabulary) -> Names {
        Names { vocabulary: Some(vocabulary), ..Names::default() }
    }

    /// The names of an engine alone: they stay the same for its life.
    pub fn of_engine(engine: &Engine) -> Names {
        let context = engine.default_tag().read_lock::<Arc<Context>>();
        let mut names = Names { vocabulary: context.map(|context| context.vocabulary()), ..Names::default() };
        let all = engine.collect_fn_metadata(
            None,
            |function| Some((function.metadata.name.to_string(), function.metadata.param_types.first().copied())),
            true,
        );
        for (name, owner) in all {
            let member = name.strip_prefix("get$").unwrap_or(&name);
            if let (Some(owner), true) = (owner, is_name(member)) {
                names.members.entry(owner).or_default().insert(member.to_string());
                if name.starts_with("get$") {
                    names.own_properties.entry(owner).or_default().insert(member.to_string());
                }
            }
            match name.strip_prefix("get$") {
                Some(property) => names.properties.insert(property.to_string()),
                None if is_name(&name) => names.functions.insert(name),
                None => false,
            };
        }
        names.functions.extend(["print", "debug", "type_of"].map(String::from));
        names
    }

    /// These and the variables and functions of a script.
    pub fn and(mut self, scope: &Scope, functions: &AST) -> Names {
        let names = &mut self;
        names.functions.extend(functions.iter_functions().map(|function| function.name.to_string()));
        names.variables.extend(scope.iter_raw().map(|(name, _, _)| name.to_string()));
        for (name, _, value) in scope.iter_raw() {
            names.types.insert(name.to_string(), value.type_id());
            if let Some(map) = value.read_lock::<Map>() {
                names.map_names.extend(map.keys().map(ToString::to_string));
            }
            names.look_inside(name, value);
        }
        self
    }

    /// How one of our functions is called; empty for other names.
    pub fn signatures(&self, name: &str) -> Vec<String> {
        self.vocabulary.map(|vocabulary| vocabulary.signatures(name)).unwrap_or_default()
    }

    /// The line of the help on a function that shows a call of it, without its result; one with a closure only where one was given.
    pub fn example(&self, name: &str, found: &str) -> Option<String> {
        let word = self.vocabulary?.functions().iter().find(|word| word.name == name)?;
        let code = word.doc.split("```hw").nth(1)?.split("```").next()?;
        let called = |line: &&str| line.contains(&format!("{name}(")) && !line.contains("=> error");
        let calls = code.lines().filter(called).map(|line| line.split("//").next().unwrap_or("").trim().trim_end_matches(';'));
        let alone = |line: &str| line.find(&format!("{name}(")).and_then(|at| closed(&line[at..])).map(String::from);
        let begins = |line: &str| line.starts_with(&format!("{name}("));
        let plain = |line: &&str| found.contains("a function") || !line.contains('|');
        let calls: Vec<&str> = calls.collect();
        let calls: Vec<&str> = if calls.iter().any(plain) { calls.into_iter().filter(plain).collect() } else { calls };
        let (first, others): (Vec<&str>, Vec<&str>) = calls.into_iter().partition(|line| begins(line));
        let fits = |line: &String| line.len() <= LONGEST_EXAMPLE;
        let longest = first.iter().filter_map(|line| alone(line)).filter(fits).max_by_key(String::len);
        longest.or_else(|| others.into_iter().map(String::from).filter(fits).min_by_key(String::len))
    }

    /// Notes the parameters of a part, the paths of a garden, the columns of a table.
    fn look_inside(&mut self, variable: &str, value: &Dynamic) {
        if let Some(part) = value.read_lock::<Part>() {
            let numbers = part.spec().parameters.iter().map(|number| number.name()).collect();
            self.part_numbers.insert(variable.to_string(), numbers);
        }
        if let Some(garden) = value.read_lock::<Garden>() {
            for (place, part) in garden.parts().iter().enumerate() {
                let name = garden.name(place);
                self.parts.insert(name.to_string());
                if part.kind() == Kind::Valve {
                    self.valves.insert(name.to_string());
                }
                self.paths.insert(name.to_string());
                self.paths.extend(part.spec().parameters.iter().map(|number| format!("{name}.{}", number.name())));
            }
            self.gardens.insert(variable.to_string(), PartName::all_of(&garden, None));
        }
        if let Some(result) = value.read_lock::<Solution>() {
            self.gardens.insert(variable.to_string(), PartName::all_of(&result.garden, Some(&result)));
        }
        if let Some(table) = value.read_lock::<Table>() {
            self.paths.extend(table.names());
            self.columns.insert(variable.to_string(), table.names().into_iter().collect());
        }
    }

    /// True for a number that the part in a variable does not have.
    pub fn lacks(&self, variable: &str, number: &str) -> bool {
        let Some(own) = self.part_numbers.get(variable) else { return false };
        let of_any_part = Id::of(number).is_some();
        of_any_part && !own.contains(number)
    }

    /// True for a member of the value of a variable that is called with brackets.
    pub fn is_called(&self, variable: &str, member: &str) -> bool {
        let Some(owner) = self.types.get(variable) else {
            return self.functions.contains(member) && !self.properties.contains(member);
        };
        let known = |owner: &TypeId| self.own_properties.get(owner).is_some_and(|names| names.contains(member));
        let in_map = *owner == TypeId::of::<Map>() && self.map_names.contains(member);
        self.functions.contains(member) && !known(owner) && !in_map
    }

    /// Properties and methods of the value of a variable, names of a map included; empty for an unknown variable.
    pub fn members_of(&self, variable: &str) -> BTreeSet<&str> {
        let Some(owner) = self.types.get(variable) else { return BTreeSet::new() };
        let of = |owner: &TypeId| self.members.get(owner).into_iter().flatten().map(String::as_str);
        // The functions that make parts take any value, but none of them follows a point.
        let makes_part = |name: &str| Kind::ALL.iter().any(|kind| kind.spec().word == name);
        let of_any = of(&TypeId::of::<Dynamic>()).filter(|name| !makes_part(name));
        let mut members: BTreeSet<&str> = of(owner).chain(of_any).collect();
        if *owner == TypeId::of::<Map>() {
            members.extend(self.map_names.iter().map(String::as_str));
        }
        members
    }
}

/// A call up to its closing parenthesis.
fn closed(call: &str) -> Option<&str> {
    let mut depth = 0;
    let end = tokenize(call).tokens.into_iter().find_map(|piece| {
        let change = depth_change(piece.kind);
        depth += change;
        (change < 0 && depth == 0).then_some(piece.range.end)
    });
    end.map(|end| &call[..end])
}

/// "did you mean ...?" for names of at least two characters; shorter ones look like everything.
pub fn suggest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    if name.chars().count() < 2 {
        return None;
    }
    did_you_mean(name, known.into_iter().filter(|known| known.len() > 1))
}
