//! A rain barrel over a season.

use super::runs::SeasonAnswer;
use crate::findings::of_barrel;
use crate::garden::Accepted;
use crate::quantity::{Quantity, dim};
use crate::report::FindingList;
use crate::report::watering as report;
use crate::script::language::error::{Answer, raise};
use crate::script::language::values::{expect_number, expect_quantity, value_of};
use crate::season::{Barrel, BarrelSeason};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult, INT};
use std::sync::Arc;

/// The season of a barrel as scripts hold it.
#[derive(Clone)]
pub struct BarrelAnswer {
    season: Arc<BarrelSeason>,
}

impl BarrelAnswer {
    /// Its findings.
    pub fn findings(&self) -> FindingList {
        FindingList::of_ground(&Accepted::default(), &of_barrel(&self.season))
    }

    /// What it caught, spilled and gave.
    pub fn in_words(&self) -> String {
        report::barrel_in_words(&self.season)
    }
}

fn volume(m3: f64) -> Answer<Dynamic> {
    value_of(Quantity::new(m3, dim::VOLUME))
}

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine
        .register_type_with_name::<Barrel>("a rain barrel")
        .register_type_with_name::<BarrelAnswer>("the season of a rain barrel");
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |barrel: Barrel| report::barrel_as_given(&barrel))
            .register_fn(word, |answer: BarrelAnswer| answer.in_words());
    }
    engine
        .register_get("saved", |answer: &mut BarrelAnswer| volume(answer.season.saved_m3()))
        .register_get("caught", |answer: &mut BarrelAnswer| volume(answer.season.caught_m3()))
        .register_get("spilled", |answer: &mut BarrelAnswer| volume(answer.season.spilled_m3()))
        .register_get("wanted", |answer: &mut BarrelAnswer| volume(answer.season.wanted_m3()))
        .register_get("short_days", |answer: &mut BarrelAnswer| answer.season.short_days() as INT);
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A rain barrel, empty at first, below a roof whose ground plan is given. Nine tenths of the rain reach it, without the first 0.5 mm after a
    /// dry day. Its water is not for drinking. A season with it: `.saved` is what it spares the tap, `.caught`, `.spilled` and `.wanted` the rest,
    /// `.short_days` the days on which it did not give all that the beds needed. Beds need `area` or `watered_by`.
    ///
    /// ```hw
    /// barrel(60.gal, 400.ft2)   // => barrel of 60 gal below 400 ft2 of roof
    /// let w = months([[12.degC, 26.degC, 60.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70).area(60.ft2);
    /// season([beans], w).barrel(barrel(60.gal, 100.ft2)).saved   // => 250.1 gal
    /// ```
    #[rhai_fn(return_raw)]
    pub fn barrel(volume: Dynamic, roof: Dynamic) -> Result<Barrel, Box<EvalAltResult>> {
        let volume_m3 = expect_quantity(&volume, dim::VOLUME, "barrel: volume")?;
        Barrel::new(volume_m3, expect_quantity(&roof, dim::AREA, "barrel: roof")?).map_err(raise)
    }

    /// The depth of rain after a dry day that washes the roof and is led away.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 60.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70).area(60.ft2);
    /// season([beans], w).barrel(barrel(60.gal, 100.ft2).first_flush(0.inch)).caught   // => 389 gal
    /// ```
    #[rhai_fn(return_raw)]
    pub fn first_flush(barrel: Barrel, depth: Dynamic) -> Result<Barrel, Box<EvalAltResult>> {
        let first_flush_mm = 1000.0 * expect_quantity(&depth, dim::LENGTH, "first_flush: depth")?;
        Barrel { first_flush_mm, ..barrel }.checked().map_err(raise)
    }

    /// The percentage of the rain on a roof that reaches the gutter: 80 to 95 of a sloped hard roof, less of a green one.
    ///
    /// ```hw
    /// barrel(60.gal, 400.ft2).gutter_share(50)    // => barrel of 60 gal below 400 ft2 of roof
    /// barrel(60.gal, 400.ft2).gutter_share(150)   // => error: the share of the rain that reaches the gutter is 1.5; expected 0 to 1
    /// ```
    #[rhai_fn(return_raw)]
    pub fn gutter_share(barrel: Barrel, percent: Dynamic) -> Result<Barrel, Box<EvalAltResult>> {
        let roof_share = expect_number(&percent, "gutter_share: percent")? / 100.0;
        Barrel { roof_share, ..barrel }.checked().map_err(raise)
    }

    /// How full a barrel is on the first morning of the season, in percent.
    ///
    /// ```hw
    /// barrel(60.gal, 400.ft2).starts_full(100)   // => barrel of 60 gal below 400 ft2 of roof
    /// ```
    #[rhai_fn(return_raw)]
    pub fn starts_full(barrel: Barrel, percent: Dynamic) -> Result<Barrel, Box<EvalAltResult>> {
        let full_share = expect_number(&percent, "starts_full: percent")? / 100.0;
        Barrel { full_share, ..barrel }.checked().map_err(raise)
    }

    #[rhai_fn(name = "barrel", return_raw)]
    pub fn season_barrel(season: SeasonAnswer, barrel: Barrel) -> Result<BarrelAnswer, Box<EvalAltResult>> {
        let found = barrel.season(&season.season, &season.scenario.weather).map_err(raise)?;
        Ok(BarrelAnswer { season: Arc::new(found) })
    }

    #[rhai_fn(name = "daily", return_raw)]
    pub fn barrel_days(barrel: BarrelAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::barrel_days(&barrel.season).map_err(raise)
    }

    #[rhai_fn(name = "by_month", return_raw)]
    pub fn barrel_months(barrel: BarrelAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::barrel_by_month(&barrel.season).map_err(raise)
    }

    #[rhai_fn(name = "findings")]
    pub fn barrel_findings(barrel: BarrelAnswer) -> FindingList {
        barrel.findings()
    }
}
