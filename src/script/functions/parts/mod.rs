//! Parts as scripts see them: constructors, chained settings, parameters as properties, and functions of a single part.
//!
//! What a part is and which parameters it has is in `crate::parts`.

mod ask; // what a part alone does at a flow or pressure
mod devices; // valves by construction, foot valve, injector, drip line
mod lines; // what the water runs through
mod make; // from values of a script to parts
mod outlets; // where the water comes out
mod pipes; // pipes by trade size
mod preventers; // backflow preventers by type
mod refinements; // functions that set the parameter of their own name
mod sources; // what gives, lifts and stores water
mod starters; // what starts a booster

use crate::parts::{Id, Part};
use crate::report::parts::{card, one_line};
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, raise};
use crate::script::language::values::value_of;
use make::quantity_for;
use rhai::{Dynamic, Engine, NativeCallContext};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A part is made by its function, and its parameters are set by functions chained after it; each of them returns the part. Every parameter of a part
can be read and set by its name.

```hw
let feed = hose(100.ft, (5/8).inch).named("feed").roughness(0.01.mm);
feed.length                // => 100 ft
feed.length = 150.ft;
feed.length                // => 150 ft
feed.length = -1.ft        // => error: hose 'feed': length must be above zero, found -1 ft
```

`part.name` is its name and `part.kind` its kind. All pressures are gauge pressures.
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Part>("a part");
    register_numbers(engine);
    engine.register_get("name", |part: &mut Part| part.name().unwrap_or_default().to_string());
    engine.register_get("kind", |part: &mut Part| part.spec().word.to_string());
    engine
        .register_fn("to_debug", |call: NativeCallContext, part: Part| -> Answer<String> {
            Ok(card(&part, look_of(&call)?.system))
        })
        .register_fn("to_string", |call: NativeCallContext, part: Part| -> Answer<String> {
            Ok(one_line(&part, look_of(&call)?.system))
        });
    sources::register(engine);
    starters::register(engine);
    lines::register(engine);
    pipes::register(engine);
    preventers::register(engine);
    devices::register(engine);
    outlets::register(engine);
    ask::register(engine);
    refinements::register(engine);
}

/// A getter and a setter for every number that any kind of part has.
fn register_numbers(engine: &mut Engine) {
    for &id in Id::ALL {
        engine.register_get_set(
            id.word(),
            move |part: &mut Part| -> Answer<Dynamic> { value_of(part.get(id).map_err(raise)?) },
            move |part: &mut Part, value: Dynamic| -> Answer<()> {
                let quantity = quantity_for(part, id, &value)?;
                part.set(id, quantity).map_err(raise)
            },
        );
    }
}
