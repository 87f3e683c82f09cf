//! Boosters that switches, controls and relays start, side by side: what `hydraulics::switch` does for one case.

use super::bends::Shape;
use super::model::{LaneModel, Own};
use super::read::read;
use super::readings::Reading;
use super::state::State;
use crate::garden::Starter;
use crate::hydraulics::answer::probe::{Probe, ProbeKind};
use crate::hydraulics::network::Network;
use crate::hydraulics::switch::{STILL_M3_PER_S, Verdict};
use crate::numeric::lanes::{F, Mask, Vector};
use crate::parts::Start;

/// Pressures this close to a setting, Pa, are left to the solver for one case, as are flows by this share: rounding would decide.
const TOO_CLOSE_PA: f64 = 1e-3;
const TOO_CLOSE: f64 = 1e-6;

/// What starts a booster.
#[derive(Clone, Debug)]
pub struct Starting {
    start: Start,
    /// The number of its booster among those.
    booster: usize,
    /// Its booster runs in the state from which it is started.
    runs: bool,
    /// The pressure that it senses.
    senses: Reading,
    /// The link of its booster, and whether that passes it in its own direction.
    flow: (usize, bool),
    /// The place of the pressure at which it starts among the numbers, then of that, or the flow, at which it stops.
    settings: usize,
}

impl Starting {
    /// That of a starter; none where lanes cannot hold it.
    pub fn of(starter: &Starter, network: &Network, model: &mut LaneModel) -> Option<Starting> {
        if starter.start == Start::Speed {
            return None;
        }
        let circuit = network.circuit();
        let bend = *model.bends.iter().find(|bend| bend.place == starter.booster)?;
        let Shape::Rise(booster) = bend.shape else { return None };
        let flow = (circuit.structure.link_of[starter.booster]?, bend.forward);
        let sensed = Probe { place: starter.place, kind: ProbeKind::Pressure };
        let senses = Reading::of(&sensed, network.node_downstream(starter.place), circuit, model)?;
        let [starts, stops] = Own::settings(&network.parts()[starter.place]);
        let settings = model.another(starts);
        model.another(stops);
        model.own.push((starter.place, Own::Starter(settings)));
        Some(Starting { start: starter.start, booster, runs: circuit.runs[starter.booster], senses, flow, settings })
    }
}

/// What a switch makes of the cases at hand.
#[derive(Clone, Copy, Debug)]
pub struct Switching<S: Vector, const W: usize> {
    /// The pressure that it senses, Pa.
    at_pa: F<S, W>,
    /// Its verdict, by its place among all.
    pub verdict: F<S, W>,
}

impl<S: Vector, const W: usize> Switching<S, W> {
    /// Before any case.
    pub fn new(simd: S) -> Self {
        let zero = F::splat(simd, 0.0);
        Switching { at_pa: zero, verdict: zero }
    }
}

/// A verdict as a number.
fn code(verdict: Verdict) -> f64 {
    Verdict::ALL.iter().position(|other| *other == verdict).unwrap_or_default() as f64
}

/// Solves the cases in some lanes, with the boosters that are started from rest, and gives the lanes whose answers are beyond doubt.
#[inline(always)]
pub fn settle<S: Vector, const W: usize>(
    starting: &[Starting],
    state: &mut State<S, W>,
    lanes: Mask<S, W>,
    switches: &mut [Switching<S, W>],
    simd: S,
) -> Mask<S, W> {
    let number = |number: f64| F::<S, W>::splat(simd, number);
    let [never, runs, rests] = [Verdict::NeverStarts, Verdict::Runs, Verdict::Rests].map(code);
    for (of, switch) in starting.iter().zip(switches.iter_mut()) {
        state.run(of.booster, Mask::splat(simd, of.runs), lanes);
        switch.verdict = number(if of.start != Start::Zones {
            never
        } else if of.runs {
            runs
        } else {
            rests
        });
    }
    let (mut fine, mut due, mut stops) = (lanes, lanes, false);
    // Boosters only ever join in, and then stop once, so this ends.
    loop {
        let arrived = state.solve(due);
        fine = fine & (!due | state.certain(arrived));
        if stops {
            return fine;
        }
        let mut started = !lanes & lanes;
        for (of, switch) in starting.iter().zip(switches.iter_mut()).filter(|(of, _)| of.start != Start::Zones) {
            let (at_pa, known) = read(&of.senses, state, fine, simd);
            let starts_pa = state.numbers[of.settings];
            let waits = fine & switch.verdict.same(number(never));
            fine = fine & known & (!waits | number(TOO_CLOSE_PA).lt((at_pa - starts_pa).abs()));
            let starts = waits & fine & at_pa.le(starts_pa);
            (switch.at_pa, switch.verdict) = (at_pa, starts.choose(number(runs), switch.verdict));
            state.run(of.booster, Mask::splat(simd, true), starts);
            started = started | starts;
        }
        due = started;
        if !started.any() {
            (due, fine) = stop(starting, state, fine, switches, simd);
            stops = true;
            if !due.any() {
                return fine;
            }
        }
    }
}

/// Stops the boosters that run for nothing; gives the lanes in which one has stopped, and those of some lanes in which that is beyond doubt.
#[inline(always)]
fn stop<S: Vector, const W: usize>(
    starting: &[Starting],
    state: &mut State<S, W>,
    mut fine: Mask<S, W>,
    switches: &mut [Switching<S, W>],
    simd: S,
) -> (Mask<S, W>, Mask<S, W>) {
    let number = |number: f64| F::<S, W>::splat(simd, number);
    let [runs, cycles, rests] = [Verdict::Runs, Verdict::ShortCycles, Verdict::Rests].map(code);
    let mut stopped = !fine & fine;
    for (of, switch) in starting.iter().zip(switches.iter_mut()).filter(|(of, _)| of.start != Start::Zones) {
        let ran = fine & switch.verdict.same(number(runs));
        let stops = state.numbers[of.settings + 1];
        if of.start == Start::Pressure {
            fine = fine & (!ran | number(TOO_CLOSE_PA).lt((switch.at_pa - stops).abs()));
            switch.verdict = (ran & stops.le(switch.at_pa)).choose(number(cycles), switch.verdict);
        } else {
            let (link, forward) = of.flow;
            let flow = if forward { state.flows[link] } else { -state.flows[link] };
            let near = |limit: F<S, W>| (flow - limit).abs().le(TOO_CLOSE * limit);
            let still_at = number(STILL_M3_PER_S);
            fine = fine & (!ran | (!near(stops) & !near(still_at)));
            let still = ran & flow.le(still_at);
            switch.verdict = (ran & flow.lt(stops)).choose(number(cycles), switch.verdict);
            switch.verdict = still.choose(number(rests), switch.verdict);
            state.run(of.booster, Mask::splat(simd, false), still);
            stopped = stopped | still;
        }
    }
    (stopped & fine, fine)
}
