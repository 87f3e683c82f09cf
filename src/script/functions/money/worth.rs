//! Payback, present value and yearly cost.

use super::read::amount_of;
use crate::findings::of_payback;
use crate::garden::Accepted;
use crate::money::{self, Payback};
use crate::quantity::Quantity;
use crate::report::{FindingList, money as report};
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, column_list, expect_number, value_of};
use crate::table::TableColumn;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Payback>("a payback");
    engine.register_get("years", |payback: &mut Payback| payback.years.map_or(Dynamic::UNIT, Dynamic::from_float));
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, payback: Payback| -> Answer<String> {
            Ok(report::payback_in_words(&payback, look_of(&call)?.system))
        });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn share(percent: &Dynamic, what: &str) -> Answer<f64> {
    Ok(expect_number(percent, what)? / 100.0)
}

fn pays(price: Quantity, saving: &Dynamic, rate: f64, rise: f64) -> Answer<Payback> {
    let (price, saving) = (amount_of(&Dynamic::from(price), "payback: price")?, amount_of(saving, "payback: saving")?);
    money::payback(price, saving, rate, rise).map_err(raise)
}

/// Amounts of one currency, or plain numbers, and the first of them.
fn flows_of(list: &Array, word: &str) -> Answer<(Vec<f64>, Quantity)> {
    let mut found: Vec<Quantity> = Vec::with_capacity(list.len());
    for value in list {
        let flow = match as_quantity(value) {
            Some(number) if number.dimension.is_number() => number,
            _ => amount_of(value, &format!("{word}: flows"))?,
        };
        if let Some(first) = found.first() {
            first.plus(flow).map_err(raise)?;
        }
        found.push(flow);
    }
    let Some(first) = found.first().copied() else {
        let error = ScriptError::new(format!("{word}: the list of flows is empty")).about("flows");
        return Err(error.with_hint("the first flow is now, the others a year apart, as in [-480.USD, 95.USD, 95.USD]").into());
    };
    Ok((found.iter().map(|flow| flow.si).collect(), first))
}

fn value_now(flows: &Array, rate: &Dynamic) -> Answer<Dynamic> {
    let (values, first) = flows_of(flows, "present_value")?;
    let si = money::present_value(&values, share(rate, "present_value: rate")?).map_err(raise)?;
    value_of(Quantity { si, ..first })
}

fn rate_of(flows: &Array) -> Answer<f64> {
    let (values, _) = flows_of(flows, "rate_of_return")?;
    Ok(100.0 * money::rate_of_return(&values).map_err(raise)?)
}

#[export_module]
mod functions {
    /// The years until a yearly saving has paid a price; with a rate of interest in percent a year, and by how many percent the saving rises each
    /// year. `.years` is `()` where it never pays.
    ///
    /// ```hw
    /// payback(480.USD, 95.USD)          // => 5.053 years until $95.00 a year has paid $480.00
    /// payback(480.USD, 95.USD, 5)       // => 5.968 years until $95.00 a year has paid $480.00
    /// payback(480.USD, 95.USD, 5, 3).years   // => 5.53943
    /// payback(300.USD, 12.USD, 5)       // => never: $12.00 a year does not cover the interest on $300.00, $15.00 a year
    /// payback(500.USD, 0.USD)           // => never: $0.00 a year saves nothing of $500.00
    /// ```
    #[rhai_fn(name = "payback", return_raw)]
    pub fn simple_payback(price: Quantity, saving: Dynamic) -> Result<Payback, Box<EvalAltResult>> {
        pays(price, &saving, 0.0, 0.0)
    }

    #[rhai_fn(name = "payback", return_raw)]
    pub fn payback_at_rate(price: Quantity, saving: Dynamic, rate: Dynamic) -> Result<Payback, Box<EvalAltResult>> {
        pays(price, &saving, share(&rate, "payback: rate")?, 0.0)
    }

    #[rhai_fn(name = "payback", return_raw)]
    pub fn payback_that_rises(
        price: Quantity,
        saving: Dynamic,
        rate: Dynamic,
        rise: Dynamic,
    ) -> Result<Payback, Box<EvalAltResult>> {
        pays(price, &saving, share(&rate, "payback: rate")?, share(&rise, "payback: rise")?)
    }

    #[rhai_fn(name = "findings")]
    pub fn findings_of_payback(payback: Payback) -> FindingList {
        FindingList::of_ground(&Accepted::default(), &of_payback(&payback))
    }

    /// The net present value of flows of money, the first now and the others a year apart, at a rate of interest in percent a year.
    ///
    /// ```hw
    /// present_value([-480.USD, 95.USD, 95.USD, 95.USD, 95.USD, 95.USD, 95.USD, 95.USD, 95.USD], 3)   // => $186.87
    /// present_value([-480.USD, 95.EUR], 3)   // => error: cannot add -$480.00 and 95.00 EUR: they are of two currencies
    /// ```
    #[rhai_fn(return_raw)]
    pub fn present_value(flows: Array, rate: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        value_now(&flows, &rate)
    }

    #[rhai_fn(name = "present_value", return_raw)]
    pub fn present_value_of_column(flows: TableColumn, rate: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        value_now(&column_list(&flows)?, &rate)
    }

    /// The internal rate of return of flows of money in percent a year: the rate at which their present value is zero.
    ///
    /// ```hw
    /// rate_of_return([-180.USD, 60.USD, 60.USD, 60.USD, 60.USD])   // => 12.5898
    /// rate_of_return([60.USD, 60.USD])   // => error: the rate of return needs flows below and above zero
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rate_of_return(flows: Array) -> Result<f64, Box<EvalAltResult>> {
        rate_of(&flows)
    }

    #[rhai_fn(name = "rate_of_return", return_raw)]
    pub fn rate_of_return_of_column(flows: TableColumn) -> Result<f64, Box<EvalAltResult>> {
        rate_of(&column_list(&flows)?)
    }

    /// The equivalent yearly cost of a price: the even payment that repays it over its years of life, with interest in percent a year.
    ///
    /// ```hw
    /// yearly(480.USD, 8, 5)   // => $74.27
    /// yearly(60.USD, 3, 0)    // => $20.00
    /// ```
    #[rhai_fn(return_raw)]
    pub fn yearly(price: Quantity, years: Dynamic, rate: Dynamic) -> Result<Quantity, Box<EvalAltResult>> {
        let price = amount_of(&Dynamic::from(price), "yearly: price")?;
        let (years, rate) = (expect_number(&years, "yearly: years")?, share(&rate, "yearly: rate")?);
        Ok(Quantity { si: money::yearly_cost(price.si, years, rate).map_err(raise)?, ..price })
    }
}
