//! Beds in a weather with a plan: what a season or a week is computed from, with every number of it readable and settable by a path.

use super::bed::Bed;
use super::error::SeasonError;
use super::parameters::{PARAMETERS, Parameter};
use super::plan::{Plan, Rule};
use super::run::{Season, season, season_on};
use super::week::{Week, week};
use crate::moment::Date;
use crate::nearest::nearest;
use crate::quantity::{DAY_S, Dimension, Preference, Quantity, dim, find_unit};
use crate::soil::{Crop, Soil};
use crate::weather::{Course, Weather};
use std::sync::Arc;

/// Beds in a weather with a plan.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// The beds, in their order.
    pub beds: Vec<Bed>,
    /// The weather.
    pub weather: Arc<Weather>,
    /// How they are watered.
    pub plan: Plan,
}

/// What a path is set to.
#[derive(Clone, Debug, PartialEq)]
pub enum Setting {
    /// A number or quantity.
    Number(Quantity),
    /// A name of a soil or a crop.
    Name(String),
    /// A day.
    Day(Date),
}

/// A number of the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Whole {
    Year,
    Rain,
    Et0,
    Depth,
    Days,
    Percent,
}

/// Something of a bed that is no number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Word {
    Soil,
    Crop,
    Planted,
}

#[derive(Clone, Copy)]
enum What {
    Whole(Whole),
    Number(&'static Parameter),
    Word(Word),
}

/// What a path names, found once and set many times.
#[derive(Clone)]
pub struct Target {
    path: String,
    what: What,
    /// The beds it is about.
    beds: Vec<usize>,
}

/// Paths that belong to no bed.
const WHOLE: [(&str, Whole); 6] = [
    ("year", Whole::Year),
    ("weather.rain", Whole::Rain),
    ("weather.et0", Whole::Et0),
    ("rule.depth", Whole::Depth),
    ("rule.days", Whole::Days),
    ("rule.percent", Whole::Percent),
];
/// Paths of a bed that are no numbers.
const WORDS: [(&str, Word); 3] = [("soil", Word::Soil), ("crop", Word::Crop), ("crop.planted", Word::Planted)];

impl Target {
    /// Dimension and unit of its values; none where it takes names or days.
    pub fn kind(&self) -> Option<(Dimension, Preference)> {
        let of = |dimension: Dimension, unit: Option<&str>| {
            (dimension, unit.and_then(find_unit).map_or(Preference::Usual, Preference::Written))
        };
        match self.what {
            What::Number(parameter) => Some(of(parameter.dimension, parameter.unit)),
            What::Whole(Whole::Depth) => Some(of(dim::LENGTH, Some("in"))),
            What::Whole(Whole::Days) => Some(of(dim::TIME, Some("day"))),
            What::Whole(_) => Some(of(dim::NUMBER, None)),
            What::Word(_) => None,
        }
    }
}

impl Scenario {
    /// The season. Errors: as for [`season`].
    pub fn season(&self) -> Result<Season, SeasonError> {
        season(&self.beds, &self.weather, &self.plan)
    }

    /// The season on weather that was evaluated before. Errors: as for [`season`].
    pub fn season_on(&self, whole: &Course) -> Result<Season, SeasonError> {
        season_on(&self.beds, &self.weather, whole, &self.plan)
    }

    /// The week from a day on. Errors: as for [`week`].
    pub fn week(&self, date: Date) -> Result<Week, SeasonError> {
        week(&self.beds, &self.weather, date, &self.plan)
    }

    /// All paths, those of each bed by its name.
    pub fn paths(&self) -> Vec<String> {
        let of_bed = || WORDS.iter().map(|(path, _)| *path).chain(PARAMETERS.iter().map(|parameter| parameter.path));
        let of_beds = self.beds.iter().flat_map(|bed| of_bed().map(move |path| format!("{}.{path}", bed.name)));
        WHOLE.iter().map(|(path, _)| (*path).to_string()).chain(of_beds).collect()
    }

    /// What a path names: `tomatoes.crop.kc_mid`, `*.mulch` for all beds, `year`. Errors: none has it.
    pub fn target(&self, path: &str) -> Result<Target, SeasonError> {
        if let Some((_, whole)) = WHOLE.iter().find(|(known, _)| *known == path) {
            return Ok(Target { path: path.into(), what: What::Whole(*whole), beds: Vec::new() });
        }
        // Names of beds may have dots; the longest that fits counts.
        let named = self.beds.iter().enumerate().filter_map(|(at, bed)| {
            let rest = path.strip_prefix(bed.name.as_str())?.strip_prefix('.')?;
            Some((at, bed.name.len(), rest))
        });
        let found = named.max_by_key(|(_, length, _)| *length).map(|(at, _, rest)| (vec![at], rest));
        let found = found.or_else(|| path.strip_prefix("*.").map(|rest| ((0..self.beds.len()).collect(), rest)));
        let unknown = || {
            let paths = self.paths();
            let alike: Vec<String> = nearest(path, paths.iter().map(String::as_str), 3).into_iter().map(String::from).collect();
            SeasonError::NoPath { path: path.into(), known: if alike.is_empty() { self.names() } else { alike } }
        };
        let Some((beds, rest)) = found else { return Err(unknown()) };
        if let Some((_, word)) = WORDS.iter().find(|(known, _)| *known == rest) {
            return Ok(Target { path: path.into(), what: What::Word(*word), beds });
        }
        let parameter = PARAMETERS.iter().find(|parameter| parameter.path == rest).ok_or_else(unknown)?;
        Ok(Target { path: path.into(), what: What::Number(parameter), beds })
    }

    fn names(&self) -> Vec<String> {
        self.beds.iter().map(|bed| bed.name.clone()).collect()
    }

    /// Sets what a target names; nothing is checked but the kind of value. Errors: a value of another kind; no such soil or crop.
    pub fn set(&mut self, target: &Target, setting: &Setting) -> Result<(), SeasonError> {
        match (target.what, setting) {
            (What::Word(word), Setting::Name(name)) => {
                for at in &target.beds {
                    set_word(&mut self.beds[*at], word, name)?;
                }
            }
            (What::Word(Word::Planted), Setting::Day(day)) => {
                target.beds.iter().for_each(|at| self.beds[*at].crop.planted = Some(*day));
            }
            (What::Whole(_) | What::Number(_), Setting::Number(value)) => {
                let (dimension, _) = target.kind().unwrap_or((dim::NUMBER, Preference::Usual));
                if value.dimension != dimension {
                    return Err(wrong_kind(target, &value.described()));
                }
                self.set_si(target, value.si);
            }
            (_, Setting::Name(name)) => return Err(wrong_kind(target, &format!("'{name}'"))),
            (_, Setting::Day(day)) => return Err(wrong_kind(target, &format!("the day {day}"))),
            (_, Setting::Number(value)) => return Err(wrong_kind(target, &value.described())),
        }
        Ok(())
    }

    /// Sets a number in SI, percent or a number; names and days stay as they are.
    pub fn set_si(&mut self, target: &Target, si: f64) {
        match target.what {
            What::Number(parameter) => target.beds.iter().for_each(|at| self.beds[*at].set(parameter, si)),
            What::Whole(Whole::Year) => self.plan.year = Some(si.round() as i32),
            What::Whole(Whole::Rain) => self.plan.rain_factor = si / 100.0,
            What::Whole(Whole::Et0) => self.plan.et0_factor = si / 100.0,
            What::Whole(Whole::Percent) => self.plan.rule = Rule::Deficit { share: si / 100.0 },
            What::Whole(Whole::Depth) => {
                let mm = 1000.0 * si;
                self.plan.rule = match self.plan.rule {
                    Rule::Every { days, .. } => Rule::Every { days, mm: Some(mm) },
                    _ => Rule::Fixed { mm },
                };
            }
            What::Whole(Whole::Days) => {
                let days = (si / DAY_S).round().clamp(0.0, 1e6) as u32;
                self.plan.rule = match self.plan.rule {
                    Rule::Every { mm, .. } => Rule::Every { days, mm },
                    Rule::Fixed { mm } => Rule::Every { days, mm: Some(mm) },
                    _ => Rule::Every { days, mm: None },
                };
            }
            What::Word(_) => {}
        }
    }

    /// The same with what a path names set to a value; beds and plan are checked. Errors: no such path; a value that does not fit.
    pub fn with(mut self, path: &str, setting: &Setting) -> Result<Scenario, SeasonError> {
        let target = self.target(path)?;
        self.set(&target, setting)?;
        super::run::check(&self.beds, &self.plan)?;
        Ok(self)
    }

    /// A number by its path, of the first bed where it names several. Errors: no such path; no number; it has none yet.
    pub fn number(&self, path: &str) -> Result<Quantity, SeasonError> {
        let target = self.target(path)?;
        let Some((dimension, preference)) = target.kind() else { return Err(SeasonError::NotANumber { path: path.into() }) };
        let rule = self.plan.rule;
        let si = match target.what {
            What::Number(parameter) => target.beds.first().and_then(|at| parameter.get(&self.beds[*at])),
            What::Whole(Whole::Year) => self.plan.year.map(f64::from),
            What::Whole(Whole::Rain) => Some(100.0 * self.plan.rain_factor),
            What::Whole(Whole::Et0) => Some(100.0 * self.plan.et0_factor),
            What::Whole(Whole::Percent) => {
                if let Rule::Deficit { share } = rule {
                    Some(100.0 * share)
                } else {
                    None
                }
            }
            What::Whole(Whole::Days) => {
                if let Rule::Every { days, .. } = rule {
                    Some(DAY_S * f64::from(days))
                } else {
                    None
                }
            }
            What::Whole(Whole::Depth) => match rule {
                Rule::Fixed { mm } | Rule::Every { mm: Some(mm), .. } => Some(mm / 1000.0),
                _ => None,
            },
            What::Word(_) => None,
        };
        let si = si.ok_or_else(|| SeasonError::NoValue { path: path.into() })?;
        Ok(Quantity { si, dimension, preference })
    }
}

fn set_word(bed: &mut Bed, word: Word, name: &str) -> Result<(), SeasonError> {
    let of_bed = |error| SeasonError::Soil { bed: bed.name.clone(), error };
    match word {
        Word::Soil => bed.soil = Soil::named(name).map_err(of_bed)?,
        Word::Crop => {
            let crop = Crop { planted: bed.crop.planted, ..Crop::named(name, None).map_err(of_bed)? };
            let usual = bed.ground_is_usual();
            bed.crop = crop;
            if usual {
                bed.ground_m = super::bed::usual_ground_m(&bed.crop);
            }
        }
        Word::Planted => {
            let day = Date::read(name)
                .ok_or_else(|| SeasonError::NotADay { path: format!("{}.crop.planted", bed.name), text: name.into() })?;
            bed.crop.planted = Some(day);
        }
    }
    Ok(())
}

fn wrong_kind(target: &Target, found: &str) -> SeasonError {
    let expected = match target.what {
        What::Word(Word::Soil) => "the name of a soil".to_string(),
        What::Word(Word::Crop) => "the name of a crop".to_string(),
        What::Word(Word::Planted) => "a day".to_string(),
        _ => target.kind().map_or_else(String::new, |(dimension, _)| dimension.to_string()),
    };
    SeasonError::WrongKind { path: target.path.clone(), expected, found: found.into() }
}
