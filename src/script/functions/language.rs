//! Help on the script language itself; registers only how functions are shown.

use rhai::{Engine, FnPtr};

/// Help on the language.
pub const NOTES: &str = r#"
A study is a list of statements, each ended by `;`. A statement that is a value shows it; `let` and `=` do not.
Comments begin with `//` or are enclosed in `/* */`; at top level they are the prose of the study.

```hw
let feed = 100.ft;            // a variable; it keeps what is assigned to it
feed += 25.ft;
feed                          // => 125 ft
if feed > 100.ft { "long" } else { "short" }   // => long
```

Lists and maps, and loops over them:

```hw
let diameters = [(1/2).inch, (5/8).inch];
diameters.push((3/4).inch);
diameters[0]                      // => 1/2 in
diameters.len                     // => 3
let bed = #{ width: 4.ft, crop: "beans" };
bed.crop                      // => beans
for diameter in diameters { print(diameter); }   // => 1/2 in
                                     // => 5/8 in
                                     // => 3/4 in
for i in 1..3 { print(`zone ${i}`); }   // => zone 1
                                        // => zone 2
```

A function uses its parameters and `global::NAME` constants; a closure also uses the variables around it, and is called
with `.call`. Lists take closures in `map`, `filter`, `reduce`, `all`, `some` and `find`.

```hw
const SHARE = 0.9;
fn usable(pressure) { pressure * global::SHARE }
usable(50.psi)                // => 45 psi
let limit = 30.psi;
let enough = |pressure| pressure >= limit;
enough.call(44.psi)           // => true
[20.psi, 44.psi].filter(enough)   // => [44 psi]
```

`import "beds" as beds;` reads `beds.rhai` from the folder of the script; `beds::area(...)` calls a function of it.
A variable is offered to other scripts by `export let feed = 100.ft;` and used as `beds::feed`. Files that the folder lacks are read from the
folders of `--library FOLDER`, or of `library = ["../stock"]` in a file `hosewright.toml` beside the script or above it.
`try { } catch (problem) { }` continues after an error, which has a `kind`, a `message`, a `hint` and the place in `where`;
`throw "text"` raises one, `return` and `exit()` end the script.

```hw
try { 1.psi + 2.ft } catch (problem) { print(problem.message) }   // => cannot add 1 psi (a pressure) and 2 ft (a length)
```

In the shell an entry continues on the next line while a bracket is open or the line ends with an operator such as `>>`.
"#;

/// Registers how functions show.
pub fn register(engine: &mut Engine) {
    for word in ["to_string", "to_debug"] {
        engine.register_fn(word, |function: &mut FnPtr| {
            if function.is_anonymous() { "a closure".to_string() } else { format!("the function {}", function.fn_name()) }
        });
    }
}
