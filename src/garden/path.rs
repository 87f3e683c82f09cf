//! Paths to the parameters of a garden, such as `feed.length`, and what-if by `with` and `replace`.

use super::{Garden, GardenError};
use crate::parts::{Id, Part};
use crate::quantity::{Dimension, Quantity};
use std::sync::Arc;

/// A parameter of a garden, found once and used often.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ParameterPath {
    /// The place of the part in the garden.
    pub place: usize,
    /// Which parameter of the part.
    pub parameter: Id,
}

/// A path split into the names of its part and its parameter, if it has a dot.
pub fn split_path(path: &str) -> Option<(&str, &str)> {
    path.rsplit_once('.').filter(|(name, parameter)| !name.is_empty() && !parameter.is_empty())
}

impl Garden {
    /// Finds a parameter. Errors: an unknown part, an unknown parameter of it, or no path at all; each names the nearest.
    pub fn parameter_path(&self, path: &str) -> Result<ParameterPath, GardenError> {
        let Some((name, parameter)) = split_path(path) else {
            return Err(GardenError::NotAPath { path: path.to_string(), known: self.parameter_paths() });
        };
        let place = self.find(name)?;
        let parameter =
            self.shape().part(place).id_of(parameter).map_err(|error| GardenError::Part(name_part(error, self, place)))?;
        Ok(ParameterPath { place, parameter })
    }

    /// All paths of parameters in this garden.
    pub(super) fn parameter_paths(&self) -> Vec<String> {
        let parameters = |place: usize| self.parts()[place].spec().parameters.iter().map(move |parameter| (place, parameter.id));
        (0..self.parts().len())
            .flat_map(parameters)
            .map(|(place, parameter)| format!("{}.{parameter}", self.name(place)))
            .collect()
    }

    /// The dimension of a parameter.
    pub fn dimension_of(&self, path: ParameterPath) -> Dimension {
        path.parameter.dimension()
    }

    /// A parameter of the garden. Errors: an unknown path, or a parameter that is not given.
    pub fn parameter(&self, path: &str) -> Result<Quantity, GardenError> {
        let found = self.parameter_path(path)?;
        Ok(self.shape().part(found.place).get(found.parameter)?)
    }

    /// The same garden with another value of one parameter, or of all that a pattern such as `*.roughness` or `bed*.nozzle`
    /// matches. Errors: as [`Garden::matching`], or a value that a part refuses.
    pub fn with(&self, path: &str, value: Quantity) -> Result<Garden, GardenError> {
        let found = self.matching(path)?;
        let changed = |ParameterPath { place, parameter }: ParameterPath| -> Result<Arc<Part>, GardenError> {
            let mut part = Part::clone(&self.shape().part(place));
            part.set(parameter, value).map_err(|error| GardenError::Part(name_part(error, self, place)))?;
            Ok(Arc::new(part))
        };
        if let [only] = found[..] {
            return self.with_part(only.place, changed(only)?);
        }
        let mut parts = self.parts().to_vec();
        for path in found {
            parts[path.place] = changed(path)?;
        }
        Ok(self.with_laid(self.shared_layout(), Arc::new(parts)))
    }

    /// The parameters that a path leads to: one, or for a path with `*` in the name of its part all of that name in parts that have
    /// them. Errors: as [`Garden::parameter_path`], or a pattern that matches no part with that parameter.
    pub fn matching(&self, path: &str) -> Result<Vec<ParameterPath>, GardenError> {
        let Some((pattern, parameter)) = split_path(path).filter(|(name, _)| name.contains('*')) else {
            return Ok(vec![self.parameter_path(path)?]);
        };
        let having: Vec<ParameterPath> = (0..self.parts().len())
            .filter_map(|place| Some(ParameterPath { place, parameter: self.parts()[place].id_of(parameter).ok()? }))
            .collect();
        let found: Vec<ParameterPath> = having.iter().copied().filter(|found| fits(pattern, self.name(found.place))).collect();
        if found.is_empty() {
            let known = having.iter().map(|found| self.name(found.place).to_string()).collect();
            return Err(GardenError::NoMatch { pattern: pattern.into(), parameter: parameter.into(), known });
        }
        Ok(found)
    }

    /// The same garden with another part in the place of the named one; the new part takes over the name.
    ///
    /// Errors: an unknown name, or a part that sits in a line in another way than the old one.
    pub fn replace(&self, name: &str, part: &Part) -> Result<Garden, GardenError> {
        let place = self.find(name)?;
        let old = self.shape().part(place);
        if old.spec().placing != part.spec().placing {
            return Err(GardenError::Part(crate::parts::PartError::Contradiction {
                part: format!("'{name}'"),
                what: format!("a {} cannot replace a {}", part.spec().word, old.spec().word).into(),
                hint: "only parts with the same kind of connection (source, in-line, outlet) can replace each other",
            }));
        }
        if let Some(name) = old.name().filter(|_| old.kind() == part.kind()) {
            return self.with_part(place, Arc::new(part.clone().named(name)?));
        }
        let mut parts = self.parts().to_vec();
        parts[place] = Arc::new(part.clone().named(self.name(place))?);
        let changed = self.with_laid(self.shared_layout(), Arc::new(parts));
        // What later rooms have worked out depends on the kinds of parts: with another kind, begin a layout of its own.
        if old.kind() == part.kind() { Ok(changed) } else { changed.with_fresh_layout() }
    }

    fn with_fresh_layout(self) -> Result<Garden, GardenError> {
        let old = self.layout();
        let joints = old.places.iter().map(|place| (place.from, place.to)).collect();
        let layout = super::Layout::new(joints, self.parts(), old.number_of_nodes, old.inlet, old.tails.clone())?;
        Ok(self.with_laid(Arc::new(layout), self.shared_parts()))
    }
}

/// Whether a name fits a pattern in which each `*` stands for any characters, or none.
pub(super) fn fits(pattern: &str, name: &str) -> bool {
    let mut pieces = pattern.split('*');
    let Some(mut rest) = name.strip_prefix(pieces.next().unwrap_or_default()) else { return false };
    let pieces: Vec<&str> = pieces.collect();
    let Some((last, middle)) = pieces.split_last() else { return rest.is_empty() };
    for piece in middle {
        let Some(at) = rest.find(piece) else { return false };
        rest = &rest[at + piece.len()..];
    }
    rest.ends_with(last)
}

/// Errors of a part call it by the name it has in the garden.
fn name_part(error: crate::parts::PartError, garden: &Garden, place: usize) -> crate::parts::PartError {
    use crate::parts::PartError as E;
    let part = &garden.parts()[place];
    let title = format!("{} '{}'", part.spec().word, garden.name(place));
    match error {
        E::OutOfRange { parameter, rule, found, .. } => E::OutOfRange { part: title, parameter, rule, found },
        E::WrongDimension { parameter, found, .. } => E::WrongDimension { part: title, parameter, found },
        E::UnknownParameter { parameter, known, .. } => E::UnknownParameter { part: title, parameter, known },
        E::Contradiction { what, hint, .. } => E::Contradiction { part: title, what, hint },
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::fits;

    #[test]
    fn a_star_stands_for_any_characters() {
        for (pattern, name) in [("*", "feed"), ("feed", "feed"), ("f*d", "feed"), ("*ee*", "feed"), ("feed*", "feed"), ("*", "")]
        {
            assert!(fits(pattern, name), "{pattern} {name}");
        }
        for (pattern, name) in [("fee", "feed"), ("e*", "feed"), ("*e", "feed"), ("fe*ed*d", "feed"), ("feed*feed", "feed")] {
            assert!(!fits(pattern, name), "{pattern} {name}");
        }
    }
}
