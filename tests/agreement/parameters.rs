//! Every parameter of every part of random gardens, set in two ways: in a network that stands solved, as a sweep does it, and
//! in a garden built anew. Both must say the same, of water at rest too, or both must refuse. Beside it the parameters that
//! move a flow are found again by a fit, and sensitivities agree with differences.

use crate::gardens::garden;
use crate::support::slopes::compare;
use crate::zones;
use hosewright::garden::ParameterPath;
#[cfg(feature = "app")]
use hosewright::hydraulics::run;
use hosewright::hydraulics::{Network, Probe, ProbeKind};
use hosewright::parts::{Id, Kind, Part, Placing};
use hosewright::quantity::{Quantity, dim};
#[cfg(feature = "app")]
use hosewright::study::fit::{Measurement, fit};
use std::collections::{HashMap, HashSet};

/// Another value for a parameter: a fifth more or less, or something of the usual size where there is none.
fn another(part: &Part, number: Id) -> Quantity {
    let spec = part.spec().parameter(number).expect("its own");
    let usual = |dimension| match dimension {
        _ if dimension == dim::LENGTH => 0.012,
        _ if dimension == dim::PRESSURE => 1.3e5,
        _ if dimension == dim::FLOW => 1.2e-4,
        _ if dimension == dim::NUMBER => 0.9,
        _ => 1.0,
    };
    let value = part.value(number);
    let si = match number {
        Id::Outlets => value + 1.0,
        Id::HazenWilliamsC if value.is_nan() => 120.0,
        _ if value.is_nan() || value == 0.0 => usual(number.dimension()),
        _ if spec.rule.allows(1.2 * value) => 1.2 * value,
        _ => 0.8 * value,
    };
    Quantity::new(si, number.dimension())
}

/// Flow and pressure of every place; nothing where there is no steady state.
fn everything(network: &mut Network) -> Option<Vec<f64>> {
    network.solve().ok()?;
    let both = |place: usize| [ProbeKind::Pressure, ProbeKind::Flow].map(|kind| Probe { place, kind });
    Some((0..network.parts().len()).flat_map(both).map(|probe| network.probe(&probe)).collect())
}

/// The worst difference as a share of what is allowed, and where: 1e-6 of the highest pressure and the largest flow, of water that
/// runs and of water at rest. A pressure that only one of both has differs without bound.
fn apart(one: &[f64], other: &[f64]) -> (f64, usize) {
    let scale =
        |kind: usize, least: f64| one.iter().skip(kind).step_by(2).filter(|v| !v.is_nan()).fold(least, |m, v| m.max(v.abs()));
    let scales = [scale(0, 1e4), scale(1, 1e-5)];
    let share = |(index, (a, b)): (usize, (&f64, &f64))| {
        let share = match (a.is_nan(), b.is_nan()) {
            (true, true) => 0.0,
            (false, false) => (a - b).abs() / (1e-6 * scales[index % 2]),
            _ => f64::INFINITY,
        };
        (share, index / 2)
    };
    one.iter().zip(other).enumerate().map(share).fold((0.0, 0), |worst, share| if share.0 > worst.0 { share } else { worst })
}

#[test]
fn every_parameter_set_in_a_network_gives_what_a_garden_built_anew_gives() {
    let mut compared: HashMap<(Kind, &str), usize> = HashMap::new();
    let mut moved: HashSet<(Kind, &str)> = HashSet::new();
    for seed in 10_000..10_120 {
        let garden = garden(seed);
        let names = zones(&garden, seed);
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let open = garden.opened(&names).expect("known zones");
        let mut network = Network::new(&garden, &open).expect("a sound garden");
        let before = everything(&mut network).unwrap_or_else(|| panic!("garden {seed}: no steady state"));
        for place in 0..garden.parts().len() {
            for number in garden.parts()[place].spec().parameters.iter().map(|number| number.id) {
                let part = &garden.parts()[place];
                let (kind, name, value) = (part.kind(), number.word(), another(part, number));
                let path = format!("{}.{name}", garden.name(place));
                // A supply of which only the static pressure is set keeps the resistance of its service line.
                let mut swept = if number == Id::StaticPressure {
                    Network::new(&garden.with_tests_kept(&[ParameterPath { place, parameter: number }]), &open)
                        .expect("a sound garden")
                } else {
                    network.clone()
                };
                let swept = swept.set(place, number, value.si).ok().and_then(|()| everything(&mut swept));
                let rebuilt = garden.with(&path, value).and_then(|garden| Network::new(&garden, &open)).ok();
                let rebuilt = rebuilt.and_then(|mut network| everything(&mut network));
                assert_eq!(swept.is_some(), rebuilt.is_some(), "garden {seed}: {path} = {value}");
                let (Some(swept), Some(rebuilt)) = (swept, rebuilt) else { continue };
                let (worst, at) = apart(&rebuilt, &swept);
                assert!(worst <= 1.0, "garden {seed}: {path} = {value} is off at {} by {worst}", garden.name(at));
                *compared.entry((kind, name)).or_default() += 1;
                if apart(&before, &rebuilt).0 > 1.0 {
                    moved.insert((kind, name));
                }
            }
        }
    }
    // What the laws depend on was moved, so that the comparison says something.
    for (kind, name) in [
        (Kind::Hose, "diameter"),
        (Kind::Pipe, "roughness"),
        (Kind::Restrictor, "bore"),
        (Kind::Fitting, "cv"),
        (Kind::Valve, "k"),
        (Kind::CheckValve, "cracking_pressure"),
        (Kind::Regulator, "set"),
        (Kind::Booster, "speed"),
        (Kind::Drive, "set"),
        (Kind::Soaker, "outlets"),
        (Kind::Dripline, "spacing"),
        (Kind::Filter, "open_area"),
        (Kind::Emitter, "regulated"),
        (Kind::FootValve, "cracking_pressure"),
        (Kind::Head, "regulated"),
        (Kind::Relief, "overpressure"),
        (Kind::OpenTank, "level"),
        (Kind::Demand, "flow"),
        (Kind::Filter, "loss"),
        (Kind::Emitter, "exponent"),
        (Kind::Leak, "flow"),
    ] {
        assert!(moved.contains(&(kind, name)), "{} {name} moved nothing", kind.spec().word);
    }
    let settings = compared.values().sum::<usize>();
    println!("{} parameters in {settings} settings", compared.len());
    assert!(settings > 19_000, "{settings}");
}

#[cfg(feature = "app")]
#[test]
fn a_fitted_garden_gives_the_readings_that_the_fit_says_it_gives() {
    let mut fitted: HashSet<(Kind, &str)> = HashSet::new();
    for seed in 20_000..20_060 {
        let garden = garden(seed);
        let zones = zones(&garden, seed);
        let names: Vec<&str> = zones.iter().map(String::as_str).collect();
        let Ok(before) = run(&garden, &names) else { continue };
        let outlet = |place: &usize| garden.parts()[*place].spec().placing == Placing::Outlet;
        let Some(at) = (0..garden.parts().len()).filter(outlet).find(|&place| before.parts[place].flow_m3_per_s > 1e-6) else {
            continue;
        };
        for place in 0..garden.parts().len() {
            for number in garden.parts()[place].spec().parameters.iter().map(|number| number.id) {
                let part = &garden.parts()[place];
                let key = (part.kind(), number.word());
                if part.value(number).is_nan() || number == Id::Outlets || fitted.contains(&key) {
                    continue;
                }
                let path = format!("{}.{}", garden.name(place), key.1);
                let Some(read) = garden.with(&path, another(part, number)).ok().and_then(|other| run(&other, &names).ok()) else {
                    continue;
                };
                let flow = read.parts[at].flow_m3_per_s;
                if (flow - before.parts[at].flow_m3_per_s).abs() < 1e-3 * flow {
                    continue;
                }
                let reading = Measurement {
                    zones: zones.clone(),
                    at: garden.name(at).to_string(),
                    kind: ProbeKind::Flow,
                    value: Quantity::new(flow, dim::FLOW),
                    error: Some(Quantity::new(1e-3 * flow, dim::FLOW)),
                };
                let found = fit(&garden, &[reading], &[&path]).unwrap_or_else(|error| panic!("garden {seed}, {path}: {error}"));
                let again = run(found.garden().expect("a garden"), &names).expect("a steady state").parts[at].flow_m3_per_s;
                let said = found.readings[0].model;
                assert!((again - said).abs() <= 1e-6 * said.abs() + 1e-11, "garden {seed}, {path}: {said} and {again}");
                fitted.insert(key);
            }
        }
    }
    assert!(fitted.len() >= 30, "{} parameters: {fitted:?}", fitted.len());
}

#[test]
fn sensitivities_to_every_parameter_agree_with_differences() {
    let mut compared = 0;
    for seed in 30_000..30_100 {
        let garden = garden(seed);
        let names = zones(&garden, seed);
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let open = garden.opened(&names).expect("known zones");
        let mut network = Network::new(&garden, &open).expect("a sound garden");
        network.solve().unwrap_or_else(|error| panic!("garden {seed}: {}", error.named(&garden)));
        // A pressure somewhere, and the flow that comes out of something.
        let somewhere = Probe { place: seed as usize * 7 % garden.parts().len(), kind: ProbeKind::Pressure };
        let outlet = |place: &usize| garden.parts()[*place].spec().placing == Placing::Outlet && network.flow(*place) > 1e-6;
        let flow = (0..garden.parts().len()).find(outlet).map(|place| Probe { place, kind: ProbeKind::Flow });
        for probe in [Some(somewhere), flow].into_iter().flatten() {
            let Ok(slopes) = network.slopes(&probe) else { continue };
            let found = compare(&garden, &network, &probe, &slopes);
            compared += found.unwrap_or_else(|error| panic!("garden {seed}: {error}"));
        }
    }
    println!("{compared} sensitivities");
    assert!(compared > 1_000, "{compared}");
}
