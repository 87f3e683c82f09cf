//! Functions of a single part without a garden: its flow, loss, pressure or boost; and the result of a bucket test.
//!
//! For connected parts, run their garden.

use crate::garden::GardenError;
use crate::parts::{Id, Law, Part};
use crate::quantity::{Preference, Quantity, dim};
use crate::script::language::error::{ScriptError, raise};
use crate::script::language::values::{describe, expect_quantity, like_given};
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// Flow rate of a head, emitter, leak or relief valve at a gauge pressure; of a measured supply the flow at which its working pressure falls to
    /// this pressure.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).flow_at(40.psi)               // => 2.83 gpm
    /// supply(58.psi).measured(44.psi, 6.gpm).flow_at(30.psi)   // => 8.49 gpm
    /// supply(58.psi).flow_at(30.psi)   // => error: without a bucket test the flow of 'supply' at a pressure is unknown
    /// ```
    #[rhai_fn(return_raw)]
    pub fn flow_at(part: Part, pressure: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let given = pressure;
        let pressure_pa = expect_quantity(&given, dim::PRESSURE, "flow_at: pressure")?;
        let law = alone(&part);
        if law.lacks_bore() && part.spec().has(Id::Nozzle) {
            return Err(raise(GardenError::NoNozzle { name: part.name().unwrap_or_default().to_string() }));
        }
        if let Law::Source { pressure_pa: static_pa, resistance } = law
            && part.spec().is_main()
        {
            if resistance == 0.0 {
                let name = part.name().unwrap_or("supply");
                let error = ScriptError::new(format!("without a bucket test the flow of '{name}' at a pressure is unknown"));
                return Err(error.with_hint("give one, as in .measured({44.psi, 6.gpm|3.bar, 23.lpm})").into());
            }
            let flow = ((static_pa - pressure_pa).max(0.0) / resistance).sqrt();
            let preference = part.quantity(Id::MeasuredFlow).map_or(Preference::Usual, |flow| flow.preference);
            return Ok(Dynamic::from(Quantity { si: flow, dimension: dim::FLOW, preference }));
        }
        let Some(outflow) = law.outflow(pressure_pa) else {
            return Err(no_answer(&part, "flow_at", "a head, an emitter, a leak, a relief valve or a supply"));
        };
        let unit = part.si(Id::Flow).and_then(|_| part.get(Id::Flow).ok()).map(|flow| flow.preference);
        let Some(preference) = unit else { return Ok(like_given(outflow.flow_m3_per_s, dim::FLOW, &given)) };
        Ok(Dynamic::from(Quantity { si: outflow.flow_m3_per_s, dimension: dim::FLOW, preference }))
    }

    /// Friction loss (pressure loss, head loss) of a hose, pipe, fitting or valve at a flow, in water of 15 degC; a fitting or valve needs its own
    /// `diameter`.
    ///
    /// ```hw
    /// hose(100.ft, (3/4).inch).loss_at(6.gpm)   // => 5.2 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn loss_at(part: Part, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let given = flow;
        let flow = expect_quantity(&given, dim::FLOW, "loss_at: flow")?;
        let law = alone(&part);
        if law.lacks_bore() {
            return Err(no_bore(&part).into());
        }
        let loses = match law {
            Law::Friction { .. } | Law::HazenWilliams { .. } | Law::Quadratic { .. } => true,
            _ => law.is_gate() && flow >= 0.0,
        };
        if !loses {
            return Err(no_answer(&part, "loss_at", "a hose, a pipe, a fitting or an open valve"));
        }
        Ok(like_given(law.loss(true, flow).loss_pa, dim::PRESSURE, &given))
    }

    /// Working pressure of a supply or open tank at a flow.
    ///
    /// ```hw
    /// supply(58.psi).measured(44.psi, 6.gpm).pressure_at(9.gpm)   // => 26.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_at(part: Part, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let given = flow;
        let flow = expect_quantity(&given, dim::FLOW, "pressure_at: flow")?;
        let law @ Law::Source { .. } = alone(&part) else {
            return Err(no_answer(&part, "pressure_at", "a supply or an open tank"));
        };
        Ok(like_given(0.0 - law.loss(true, flow).loss_pa, dim::PRESSURE, &given))
    }

    /// Boost (pressure rise) of a booster pump at a flow.
    ///
    /// ```hw
    /// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).boost_at(5.gpm)   // => 30 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn boost_at(part: Part, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let given = flow;
        let flow = expect_quantity(&given, dim::FLOW, "boost_at: flow")?;
        let law @ Law::Booster { .. } = alone(&part) else {
            return Err(no_answer(&part, "boost_at", "a booster"));
        };
        Ok(like_given(0.0 - law.loss(true, flow).loss_pa, dim::PRESSURE, &given))
    }

    /// Velocity of the water in an inside diameter at a flow.
    ///
    /// ```hw
    /// velocity_in((5/8).inch, 6.gpm)   // => 6.27 ft/s
    /// ```
    #[rhai_fn(return_raw)]
    pub fn velocity_in(diameter: Dynamic, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let diameter_m = expect_quantity(&diameter, dim::LENGTH, "velocity_in: diameter")?;
        let given = flow;
        let flow = expect_quantity(&given, dim::FLOW, "velocity_in: flow")?;
        if diameter_m <= 0.0 {
            return Err(
                ScriptError::new(format!("velocity_in: diameter must be above zero, found {}", describe(&diameter))).into()
            );
        }
        Ok(like_given(crate::laws::section::speed_m_per_s(flow, diameter_m), dim::SPEED, &given))
    }

    /// Flow rate from a bucket test: volume divided by the time to fill it.
    ///
    /// ```hw
    /// bucket_test(5.gal, 48.s)   // => 6.25 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn bucket_test(volume: Dynamic, time: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let given = volume;
        let volume = expect_quantity(&given, dim::VOLUME, "bucket_test: volume")?;
        let time = expect_quantity(&time, dim::TIME, "bucket_test: time")?;
        if volume <= 0.0 || time <= 0.0 {
            return Err(ScriptError::new("bucket_test: volume and time must be above zero").into());
        }
        Ok(like_given(volume / time, dim::FLOW, &given))
    }
}

/// The law of a part that stands alone, in water of 15 degC.
pub fn alone(part: &Part) -> Law {
    part.law(&crate::parts::Around { water: crate::water::Water::default(), diameter_m: f64::NAN })
}

fn no_bore(part: &Part) -> ScriptError {
    let title = part.title();
    if part.si(Id::Diameter).is_some() {
        let kind = part.spec().word;
        return ScriptError::new(format!("loss_at: the loss of a {kind} depends on the diameter of the adjoining hose"))
            .with_hint("run a garden, and compare the pressures upstream and downstream of it");
    }
    ScriptError::new(format!("loss_at: {title} has no diameter of its own")).with_hint("set it, as in .diameter((3/4).inch)")
}

fn no_answer(part: &Part, word: &str, kinds: &str) -> Box<EvalAltResult> {
    ScriptError::new(format!("{word} does not apply to a {}", part.spec().word)).with_hint(format!("use it on {kinds}")).into()
}
