//! A steady solver of another kind: all flows and pressures at once, by an interior-point method.
//!
//! Every part is an element between two points, with the loss `h(q)` by its own formulas, written out here once more; nothing
//! of the library but the numbers of parts and who is joined to whom is used. What may only flow one way, or holds a
//! pressure, is a complementarity: two numbers that are not negative and whose product is to vanish. The products are held
//! at one value that is led to nothing, while Newton's method with steps that keep all of them above zero closes the rest
//! (primal-dual path following, as in S. J. Wright, Primal-Dual Interior-Point Methods (1997), from memory). States of valves never come up.
//!
//! Unknowns: the flow of each element, the pressure of each point; `push`, by which a shut element is pressed shut;
//! `taken`, what a regulator takes away, and `room`, how far what it holds lies below its setting.
//!
//! Water parts where something pulls at it: before an element in which its pressure rises, a running pump or a way downhill.
//! There either nothing is taken away, or the pressure is that of vapor, so `taken` is a loss as water enters the element and
//! `room` how far the pressure there lies above vapor ([`Model::with_vapor`]).

use hosewright::garden::Garden;
use hosewright::parts::{Id, Kind, Part, Placing};
use std::f64::consts::PI;

pub const DENSITY: f64 = 999.1;
const VISCOSITY: f64 = 1.138e-3;
pub const GRAVITY: f64 = 9.80665;
const PSI: f64 = 6_894.757_293_168_361;
const GPM: f64 = 3.785_411_784e-3 / 60.0;
/// Resistance of an element without one, Pa s/m3: a thousandth of a pascal at a liter a second.
const HARDLY_ANY: f64 = 1.0;
/// What shut one-way parts may let back, m3/s: where several stand against each other, flows above nothing would leave no
/// room between them.
const SEEPAGE: f64 = 1e-12;
/// How far below that of vapor the pressure of water is kept that stands at no pull, Pa.
const FLOOR_PA: f64 = 0.5;
/// Flow that counts as none, m3/s.
const NO_FLOW: f64 = 1e-10;
/// Pressures of water that parts lie this close to that of vapor, Pa.
const PARTS_WITHIN_PA: f64 = 0.1;
/// How far above draws, Pa, what else pulls at water gives way to vapor.
const DRAWS_LAST_PA: f64 = 0.01;
const FLOW_SCALE: f64 = 1e-4;
const PRESSURE_SCALE: f64 = 1e5;

/// What an element loses at a flow.
#[derive(Clone, Debug)]
enum Loss {
    /// `constant + linear q + square q|q|`.
    Simple {
        constant: f64,
        linear: f64,
        square: f64,
    },
    Pipe {
        length_m: f64,
        diameter_m: f64,
        roughness_m: f64,
        square: f64,
    },
    HazenWilliams {
        factor: f64,
        square: f64,
    },
    /// Points of flow and rise of a pump.
    Pump {
        points: Vec<(f64, f64)>,
    },
    /// (q / coefficient)^(1 / exponent).
    Power {
        coefficient: f64,
        exponent: f64,
    },
    /// Points of pressure and flow with power laws between them.
    Table {
        points: Vec<(f64, f64)>,
    },
}

/// A part, or a piece of one, between two points; a point that is none is the air.
#[derive(Clone, Debug)]
struct Element {
    place: usize,
    from: Option<usize>,
    to: Option<usize>,
    loss: Loss,
    one_way: bool,
    /// The pressure that a regulator holds behind it, or before the nozzle it is part of.
    set: Option<f64>,
    /// The pressure below which water does not enter it: it loses there what it would be pulled below.
    least: Option<f64>,
    /// The flow of the place is the sum of the flows of its elements, each times this.
    counts: f64,
}

impl Element {
    /// Whether it may take pressure away, beyond its loss.
    fn takes(&self) -> bool {
        self.set.is_some() || self.least.is_some()
    }

    /// Whether the pressure of water at rest rises from one end to the other, forward or backward.
    fn lifts(&self) -> Option<Way> {
        let rest_pa = self.loss.at(0.0).0;
        match (self.from, self.to) {
            (Some(_), Some(_)) if rest_pa < 0.0 => Some(Way::Forward),
            (Some(_), Some(_)) if rest_pa > 0.0 && !self.one_way => Some(Way::Backward),
            _ => None,
        }
    }
}

/// A way through an element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Forward,
    Backward,
}

/// Flow of every place in its own direction, of outlets what they give; pressure of every node of the layout.
pub struct Answer {
    pub flows: Vec<f64>,
    pub node_pa: Vec<f64>,
    pub iterations: usize,
}

pub struct Model {
    elements: Vec<Element>,
    /// Boosters whose drive holds a pressure, each as one element; among the others they are a pump and a regulator.
    driven: Vec<Element>,
    demands: Vec<(usize, usize, f64)>,
    points: usize,
    layout_nodes: usize,
    places: usize,
    highest_pa: f64,
}

/// The nodes that open parts join to a source, either way, or only as `gates` let water through.
fn reached(garden: &Garden, open: &[bool], gates: bool) -> Vec<bool> {
    let (parts, places) = (garden.parts(), &garden.layout().places);
    let mut reached = vec![false; garden.layout().number_of_nodes];
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (place, joint) in places.iter().enumerate().filter(|(place, _)| open[*place]) {
            let gate = gates && parts[place].spec().is_one_way();
            let source = parts[place].spec().placing == Placing::Source;
            for (from, to) in [(joint.from, joint.to), (joint.to, joint.from)].into_iter().take(if gate { 1 } else { 2 }) {
                if !reached[to] && (source || reached[from]) {
                    reached[to] = true;
                    spreads = true;
                }
            }
        }
    }
    reached
}

impl Model {
    /// The garden with these places open and these boosters running.
    pub fn new(garden: &Garden, open: &[bool], runs: &[bool]) -> Model {
        let nodes = garden.layout().number_of_nodes;
        let mut model = Model {
            elements: Vec::new(),
            driven: Vec::new(),
            demands: Vec::new(),
            points: nodes,
            layout_nodes: nodes,
            places: garden.parts().len(),
            highest_pa: 1e5,
        };
        let (joined, fed) = (reached(garden, open, false), reached(garden, open, true));
        for place in (0..garden.parts().len()).filter(|&place| open[place] && joined[garden.layout().places[place].to]) {
            model.add(garden, place, runs[place]);
        }
        // A draw where nothing can come gets nothing.
        model.demands.retain(|&(_, node, _)| fed[node]);
        model
    }

    fn add(&mut self, garden: &Garden, place: usize, runs: bool) {
        let (part, joint) = (&garden.parts()[place], &garden.layout().places[place]);
        let beside =
            garden.layout().diameter_from()[place].map(|hose| garden.parts()[hose].si(Id::Diameter).expect("hoses have one"));
        let number = |id: Id| part.si(id);
        let square = |k: f64, diameter_m: f64| k * DENSITY / 2.0 / (PI * diameter_m * diameter_m / 4.0).powi(2);
        let simple = |constant: f64, square: f64| Loss::Simple { constant, linear: 0.0, square };
        let by_k = || match number(Id::Cv) {
            Some(cv) => PSI * DENSITY / 999.1 / (cv * GPM).powi(2),
            None => {
                let k = number(Id::K).unwrap_or(0.0);
                number(Id::Diameter).or(beside).map_or(0.0, |diameter_m| square(k, diameter_m))
            }
        };
        let whole =
            Element { place, from: None, to: None, loss: simple(0.0, 0.0), one_way: false, set: None, least: None, counts: 1.0 };
        match part.spec().placing {
            Placing::AtPoint => {}
            Placing::Source => {
                let (static_pa, square) = match part.kind() {
                    Kind::OpenTank => (DENSITY * GRAVITY * number(Id::Level).expect("a level"), 0.0),
                    _ => {
                        let static_pa = number(Id::StaticPressure).expect("a pressure");
                        let measured = number(Id::MeasuredPressure).zip(number(Id::MeasuredFlow));
                        (
                            static_pa,
                            measured
                                .map_or(0.0, |(pa, flow)| (number(Id::StaticAtTest).unwrap_or(static_pa) - pa) / (flow * flow)),
                        )
                    }
                };
                self.highest_pa = self.highest_pa.max(static_pa);
                self.elements.push(Element { to: Some(joint.to), loss: simple(-static_pa, square), ..whole });
            }
            Placing::Inline if joint.from == joint.to => {}
            Placing::Inline => {
                let between = Element { from: Some(joint.from), to: Some(joint.to), ..whole };
                let loss = match part.kind() {
                    Kind::Hose | Kind::Pipe => pipe(part, number(Id::Length).expect("a length")),
                    Kind::Uphill => simple(DENSITY * GRAVITY * number(Id::Height).expect("a height"), 0.0),
                    Kind::Downhill => simple(-DENSITY * GRAVITY * number(Id::Height).expect("a height"), 0.0),
                    Kind::Filter | Kind::Meter | Kind::Injector => {
                        let clean = number(Id::Loss).expect("a loss") / number(Id::Flow).expect("a flow").powi(2);
                        simple(0.0, clean / number(Id::OpenArea).unwrap_or(1.0).powi(2))
                    }
                    Kind::Restrictor => {
                        let diameter_m = number(Id::Bore).expect("a diameter");
                        let share = (diameter_m / beside.expect("a hose")).powi(2).min(1.0);
                        simple(0.0, square(0.5 * (1.0 - share) + (1.0 - share).powi(2), diameter_m))
                    }
                    Kind::Booster if runs => {
                        let speed = number(Id::Speed).unwrap_or(1.0);
                        let points = part.curve().expect("a curve").points();
                        Loss::Pump { points: points.iter().map(|&(q, h)| (q * speed, h * speed * speed)).collect() }
                    }
                    Kind::Booster => simple(0.0, 0.0),
                    _ if part.spec().keeps_back() => simple(number(Id::CrackingPressure).unwrap_or(0.0), by_k()),
                    _ => simple(0.0, by_k()),
                };
                let one_way = part.spec().is_one_way();
                let set = number(Id::Set).filter(|_| part.kind() == Kind::Regulator);
                let drive = garden.drive_of(place).filter(|_| runs).and_then(|drive| garden.parts()[drive].si(Id::Set));
                if drive.is_some() {
                    // A drive makes its booster hold a pressure as a regulator right downstream of it would.
                    let outlet = Some(self.points);
                    self.points += 1;
                    let held = Element { one_way: true, set: drive, ..between.clone() };
                    self.driven.push(Element { loss: loss.clone(), ..held.clone() });
                    self.elements.push(Element { to: outlet, loss, ..between });
                    self.elements.push(Element { from: outlet, counts: 0.0, ..held });
                    return;
                }
                self.elements.push(Element { loss, one_way, set, ..between });
            }
            Placing::Outlet => self.add_outlet(part, place, joint.from),
        }
    }

    fn add_outlet(&mut self, part: &Part, place: usize, node: usize) {
        let number = |id: Id| part.si(id);
        let given = |id: Id| number(id).expect("given");
        let simple = |constant: f64, linear: f64, square: f64| Loss::Simple { constant, linear, square };
        let (loss, set) = match part.kind() {
            Kind::Demand => return self.demands.push((place, node, given(Id::Flow))),
            Kind::Soaker => {
                let (outlets, length_m) = (given(Id::Outlets), given(Id::Length));
                return self.add_soaker(part, place, node, (outlets as usize, length_m / outlets, given(Id::Flow) / outlets));
            }
            Kind::Dripline => {
                let (spacing_m, length_m) = (given(Id::Spacing), given(Id::Length));
                return self.add_soaker(part, place, node, ((length_m / spacing_m) as usize, spacing_m, given(Id::Flow)));
            }
            Kind::Relief => {
                // Without a capacity 10 US gallons a minute are assumed.
                let (set, flow) = (given(Id::Set), number(Id::Flow).unwrap_or(10.0 * 3.785_411_784e-3 / 60.0));
                (simple(set, number(Id::Overpressure).unwrap_or(0.1 * set) / flow, 0.0), None)
            }
            Kind::Emitter | Kind::Leak if given(Id::Flow) == 0.0 => return,
            Kind::Emitter if number(Id::Regulated).is_some() => {
                let set = given(Id::Regulated);
                (simple(0.0, 0.0, set / given(Id::Flow).powi(2)), Some(set))
            }
            Kind::Emitter | Kind::Leak => {
                let exponent = given(Id::Exponent);
                (Loss::Power { coefficient: given(Id::Flow) / given(Id::Pressure).powf(exponent), exponent }, None)
            }
            _ => {
                let wear = given(Id::Wear);
                if let Some(table) = part.table() {
                    // The points are asked back at pressures that they were made of.
                    let points = [0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0].map(|bar| (bar * 1e5, wear * table.flow(bar * 1e5)));
                    (Loss::Table { points: points.to_vec() }, None)
                } else {
                    let flow_per_root = match (number(Id::RatedFlow), number(Id::RatedFlowPressure)) {
                        (Some(flow), Some(pressure)) => flow / pressure.sqrt(),
                        _ => given(Id::Cd) * PI * given(Id::Nozzle).powi(2) / 4.0 * (2.0 / DENSITY).sqrt(),
                    };
                    (simple(0.0, 0.0, 1.0 / (wear * flow_per_root).powi(2)), number(Id::Regulated))
                }
            }
        };
        self.elements.push(Element { place, from: Some(node), to: None, loss, one_way: true, set, least: None, counts: 1.0 });
    }

    /// A soaker or drip line is what it is made of: a piece of hose and an outlet, and so on. Of its outlets the number, the distance, m,
    /// and the rated flow of one, m3/s.
    fn add_soaker(&mut self, part: &Part, place: usize, node: usize, (outlets, spacing_m, flow): (usize, f64, f64)) {
        let given = |id: Id| part.si(id).expect("given");
        let exponent = given(Id::Exponent);
        let coefficient = flow / given(Id::Pressure).powf(exponent);
        let mut before = node;
        for _ in 0..outlets {
            let here = self.points;
            self.points += 1;
            let loss = pipe(part, spacing_m);
            let (from, to) = (Some(before), Some(here));
            self.elements.push(Element { place, from, to, loss, one_way: false, set: None, least: None, counts: 0.0 });
            let loss = Loss::Power { coefficient, exponent };
            self.elements.push(Element { place, from: to, to: None, loss, one_way: true, set: None, least: None, counts: 1.0 });
            before = here;
        }
    }

    /// The same garden on water that parts at this gauge pressure, Pa.
    ///
    /// An element in which pressure rises is cut into its two ways. The one in which water is pulled along begins with a mouth that lets
    /// nothing back; before the pull the pressure is at least that of vapor, and where it is that, what the element would pull
    /// beyond is lost. A draw pulls as well, without an end: what it cannot have comes out of nowhere, from a source at the pressure
    /// of vapor. Draws are to give way last, so theirs lies lower by a little ([`DRAWS_LAST_PA`]). All other places have such a source
    /// too, lower again ([`FLOOR_PA`]): it holds up what stands still beyond a crest, and gives nothing.
    pub fn with_vapor(&self, vapor_pa: f64) -> Model {
        let (elements, driven) = (Vec::new(), self.driven.clone());
        let mut model = Model { elements, driven, demands: self.demands.clone(), ..*self };
        for element in &self.elements {
            let Some(way) = element.lifts() else {
                model.elements.push(element.clone());
                continue;
            };
            let turned = |element: Element| Element {
                from: element.to,
                to: element.from,
                loss: element.loss.turned(),
                counts: -element.counts,
                ..element
            };
            let pulled = if way == Way::Forward { element.clone() } else { turned(element.clone()) };
            let back = turned(Element { loss: pulled.loss.at_rest(), ..pulled.clone() });
            model.elements.push(Element { one_way: true, ..back });
            let mouth = Some(model.points);
            model.points += 1;
            let level = Loss::Simple { constant: 0.0, linear: 0.0, square: 0.0 };
            model.elements.push(Element { to: mouth, loss: level, one_way: true, ..pulled.clone() });
            let least = Some(vapor_pa + DRAWS_LAST_PA);
            model.elements.push(Element { from: mouth, least, one_way: false, counts: 0.0, ..pulled });
        }
        let drawn = |node: usize| self.demands.iter().any(|&(_, at, _)| at == node);
        let draws = self.demands.iter().map(|&(place, node, _)| (place, node, -1.0, vapor_pa));
        let rest = (0..self.points).filter(|&node| !drawn(node)).map(|node| (0, node, 0.0, vapor_pa - FLOOR_PA));
        for (place, node, counts, pressure_pa) in draws.chain(rest) {
            let loss = Loss::Simple { constant: -pressure_pa, linear: 0.0, square: 0.0 };
            model.elements.push(Element {
                place,
                from: None,
                to: Some(node),
                loss,
                one_way: true,
                set: None,
                least: None,
                counts,
            });
        }
        model
    }

    /// True where an answer for water that holds any suction needs no more than water has that parts at this pressure, Pa.
    pub fn holds(&self, answer: &Answer, vapor_pa: f64) -> bool {
        answer.node_pa.iter().all(|&pressure_pa| pressure_pa >= vapor_pa)
    }

    /// By how much flows and pressures of an answer miss the laws of water that parts at this pressure: pressures in Pa, balances
    /// in m3/s. Soakers are left out of the pressures, since what happens inside them is not in the answer.
    pub fn misfit(&self, flows: &[f64], node_pa: &[f64], vapor_pa: f64) -> (f64, f64) {
        let mut sums = vec![0.0; self.layout_nodes];
        let (mut pressures, mut known) = (0.0f64, vec![false; self.places]);
        for element in &self.elements {
            let flow = flows[element.place];
            let inside = element.from.is_some_and(|point| point >= self.layout_nodes);
            if let (true, Some(from)) = (!known[element.place], element.from.filter(|_| !inside)) {
                sums[from] -= flow;
            }
            if let Some(to) = element.to.filter(|&to| to < self.layout_nodes) {
                sums[to] += flow;
            }
            known[element.place] = true;
            if inside || element.to.is_some_and(|point| point >= self.layout_nodes) {
                continue;
            }
            pressures = pressures.max(law_misfit(element, flow, node_pa, vapor_pa));
        }
        for element in &self.driven {
            pressures = pressures.max(law_misfit(element, flows[element.place], node_pa, vapor_pa));
        }
        for &(place, node, flow) in &self.demands {
            sums[node] -= flows[place];
            if (flows[place] - flow).abs() > NO_FLOW {
                pressures = pressures.max(self.short(flows, place, node, flow).max(node_pa[node] - vapor_pa));
            }
        }
        let lowest_pa = node_pa.iter().fold(vapor_pa, |least, pressure| least.min(*pressure));
        pressures = pressures.max(vapor_pa - lowest_pa);
        let off = |(sum, pressure): (&f64, &f64)| if pressure.is_nan() { 0.0 } else { sum.abs() };
        (pressures, sums.iter().zip(node_pa).map(off).fold(0.0, f64::max))
    }

    /// Infinite where a draw that gets less than its flow may not: what else pulls at its node is to give way first.
    fn short(&self, flows: &[f64], place: usize, node: usize, demand: f64) -> f64 {
        let pulls = |element: &Element| match element.lifts() {
            Some(Way::Forward) => element.from == Some(node) && flows[element.place] > NO_FLOW,
            Some(Way::Backward) => element.to == Some(node) && flows[element.place] < -NO_FLOW,
            None => false,
        };
        let within = (-NO_FLOW..=demand).contains(&flows[place]);
        if within && !self.elements.iter().any(pulls) { 0.0 } else { f64::INFINITY }
    }

    /// Solves, from several starts. Errors: where the path was lost.
    pub fn solve(&self) -> Result<Answer, String> {
        /// Share of the highest pressure and size of the flows to begin with, and how fast the center is led to nothing.
        const STARTS: [(f64, f64, f64); 8] = [
            (0.7, 1.0, 0.1),
            (1.0, 0.1, 0.3),
            (0.3, 10.0, 0.5),
            (0.5, 3.0, 0.7),
            (1.5, 0.3, 0.8),
            (0.1, 1.0, 0.9),
            (0.9, 30.0, 0.4),
            (2.0, 0.03, 0.6),
        ];
        let mut lost = String::new();
        for (share, size, cut) in STARTS {
            match self.follow_path(share, size, cut) {
                Ok(answer) => return Ok(answer),
                Err(how) => lost = how,
            }
        }
        Err(lost)
    }

    fn follow_path(&self, share: f64, size: f64, cut: f64) -> Result<Answer, String> {
        let n = self.points;
        let mut state = State {
            flow: vec![size * FLOW_SCALE; self.elements.len()],
            push: vec![PRESSURE_SCALE; self.elements.len()],
            taken: vec![PRESSURE_SCALE; self.elements.len()],
            room: vec![PRESSURE_SCALE; self.elements.len()],
            pressure: vec![share * self.highest_pa; n],
        };
        let mut center = PRESSURE_SCALE * FLOW_SCALE;
        let (mut quiet, mut last) = (0, String::new());
        for iteration in 0..400 {
            let Some((step, off)) = self.newton_step(&state, center) else { return Err(format!("no step after {last}")) };
            let length = state.furthest(&step, self);
            let moved = state.take(&step, length);
            state.keep_near(self, center);
            last = format!(
                "{iteration}: off {:.1e} Pa and {:.1e} m3/s, length {length:.4}, moved {moved:.1e}, center {center:.1e}",
                off.0, off.1
            );
            if length < 1e-12 {
                return Err(last);
            }
            let floor = 1e-19 * PRESSURE_SCALE * FLOW_SCALE;
            let closed = off.0 < 1e-7 * PRESSURE_SCALE && off.1 < 5e-7 * FLOW_SCALE;
            if center <= floor && closed && moved < 3e-7 {
                quiet += 1;
                if quiet == 2 {
                    return Ok(self.answer(&state, iteration + 1));
                }
            } else {
                quiet = 0;
            }
            if length > 0.2 && (off.0 < 10.0 * PRESSURE_SCALE || length > 0.9) {
                center = (center * if length > 0.8 { cut } else { cut.max(0.5) }).max(floor);
            }
        }
        Err(last)
    }

    fn answer(&self, state: &State, iterations: usize) -> Answer {
        let mut flows = vec![0.0; self.places];
        for (element, flow) in self.elements.iter().zip(&state.flow) {
            flows[element.place] += element.counts * flow;
        }
        for &(place, _, flow) in &self.demands {
            flows[place] += flow;
        }
        Answer { flows, node_pa: state.pressure[..self.layout_nodes].to_vec(), iterations }
    }

    /// The step of Newton's method toward products of `center`, and by how much pressures and balances are off.
    fn newton_step(&self, state: &State, center: f64) -> Option<(State, (f64, f64))> {
        let n = self.points;
        let (mut matrix, mut right) = (vec![0.0; n * n], vec![0.0; n]);
        let mut lines = Vec::with_capacity(self.elements.len());
        let mut off = (0.0f64, 0.0f64);
        for &(_, node, flow) in &self.demands {
            right[node] -= flow;
        }
        let mut sums = right.clone();
        for (index, element) in self.elements.iter().enumerate() {
            let line = Line::of(element, state, index, center);
            off.0 = off.0.max(line.off);
            // dq = (constant + weight_from dP_from - weight dP_to) / slope.
            let (constant, weight, conductance) = (line.constant, line.weight, 1.0 / line.slope);
            if let Some(from) = element.from {
                matrix[from * n + from] += line.weight_from * conductance;
                if let Some(to) = element.to {
                    matrix[from * n + to] -= weight * conductance;
                }
                right[from] -= state.flow[index] + constant * conductance;
                sums[from] -= state.flow[index];
            }
            if let Some(to) = element.to {
                matrix[to * n + to] += weight * conductance;
                if let Some(from) = element.from {
                    matrix[to * n + from] -= line.weight_from * conductance;
                }
                right[to] += state.flow[index] + constant * conductance;
                sums[to] += state.flow[index];
            }
            lines.push(line);
        }
        off.1 = sums.iter().fold(0.0, |most, sum| most.max(sum.abs()));
        solve_dense(&mut matrix, &mut right, n)?;
        let mut step = State {
            flow: vec![0.0; lines.len()],
            push: vec![0.0; lines.len()],
            taken: vec![0.0; lines.len()],
            room: vec![0.0; lines.len()],
            pressure: right,
        };
        for (index, (element, line)) in self.elements.iter().zip(&lines).enumerate() {
            let at = |point: Option<usize>| point.map_or(0.0, |point| step.pressure[point]);
            let flow = (line.constant + line.weight_from * at(element.from) - line.weight * at(element.to)) / line.slope;
            step.flow[index] = flow;
            if element.one_way {
                let above = state.flow[index] + SEEPAGE;
                step.push[index] = center / above - state.push[index] - state.push[index] / above * flow;
            }
            if element.set.is_some() {
                let held = if element.to.is_some() { at(element.to) } else { line.own_slope * flow };
                step.room[index] = -line.room_off - held + step.push[index];
                let (taken, room) = (state.taken[index], state.room[index]);
                step.taken[index] = (held_centre(center) - taken * room - taken * step.room[index]) / room;
            }
            if element.least.is_some() {
                step.room[index] = at(element.from) - line.room_off;
                let (taken, room) = (state.taken[index], state.room[index]);
                step.taken[index] = (held_centre(center) - taken * room - taken * step.room[index]) / room;
            }
        }
        Some((step, off))
    }
}

/// The product of what a regulator takes and its room, Pa2: as that of the others, but never so small that the room drowns in
/// the rounding of pressures.
fn held_centre(center: f64) -> f64 {
    (center * PRESSURE_SCALE / FLOW_SCALE).max(1e-2)
}

/// The linearized law of an element: dq = (constant + weight_from dP_from - weight dP_to) / slope.
struct Line {
    constant: f64,
    weight_from: f64,
    weight: f64,
    slope: f64,
    own_slope: f64,
    room_off: f64,
    off: f64,
}

impl Line {
    fn of(element: &Element, state: &State, index: usize, center: f64) -> Line {
        let at = |point: Option<usize>| point.map_or(0.0, |point| state.pressure[point]);
        let (flow, push, taken, room) = (state.flow[index], state.push[index], state.taken[index], state.room[index]);
        let (loss, own_slope) = element.loss.at(flow);
        let mut missing = at(element.from) - at(element.to) - loss;
        let mut line =
            Line { constant: 0.0, weight_from: 1.0, weight: 1.0, slope: own_slope, own_slope, room_off: 0.0, off: 0.0 };
        let (mut recentred, mut stiff) = (0.0, 0.0);
        if element.one_way {
            missing += push;
            (recentred, stiff) = (center / (flow + SEEPAGE) - push, push / (flow + SEEPAGE));
        }
        if let Some(set) = element.set {
            missing -= taken;
            let share = taken / room;
            let held = if element.to.is_some() { at(element.to) } else { loss };
            line.room_off = room + held - set - push;
            recentred = (1.0 + share) * recentred - (held_centre(center) - taken * room) / room - share * line.room_off;
            stiff *= 1.0 + share;
            if element.to.is_some() {
                line.weight = 1.0 + share;
            } else {
                stiff += share * own_slope;
            }
        }
        if let Some(least) = element.least {
            missing -= taken;
            let share = taken / room;
            line.room_off = room + least - at(element.from);
            recentred -= (held_centre(center) - taken * room) / room + share * line.room_off;
            line.weight_from = 1.0 + share;
        }
        line.constant = missing + recentred;
        line.slope += stiff;
        // What a regulator takes away is known as well as its room, which is a small difference of pressures.
        line.off = (missing.abs() / if element.takes() { 1.0 + taken / room } else { 1.0 }).max(line.room_off.abs());
        line
    }
}

#[derive(Clone)]
struct State {
    flow: Vec<f64>,
    push: Vec<f64>,
    taken: Vec<f64>,
    room: Vec<f64>,
    pressure: Vec<f64>,
}

impl State {
    /// The share of a step that keeps everything above zero that must be.
    fn furthest(&self, step: &State, model: &Model) -> f64 {
        let mut length = 1.0f64;
        let mut keep = |value: f64, change: f64| {
            if change < 0.0 {
                length = length.min(-0.99 * value / change);
            }
        };
        for (index, element) in model.elements.iter().enumerate() {
            if element.one_way {
                keep(self.flow[index] + SEEPAGE, step.flow[index]);
                keep(self.push[index], step.push[index]);
            }
            if element.takes() {
                keep(self.taken[index], step.taken[index]);
                keep(self.room[index], step.room[index]);
            }
        }
        length
    }

    /// Lifts products that have fallen far below the center: at points that nothing ties, rounding would push them to nothing,
    /// and every step with them.
    fn keep_near(&mut self, model: &Model, center: f64) {
        for (index, element) in model.elements.iter().enumerate() {
            let (above, push) = (self.flow[index] + SEEPAGE, self.push[index]);
            if element.one_way && above * push < 1e-3 * center {
                if above / FLOW_SCALE < push / PRESSURE_SCALE {
                    self.flow[index] = 1e-3 * center / push - SEEPAGE;
                } else {
                    self.push[index] = 1e-3 * center / above;
                }
            }
            let (taken, room) = (self.taken[index], self.room[index]);
            if element.takes() && taken * room < 1e-3 * held_centre(center) {
                *(if taken < room { &mut self.taken[index] } else { &mut self.room[index] }) =
                    1e-3 * held_centre(center) / taken.max(room);
            }
        }
    }

    /// Takes a share of a step; gives the largest change of a flow or pressure, in their scales.
    fn take(&mut self, step: &State, length: f64) -> f64 {
        let mut moved = 0.0f64;
        let mut add = |values: &mut [f64], changes: &[f64], scale: f64| {
            for (value, change) in values.iter_mut().zip(changes) {
                *value += length * change;
                moved = moved.max((length * change / scale).abs());
            }
        };
        add(&mut self.flow, &step.flow, FLOW_SCALE);
        add(&mut self.pressure, &step.pressure, f64::INFINITY);
        add(&mut self.push, &step.push, f64::INFINITY);
        add(&mut self.taken, &step.taken, f64::INFINITY);
        add(&mut self.room, &step.room, f64::INFINITY);
        moved
    }
}

impl Loss {
    /// The loss of a climb walked the other way.
    fn turned(&self) -> Loss {
        match self {
            Loss::Simple { constant, linear, square } => Loss::Simple { constant: -constant, linear: *linear, square: *square },
            other => other.clone(),
        }
    }

    /// What is lost whatever the flow.
    fn at_rest(&self) -> Loss {
        Loss::Simple { constant: self.at(0.0).0, linear: 0.0, square: 0.0 }
    }

    /// Loss and slope; both with the little that keeps a slope above zero.
    fn at(&self, flow: f64) -> (f64, f64) {
        let size = flow.abs();
        let (loss, slope) = match self {
            Loss::Simple { constant, linear, square } => {
                (constant + (linear + square * size) * flow, linear + 2.0 * square * size)
            }
            Loss::Pipe { length_m, diameter_m, roughness_m, square } => {
                let (loss, slope) = friction(*length_m, *diameter_m, *roughness_m, flow);
                (loss + square * size * flow, slope + 2.0 * square * size)
            }
            Loss::HazenWilliams { factor, square } => {
                let steep = factor * size.powf(0.852);
                (steep * flow + square * size * flow, 1.852 * steep + 2.0 * square * size)
            }
            Loss::Pump { points } => pump(points, flow),
            Loss::Power { coefficient, exponent } => {
                let pressure = (size / coefficient).powf(1.0 / exponent).min(1e30);
                (pressure.copysign(flow), pressure / (exponent * size))
            }
            Loss::Table { points } => table(points, flow),
        };
        (loss + HARDLY_ANY * flow, slope + HARDLY_ANY)
    }
}

fn pipe(part: &Part, length_m: f64) -> Loss {
    let diameter_m = part.si(Id::Diameter).expect("a diameter");
    let square = part.si(Id::MinorK).unwrap_or(0.0) * DENSITY / 2.0 / (PI * diameter_m * diameter_m / 4.0).powi(2);
    match part.si(Id::HazenWilliamsC) {
        Some(c) => {
            let per_foot = 4.52 * PSI / (GPM * c).powf(1.852) / (diameter_m / 0.0254).powf(4.87);
            Loss::HazenWilliams { factor: per_foot * length_m / 0.3048, square }
        }
        None => Loss::Pipe { length_m, diameter_m, roughness_m: part.si(Id::Roughness).expect("a roughness"), square },
    }
}

/// Darcy-Weisbach: 64/Re to Re 2000, Colebrook-White from 4000, a straight line in Re between.
fn friction(length_m: f64, diameter_m: f64, roughness_m: f64, flow: f64) -> (f64, f64) {
    let area = PI * diameter_m * diameter_m / 4.0;
    let per_flow = DENSITY * diameter_m / VISCOSITY / area;
    let scale = length_m / diameter_m * DENSITY / 2.0 / (area * area);
    let re = per_flow * flow.abs();
    // Factor, and its derivative to Re.
    let (factor, rate) = if re <= 2000.0 {
        let laminar = 64.0 / per_flow * scale;
        return (laminar * flow, laminar);
    } else if re < 4000.0 {
        let rate = (colebrook(roughness_m / diameter_m, 4000.0).0 - 0.032) / 2000.0;
        (0.032 + rate * (re - 2000.0), rate)
    } else {
        colebrook(roughness_m / diameter_m, re)
    };
    let size = flow.abs();
    (factor * scale * size * flow, scale * size * (2.0 * factor + rate * re))
}

/// Friction factor and its derivative to Re, by Newton's method on y = f^(-1/2).
fn colebrook(rough: f64, re: f64) -> (f64, f64) {
    let mut y = 7.0;
    let mut slope = 1.0;
    for _ in 0..50 {
        let inside = rough / 3.7 + 2.51 * y / re;
        let miss = y + 2.0 * inside.log10();
        slope = 1.0 + 2.0 / std::f64::consts::LN_10 * 2.51 / re / inside;
        let step = miss / slope;
        y -= step;
        if step.abs() < 1e-14 * y {
            break;
        }
    }
    // From y + 2 log10(rough/3.7 + 2.51 y/Re) = 0: dy/dRe = (slope - 1) y / (slope Re).
    let y_rate = (slope - 1.0) * y / (slope * re);
    (1.0 / (y * y), -2.0 / (y * y * y) * y_rate)
}

/// What a pump takes away, which is less than nothing.
fn pump(points: &[(f64, f64)], flow: f64) -> (f64, f64) {
    let line = |a: (f64, f64), b: (f64, f64), at: f64| {
        let slope = (b.1 - a.1) / (b.0 - a.0);
        (-(a.1 + slope * (at - a.0)), -slope)
    };
    if flow < 0.0 {
        return (line(points[0], points[1], 0.0).0, 0.0);
    }
    let piece = points.windows(2).find(|pair| flow <= pair[1].0).unwrap_or(&points[points.len() - 2..]);
    line(piece[0], piece[1], flow)
}

fn table(points: &[(f64, f64)], flow: f64) -> (f64, f64) {
    let size = flow.abs().max(1e-300);
    let (at, power) = if size < points[0].1 {
        (points[0], 2.0)
    } else {
        let piece = points.windows(2).find(|pair| size < pair[1].1).unwrap_or(&points[points.len() - 2..]);
        (piece[0], (piece[1].0 / piece[0].0).ln() / (piece[1].1 / piece[0].1).ln())
    };
    let pressure = at.0 * (size / at.1).powf(power);
    (pressure.copysign(flow), power * pressure / size)
}

/// Gaussian elimination. Every column of the matrix adds up to nothing or more with its diagonal the only positive entry,
/// so pivots are taken as they come; a point that nothing ties to the rest stays as it is.
fn solve_dense(matrix: &mut [f64], right: &mut [f64], n: usize) -> Option<()> {
    let diagonals: Vec<f64> = (0..n).map(|row| matrix[row * n + row]).collect();
    let loose = |matrix: &[f64], row: usize| matrix[row * n + row] <= 1e-15 * diagonals[row];
    for column in 0..n {
        if loose(matrix, column) {
            continue;
        }
        let (above, below) = matrix.split_at_mut((column + 1) * n);
        let top = &above[column * n..];
        for row in column + 1..n {
            let line = &mut below[(row - column - 1) * n..(row - column) * n];
            let factor = line[column] / top[column];
            if factor != 0.0 {
                for k in column..n {
                    line[k] -= factor * top[k];
                }
                right[row] -= factor * right[column];
            }
        }
    }
    for row in (0..n).rev() {
        let sum: f64 = (row + 1..n).map(|k| matrix[row * n + k] * right[k]).sum();
        right[row] = if loose(matrix, row) { 0.0 } else { (right[row] - sum) / matrix[row * n + row] };
    }
    right.iter().all(|value| value.is_finite()).then_some(())
}

/// By how much an element misses its law at a flow and these pressures, Pa.
fn law_misfit(element: &Element, flow: f64, node_pa: &[f64], vapor_pa: f64) -> f64 {
    let at = |point: Option<usize>| point.map_or(0.0, |point| node_pa[point]);
    let drop = at(element.from) - at(element.to);
    if drop.is_nan() {
        return 0.0;
    }
    let (loss, _) = element.loss.at(flow);
    let held = element.set.map_or(f64::NEG_INFINITY, |set| match element.to {
        Some(to) => node_pa[to] - set,
        None => loss - set,
    });
    // What the law of the element has too much at this flow; a shut one may.
    let excess = (loss - drop).max(held);
    // Where water parts before a pull it loses what it would be pulled beyond.
    let excess = match element.lifts() {
        Some(Way::Forward) if flow > -NO_FLOW && at(element.from) < vapor_pa + PARTS_WITHIN_PA => excess.max(0.0),
        Some(Way::Backward) if flow < NO_FLOW && at(element.to) < vapor_pa + PARTS_WITHIN_PA => excess.min(0.0),
        _ => excess,
    };
    let off = if element.one_way && flow.abs() < NO_FLOW { (-excess).max(0.0) } else { excess.abs() };
    off.max(if element.one_way && flow < -NO_FLOW { f64::INFINITY } else { 0.0 })
}
