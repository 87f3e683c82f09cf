//! Water bills, electricity by the time of day, and what money is worth over years, as scripts see them.
//!
//! - `bills`: tariffs, and the bills of seasons, volumes and leaks
//! - `power`: prices of electricity, and what runs over time cost
//! - `worth`: payback, present value, yearly cost

mod bills;
mod power;
mod read; // amounts and prices from values of a script
mod worth;

use rhai::Engine;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
What does the garden add to the bills, and does a change pay? `tariff` has the prices of water by blocks of one bill, `electricity` those of power by the
time of day. `season.cost(tariff, house)` gives the bills of a season: garden water costs the difference of two bills, with the garden and
without, so it is paid at the dearest blocks. `house` is the water of the house each month, or a list of twelve from January to
December. `log.cost(electricity)` gives what the pumps of a run cost, `log.monthly_cost(..)` the same run for a month.

```hw
let bill = tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]).fixed(9.50.USD);
bill.bill_for(6000.gal)                  // => $38.60
bill.added_cost(4000.gal, 6000.gal)      // => $32.40
let power = electricity(0.19.USD_per_kWh).peak("16:00", "21:00", 0.42.USD_per_kWh);
power.cost(650.W, "18:00", 45.min)       // => $0.20
payback(90.USD, 60.USD)                  // => 1.5 years until $60.00 a year has paid $90.00
payback(90.USD, 60.USD).years            // => 1.5
```

Two designs break even when the dearer one has paid: `payback(price_b - price_a, running_a - running_b)`, or `break_even` over hours of use. What each psi
costs between designs is in the words of `compare`, from the columns `cost` and `gain`:

```hw
let pumps = [#{ name: "small", price: 180.USD, berry: 31.psi }, #{ name: "large", price: 300.USD, berry: 39.psi }];
compare(pumps, |p| #{ price: p.price, berry: p.berry }, #{ cost: "price", gain: "berry" }).words[1]   // => large gains 8 psi against small for $120.00 more, $15.00 per psi
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    bills::register(engine);
    power::register(engine);
    worth::register(engine);
}
