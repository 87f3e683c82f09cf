//! Every number that the solve goes by, once, with its reason; what it may change for a garden over time is a [`Tolerances`].
//!
//! None of them is an answer: they say what counts as nothing, where a search begins and when it gives up. Where no reason by
//! numbers is given the value is common practice of this solve, found by trying random gardens.

// What counts as closed, and as nothing.

/// Pressures must close along every link to this share of the highest pressure: a thousand times the rounding of a sum of some
/// hundred losses.
pub const CLOSES_TO: f64 = 1e-9;
/// Pressure that the closing is measured against at least, Pa: a meter of water, below which no garden works.
pub const LEAST_SCALE_PA: f64 = 1e4;
/// A step must change no flow by more than this share of the largest; closed pressures alone leave a flow near nothing
/// open, because a quadratic loss hardly differs from none.
pub const FLOWS_TO: f64 = 1e-8;
/// What a step may change a flow by where hardly anything flows, m3/s: a milliliter a day.
const LEAST_FLOW_CHANGE: f64 = 1e-11;
/// Flow of an answer that counts as none, m3/s: stores at rest trickle less by rounding, and a liter takes thirty years.
pub const NO_FLOW_M3_PER_S: f64 = 1e-12;
/// Flow that counts as nothing when a link is about to close, m3/s: less than any that counts as at rest.
pub const CLOSES_BELOW: f64 = 2e-13;
/// Flow of a link at rest that is rounding, m3/s.
pub const RESTS_BELOW: f64 = 1e-11;
/// Two pressures closer than this share of the highest count as one where the split of a flow is asked for; as [`CLOSES_TO`].
pub const LEVEL_WITHIN: f64 = 1e-9;
/// Heights around a loop may differ by this much, m: rounding of conversions.
pub const HEIGHTS_CLOSE_TO_M: f64 = 1e-6;
/// Trapped water rises where a valve would let in more than this share of the pressure before it; as [`CLOSES_TO`].
pub const FILLS_TO: f64 = 1e-9;
/// Pressure above which an answer is compared with what the sources could make of it, Pa: far above any pump of a garden.
pub const SUSPECT_PA: f64 = 1e7;
/// A steady state has no pressure above this many times what sources, pumps and heights add up to: far enough out to meet only nodes
/// that a step has thrown away.
pub const CEILING: f64 = 10.0;

// Where a solve begins.

/// Flow to begin with when nothing better is known, m3/s: about 3 gpm.
pub const FIRST_FLOW: f64 = 2e-4;
/// A first flow below this is no help, m3/s.
pub const LEAST_FIRST_FLOW: f64 = 1e-9;
/// The highest pressure that a guess counts with at least, Pa.
pub const LEAST_HIGHEST_PA: f64 = 1e5;
/// Share of the highest pressure at which outlets are first thought to work.
pub const MIDDLING: f64 = 0.7;
/// Share of the highest pressure that the longest way may use up in a guess.
pub const MOST_LOST: f64 = 0.9;
/// Share of the flow that a link which closes a loop would take if it did not even out the pressures at its ends.
pub const BRIDGE: f64 = 0.3;

/// With this many nodes and more a solve starts from the solution for losses that go with the square of the flow. In smaller networks a guess along
/// the tree of feeders is near enough, and takes two rounds more at most.
pub const MANY_NODES: usize = 100;
/// Steps to the pressure of one node in a guess at most.
pub const MOST_LEVEL_STEPS: usize = 4;
/// Share of the range of pressures around a node within which a guess of its own ends.
pub const LEVELS_WITHIN: f64 = 1e-3;

// Slopes that stand in for less, so that a step can be taken.

/// Slope that stands in for none; it does not touch the answer. Pa s/m3: 1e-6 of those of hoses.
pub const LEAST_SLOPE: f64 = 1e3;
/// With more links than these the slope that stands in for none is less by as much, for in a row of them all it adds up: a long
/// trunk of wide pipes would else come to rest slowly.
pub const LINKS_IN_A_ROW: usize = 1000;
/// Slope that stands in for none where water parts, which gives pressures on both sides of parts without loss, Pa s/m3.
pub const PARTING_SLOPE: f64 = 50.0;
/// Slope that stands in for none beside stores, as a share of that of the flattest store: small against all that matters.
const SHARE_OF_SLOPE: f64 = 1e-3;
/// A slope less than this would drown those of hoses in rounding, Pa s/m3.
const LEAST_OF_STORES: f64 = 1e-2;
/// How pressure falls with flow in what feeds an outlet, roughly: 100 kPa at 0.1 L/s. Pa s/m3.
pub const FEED_SLOPE: f64 = 1e9;

/// A step beside stores takes the tangent of a steep law at the flow itself where that is as near to the law as this share of it: less changes by
/// the square of it.
pub const NEAR_LAW: f64 = 1e-2;

// How long each method is followed.

/// Steps of Newton's method at most; nine solves in ten take five.
pub const MOST_ITERATIONS: usize = 60;
/// Most solves end before this many steps; then it is time to look for nodes that were thrown away.
pub const QUICK_ITERATIONS: usize = 15;
/// Steps at most from an answer to the rounding of it; two are the rule, a link whose loss goes with the square of hardly any flow takes all.
pub const MOST_FINISHING: usize = 12;
/// What may be left of an answer to rounding, as a share of the largest flow.
pub const ROUNDS_TO: f64 = 1e-15;
/// With fewer links the first steps take no time in which a stop would be waited for.
pub const MANY_LINKS: usize = 1000;
/// Steps with states held at most, all changes of one state taken together.
pub const MOST_HELD_ITERATIONS: usize = 1000;
/// With states held, pressures must close to this share before a state is changed.
pub const SETTLES_TO: f64 = 1e-7;
/// Steps of a relaxation at most.
pub const MOST_RELAXED_STEPS: usize = 400;
/// The sum of imbalances at which a relaxation ends, m3/s; Newton's method goes on from there.
pub const BALANCED: f64 = 1e-12;
/// Conductance of the storage that a relaxation begins with, m3/s/Pa: about that of the links.
pub const FIRST_STORAGE: f64 = 1e-9;
/// Conductance below which storage counts as none, m3/s/Pa.
pub const LEAST_STORAGE: f64 = 1e-16;
/// Conductance above which nothing moves any more, m3/s/Pa.
pub const MOST_STORAGE: f64 = 1e3;
/// A step that lowers the imbalance makes the storage of the next one smaller by this factor, one that does not larger by the other.
pub const STORAGE_SHRINKS: f64 = 0.3;
pub const STORAGE_GROWS: f64 = 8.0;
/// Stages in which the pressure at which water parts is raised to its own.
pub const STAGES: u32 = 24;
/// Suction that the stages begin from at most, as a multiple of that at which water parts.
pub const MOST_SUCTION: f64 = 1e4;
/// Steps after which demands are looked at though the rest has not settled: a demand that nothing can feed lets nothing settle.
pub const DEMANDS_WAIT: usize = 8;

// Where water parts.

/// Links part this far above vapor pressure, Pa: of all that pull at a node pumps and falling lines give way before demands, so that
/// one answer is left.
pub const LINKS_GIVE_WAY_PA: f64 = 0.01;

// Demands that take what comes.

/// Pressure from which on a tap gives all it is asked for, Pa: a tenth of a millimeter of water.
pub const TAP_FULL_PA: f64 = 1.0;
/// The state of a tap is left when the pressure is past its end by this, Pa, so that rounding does not pass it to and fro.
pub const TAP_PAST_PA: f64 = 1e-6;

// Water in store.

/// Rounding of a pressure, Pa.
pub const ROUNDING_PA: f64 = 1e-9;
/// Volume that a flow which counts as none may move in the span, m3.
const NO_VOLUME_M3: f64 = 1e-10;
/// No flow beside stores is determined more finely than this, m3/s.
const FINEST_OF_STORES: f64 = 1e-14;
/// No link beside a store closes at less than this, m3/s: as [`FINEST_ROOT`].
const CLOSES_AT_LEAST: f64 = 1e-18;

// Roots of the law of one link.

/// Flows below this are taken for nothing when a start value is needed, m3/s.
pub const SMALL_FLOW: f64 = 1e-7;
/// Steps in which a root is found at most.
pub const MOST_ROOT_STEPS: usize = 300;
/// Steps after which a bracket is narrowed by ratios: Newton's method halves a guess that is far too large, no more.
pub const NEWTON_ROOT_STEPS: usize = 25;
/// The width of a bracket that is narrow enough, m3/s.
pub const FINEST_ROOT: f64 = 1e-18;
/// The rounding of a flow, as a share of it.
pub const ROOT_ROUNDING: f64 = 1e-15;

// Elimination.

/// What stands in for a pivot where nothing ties an unknown to the rest: it moves freely in the way it is pushed.
pub const LOOSE_PIVOT: f64 = 1e-11;
/// A pivot this small against its entry before elimination counts as zero.
pub const NO_PIVOT: f64 = 1e-13;

// Sensitivities.

/// Pressures closer to a turning point than this share of the highest pressure count as being at it.
pub const TURNS_WITHIN: f64 = 1e-8;
/// Slope of a tangent that stands in for a smaller one, Pa s/m3: 1e-5 of those of hoses, so that rounding takes little.
pub const LEAST_TANGENT: f64 = 1e4;
/// What ties a node whose demands go short to its pressure, m3/s/Pa. A link conducts at most 1 / [`LEAST_TANGENT`]: that over this, 1e-13,
/// is the share of a change that gets past the tie.
pub const SHORT_TIE: f64 = 1e9;
/// Rounds in which a slope that stands in is taken back.
pub const MOST_ROUNDS: usize = 30;
/// What the weights may lack, as a share of the largest push.
pub const WEIGHTS_TO: f64 = 1e-14;
/// A round that leaves more than this share of the square of what is lacking brings nothing.
pub const STALLS_AT: f64 = 0.999;
/// Flow at which a one-way link has no tangent, m3/s: a few times what a step leaves where a link is about to close.
pub const NO_TANGENT_FLOW: f64 = 1e-12;
/// Reynolds numbers and flows closer to a corner of a law than this share count as being at it.
pub const CORNER_WITHIN: f64 = 2e-5;
/// A change of slope by more than this share across a corner is one: smooth pieces change by some 1e-4.
pub const TABLE_CORNER: f64 = 5e-4;
/// Step of a difference of a law, as a share of the number; in its usual unit where it is zero. The error of a central
/// difference is then near 1e-10 of the derivative, by the third derivative and by rounding alike.
pub const DIFFERENCE_STEP: f64 = 6e-6;
/// A link that is just turning does not matter where its flow is worth less than this share of the largest worth: rounding.
pub const WORTHLESS: f64 = 1e-15;

/// How finely one solve works. The usual ones fit a steady state; a garden over time sets its own for each span.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerances {
    /// Slope that stands in for less in a step, Pa s/m3.
    pub least_slope: f64,
    /// Change of a flow that counts as none where hardly anything flows, m3/s.
    pub rests_within: f64,
    /// Flow that counts as nothing when a link is about to close, m3/s.
    pub closes_below: f64,
    /// Where a law is flat a step goes by the chord that a loss with the square of the flow would have.
    pub by_chords: bool,
    /// Steps go on, by losses worked out anew, until rounding is all that is left of a change.
    pub to_rounding: bool,
    /// What ends a solve.
    pub foresight: Foresight,
}

/// What ends a solve: what a step leaves is seen by the next one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Foresight {
    /// A step that sees that the one before has left nothing.
    Nothing,
    /// Also one that will leave nothing, if it leaves of its misfit no more than the share that the one before has left. Near an answer, where no
    /// state changes, tangents leave less and less.
    Ending,
}

impl Default for Tolerances {
    fn default() -> Tolerances {
        Tolerances {
            least_slope: LEAST_SLOPE,
            rests_within: LEAST_FLOW_CHANGE,
            closes_below: CLOSES_BELOW,
            by_chords: false,
            to_rounding: false,
            foresight: Foresight::Nothing,
        }
    }
}

impl Tolerances {
    /// Those of a curve, whose points must lie on one smooth line.
    pub fn of_curves() -> Tolerances {
        Tolerances { to_rounding: true, ..Tolerances::default() }
    }

    /// Those that fit stores: flows are followed as finely as a span in s wants, and where a law is flat a step is taken by what
    /// the flattest store leaves, Pa s/m3. What counts as no flow is worth no pressure in the steepest one: a link beside it that closes at
    /// more would leave pressures that do not close, and open again.
    pub fn of_stores(span_s: f64, flattest: f64, steepest: f64) -> Tolerances {
        let finest = (NO_VOLUME_M3 / span_s).clamp(FINEST_OF_STORES, LEAST_FLOW_CHANGE);
        Tolerances {
            least_slope: (SHARE_OF_SLOPE * flattest).clamp(LEAST_OF_STORES, LEAST_SLOPE),
            rests_within: finest.max(ROUNDING_PA / flattest),
            closes_below: (CLOSES_TO * LEAST_SCALE_PA / steepest).clamp(CLOSES_AT_LEAST, CLOSES_BELOW),
            by_chords: true,
            to_rounding: false,
            foresight: Foresight::Nothing,
        }
    }
}
