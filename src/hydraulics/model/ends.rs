//! The ends of a link, small enough to lie close together for the inner loop of a solve.

/// The ends of a link as unknowns, and the slot of the two, in little room.
#[derive(Clone, Copy, Debug)]
pub struct Ends {
    from: u32,
    to: u32,
    slot: u32,
}

impl Ends {
    /// Stands for no unknown and no slot.
    const NONE: u32 = u32::MAX;

    pub fn new(from: Option<usize>, to: Option<usize>, slot: Option<usize>) -> Ends {
        let short = |index: Option<usize>| index.map_or(Ends::NONE, |index| index as u32);
        Ends { from: short(from), to: short(to), slot: short(slot) }
    }

    #[inline]
    fn long(index: u32) -> Option<usize> {
        if index == Ends::NONE { None } else { Some(index as usize) }
    }

    #[inline]
    pub fn from(self) -> Option<usize> {
        Ends::long(self.from)
    }

    #[inline]
    pub fn to(self) -> Option<usize> {
        Ends::long(self.to)
    }

    /// True for a link that comes back to the node it leaves.
    #[inline]
    pub fn is_ring(self) -> bool {
        self.from == self.to && self.from != Ends::NONE
    }

    /// There when both ends are unknown and different.
    #[inline]
    pub fn slot(self) -> Option<usize> {
        Ends::long(self.slot)
    }
}
