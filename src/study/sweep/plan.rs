//! What a sweep varies and what it asks, checked against the garden before anything is solved.

use crate::garden::{Garden, GardenError, ParameterPath, split_path};
use crate::hydraulics::{Change, Lanes, Network, Probe, ProbeKind, Setting, Switches};
use crate::parts::Placing;
use crate::season::SeasonError;
use crate::study::axis::AxisError;
use crate::study::{Axes, Axis, AxisValues};
use crate::table::TableError;
use crate::told::Told;
use crate::unit_system::chosen;
use std::sync::Arc;
use thiserror::Error;

/// A column of answers.
pub(super) struct Output {
    pub name: String,
    pub probe: Probe,
}

/// A sweep that is ready to run.
pub struct SweepPlan<'a> {
    pub(super) garden: &'a Garden,
    pub(super) axes: &'a Axes,
    /// What the axes change in each place.
    pub(super) settings: Vec<Setting>,
    pub(super) outputs: Vec<Output>,
    pub(super) switches: Switches,
    /// A network for each set of zones.
    pub(super) starts: Vec<Network>,
    /// The lanes of each network, where lanes hold all of them.
    pub(super) lanes: Vec<Lanes>,
}

impl<'a> SweepPlan<'a> {
    /// Checks axes and zones: the open zones of all cases, or `None` where nobody named any. An empty list means all valves closed.
    ///
    /// Errors: unknown paths or zones, values of a wrong dimension, zones given twice, no zones named in a garden with valves.
    pub fn new(garden: &'a Garden, axes: &'a Axes, zones: Option<&[&str]>) -> Result<SweepPlan<'a>, SweepError> {
        let changes: Vec<Change> = axes.axes().iter().map(|axis| change(garden, axis)).collect::<Result<_, _>>()?;
        let varied = changes.iter().filter_map(|change| match change {
            Change::Parameter(place, parameter) => Some(ParameterPath { place: *place, parameter: *parameter }),
            Change::Part(..) | Change::Nothing => None,
        });
        let start = garden.with_tests_kept(&varied.collect::<Vec<_>>());
        let sets: Vec<Vec<&str>> = match (axes.zones().map(|place| &axes.axes()[place].values), zones) {
            (Some(AxisValues::Zones(_)), Some([_, ..])) => return Err(SweepError::ZonesTwice),
            (Some(AxisValues::Zones(sets)), _) => sets.iter().map(|set| set.iter().map(String::as_str).collect()).collect(),
            (_, Some(zones)) => vec![zones.to_vec()],
            (_, None) => {
                let valves: Vec<String> = garden.valves().map(|place| garden.name(place).to_string()).collect();
                if !valves.is_empty() {
                    return Err(SweepError::NoZones { valves });
                }
                vec![Vec::new()]
            }
        };
        let mut starts = Vec::with_capacity(sets.len());
        for set in &sets {
            starts.push(Network::new(&start, &garden.opened(set)?)?);
        }
        let outputs = outputs(garden, &starts, axes);
        let switches = Switches::of(garden);
        let lanes = lanes(&changes, &outputs, &starts, &switches);
        Ok(SweepPlan { garden, axes, settings: Setting::of(&changes), outputs, switches, starts, lanes })
    }

    /// The number of cases.
    pub fn cases(&self) -> usize {
        self.axes.cases()
    }
}

/// The lanes of the networks of a sweep, one each; none where they do not hold all of them.
fn lanes(changes: &[Change], outputs: &[Output], starts: &[Network], switches: &Switches) -> Vec<Lanes> {
    let probes: Vec<Probe> = outputs.iter().map(|output| output.probe).collect();
    let of = |start: &Network| Lanes::with_switches(start, changes, &probes, switches);
    starts.iter().map(of).collect::<Option<Vec<Lanes>>>().unwrap_or_default()
}

/// What an axis changes.
fn change(garden: &Garden, axis: &Axis) -> Result<Change, SweepError> {
    Ok(match &axis.values {
        AxisValues::Quantities { .. } | AxisValues::Drawn { .. } => {
            let path = garden.parameter_path(&axis.name)?;
            let expected = garden.dimension_of(path);
            if axis.kind().is_none_or(|(dimension, _)| dimension != expected) {
                let found = axis.quantity(0).map_or_else(String::new, |quantity| quantity.described());
                return Err(SweepError::Dimension { axis: axis.name.clone(), expected: expected.to_string(), found });
            }
            Change::Parameter(path.place, path.parameter)
        }
        AxisValues::Parts(parts) => {
            let place = garden.find(&axis.name)?;
            let kind = garden.parts()[place].kind();
            if let Some(other) = parts.iter().find(|part| part.kind() != kind) {
                let what = format!("there is a {} at that place and a {} among the choices", kind.spec().word, other.spec().word);
                return Err(SweepError::PartAxis { axis: axis.name.clone(), what });
            }
            Change::Part(place, parts.iter().cloned().map(Arc::new).collect())
        }
        AxisValues::Texts(_) | AxisValues::Dates(_) => {
            let what = "its values are strings or dates".to_string();
            return Err(SweepError::PartAxis { axis: axis.name.clone(), what });
        }
        // Another set of open valves is another network.
        AxisValues::Zones(_) => Change::Nothing,
    })
}

/// The column of a solution such as `drip.flow`: its name, or where an axis varies a parameter of that name, as the rated flow
/// of an emitter, `drip.running_flow`.
pub fn solution_column(solution: &str, axes: &Axes) -> String {
    let taken = axes.axes().iter().any(|axis| axis.name == solution);
    match split_path(solution).filter(|_| taken) {
        Some((name, what)) => format!("{name}.running_{what}"),
        None => solution.to_string(),
    }
}

/// Pressure and flow of everything that is fed in some zone and worth a column.
fn outputs(garden: &Garden, networks: &[Network], axes: &Axes) -> Vec<Output> {
    let mut outputs = Vec::new();
    for (place, part) in garden.parts().iter().enumerate() {
        let worth = match part.spec().placing {
            Placing::Source | Placing::Outlet => true,
            Placing::Inline => part.traits().pumps,
            Placing::AtPoint => true,
        };
        if !worth || !networks.iter().any(|network| network.is_fed(place)) {
            continue;
        }
        let mut add = |what: &str, kind: ProbeKind| {
            let name = solution_column(&format!("{}.{what}", garden.name(place)), axes);
            outputs.push(Output { name, probe: Probe { place, kind } });
        };
        add("pressure", ProbeKind::Pressure);
        if part.spec().placing != Placing::AtPoint {
            add("flow", ProbeKind::Flow);
        }
    }
    outputs
}

/// Why a sweep could not be made.
#[derive(Debug, Error)]
pub enum SweepError {
    /// A path, a zone or a part is not in the garden, or a value makes no sense there.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// A part cannot take the place of the one that the axis names.
    #[error("the axis '{axis}' varies a part, but {what}")]
    PartAxis {
        /// Name of the axis.
        axis: String,
        /// Why it cannot, in words.
        what: String,
    },
    /// The values of an axis are of another dimension than the parameter that they set.
    #[error("the axis '{axis}' must be {expected}, found {found}")]
    Dimension {
        /// Name of the axis.
        axis: String,
        /// What they must be, in words.
        expected: String,
        /// What they are, in words.
        found: String,
    },
    /// Zones were given as an argument, and an axis names zones too.
    #[error("the zones are given twice: as an axis and as an argument")]
    ZonesTwice,
    /// No zones were named in a garden with valves: all of them would stay closed.
    #[error("no zone is named, and all valves of the garden are closed until one is")]
    NoZones {
        /// Names of all valves of the garden.
        valves: Vec<String>,
    },
    /// There are more cases than a table has rows.
    #[error("{cases} cases do not fit into a table; at most {most} do")]
    TooMany {
        /// How many cases there are.
        cases: usize,
        /// How many rows a table has at most.
        most: usize,
    },
    /// Beds, weather or a value of a season do not fit.
    #[error(transparent)]
    Season(#[from] SeasonError),
    /// The axes make no sense together.
    #[error(transparent)]
    Axis(#[from] AxisError),
    /// The table of the answers could not be made.
    #[error(transparent)]
    Table(#[from] TableError),
    /// Somebody or a limit stopped it.
    #[error("stopped")]
    Stopped,
}

impl Told for SweepError {
    fn hint(&self) -> Option<String> {
        match self {
            SweepError::Garden(error) => error.hint(),
            SweepError::PartAxis { .. } => {
                Some("vary_part(\"booster\", [b1, b2]) takes parts of the same kind as the present one".into())
            }
            SweepError::Dimension { .. } => {
                Some(chosen("give values of the right dimension, as in {[50.ft, 100.ft]|[15.m, 30.m]}"))
            }
            SweepError::ZonesTwice => Some("leave one of them out".into()),
            SweepError::NoZones { valves } => Some(format!(
                "name the zones to open after the axes, as in sweep(garden, axes, {:?}); the valves are {}; [] keeps all of them closed",
                valves.first().map_or("", String::as_str),
                valves.join(", ")
            )),
            SweepError::TooMany { .. } => Some("write them to a file with sweep_to(...), or use larger steps".into()),
            SweepError::Axis(error) => error.hint(),
            SweepError::Season(error) => error.hint(),
            SweepError::Table(error) => error.hint(),
            SweepError::Stopped => None,
        }
    }

    fn about(&self) -> Option<String> {
        if let SweepError::Dimension { axis, .. } = self { Some(axis.clone()) } else { None }
    }
}

/// The most cases that a table holds.
const MOST_ROWS: usize = 50_000_000;

/// Refuses a sweep whose table would not fit into memory.
pub fn check_size(cases: usize) -> Result<(), SweepError> {
    if cases > MOST_ROWS { Err(SweepError::TooMany { cases, most: MOST_ROWS }) } else { Ok(()) }
}
