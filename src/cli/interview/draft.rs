//! The study that is written from the answers.

use super::questions::{Answers, Item, letter, rounded, units, value, words};
use super::reading::in_script;
use crate::quantity::{Quantity, UnitSystem, find_unit};

/// The heading of a study of this name.
fn title(stem: &str) -> String {
    let words = stem.replace(['-', '_'], " ").replace("*/", "* /").replace("/*", "/ *");
    let mut signs = words.trim().chars();
    signs.next().map_or_else(|| "My plot".into(), |first| first.to_uppercase().chain(signs).collect())
}

/// The text of the study; its figure has its name. What was not answered is named in it.
pub fn study(stem: &str, answers: &Answers, assumed: &[&str]) -> String {
    let system = units(answers, UnitSystem::AsWritten);
    let given = |item: Item| value(answers, item).unwrap_or(Quantity::number(1.0));
    let of = |item: Item| in_script(given(item));
    let (standing, running, flow) = (of(Item::Standing), of(Item::Running), of(Item::Flow));
    let (length, diameter, nozzle) = (of(Item::Length), of(Item::Diameter), of(Item::Nozzle));
    let (low, high) = (of(Item::Low), of(Item::High));
    let number = (given(Item::Heads).si as usize).max(1);
    let zones = words(answers, Item::Zones);
    let first = zones.first().map_or("beds", String::as_str);
    let heads = |zone: &String| {
        let heads: Vec<String> = (1..=number).map(|number| format!("new_head.named(\"{zone}{}\")", letter(number))).collect();
        let rows: Vec<String> = heads.chunks(3).map(|row| row.join(", ")).collect();
        format!("valve(\"{zone}\") >> [\n             {} ]", rows.join(",\n             "))
    };
    let branches: Vec<String> = zones.iter().map(heads).collect();
    let branches = branches.join(",\n         ");
    let each = |call: &str| zones.iter().map(|zone| format!("plot.run(\"{zone}\"){call};")).collect::<Vec<_>>().join("\n");
    let (results, findings) = (each(""), each(".findings()"));
    let height = given(Item::Height);
    let rise = match height.si {
        0.0 => String::new(),
        up if up > 0.0 => format!(" >> uphill({})", in_script(height)),
        _ => format!(" >> downhill({})", in_script(rounded(height, -1.0))),
    };
    let has_pump = words(answers, Item::Pump).iter().any(|word| word == "yes");
    let pump = if has_pump { pump(given(Item::Standing), given(Item::Flow), system) } else { String::new() };
    let of_pump = if has_pump {
        "\n   The pump is a common one: put in the curve of yours, from its label or data sheet. The relief valve protects the line\n   \
         while all valves are closed."
    } else {
        ""
    };
    let assumed = match assumed {
        [] => String::new(),
        assumed => {
            let text = format!("Usual values, not yours: {}. Measure them and put them in.", assumed.join(", "));
            format!("\n\n   {}", textwrap::fill(&text, 112).replace('\n', "\n   "))
        }
    };
    let currency = words(answers, Item::Currency).first().map_or("USD", String::as_str);
    let wider = in_script(wider(given(Item::Diameter), system));
    let piece = system.pick("100.ft", "30.m");
    let [hose_price, valve_price] = [45, 20].map(|price| format!("{price}.{currency}"));
    let title = title(stem);
    let figure: String = stem.chars().map(|c| if matches!(c, '"' | '\\') { '-' } else { c }).collect();
    let (read_standing, read_running) = (given(Item::Standing), given(Item::Running));
    let read_flow = given(Item::Flow);
    format!(
        r##"/* # {title}

   What each head gets, what is wrong, and the cheapest cure. Change a value and run it again.{assumed} */

/* ## What is there?

   The gauge at the tap: {read_standing} with all valves closed, {read_running} while a bucket fills with {read_flow}.
   A backflow preventer is included, with its pressure loss; local code names the type.{of_pump} */
let tap = supply({standing}).measured({running}, {flow});
let new_head = head("head", {nozzle}).operating_range({low}, {high});
let plot = tap >> backflow_preventer(){pump}
    >> hose({length}, {diameter}).named("feed"){rise}
    >> [ {branches} ];

// ## What pressure and flow does each head get?
{results}

/* ## How long may the feed hose be?

   Where the line drops below the dashed one, the first head stalls. */
let feed = plot["feed.length"];
let by_length = sweep(plot, vary("feed.length", steps(0.25 * feed, 3 * feed, 0.25 * feed)), "{first}");
chart(by_length).x("feed.length").y("{first}_a.pressure").mark({low}, "stalls below").save("{figure}.svg");

// ## What is wrong, and what is to do?
{findings}

/* ## What is the cheapest cure?

   From what a shop sells: put in its parts and prices. */
let stock = [hose({piece}, {wider}).named("wide hose").price({hose_price}), valve("valve more").price({valve_price})];
plot.remedies(stock);

/* ## What to mind before you buy or dig?

   - These results are estimates for planning: measure before you buy.
   - A check valve is not an approved backflow preventer; a hose joined to drinking water needs the device that local code
     requires.
   - A booster on a public main may be prohibited: ask the water supplier first. Pump and switch need a GFCI outlet (RCD), wired by a
     licensed electrician. */
"##
    )
}

/// A common booster for a flow, and the relief valve downstream of it, above the pressure at which it runs against closed valves.
fn pump(standing: Quantity, flow: Quantity, system: UnitSystem) -> String {
    let (shut_off, duty, unit) = system.pick((30.0, 20.0, "psi"), (2.0, 1.4, "bar"));
    let pressure = |value: f64| find_unit(unit).map_or(Quantity::number(value), |unit| Quantity::written(value, unit));
    let opens = rounded(Quantity { si: standing.si + pressure(shut_off).si, ..pressure(shut_off) }, 1.1);
    let [shut_off, duty, opens, max_flow] = [pressure(shut_off), pressure(duty), opens, rounded(flow, 2.0)].map(in_script);
    format!("\n    >> booster_from({shut_off}, [{}, {duty}], {max_flow}).named(\"pump\") >> relief({opens})", in_script(flow))
}

/// The next larger diameter that is sold.
fn wider(diameter: Quantity, system: UnitSystem) -> Quantity {
    let (sizes, unit) = system.pick((&[0.5, 0.625, 0.75, 1.0, 1.5, 2.0], "in"), (&[13.0, 16.0, 19.0, 25.0, 38.0, 50.0], "mm"));
    let sold = sizes.iter().filter_map(|size| find_unit(unit).map(|unit| Quantity::written(*size, unit)));
    sold.into_iter().find(|size| size.si > 1.05 * diameter.si).unwrap_or(rounded(diameter, 1.5))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_becomes_a_heading() {
        assert_eq!(title("willow-lane_7"), "Willow lane 7");
        assert_eq!(title("*/"), "* /");
        assert_eq!(title(""), "My plot");
    }
}
