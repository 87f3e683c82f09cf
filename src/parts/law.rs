//! The laws that parts follow: the pressure lost at a flow, the flow at a pressure, and the slopes of both. No other place knows
//! their formulas; the links of a garden add their terms up.
//!
//! Flows count in the direction of the part itself.

use super::curve::Curve;
use super::flow_table::FlowTable;
use crate::laws::friction::{Loss, PipeFriction};
use crate::laws::hazen_williams::HazenWilliams;
use crate::laws::outlet_line::OutletLine;
use crate::laws::powers::Powers;
use crate::laws::vessel::Store;
use std::sync::Arc;

/// The law of a part with its parameters filled in. A loss counts from where its flow enters to where it leaves, q is the flow in m3/s,
/// P the gauge pressure upstream of an outlet in Pa.
#[derive(Clone, Debug)]
pub enum Law {
    /// No loss.
    Free,
    /// Pipe friction and a minor loss: dp = friction(q) + resistance q|q|.
    Friction {
        /// Friction by Darcy-Weisbach along its length.
        pipe: PipeFriction,
        /// Of couplings and bends, Pa s2/m6.
        resistance: f64,
    },
    /// Hazen-Williams friction and a minor loss.
    HazenWilliams {
        /// Friction along its length.
        pipe: HazenWilliams,
        /// Of couplings and bends, Pa s2/m6.
        resistance: f64,
    },
    /// dp = resistance q|q|.
    Quadratic {
        /// Loss over the square of the flow, Pa s2/m6; not a number where the diameter that it depends on is not known.
        resistance: f64,
    },
    /// dp = rise_pa, whatever the flow.
    Climb {
        /// Weight of the water column of its height, Pa; below zero downhill.
        rise_pa: f64,
    },
    /// As quadratic, but never backwards, and only above the cracking pressure.
    OneWay {
        /// Loss while open over the square of the flow, Pa s2/m6.
        resistance: f64,
        /// Pressure difference at which it opens, lost at every flow, Pa.
        cracking_pa: f64,
    },
    /// Holds `set_pa` downstream, or is wide open with the quadratic loss, or closed.
    Regulator {
        /// Loss wide open over the square of the flow, Pa s2/m6.
        resistance: f64,
        /// Gauge pressure that it holds at its outlet, Pa.
        set_pa: f64,
    },
    /// Adds the rise of its curve while it runs, flows through freely otherwise.
    Booster {
        /// Rise over flow, at its own speed.
        curve: Arc<Curve>,
        /// Gauge pressure at its outlet that a drive does not let it exceed, by a lower speed, Pa; none where it runs at its own speed, or is
        /// off.
        holds_pa: Option<f64>,
    },
    /// Gives pressure_pa - resistance q|q| at its outlet.
    Source {
        /// Gauge pressure at no flow, Pa.
        pressure_pa: f64,
        /// Fall of pressure over the square of the flow, Pa s2/m6.
        resistance: f64,
    },
    /// Discharges with P = resistance q^2, dry at or below zero.
    Orifice {
        /// Pressure over the square of the flow, Pa s2/m6.
        resistance: f64,
    },
    /// A nozzle with a regulator of its own: pressure at the nozzle is at most `set_pa`.
    RegulatedOrifice {
        /// Of its nozzle: pressure over the square of the flow, Pa s2/m6.
        resistance: f64,
        /// Gauge pressure that its regulator holds at the nozzle, Pa.
        set_pa: f64,
    },
    /// Discharges by points of pressure and flow, dry at or below zero.
    Tabulated {
        /// Its points; wear is in their flows.
        table: Arc<FlowTable>,
    },
    /// Discharges along a line of outlets with friction between them, dry at or below zero.
    Soaker {
        /// The line, closed at its end.
        line: Arc<OutletLine>,
    },
    /// Discharges q = coefficient P^exponent, dry at or below zero.
    Power {
        /// Flow at 1 Pa, m3/s.
        coefficient: f64,
        /// Above 0, at most 1.
        exponent: f64,
    },
    /// Discharges (P - set_pa) / resistance above its setting, exactly nothing below.
    Relief {
        /// Gauge pressure above which it opens, Pa.
        set_pa: f64,
        /// Pressure above the setting over flow, Pa s/m3.
        resistance: f64,
    },
    /// Takes a given flow.
    Demand {
        /// What it takes at every pressure, m3/s.
        flow_m3_per_s: f64,
    },
    /// A draw over time, which takes what comes: up to a given flow, and nothing at or below zero pressure.
    UpTo {
        /// The most that it takes, m3/s.
        flow_m3_per_s: f64,
    },
    /// Stored water after a span of time: the pressure at which a store holds `from_m3` less what has flowed out at a steady
    /// flow for `span_s`.
    Stored {
        /// How much it holds at a pressure.
        store: Arc<Store>,
        /// Water held when the span begins, m3.
        from_m3: f64,
        /// Length of the span, s.
        span_s: f64,
    },
    /// Lets nothing through.
    Closed,
}

impl Law {
    /// True when the resistance is not known: the law depends on the diameter of a hose beside the part and there is none, or a
    /// head has neither a nozzle nor a rated flow.
    #[inline]
    pub fn lacks_bore(&self) -> bool {
        match self {
            Law::Quadratic { resistance } | Law::OneWay { resistance, .. } | Law::Regulator { resistance, .. } => {
                resistance.is_nan()
            }
            Law::Orifice { resistance } => resistance.is_nan(),
            _ => false,
        }
    }

    /// True for the laws of outlets: what is lost is all the pressure before them.
    pub fn discharges(&self) -> bool {
        matches!(
            self,
            Law::Orifice { .. }
                | Law::RegulatedOrifice { .. }
                | Law::Tabulated { .. }
                | Law::Soaker { .. }
                | Law::Power { .. }
                | Law::Relief { .. }
        )
    }

    /// True when water comes through in one direction only.
    pub fn is_one_way(&self) -> bool {
        self.is_gate() || self.discharges()
    }

    /// True for a part in line that lets water through in one direction only; a booster with a drive that would have to go backward for it
    /// stands still.
    pub fn is_gate(&self) -> bool {
        matches!(self, Law::OneWay { .. } | Law::Regulator { .. } | Law::Booster { holds_pa: Some(_), .. })
    }

    /// The pressure that a regulator, alone or inside a head, or a drive holds downstream, Pa.
    pub fn holds_pa(&self) -> Option<f64> {
        match self {
            Law::Regulator { set_pa, .. } | Law::RegulatedOrifice { set_pa, .. } => Some(*set_pa),
            Law::Booster { holds_pa, .. } => *holds_pa,
            _ => None,
        }
    }

    /// The loss as a sum of terms, with a regulator wide open; none where no pressure drives the flow: what takes a given flow,
    /// and what is closed. `runs` says whether a booster runs; no other law asks for it.
    #[inline(always)]
    pub fn terms(&self, runs: bool) -> Option<Terms> {
        let quadratic = |resistance: &f64| Terms { quadratic: *resistance, ..Terms::default() };
        let curved = |curved: Curved| Terms { curved: Some(curved), ..Terms::default() };
        Some(match self {
            Law::Free => Terms::default(),
            Law::Friction { pipe, resistance } => Terms { curved: Some(Curved::Pipe(*pipe)), ..quadratic(resistance) },
            Law::HazenWilliams { pipe, resistance } => {
                Terms { curved: Some(Curved::HazenWilliams(*pipe)), ..quadratic(resistance) }
            }
            Law::Quadratic { resistance }
            | Law::Regulator { resistance, .. }
            | Law::Orifice { resistance }
            | Law::RegulatedOrifice { resistance, .. } => quadratic(resistance),
            Law::Climb { rise_pa } => Terms { offset_pa: *rise_pa, ..Terms::default() },
            Law::OneWay { resistance, cracking_pa } => Terms { offset_pa: *cracking_pa, ..quadratic(resistance) },
            Law::Booster { curve, .. } if runs => curved(Curved::Pump(Arc::clone(curve))),
            Law::Booster { .. } => Terms::default(),
            Law::Source { pressure_pa, resistance } => Terms { offset_pa: -pressure_pa, ..quadratic(resistance) },
            Law::Tabulated { table } => curved(Curved::Table(Arc::clone(table))),
            Law::Soaker { line } => curved(Curved::Soaker(Arc::clone(line))),
            Law::Power { coefficient, exponent } => curved(Curved::Power { coefficient: *coefficient, exponent: *exponent }),
            Law::Relief { set_pa, resistance } => Terms { offset_pa: *set_pa, linear: *resistance, ..Terms::default() },
            Law::Stored { store, from_m3, span_s } => {
                curved(Curved::Stored { store: Arc::clone(store), from_m3: *from_m3, span_s: *span_s })
            }
            Law::Demand { .. } | Law::UpTo { .. } | Law::Closed => return None,
        })
    }

    /// The pressure lost at a flow and its slope, with a regulator wide open; what gives pressure loses less than nothing. `runs` as
    /// in [`Law::terms`]; zero where that gives nothing. A soaker is followed from outlet to outlet, not looked up, so that small
    /// differences of it can be taken.
    pub fn loss(&self, runs: bool, flow_m3_per_s: f64) -> Loss {
        match self {
            Law::Soaker { line } => line.pressure_followed(flow_m3_per_s),
            _ => self.terms(runs).unwrap_or_default().loss(flow_m3_per_s),
        }
    }

    /// What an outlet gives at the gauge pressure before it: nothing at or below zero, whatever it is for one that takes a given
    /// flow. Nothing for parts that water does not leave by.
    pub fn outflow(&self, pressure_pa: f64) -> Option<Outflow> {
        let above_pa = pressure_pa.max(0.0);
        // q in proportion to P^exponent, and its derivative.
        let power = |flow: f64, exponent: f64| Outflow {
            flow_m3_per_s: flow,
            slope_m3_per_s_pa: if above_pa > 0.0 { exponent * flow / above_pa } else { 0.0 },
        };
        let along = |flow: f64, slope_pa_s_per_m3: f64| Outflow {
            flow_m3_per_s: flow,
            slope_m3_per_s_pa: if flow > 0.0 { 1.0 / slope_pa_s_per_m3 } else { 0.0 },
        };
        let given = |flow_m3_per_s: f64| Outflow { flow_m3_per_s, slope_m3_per_s_pa: 0.0 };
        Some(match self {
            Law::Orifice { resistance } => power((above_pa / resistance).sqrt(), 0.5),
            Law::RegulatedOrifice { resistance, set_pa } if above_pa >= *set_pa => given((set_pa / resistance).sqrt()),
            Law::RegulatedOrifice { resistance, .. } => power((above_pa / resistance).sqrt(), 0.5),
            Law::Power { coefficient, exponent } => power(coefficient * above_pa.powf(*exponent), *exponent),
            Law::Relief { set_pa, resistance } if pressure_pa > *set_pa => {
                along((pressure_pa - set_pa) / resistance, *resistance)
            }
            Law::Relief { .. } | Law::Closed => given(0.0),
            Law::Tabulated { table } => {
                let flow = table.flow(above_pa);
                along(flow, table.pressure(flow).1)
            }
            Law::Soaker { line } => {
                let flow = line.flow(above_pa);
                along(flow, line.pressure_followed(flow).slope_pa_s_per_m3)
            }
            Law::Demand { flow_m3_per_s } => given(*flow_m3_per_s),
            _ => return None,
        })
    }
}

/// Flow out of an outlet at a pressure, and its derivative to that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outflow {
    /// What comes out, m3/s; never below zero.
    pub flow_m3_per_s: f64,
    /// Derivative of the flow to the gauge pressure upstream, m3/s/Pa; zero where it is dry or does not depend on the pressure.
    pub slope_m3_per_s_pa: f64,
}

/// A loss as a sum: offset + linear q + quadratic q|q| + what is curved in another way.
#[derive(Clone, Debug, Default)]
pub struct Terms {
    /// What is lost at any flow, Pa: an elevation change, a cracking pressure, less the pressure of a source.
    pub offset_pa: f64,
    /// Factor of the flow, Pa s/m3: a relief valve.
    pub linear: f64,
    /// Factor of the flow times its size, Pa s2/m6: fittings, nozzles, valves.
    pub quadratic: f64,
    /// What has none of these forms.
    pub curved: Option<Curved>,
}

impl Terms {
    /// Loss (Pa) and its slope (Pa s/m3) at a flow of either sign.
    #[inline]
    pub fn loss(&self, flow_m3_per_s: f64) -> Loss {
        let size = flow_m3_per_s.abs();
        let loss_pa = self.offset_pa + (self.linear + self.quadratic * size) * flow_m3_per_s;
        let slope_pa_s_per_m3 = self.linear + 2.0 * self.quadratic * size;
        let Some(curved) = &self.curved else { return Loss { loss_pa, slope_pa_s_per_m3 } };
        let more = curved.loss(flow_m3_per_s);
        Loss { loss_pa: loss_pa + more.loss_pa, slope_pa_s_per_m3: slope_pa_s_per_m3 + more.slope_pa_s_per_m3 }
    }
}

/// A term that is neither constant nor goes with the flow or its square.
#[derive(Clone, Debug)]
pub enum Curved {
    /// Friction by Darcy-Weisbach.
    Pipe(PipeFriction),
    /// Friction by Hazen-Williams.
    HazenWilliams(HazenWilliams),
    /// A running booster.
    Pump(Arc<Curve>),
    /// An outlet by points of pressure and flow.
    Table(Arc<FlowTable>),
    /// A line of outlets, looked up in a table that fills as it is used.
    Soaker(Arc<OutletLine>),
    /// P = (q / coefficient)^(1 / exponent).
    Power {
        /// Flow at 1 Pa, m3/s.
        coefficient: f64,
        /// Above 0, at most 1.
        exponent: f64,
    },
    /// Water in store that flows out.
    Stored {
        /// How much it holds at a pressure.
        store: Arc<Store>,
        /// Water held when the span begins, m3.
        from_m3: f64,
        /// Length of the span, s.
        span_s: f64,
    },
}

impl Curved {
    /// Loss and slope at a flow; that of a soaker is looked up. For a flow that a step has thrown below zero the law of an outlet
    /// goes on as it came.
    #[inline]
    pub fn loss(&self, flow_m3_per_s: f64) -> Loss {
        let of = |(loss_pa, slope_pa_s_per_m3)| Loss { loss_pa, slope_pa_s_per_m3 };
        match self {
            Curved::Pipe(pipe) => pipe.loss(flow_m3_per_s, &mut 0.0),
            Curved::HazenWilliams(pipe) => pipe.loss(flow_m3_per_s),
            Curved::Pump(curve) => {
                let (rise_pa, slope) = curve.rise(flow_m3_per_s);
                of((-rise_pa, -slope))
            }
            Curved::Table(table) => of(table.pressure(flow_m3_per_s)),
            Curved::Soaker(line) => line.pressure(flow_m3_per_s),
            Curved::Power { coefficient, exponent } => Powers::through(*coefficient, 1.0, 1.0 / exponent).at(flow_m3_per_s),
            Curved::Stored { store, from_m3, span_s } => {
                let stand = store.stand(from_m3 - span_s * flow_m3_per_s, *span_s);
                of((-stand.pressure_pa, span_s * stand.pa_per_m3))
            }
        }
    }

    /// True when it bends enough that its tangents mislead far from the answer: a power of its own, a store with an edge.
    pub fn is_steep(&self) -> bool {
        match self {
            Curved::Power { .. } | Curved::Table(_) | Curved::Soaker(_) => true,
            Curved::Stored { store, .. } => store.has_edges(),
            Curved::Pipe(_) | Curved::HazenWilliams(_) | Curved::Pump(_) => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::laws::outlet_line::Wall;
    use crate::laws::vessel::{Held, Vessel};
    use proptest::prelude::*;

    fn pipe() -> PipeFriction {
        PipeFriction::new(30.0, 0.016, 1.5e-6, 999.1, 1.138e-3)
    }

    /// Every law that loses pressure, in the sizes of a garden.
    fn losing() -> Vec<Law> {
        let hazen_williams = HazenWilliams::new(30.0, 0.016, 140.0).expect("sound");
        let curve = Curve::by_three(3.3e5, (3.8e-4, 2.3e5), 7.6e-4).expect("a curve");
        let mut all = vec![
            Law::Free,
            Law::Friction { pipe: pipe(), resistance: 1e11 },
            Law::HazenWilliams { pipe: hazen_williams, resistance: 1e11 },
            Law::Quadratic { resistance: 3e11 },
            Law::Climb { rise_pa: 2e4 },
            Law::OneWay { resistance: 3e11, cracking_pa: 3e3 },
            Law::Regulator { resistance: 3e11, set_pa: 2e5 },
            Law::Booster { curve: Arc::new(curve), holds_pa: None },
            Law::Source { pressure_pa: 4e5, resistance: 7e11 },
            Law::Stored {
                store: Arc::new(Store {
                    held: vec![Held { vessel: Vessel::Linear { m3_per_pa: 1e-9 }, offset_pa: 0.0 }],
                    rim_pa: None,
                }),
                from_m3: 4e-4,
                span_s: 0.5,
            },
        ];
        all.extend(outlets());
        all
    }

    /// Every law of outlets that follows the pressure.
    fn outlets() -> Vec<Law> {
        let table = FlowTable::new(&[(1e5, 1e-4), (2e5, 1.5e-4), (4e5, 2e-4)]).expect("a table");
        vec![
            Law::Orifice { resistance: 8e12 },
            Law::RegulatedOrifice { resistance: 8e12, set_pa: 1e9 },
            Law::Tabulated { table: Arc::new(table) },
            Law::Soaker { line: Arc::new(OutletLine::new(Wall::Rough(pipe()), 20, 1e-8, 0.5)) },
            Law::Power { coefficient: 1e-7, exponent: 0.6 },
            Law::Relief { set_pa: 5e4, resistance: 1e8 },
        ]
    }

    proptest! {
        #[test]
        fn the_slope_of_a_loss_is_its_derivative(flow in 1e-5f64..5e-4, backward in any::<bool>()) {
            for law in losing() {
                let flow = if backward && !law.is_one_way() { -flow } else { flow };
                let step = 1e-4 * flow.abs();
                let at = |flow: f64| law.loss(true, flow);
                let (below, here, above) = (at(flow - step), at(flow), at(flow + step));
                let difference = (above.loss_pa - below.loss_pa) / (2.0 * step);
                // Where the slope itself jumps between the two, it must lie between theirs.
                let jump = (above.slope_pa_s_per_m3 - below.slope_pa_s_per_m3).abs();
                let allowed = 1e-6 * here.slope_pa_s_per_m3.abs() + jump + 1e-9 * here.loss_pa.abs() / step;
                prop_assert!((difference - here.slope_pa_s_per_m3).abs() <= allowed, "{law:?} at {flow}: {difference}, {here:?}");
                let cornered = matches!(law, Law::Friction { .. } | Law::Tabulated { .. });
                prop_assert!(cornered || jump <= 0.02 * here.slope_pa_s_per_m3.abs(), "{law:?} at {flow} jumps by {jump}");
            }
        }

        #[test]
        fn an_outflow_undoes_the_loss_of_an_outlet(flow in 1e-5f64..5e-4) {
            for law in outlets() {
                let loss = law.loss(true, flow);
                let back = law.outflow(loss.loss_pa).expect("an outlet");
                prop_assert!((back.flow_m3_per_s - flow).abs() <= 1e-9 * flow, "{law:?} at {flow}: {back:?}");
                let slopes = back.slope_m3_per_s_pa * loss.slope_pa_s_per_m3;
                prop_assert!((slopes - 1.0).abs() <= 1e-6, "{law:?} at {flow}: {slopes}");
            }
        }

        #[test]
        fn the_terms_of_a_law_add_up_to_its_loss(flow in -5e-4f64..5e-4) {
            for law in losing() {
                let (whole, summed) = (law.loss(true, flow), law.terms(true).expect("it loses").loss(flow));
                // A soaker is looked up in one and followed in the other.
                prop_assert!((whole.loss_pa - summed.loss_pa).abs() <= 1e-6 * whole.loss_pa.abs(), "{law:?} at {flow}");
            }
        }
    }

    #[test]
    fn a_regulated_nozzle_gives_no_more_above_its_setting_and_a_relief_nothing_below_its_own() {
        let nozzle = Law::RegulatedOrifice { resistance: 1e13, set_pa: 2e5 };
        assert_eq!(nozzle.outflow(2e5), nozzle.outflow(6e5));
        assert!(nozzle.outflow(1e5).expect("an outlet").flow_m3_per_s < nozzle.outflow(2e5).expect("an outlet").flow_m3_per_s);
        let relief = Law::Relief { set_pa: 5e5, resistance: 1e8 };
        assert_eq!(relief.outflow(5e5), Some(Outflow { flow_m3_per_s: 0.0, slope_m3_per_s_pa: 0.0 }));
        assert_eq!(Law::Free.outflow(1e5), None);
    }

    #[test]
    fn a_booster_that_is_off_and_a_shut_part_lose_nothing() {
        let curve = Arc::new(Curve::new(&[(0.0, 2e5), (1e-3, 1e5)]).expect("a curve"));
        let nothing = Loss { loss_pa: 0.0, slope_pa_s_per_m3: 0.0 };
        assert_eq!(Law::Booster { curve, holds_pa: None }.loss(false, 1e-4), nothing);
        assert_eq!(Law::Closed.loss(true, 1e-4), nothing);
        assert!(Law::Closed.terms(true).is_none() && Law::Demand { flow_m3_per_s: 1e-4 }.terms(true).is_none());
    }
}
