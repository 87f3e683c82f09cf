//! One-page cards that stay at the garden, as scripts see them.
//!
//! What they say is made in `crate::report::card`.

use super::figures::save_picture;
use super::watering::WeekAnswer;
use crate::figure::{Graphic, Paper, Sheet};
use crate::garden::Garden;
use crate::operation::{Schedule, Timer, clock_time_s};
use crate::report::{Saved, card as report};
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::describe;
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
Cards are sheets to print and leave at the garden: beside the pump its settings, beside the timer what it is set to, in the shed what is drained
and blown out in which order, and a parts list. `card(garden)` begins one, `settings`, `watering`, `spring_and_fall` or `parts` choose what it shows, `save`
writes it as .pdf, .svg or .png. Values are in US and metric units, with the cautions of the garden at the foot.

```hw
let plot = supply(58.psi).named("tap") >> backflow_preventer().named("backflow") >> pipe(80.ft, 1.inch).named("main")
    >> [ valve("beds") >> pipe(40.ft, (3/4).inch) >> head("bed", (1/8).inch), valve("lawn") >> uphill(6.ft) >> head("spray", (5/32).inch) ];
card(plot).spring_and_fall().save("fall.pdf")     // => saved fall.pdf
card(plot).watering(timer("east").start("05:30").zone("beds", 20.min).zone("lawn", 15.min)).paper("A4").save("timer.pdf")   // => saved timer.pdf
```
"#;

/// A card in the making.
#[derive(Clone, Debug)]
pub struct Card {
    garden: Garden,
    sheet: Option<Sheet>,
    paper: Option<Paper>,
    title: Option<String>,
}

impl Card {
    fn showing(self, sheet: Sheet) -> Card {
        Card { sheet: Some(sheet), ..self }
    }

    /// What it shows. Errors: nothing was chosen.
    pub fn sheet(&self) -> Answer<Sheet> {
        let mut sheet = self.sheet.clone().ok_or_else(|| {
            let error = ScriptError::new("the card shows nothing yet");
            error.with_hint("choose .settings(), .watering(schedule), .spring_and_fall() or .parts()")
        })?;
        sheet.paper = self.paper.unwrap_or(sheet.paper);
        sheet.title = self.title.clone().unwrap_or(sheet.title);
        Ok(sheet)
    }
}

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Card>("a card");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |card: Card| match card.sheet() {
            Ok(sheet) => report::in_words(&sheet),
            Err(_) => "a card; choose .settings(), .watering(schedule), .spring_and_fall() or .parts()".into(),
        });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn watering_of(card: Card, schedule: &Schedule) -> Answer<Card> {
    let sheet = report::watering_card(&card.garden, schedule).map_err(raise)?;
    Ok(card.showing(sheet))
}

#[export_module]
mod functions {
    /// Begins a card of a garden to print; `settings`, `watering`, `spring_and_fall` or `parts` choose what it shows.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(50.ft, (5/8).inch).price(24.USD) >> valve("bed") >> head("spray", (1/8).inch);
    /// card(plot).parts().save("parts.pdf")   // => saved parts.pdf
    /// card(plot).save("parts.pdf")           // => error: the card shows nothing yet
    /// ```
    #[rhai_fn(name = "card")]
    pub fn card_of(garden: Garden) -> Card {
        Card { garden, sheet: None, paper: None, title: None }
    }

    /// Shows the settings on a card: cut-in, cut-out, precharge, relief, what the gauge reads in each zone, ratings, and lines for date and name when
    /// something is checked.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (3/4).inch).pressure_rating(150.psi)
    ///     >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).named("pump") >> pressure_switch(50.psi, 75.psi) >> relief(97.psi) >> valve("beds") >> head("bed", (5/32).inch);
    /// card(plot).settings().save("settings.pdf")   // => saved settings.pdf
    /// card(supply(58.psi) >> head("spray", (1/8).inch)).settings()   // => error: nothing for a card of settings: the garden has no pressure switch, tank, relief valve or regulator
    /// ```
    #[rhai_fn(return_raw)]
    pub fn settings(card: Card) -> Result<Card, Box<EvalAltResult>> {
        let sheet = report::settings_card(&card.garden).map_err(raise)?;
        Ok(card.showing(sheet))
    }

    /// Shows a schedule on a card for the timer: zone, days, start times, minutes, cycles. A week of beds is given with the time of day from which it runs.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(50.ft, (5/8).inch) >> valve("beans") >> head("spray", (1/8).inch);
    /// card(plot).watering(timer("east").start("05:30").every(2.days).zone("beans", 20.min)).save("timer.svg")   // => saved timer.svg
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.25.in_per_h, 70);
    /// card(plot).watering(week([beans.depletion(1.inch)], w, "2015-07-13"), "05:00").save("week.svg")   // => saved week.svg
    /// card(plot).watering(timer("east").start("05:30").zone("lawn", 20.min))   // => error: there is no valve called 'lawn' in this garden
    /// ```
    #[rhai_fn(return_raw)]
    pub fn watering(card: Card, schedule: Dynamic) -> Result<Card, Box<EvalAltResult>> {
        if let Some(schedule) = schedule.read_lock::<Schedule>() {
            return watering_of(card, &schedule);
        }
        if let Some(timer) = schedule.read_lock::<Timer>() {
            return watering_of(card, &Schedule { timers: vec![timer.clone()], ..Schedule::default() });
        }
        let error = ScriptError::new(format!("watering: expected a timer or a schedule, found {}", describe(&schedule)));
        Err(error.about("schedule").with_hint("a week is given with its start, as in .watering(jobs, \"05:00\")").into())
    }

    #[rhai_fn(name = "watering", return_raw)]
    pub fn watering_week(card: Card, week: WeekAnswer, clock: &str) -> Result<Card, Box<EvalAltResult>> {
        let schedule = week.week().schedule(clock_time_s(clock).map_err(raise)?).map_err(raise)?;
        watering_of(card, &schedule)
    }

    /// Shows on a card what is done in fall and in spring: close the water, blow out buried pipe zone by zone, drain in the order of the water, start again. Air
    /// never goes through a pump, a backflow device or a meter.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> backflow_preventer() >> pipe(80.ft, 1.inch) >> valve("beds") >> head("bed", (1/8).inch);
    /// card(plot).spring_and_fall().save("fall.png")   // => saved fall.png
    /// ```
    #[rhai_fn(return_raw)]
    pub fn spring_and_fall(card: Card) -> Result<Card, Box<EvalAltResult>> {
        let sheet = report::seasons_card(&card.garden).map_err(raise)?;
        Ok(card.showing(sheet))
    }

    /// Shows the parts list on a card: like parts together, their sizes, prices and the total.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(50.ft, (5/8).inch).price(24.USD) >> valve("bed").price(18.USD) >> head("spray", (1/8).inch).price(9.USD);
    /// card(plot).parts().titled("To buy").save("parts.pdf")   // => saved parts.pdf
    /// ```
    #[rhai_fn(return_raw)]
    pub fn parts(card: Card) -> Result<Card, Box<EvalAltResult>> {
        let sheet = report::parts_card(&card.garden).map_err(raise)?;
        Ok(card.showing(sheet))
    }

    /// The paper of a card: "Letter" or "A4"; by default A4 for a garden in metric units.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(50.ft, (5/8).inch).price(24.USD) >> head("spray", (1/8).inch);
    /// card(plot).parts().paper("A4").save("parts.pdf")   // => saved parts.pdf
    /// card(plot).paper("A3")   // => error: paper: there is no 'A3'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn paper(card: Card, name: &str) -> Result<Card, Box<EvalAltResult>> {
        let found = Paper::ALL.into_iter().find(|(known, _)| known.eq_ignore_ascii_case(name.trim()));
        let (_, paper) = found.ok_or_else(|| {
            let error = ScriptError::new(format!("paper: there is no '{name}'")).about("name");
            error.with_hint("write \"Letter\" or \"A4\"")
        })?;
        Ok(Card { paper: Some(paper), ..card })
    }

    /// The title of a card.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(50.ft, (5/8).inch).price(24.USD) >> head("spray", (1/8).inch);
    /// card(plot).parts().titled("For the hardware store").save("store.svg")   // => saved store.svg
    /// ```
    #[rhai_fn(name = "titled")]
    pub fn title_card(card: Card, title: &str) -> Card {
        Card { title: Some(title.to_string()), ..card }
    }

    /// Saves a card in the folder of the script, as .pdf, .svg or .png. A card that does not fit on one page goes on on further pages.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(50.ft, (5/8).inch).price(24.USD) >> head("spray", (1/8).inch);
    /// card(plot).parts().save("parts.png")   // => saved parts.png
    /// ```
    #[rhai_fn(name = "save", return_raw)]
    pub fn save_card(call: NativeCallContext, card: Card, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let sheet = card.sheet()?;
        save_picture(&context, file, Graphic::Sheet(sheet))
    }
}
