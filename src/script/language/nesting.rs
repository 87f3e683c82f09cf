//! How deep lists, maps and closures may lie in each other.
//!
//! A value that is nested too deep ends the program when it is let go, since the engine frees it level by level on the stack.
//! So the values of variables are looked at now and then as they are read, at moments that no script can foresee. Knows
//! nothing of the values of single functions.

use super::error::{Answer, ScriptError};
use rhai::{Array, Dynamic, EvalContext, FnPtr, Map};
use std::hash::{BuildHasher, RandomState};
use std::sync::atomic::{AtomicU64, Ordering};

/// Levels that a value may have.
const MOST_LEVELS: usize = 100;
/// One reading of a variable in this many is checked; a value that grows by a level at each reading is found long before
/// it is dangerous.
const ONE_IN: u64 = 64;
/// Values that one look goes through at most.
const MOST_LOOKED_AT: usize = 4096;

/// Looks at the values of variables now and then.
pub struct Looks {
    dice: AtomicU64,
}

impl Default for Looks {
    fn default() -> Self {
        Looks { dice: AtomicU64::new(RandomState::new().hash_one(0) | 1) }
    }
}

impl Looks {
    /// Looks at a variable that is read, perhaps. Errors: it is nested too deep.
    pub fn look(&self, name: &str, call: &EvalContext) -> Answer<()> {
        if !throw(&self.dice).is_multiple_of(ONE_IN) {
            return Ok(());
        }
        let Some(value) = call.scope().get(name) else { return Ok(()) };
        if fits(value, &mut Vec::new(), &mut MOST_LOOKED_AT.clone()) {
            return Ok(());
        }
        let error =
            ScriptError::new(format!("lists, maps and closures are nested more than {MOST_LEVELS} levels deep in '{name}'"));
        Err(error.with_hint("check for a loop that puts a value into itself").into())
    }
}

/// A random number (xorshift, 64 bits; from memory). Threads may throw at the same time.
fn throw(dice: &AtomicU64) -> u64 {
    let mut state = dice.load(Ordering::Relaxed);
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    dice.store(state, Ordering::Relaxed);
    state
}

/// False when a value has too many levels; `above` holds the shared values that it lies in.
fn fits(value: &Dynamic, above: &mut Vec<Option<*const Dynamic>>, left: &mut usize) -> bool {
    if *left == 0 {
        return true;
    }
    *left -= 1;
    if value.is_shared() {
        let Some(inside) = value.read_lock::<Dynamic>() else { return true };
        let here: *const Dynamic = &*inside;
        if above.contains(&Some(here)) {
            return true; // A closure that calls itself lies in itself, and that is all.
        }
        above.push(Some(here));
        let fine = contents_fit(&inside, above, left);
        above.pop();
        return fine;
    }
    contents_fit(value, above, left)
}

fn contents_fit(value: &Dynamic, above: &mut Vec<Option<*const Dynamic>>, left: &mut usize) -> bool {
    if above.len() > 2 * MOST_LEVELS || above.iter().filter(|level| level.is_none()).count() > MOST_LEVELS {
        return false;
    }
    above.push(None);
    let mut all = |values: &mut dyn Iterator<Item = &Dynamic>| values.take(MOST_LOOKED_AT).all(|value| fits(value, above, left));
    let fine = if let Some(list) = value.read_lock::<Array>() {
        all(&mut list.iter())
    } else if let Some(map) = value.read_lock::<Map>() {
        all(&mut map.values())
    } else if let Some(function) = value.read_lock::<FnPtr>() {
        all(&mut function.iter_curry())
    } else {
        true
    };
    above.pop();
    fine
}
