//! What a setting is worth, and who judges it.

/// What a setting is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worth {
    /// The number that shall be low.
    pub value: f64,
    /// By how much limits are broken, in parts of themselves; 0 when all hold.
    pub broken: f64,
}

impl Worth {
    /// A setting that cannot be judged at all.
    pub const NONE: Worth = Worth { value: f64::INFINITY, broken: f64::INFINITY };

    /// True when this one is better: limits come first.
    ///
    /// Source of the order: K. Deb, An efficient constraint handling method for genetic algorithms, Computer Methods in
    /// Applied Mechanics and Engineering 186 (2000).
    pub fn beats(&self, other: &Worth) -> bool {
        if self.broken != other.broken { self.broken < other.broken } else { self.value < other.value }
    }
}

/// A search among the running variables: it calls with numbers between 0 and 1.
pub(super) type Judge<'a, E> = dyn FnMut(&[f64]) -> Result<Worth, E> + 'a;
