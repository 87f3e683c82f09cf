//! Going through lists and maps with closures, sorting, and removing what is there twice.
//!
//! The engine has functions of these names that take what is no true or false for false, and leave a list as it was when a closure
//! fails. These end with an error instead, and the list then stays as it was.

use super::general::one;
use super::operators::order;
use crate::quantity::Quantity;
use crate::script::json;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, describe};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, FuncRegistration, INT, ImmutableString, Map, NativeCallContext};
use std::cmp::Ordering;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A closure that selects gives true or false for each value; a second parameter is its position in the list; for a map the parameters are
name and value. A closure that sorts takes two values and gives a number or quantity, below zero if
the first comes first, or true for that. `map`, `reduce`, `for_each`, `zip` and `find_map` accept any value.
`sort`, `sort_by`, `sort_desc`, `dedup`, `drain` and `retain` change their list in place; `sorted`, `order`, `order_by`, `order_desc`, `map` and `filter`
give a new list.

```hw
[3.ft, 1.ft, 2.ft].filter(|length| length > 1.ft)             // => [3 ft, 2 ft]
[10, 20, 30].filter(|number, place| place > 0)                // => [20, 30]
#{ bed: 30.psi, lawn: 45.psi }.filter(|name, p| p > 40.psi)   // => #{"lawn": 45 psi}
[1.ft, 2.ft].map(|length| length * 2)                         // => [2 ft, 4 ft]
[1, 2, 3].reduce(|sum, number| sum + number, 0)               // => 6
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    FuncRegistration::new("to_json")
        .with_params_info(["map"])
        .with_comments(TO_JSON_DOC.lines())
        .with_purity(true)
        .register_into_engine(engine, |call: NativeCallContext, map: &mut Map| -> Answer<String> {
            Ok(json::of(&Dynamic::from_map(map.clone()), look_of(&call)?.system).to_string())
        });
    for function in FUNCTIONS {
        let body = function.body;
        function.registration().register_into_engine(engine, move |call: NativeCallContext, list: &mut Array, closure: FnPtr| {
            body(&call, list, &closure, 0)
        });
        // A function may be named by a text, but where a text may be a value of the list.
        if function.name != "index_of" {
            function
                .registration()
                .register_into_engine(engine, move |call: NativeCallContext, list: &mut Array, name: ImmutableString| {
                    body(&call, list, &FnPtr::new(name)?, 0)
                });
        }
        if matches!(function.name, "find" | "index_of") {
            function
                .registration()
                .register_into_engine(engine, move |call: NativeCallContext, list: &mut Array, closure: FnPtr, start: INT| {
                    body(&call, list, &closure, start)
                });
        }
    }
    engine.register_global_module(exported_module!(functions).into());
    engine.register_global_module(exported_module!(functions_of_maps).into());
    super::growing_list::register(engine);
}

/// What a function does with a list and a closure; the number is the place where it begins.
type Body = fn(&NativeCallContext, &mut Array, &FnPtr, INT) -> Answer<Dynamic>;

/// A function of a list and a closure.
struct ListFunction {
    name: &'static str,
    /// True when it changes the list.
    changes: bool,
    body: Body,
    doc: &'static str,
}

impl ListFunction {
    fn registration(&self) -> FuncRegistration {
        let parameters = ["list", "closure", "start"];
        let named = FuncRegistration::new(self.name).with_params_info(parameters).with_comments(self.doc.lines());
        named.with_purity(!self.changes)
    }
}

const FUNCTIONS: &[ListFunction] = &[
    ListFunction {
        name: "filter",
        changes: false,
        body: |call, list, closure, _| {
            let flags = flags(call, "filter", list, closure)?;
            let kept = list.iter().zip(flags).filter(|(_, flag)| *flag);
            Ok(kept.map(|(value, _)| value.clone()).collect::<Array>().into())
        },
        doc: r#"/// The values of a list, or the entries of a map, for which a closure gives true; a new list or map.
///
/// ```hw
/// [20.psi, 44.psi].filter(|pressure| pressure > 30.psi)   // => [44 psi]
/// [1, 2].filter(|number| number)   // => error: filter: the closure gave 1 (a plain number) for 1 (a plain number); expected true or false
/// ```"#,
    },
    ListFunction {
        name: "all",
        changes: false,
        body: |call, list, closure, _| Ok((place_of(call, "all", list, closure, 0, false)?.is_none()).into()),
        doc: r#"/// True if a closure gives true for every value of a list, or the list is empty.
///
/// ```hw
/// [20.psi, 44.psi].all(|pressure| pressure > 30.psi)   // => false
/// ```"#,
    },
    ListFunction {
        name: "some",
        changes: false,
        body: |call, list, closure, _| Ok((place_of(call, "some", list, closure, 0, true)?.is_some()).into()),
        doc: r#"/// True if a closure gives true for at least one value of a list.
///
/// ```hw
/// [20.psi, 44.psi].some(|pressure| pressure > 30.psi)   // => true
/// ```"#,
    },
    ListFunction {
        name: "find",
        changes: false,
        body: |call, list, closure, start| {
            let place = place_of(call, "find", list, closure, start, true)?;
            Ok(place.map_or(Dynamic::UNIT, |place| list[place].clone()))
        },
        doc: r#"/// The first value of a list for which a closure gives true, or `()` if there is none; optionally from a start position.
///
/// ```hw
/// [20.psi, 44.psi, 50.psi].find(|pressure| pressure > 30.psi)      // => 44 psi
/// [20.psi, 44.psi, 50.psi].find(|pressure| pressure > 30.psi, 2)   // => 50 psi
/// ```"#,
    },
    ListFunction {
        name: "index_of",
        changes: false,
        body: |call, list, closure, start| {
            let place = place_of(call, "index_of", list, closure, start, true)?;
            Ok(Dynamic::from_int(place.map_or(-1, |place| place as INT)))
        },
        doc: r#"/// The position of the first value of a list that equals a value, or for which a closure gives true; -1 for none. Positions count
/// from 0; optionally from a start position.
///
/// ```hw
/// ["bed", "lawn"].index_of("lawn")                         // => 1
/// [20.psi, 44.psi].index_of(|pressure| pressure > 30.psi)  // => 1
/// [20.psi, 44.psi].index_of(5.psi)                         // => -1
/// ```"#,
    },
    ListFunction {
        name: "drain",
        changes: true,
        body: |call, list, closure, _| {
            let flags = flags(call, "drain", list, closure)?;
            Ok(taken_out(list, &flags).into())
        },
        doc: r#"/// Removes the values for which a closure gives true from a list or map, in place, and returns them.
///
/// ```hw
/// let pressures = [20.psi, 44.psi, 50.psi];
/// pressures.drain(|pressure| pressure > 30.psi)   // => [44 psi, 50 psi]
/// pressures                                       // => [20 psi]
/// ```"#,
    },
    ListFunction {
        name: "retain",
        changes: true,
        body: |call, list, closure, _| {
            let rest: Vec<bool> = flags(call, "retain", list, closure)?.into_iter().map(|flag| !flag).collect();
            Ok(taken_out(list, &rest).into())
        },
        doc: r#"/// Keeps the values for which a closure gives true in a list or map, in place, and returns the others.
///
/// ```hw
/// let pressures = [20.psi, 44.psi, 50.psi];
/// pressures.retain(|pressure| pressure > 30.psi)   // => [20 psi]
/// pressures                                        // => [44 psi, 50 psi]
/// ```"#,
    },
    ListFunction {
        name: "dedup",
        changes: true,
        body: |call, list, closure, _| {
            let same = |a: &Dynamic, b: &Dynamic| {
                let answer = closure.call_raw(call, None, [a.clone(), b.clone()])?;
                answer.as_bool().map_err(|_| no_flag("dedup", &answer, &[a, b]))
            };
            without_repeats(list, same).map(|()| Dynamic::UNIT)
        },
        doc: DEDUP_DOC,
    },
    ListFunction {
        name: "sort",
        changes: true,
        body: |call, list, closure, _| sort_with(call, "sort", list, closure),
        doc: SORT_DOC,
    },
    ListFunction {
        name: "sort_by",
        changes: true,
        body: |call, list, closure, _| sort_with(call, "sort_by", list, closure),
        doc: r#"/// Sorts a list in place by a closure; see `sort`.
///
/// ```hw
/// let zones = [#{ name: "bed", flow: 6.gpm }, #{ name: "lawn", flow: 2.gpm }];
/// zones.sort_by(|a, b| a.flow - b.flow);
/// zones[0].name   // => lawn
/// ```"#,
    },
    ListFunction {
        name: "order",
        changes: false,
        body: |call, list, closure, _| Ok(put_in_order(call, "order", list, closure)?.into()),
        doc: ORDER_DOC,
    },
    ListFunction {
        name: "order_by",
        changes: false,
        body: |call, list, closure, _| Ok(put_in_order(call, "order_by", list, closure)?.into()),
        doc: r#"/// A new list, sorted by a closure; see `sort`.
///
/// ```hw
/// [3.ft, 1.ft, 2.ft].order_by(|a, b| b - a)   // => [3 ft, 2 ft, 1 ft]
/// ```"#,
    },
];

const TO_JSON_DOC: &str = r#"/// A map as a JSON string; quantities have value, unit and the value in SI units.
///
/// ```hw
/// #{ name: "bed", heads: 3, open: true }.to_json()   // => {"heads":3,"name":"bed","open":true}
/// ```"#;

const SORT_DOC: &str = r#"/// Sorts a list in place: rising, or by a closure of two values. The closure gives a number or a
/// quantity, below zero if the first comes first, above zero if the second does; or true if the first comes first. Equal
/// values keep their order. If the closure fails, the script ends and the list is unchanged.
///
/// ```hw
/// let a = [3.ft, 12.inch, 2.ft];
/// a.sort();
/// a   // => [12 in, 2 ft, 3 ft]
/// a.sort(|x, y| y - x);
/// a   // => [3 ft, 2 ft, 12 in]
/// a.sort(|x, y| "less")   // => error: sort: the closure gave the string "less" for 3 ft (a length) and 2 ft (a length); expected a number or quantity, or true or false
/// ```"#;

const ORDER_DOC: &str = r#"/// A new list in rising order, or sorted by a closure; see `sort`.
///
/// ```hw
/// [3.ft, 12.inch].order()                // => [12 in, 3 ft]
/// ["c", "a", "b"].order(|a, b| a > b)    // => ["c", "b", "a"]
/// ```"#;

const DEDUP_DOC: &str = r#"/// Removes values of a list that equal the previous value, in place, or those for which a closure of both gives true.
///
/// ```hw
/// let a = [1.ft, 12.inch, 2.ft, 1.ft];
/// a.dedup();
/// a   // => [1 ft, 2 ft, 1 ft]
/// ```"#;

#[export_module]
mod functions {
    /// A new list in rising order: of numbers, quantities of one dimension, or strings.
    ///
    /// ```hw
    /// sorted([3.ft, 12.inch, 2.ft])   // => [12 in, 2 ft, 3 ft]
    /// sorted([3.ft, 30.psi])   // => error: cannot compare 3 ft (a length) and 30 psi (a pressure)
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sorted(list: Array) -> Result<Array, Box<EvalAltResult>> {
        rising(&list, "sorted")
    }

    #[rhai_fn(return_raw)]
    pub fn sort(list: &mut Array) -> Result<(), Box<EvalAltResult>> {
        *list = rising(list, "sort")?;
        Ok(())
    }

    #[rhai_fn(return_raw)]
    pub fn order(list: Array) -> Result<Array, Box<EvalAltResult>> {
        rising(&list, "order")
    }

    /// Sorts a list in falling order, in place; see `sorted`.
    ///
    /// ```hw
    /// let a = [3, 1, 2];
    /// a.sort_desc();
    /// a   // => [3, 2, 1]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sort_desc(list: &mut Array) -> Result<(), Box<EvalAltResult>> {
        *list = falling(list, "sort_desc")?;
        Ok(())
    }

    /// A new list in falling order; see `sorted`.
    ///
    /// ```hw
    /// [3.ft, 12.inch, 2.ft].order_desc()   // => [3 ft, 2 ft, 12 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn order_desc(list: Array) -> Result<Array, Box<EvalAltResult>> {
        falling(&list, "order_desc")
    }

    #[rhai_fn(return_raw)]
    pub fn dedup(call: NativeCallContext, list: &mut Array) -> Result<(), Box<EvalAltResult>> {
        without_repeats(list, |a, b| equal(&call, a, b))
    }

    #[rhai_fn(name = "index_of", pure)]
    pub fn index_of_text(list: &mut Array, text: ImmutableString) -> INT {
        place_of_text(list, &text, 0)
    }

    #[rhai_fn(name = "index_of", pure)]
    pub fn index_of_text_from(list: &mut Array, text: ImmutableString, start: INT) -> INT {
        place_of_text(list, &text, start)
    }
}

#[export_module]
mod functions_of_maps {
    #[rhai_fn(pure, return_raw)]
    pub fn filter(call: NativeCallContext, map: &mut Map, closure: FnPtr) -> Result<Map, Box<EvalAltResult>> {
        Ok(parted(&call, "filter", map, &closure)?.0)
    }

    #[rhai_fn(return_raw)]
    pub fn drain(call: NativeCallContext, map: &mut Map, closure: FnPtr) -> Result<Map, Box<EvalAltResult>> {
        let (chosen, rest) = parted(&call, "drain", map, &closure)?;
        *map = rest;
        Ok(chosen)
    }

    #[rhai_fn(return_raw)]
    pub fn retain(call: NativeCallContext, map: &mut Map, closure: FnPtr) -> Result<Map, Box<EvalAltResult>> {
        let (chosen, rest) = parted(&call, "retain", map, &closure)?;
        *map = chosen;
        Ok(rest)
    }
}

/// What a closure says of the value at a place of a list.
fn says(call: &NativeCallContext, word: &str, closure: &FnPtr, value: &mut Dynamic, place: usize) -> Answer<bool> {
    let place = Dynamic::from_int(place as INT);
    let answer = closure.call_raw_with_extra_args(word, call, Some(value), [], [place], Some(0))?;
    answer.as_bool().map_err(|_| no_flag(word, &answer, &[value]))
}

fn flags(call: &NativeCallContext, word: &str, list: &mut Array, closure: &FnPtr) -> Answer<Vec<bool>> {
    list.iter_mut().enumerate().map(|(place, value)| says(call, word, closure, value, place)).collect()
}

/// The first place, from a start, of which the closure says what is wanted.
fn place_of(
    call: &NativeCallContext,
    word: &str,
    list: &mut Array,
    closure: &FnPtr,
    start: INT,
    wanted: bool,
) -> Answer<Option<usize>> {
    let start = from_place(list, start);
    for (place, value) in list.iter_mut().enumerate().skip(start) {
        if says(call, word, closure, value, place)? == wanted {
            return Ok(Some(place));
        }
    }
    Ok(None)
}

/// A place that may be counted from the end.
fn from_place(list: &Array, start: INT) -> usize {
    let start = if start < 0 { list.len() as INT + start } else { start };
    start.max(0) as usize
}

fn place_of_text(list: &Array, text: &str, start: INT) -> INT {
    let is_it = |value: &Dynamic| value.as_immutable_string_ref().is_ok_and(|found| found.as_str() == text);
    let start = from_place(list, start);
    list.iter().skip(start).position(is_it).map_or(-1, |place| (place + start) as INT)
}

/// Takes the flagged values out of a list.
fn taken_out(list: &mut Array, flags: &[bool]) -> Array {
    let mut flag = flags.iter();
    let (taken, left) = std::mem::take(list).into_iter().partition(|_| flag.next() == Some(&true));
    *list = left;
    taken
}

/// The entries of a map of which a closure says true, and the others.
fn parted(call: &NativeCallContext, word: &str, map: &mut Map, closure: &FnPtr) -> Answer<(Map, Map)> {
    let (mut chosen, mut rest) = (Map::new(), Map::new());
    for (name, value) in map.iter_mut() {
        let answer = closure.call_raw_with_extra_args(word, call, Some(value), [name.into()], [], Some(1))?;
        let flag = answer.as_bool().map_err(|_| no_flag(word, &answer, &[value]))?;
        let side = if flag { &mut chosen } else { &mut rest };
        side.insert(name.clone(), value.clone());
    }
    Ok((chosen, rest))
}

/// Removes from a list what is the same as the value before it. Errors: those of the comparison; the list stays as it was.
fn without_repeats(list: &mut Array, mut same: impl FnMut(&Dynamic, &Dynamic) -> Answer<bool>) -> Answer<()> {
    let mut kept: Array = Array::with_capacity(list.len());
    for value in list.iter() {
        let repeats = match kept.last() {
            Some(last) => same(last, value)?,
            None => false,
        };
        if !repeats {
            kept.push(value.clone());
        }
    }
    *list = kept;
    Ok(())
}

/// As `==` says; values of different types, for which it says nothing, are not equal.
fn equal(call: &NativeCallContext, a: &Dynamic, b: &Dynamic) -> Answer<bool> {
    let (mut left, mut right) = (a.clone(), b.clone());
    match call.call_native_fn_raw("==", true, &mut [&mut left, &mut right]) {
        Ok(answer) => Ok(answer.as_bool().unwrap_or(false)),
        Err(error) => match *error {
            EvalAltResult::ErrorFunctionNotFound(..) if a.type_id() != b.type_id() => Ok(false),
            _ => Err(error),
        },
    }
}

fn sort_with(call: &NativeCallContext, word: &str, list: &mut Array, closure: &FnPtr) -> Answer<Dynamic> {
    *list = put_in_order(call, word, list, closure)?;
    Ok(Dynamic::UNIT)
}

fn put_in_order(call: &NativeCallContext, word: &str, list: &Array, closure: &FnPtr) -> Answer<Array> {
    let places =
        merged((0..list.len()).collect(), &mut |&a: &usize, &b: &usize| verdict(call, word, closure, &list[a], &list[b]))?;
    Ok(places.into_iter().map(|place| list[place].clone()).collect())
}

/// What a closure says of the order of two values: by the sign of a number or quantity, or true where the first comes first.
fn verdict(call: &NativeCallContext, word: &str, closure: &FnPtr, a: &Dynamic, b: &Dynamic) -> Answer<Ordering> {
    let ask = |first: &Dynamic, second: &Dynamic| closure.call_raw(call, None, [first.clone(), second.clone()]);
    let answer = ask(a, b)?;
    match answer.as_bool() {
        Ok(true) => return Ok(Ordering::Less),
        // False may mean that the second comes first, or that neither does.
        Ok(false) => return Ok(if matches!(ask(b, a)?.as_bool(), Ok(true)) { Ordering::Greater } else { Ordering::Equal }),
        Err(_) => {}
    }
    let sign = as_quantity(&answer).filter(|found| !found.dimension.absolute).and_then(|found| found.si.partial_cmp(&0.0));
    sign.ok_or_else(|| {
        let what = said(word, &answer, &[a, b]);
        let error = ScriptError::new(format!("{what}; expected a number or quantity, or true or false"));
        error.with_hint("give the difference, as in |a, b| a - b, or compare, as in |a, b| a < b").into()
    })
}

/// Sorted by merging, so that equal items keep their order; ends at the first failure. It comes to an end for any verdicts, also
/// for those that contradict each other.
fn merged<T: Clone>(mut items: Vec<T>, verdict: &mut impl FnMut(&T, &T) -> Answer<Ordering>) -> Answer<Vec<T>> {
    let mut width = 1;
    while width < items.len() {
        let mut next = Vec::with_capacity(items.len());
        for run in items.chunks(2 * width) {
            let (mut left, mut right) = run.split_at(width.min(run.len()));
            while let (Some(first), Some(second)) = (left.first(), right.first()) {
                let side = if verdict(first, second)? == Ordering::Greater { &mut right } else { &mut left };
                next.extend(side.split_off_first().cloned());
            }
            next.extend_from_slice(left);
            next.extend_from_slice(right);
        }
        items = next;
        width *= 2;
    }
    Ok(items)
}

/// Errors: values that cannot be compared, named in the order in which they stand.
fn rising(list: &Array, word: &str) -> Answer<Array> {
    in_order(list, word, Ordering::is_gt)
}

fn falling(list: &Array, word: &str) -> Answer<Array> {
    in_order(list, word, Ordering::is_lt)
}

fn in_order(list: &Array, word: &str, later: fn(Ordering) -> bool) -> Answer<Array> {
    let by = |order: Ordering| {
        if later(order) {
            Ordering::Greater
        } else if order.is_eq() {
            Ordering::Equal
        } else {
            Ordering::Less
        }
    };
    let mut values = list.clone();
    if values.iter().all(Dynamic::is_string) {
        values.sort_by(|a, b| by(text_of(a).cmp(&text_of(b))));
        return Ok(values);
    }
    let mut keyed: Vec<(Quantity, Dynamic)> = Vec::with_capacity(values.len());
    for value in values {
        keyed.push((one(&value, word)?, value));
    }
    if let Some((first, _)) = keyed.first().cloned() {
        for (quantity, _) in &keyed {
            order(first, *quantity).map_err(raise)?;
        }
    }
    keyed.sort_by(|(a, _), (b, _)| by(a.si.total_cmp(&b.si)));
    Ok(keyed.into_iter().map(|(_, value)| value).collect())
}

fn text_of(value: &Dynamic) -> ImmutableString {
    value.as_immutable_string_ref().map(|text| text.clone()).unwrap_or_default()
}

fn said(word: &str, answer: &Dynamic, of: &[&Dynamic]) -> String {
    let of: Vec<String> = of.iter().map(|value| describe(value)).collect();
    format!("{word}: the closure gave {} for {}", describe(answer), of.join(" and "))
}

fn no_flag(word: &str, answer: &Dynamic, of: &[&Dynamic]) -> Box<EvalAltResult> {
    let error = ScriptError::new(format!("{}; expected true or false", said(word, answer, of)));
    error.with_hint("compare in the closure, as in |p| p > {30.psi|2.bar}").into()
}
