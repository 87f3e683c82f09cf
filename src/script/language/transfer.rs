//! Values of a script packed as plain data, so that they can be handed to another thread and share nothing.
//!
//! Shared values are fought over: even counting who holds them costs more than the work. It knows nothing of engines.

use crate::garden::Garden;
use crate::parts::Part;
use crate::quantity::Quantity;
use crate::study::Axes;
use rhai::{Array, Dynamic, FnPtr, INT, Map, Module};
use std::sync::Arc;

/// A value as plain data.
#[derive(Clone, Debug)]
pub enum Packed {
    Unit,
    Flag(bool),
    Whole(INT),
    Number(f64),
    Letter(char),
    Text(String),
    Quantity(Quantity),
    Part(Part),
    Garden(Garden),
    Axes(Arc<Axes>),
    List(Vec<Packed>),
    Map(Vec<(String, Packed)>),
    /// A function by its name and number of parameters, with the values it has captured.
    Function {
        name: String,
        captured: Vec<Packed>,
    },
}

/// Packs a value. Errors: what kind of value cannot be handed over.
pub fn pack(value: &Dynamic) -> Result<Packed, String> {
    if value.is_shared() {
        return pack(&value.flatten_clone());
    }
    if value.is_unit() {
        return Ok(Packed::Unit);
    }
    if let Ok(flag) = value.as_bool() {
        return Ok(Packed::Flag(flag));
    }
    if let Ok(whole) = value.as_int() {
        return Ok(Packed::Whole(whole));
    }
    if let Ok(number) = value.as_float() {
        return Ok(Packed::Number(number));
    }
    if let Ok(letter) = value.as_char() {
        return Ok(Packed::Letter(letter));
    }
    if let Ok(text) = value.as_immutable_string_ref() {
        return Ok(Packed::Text(text.to_string()));
    }
    if let Some(quantity) = value.read_lock::<Quantity>() {
        return Ok(Packed::Quantity(*quantity));
    }
    if let Some(part) = value.read_lock::<Part>() {
        return Ok(Packed::Part(part.detached()));
    }
    if let Some(garden) = value.read_lock::<Garden>() {
        return Ok(Packed::Garden(garden.detached()));
    }
    if let Some(axes) = value.read_lock::<Axes>() {
        return Ok(Packed::Axes(Arc::new(axes.clone())));
    }
    if let Some(list) = value.read_lock::<Array>() {
        return Ok(Packed::List(list.iter().map(pack).collect::<Result<_, _>>()?));
    }
    if let Some(map) = value.read_lock::<Map>() {
        let entries = map.iter().map(|(name, value)| Ok((name.to_string(), pack(value)?)));
        return Ok(Packed::Map(entries.collect::<Result<_, String>>()?));
    }
    if let Some(function) = value.read_lock::<FnPtr>() {
        return pack_function(&function);
    }
    Err(super::types::rust_type_in_words(value.type_name()))
}

/// Packs a function with what it has captured. Errors: as [`pack`].
pub fn pack_function(function: &FnPtr) -> Result<Packed, String> {
    let captured = function.curry().iter().map(pack).collect::<Result<_, _>>()?;
    Ok(Packed::Function { name: function.fn_name().to_string(), captured })
}

impl Packed {
    /// The value again, with functions found among those of a script; nothing when one is not there.
    pub fn unpack(&self, functions: &Module) -> Option<Dynamic> {
        Some(match self {
            Packed::Unit => Dynamic::UNIT,
            Packed::Flag(flag) => (*flag).into(),
            Packed::Whole(whole) => Dynamic::from_int(*whole),
            Packed::Number(number) => Dynamic::from_float(*number),
            Packed::Letter(letter) => (*letter).into(),
            Packed::Text(text) => text.as_str().into(),
            Packed::Quantity(quantity) => Dynamic::from(*quantity),
            Packed::Part(part) => Dynamic::from(part.detached()),
            Packed::Garden(garden) => Dynamic::from(garden.detached()),
            Packed::Axes(axes) => Dynamic::from(Axes::clone(axes)),
            Packed::List(list) => {
                Dynamic::from_array(list.iter().map(|value| value.unpack(functions)).collect::<Option<Array>>()?)
            }
            Packed::Map(entries) => {
                let one = |(name, value): &(String, Packed)| Some((name.as_str().into(), value.unpack(functions)?));
                Dynamic::from_map(entries.iter().map(one).collect::<Option<Map>>()?)
            }
            Packed::Function { .. } => Dynamic::from(self.unpack_function(functions)?),
        })
    }

    /// The function again, with variables of its own for what it captured; nothing when it is not among the functions.
    pub fn unpack_function(&self, functions: &Module) -> Option<FnPtr> {
        let Packed::Function { name, captured } = self else { return None };
        // A closure has its captured values as first parameters; how many follow does not matter here.
        let found = (captured.len()..=captured.len() + MOST_PARAMETERS).find_map(|n| functions.get_script_fn(name, n))?;
        let mut function = FnPtr::from(found.clone());
        for value in captured {
            function.add_curry(value.unpack(functions)?.into_shared());
        }
        Some(function)
    }

    /// True when a value is still what was packed.
    pub fn is_still(&self, value: &Dynamic) -> bool {
        if value.is_shared() {
            return self.is_still(&value.flatten_clone());
        }
        match self {
            Packed::Unit => value.is_unit(),
            Packed::Flag(flag) => value.as_bool() == Ok(*flag),
            Packed::Whole(whole) => value.as_int() == Ok(*whole),
            Packed::Number(number) => value.as_float().is_ok_and(|other| other.to_bits() == number.to_bits()),
            Packed::Letter(letter) => value.as_char() == Ok(*letter),
            Packed::Text(text) => value.as_immutable_string_ref().is_ok_and(|other| other.as_str() == text),
            Packed::Quantity(quantity) => value
                .read_lock::<Quantity>()
                .is_some_and(|other| other.si.to_bits() == quantity.si.to_bits() && other.dimension == quantity.dimension),
            Packed::Part(part) => value.read_lock::<Part>().is_some_and(|other| *part == *other),
            Packed::Garden(garden) => value.read_lock::<Garden>().is_some_and(|other| *garden == *other),
            Packed::Axes(_) => value.is::<Axes>(), // No function changes axes where they stand.
            Packed::List(list) => value.read_lock::<Array>().is_some_and(|other| {
                list.len() == other.len() && list.iter().zip(other.iter()).all(|(packed, value)| packed.is_still(value))
            }),
            Packed::Map(entries) => value.read_lock::<Map>().is_some_and(|other| {
                entries.len() == other.len()
                    && entries.iter().all(|(name, packed)| other.get(name.as_str()).is_some_and(|value| packed.is_still(value)))
            }),
            Packed::Function { .. } => value.read_lock::<FnPtr>().is_some_and(|other| self.is_still_function(&other)),
        }
    }

    /// True when a function has still captured what was packed.
    pub fn is_still_function(&self, function: &FnPtr) -> bool {
        let Packed::Function { name, captured } = self else { return false };
        name == function.fn_name()
            && captured.len() == function.curry().len()
            && captured.iter().zip(function.curry()).all(|(packed, value)| packed.is_still(value))
    }
}

/// Parameters that a packed closure may have besides what it captured.
const MOST_PARAMETERS: usize = 8;
