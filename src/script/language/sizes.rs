//! How large scripts and their values may be.

/// Stack that a thread needs to evaluate scripts which use up the limits below; only what is used is taken from the machine.
pub const STACK_BYTES: usize = 192 << 20;

/// Calls inside calls.
pub const MAX_CALL_LEVELS: usize = 64;
/// Brackets inside brackets, and operators in a row, at top level and inside functions: with `chains` enough for 5,000 parts in one line.
pub const MAX_EXPRESSION_DEPTH: usize = 192;
/// Bytes of a text that a script makes.
pub const MAX_TEXT_BYTES: usize = 16_000_000;
/// Items of a list, with those of the lists in it.
pub const MAX_LIST_ITEMS: usize = 1_000_000;
/// Few, since the engine counts them again at each change.
pub const MAX_MAP_ITEMS: usize = 20_000;
/// Steps of one entry or script: minutes of pure calculation. What a function does inside, such as a sweep, counts as one.
pub const MAX_STEPS: u64 = 1_000_000_000;
/// Files that a script imports, directly or through others.
pub const MAX_MODULES: usize = 100;
