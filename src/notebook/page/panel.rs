//! The controls of a study on a page that can set them: one panel that stays beside the pictures.

use super::node::{Node, element, text};
use crate::quantity::{Quantity, UnitSystem};
use crate::script::controls::{Control, ControlKind, RangeForm};

/// The controls of a page, in the parts that the live page exchanges.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Panel {
    /// Changes when the controls must be made anew.
    pub key: String,
    /// The controls, as HTML; empty for a study without any.
    pub markup: String,
    /// How each is set, in order.
    pub standing: Vec<Standing>,
}

/// How a control is set.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Standing {
    /// Its name.
    pub name: String,
    /// The number of its input: a value in its unit, the place of an option, or 1 for yes.
    pub value: f64,
    /// The number with which the study begins.
    pub start: f64,
    /// How it is set, in words.
    pub words: String,
}

/// The panel of these controls.
pub fn panel(controls: &[&Control]) -> Panel {
    let number = |index: usize| format!("control-{}", index + 1);
    let nodes: Vec<Node> = controls.iter().enumerate().map(|(index, one)| control(one, &number(index))).collect();
    let key = |one: &&Control| {
        let mut at_start = (*one).clone();
        at_start.set(one.start());
        format!("{at_start:?}")
    };
    Panel {
        key: controls.iter().map(key).collect::<Vec<_>>().join(";"),
        markup: nodes.iter().map(Node::write).collect(),
        standing: controls.iter().map(|one| standing(one)).collect(),
    }
}

/// How a control is set.
pub fn standing(control: &Control) -> Standing {
    let shown = |setting: f64| match &control.kind {
        ControlKind::Range { low, .. } => in_its_unit(low, setting),
        _ => setting,
    };
    let (value, start) = (shown(control.setting()), shown(control.start()));
    Standing { name: control.name.clone(), value, start, words: control.in_words() }
}

/// The number by which a control is set, of the number of its input.
pub fn setting_of(control: &Control, value: f64) -> f64 {
    match &control.kind {
        ControlKind::Range { low, .. } => low.shown_unit(UnitSystem::AsWritten).map_or(value, |unit| unit.to_si(value)),
        _ => value,
    }
}

/// A control in the words of a cell: on a page that can set it, its value leads to it.
pub fn in_a_line(control: &Control, leads_to: Option<usize>) -> Node {
    let value = element("output", "", vec![text(control.in_words())]).with("data-standing", control.name.as_str());
    let mut parts = vec![text(format!("{}: ", control.name))];
    match leads_to {
        Some(index) => parts.push(element("a", "", vec![value]).with("href", format!("#control-{}", index + 1))),
        None => parts.push(text(format!("{} ({})", control.in_words(), control.range_in_words()))),
    }
    element("p", "setting", parts)
}

fn control(control: &Control, id: &str) -> Node {
    let label = || element("label", "", vec![text(control.name.as_str())]).with("for", id);
    let parts = match &control.kind {
        ControlKind::Range { form, low, high, start, value } => {
            let numbers = [*low, *high, *start, *value].map(|quantity| in_its_unit(low, quantity.si));
            range(control, *form, &label(), id, numbers, low)
        }
        ControlKind::Choice { options, value, .. } => {
            let option = |(index, option): (usize, &String)| {
                let node = element("option", "", vec![text(option.as_str())]).with("value", index.to_string());
                if index == *value { node.with("selected", "") } else { node }
            };
            let options = options.iter().enumerate().map(option).collect();
            vec![label(), element("select", "", options).with("id", id)]
        }
        ControlKind::Check { value, .. } => {
            let input = element("input", "", vec![]).with("type", "checkbox").with("id", id);
            vec![if *value { input.with("checked", "") } else { input }, label()]
        }
    };
    let kind = match control.kind {
        ControlKind::Range { .. } => "range",
        ControlKind::Choice { .. } => "choice",
        ControlKind::Check { .. } => "check",
    };
    element("div", &format!("control {kind}"), parts).with("data-control", control.name.as_str()).with("data-kind", kind)
}

/// A handle with a field beside it, or the field alone; `numbers` are low end, high end, start and value in the unit of the low end.
fn range(control: &Control, form: RangeForm, label: &Node, id: &str, numbers: [f64; 4], low_end: &Quantity) -> Vec<Node> {
    let [low, high, start, value] = numbers;
    let unit = low_end.shown_unit(UnitSystem::AsWritten).map_or(String::new(), |unit| unit.symbol.to_string());
    let input = |kind: &'static str, id: String, step: String| {
        let bare = element("input", "", vec![]).with("type", kind).with("id", id).with("min", low.to_string());
        bare.with("max", high.to_string()).with("step", step).with("value", value.to_string())
    };
    let mut parts = vec![label.clone()];
    let field_id = if form == RangeForm::Slider { format!("{id}-exact") } else { id.to_string() };
    if form == RangeForm::Slider {
        let whole = low_end.dimension.is_number() && [low, high, start].iter().all(|value| value.fract() == 0.0);
        let handle = input("range", id.to_string(), step_of(low, high, start, whole).to_string());
        parts.push(handle.with("aria-valuetext", control.in_words()).with("data-unit", unit.as_str()));
    }
    let mut field = input("number", field_id, "any".to_string()).with("data-unit", unit.as_str()).with("inputmode", "decimal");
    if form == RangeForm::Slider || !unit.is_empty() {
        let inside = if unit.is_empty() { String::new() } else { format!(" in {unit}") };
        field = field.with("aria-label", format!("{}{inside}, exactly", control.name));
    }
    let mut exact = vec![field];
    if !unit.is_empty() {
        exact.push(element("span", "unit", vec![text(unit)]));
    }
    parts.push(element("span", "exact", exact));
    parts.push(element("span", "range", vec![text(control.range_in_words())]));
    parts
}

/// An SI value in the unit in which a quantity is shown.
fn in_its_unit(shown_like: &Quantity, si: f64) -> f64 {
    let value = shown_like.shown_unit(UnitSystem::AsWritten).map_or(si, |unit| unit.from_si(si));
    // Twelve digits: the rest is rounding of the unit's size.
    format!("{value:.11e}").parse().unwrap_or(value)
}

/// A round step that makes at least a hundred of the way, and that leads from the low end to the start and to the high end;
/// whole for whole numbers. Where no round step does, a hundredth of the way.
fn step_of(low: f64, high: f64, start: f64, whole: bool) -> f64 {
    if whole && high - low <= 1000.0 {
        return 1.0;
    }
    let rough = (high - low) / 100.0;
    let power = 10f64.powf(rough.log10().floor());
    let meets = |step: f64| [high, start].iter().all(|end| ((end - low) / step - ((end - low) / step).round()).abs() < 1e-6);
    let factors = [5.0, 2.5, 2.0, 1.0, 0.5, 0.25, 0.2, 0.1];
    let round = factors.into_iter().map(|factor| factor * power).find(|step| *step <= rough * 1.000_001 && meets(*step));
    let step = round.unwrap_or(rough);
    format!("{step:.11e}").parse().unwrap_or(step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::find_unit;

    fn length(form: RangeForm) -> Control {
        let feet = |value| Quantity::written(value, find_unit("ft").expect("a unit"));
        let (low, high, start) = (feet(25.0), feet(300.0), feet(100.0));
        Control { name: "feed <length>".into(), kind: ControlKind::Range { form, low, high, start, value: start } }
    }

    #[test]
    fn a_handle_has_its_unit_its_ends_and_its_words() {
        let made = panel(&[&length(RangeForm::Slider)]);
        for part in [
            "data-control=\"feed &lt;length&gt;\"",
            "type=\"range\" id=\"control-1\" min=\"25\" max=\"300\" step=\"2.5\" value=\"100\" aria-valuetext=\"100 ft\"",
            "aria-label=\"feed &lt;length&gt; in ft, exactly\"",
            "25 ft to 300 ft",
        ] {
            assert!(made.markup.contains(part), "{part} in {}", made.markup);
        }
        assert_eq!((made.standing[0].value, made.standing[0].words.as_str()), (100.0, "100 ft"));
    }

    #[test]
    fn the_panel_is_made_anew_for_other_ends_and_not_for_another_value() {
        let (control, mut moved) = (length(RangeForm::Field), length(RangeForm::Field));
        moved.set(30.0);
        let (made, after) = (panel(&[&control]), panel(&[&moved]));
        assert_eq!(made.key, after.key);
        assert_ne!(made.standing, after.standing);
        assert_ne!(made.key, panel(&[&length(RangeForm::Slider)]).key);
        assert_eq!(setting_of(&control, 10.0), 3.048);
    }

    #[test]
    fn steps_are_round_and_lead_to_start_and_end() {
        assert_eq!(step_of(25.0, 300.0, 100.0, false), 2.5);
        assert_eq!(step_of(1.0, 8.0, 4.0, true), 1.0);
        assert_eq!(step_of(0.0, 1.0, 0.5, false), 0.01);
    }
}
