//! The functions of scripts, one file a topic, and the one list of topics.
//!
//! Wrappers only: a function reads its arguments, calls one function of another room, and wraps the result. The top of `help/mod.rs`
//! describes how a function is documented.

mod answers; // best setting, one at a time, spread, Sobol indices
mod best; // variables, limits, the best setting
pub mod cards; // cards to print
mod coverage; // application rate and uniformity
mod dates; // dates, weeks and months
mod edit; // parts taken out and put in, one zone alone
pub mod figures; // charts of tables
mod findings; // problems and what to do
mod formulas; // functions of plain numbers
mod garden; // joining parts, running zones
pub mod garden_charts; // pressures, pumps, runs as charts
mod general; // functions of numbers and lists
mod growing_list; // lists that are built item by item
mod help; // help and the shell
mod insight; // sensitivity and calibration
mod language; // help on the script language
mod lists; // functions of lists and maps with closures
pub mod money; // bills, electricity, payback
mod operation; // operation over time
mod operators; // arithmetic and comparison of quantities and numbers
pub mod pages; // named results, controls
mod parts; // constructors and parameters of parts
pub mod plan; // the garden from above
mod quantities; // numbers with units
mod remedies; // the cheapest cure of findings
mod safety; // cautions
mod settings; // settings of the pressure switch, pressure decay
mod study; // axes, sweeps, seek, compare
pub mod tables; // rows, columns, files
mod water_hammer; // pressure surge when a valve closes
pub mod watering; // soil, crops, beds, seasons and weeks
mod weather; // weather files, evapotranspiration
mod zones; // heads divided into zones

use super::language::vocabulary::{Topic, Vocabulary};

/// All functions of scripts.
pub static VOCABULARY: Vocabulary = Vocabulary::of(TOPICS);

/// All topics, in the order in which help lists them. A new file of functions is one line here.
const TOPICS: &[Topic] = &[
    Topic { name: "units", title: "numbers with units, conversion", notes: quantities::NOTES, register: quantities::register },
    Topic { name: "numbers", title: "mathematics of numbers and lists", notes: general::NOTES, register: general::register },
    Topic { name: "lists", title: "functions of lists and maps with closures", notes: lists::NOTES, register: lists::register },
    Topic {
        name: "parts",
        title: "hoses, valves, heads, pumps, tanks and their parameters",
        notes: parts::NOTES,
        register: parts::register,
    },
    Topic {
        name: "gardens",
        title: "connecting parts, running zones, pressure and flow",
        notes: garden::NOTES,
        register: garden::register,
    },
    Topic {
        name: "operation",
        title: "timers, schedules, runs over time, pump starts, failures",
        notes: operation::NOTES,
        register: operation::register,
    },
    Topic { name: "findings", title: "problems and what to do", notes: findings::NOTES, register: findings::register },
    Topic {
        name: "safety",
        title: "cautions for drinking water, pumps and people",
        notes: safety::NOTES,
        register: safety::register,
    },
    Topic {
        name: "settings",
        title: "pressure switch settings, leak tests",
        notes: settings::NOTES,
        register: settings::register,
    },
    Topic {
        name: "water_hammer",
        title: "pressure surge when a valve closes",
        notes: water_hammer::NOTES,
        register: water_hammer::register,
    },
    Topic { name: "coverage", title: "application rate and uniformity", notes: coverage::NOTES, register: coverage::register },
    Topic {
        name: "weather",
        title: "weather files, rain, evapotranspiration",
        notes: weather::NOTES,
        register: weather::register,
    },
    Topic {
        name: "watering",
        title: "soil, crops, beds: minutes of this week, water of a season",
        notes: watering::NOTES,
        register: watering::register,
    },
    Topic {
        name: "money",
        title: "water bills, electricity by the time of day, payback",
        notes: money::NOTES,
        register: money::register,
    },
    Topic {
        name: "studies",
        title: "parameter sweeps, solving for a value, comparing options",
        notes: study::NOTES,
        register: study::register,
    },
    Topic {
        name: "answers",
        title: "optimum, tornado, probability, break-even",
        notes: answers::NOTES,
        register: answers::register,
    },
    Topic { name: "insight", title: "sensitivity, calibration to readings", notes: insight::NOTES, register: insight::register },
    Topic { name: "tables", title: "rows and columns with units", notes: tables::NOTES, register: tables::register },
    Topic { name: "dates", title: "dates, weekdays, weeks and months", notes: dates::NOTES, register: dates::register },
    Topic { name: "charts", title: "figures of tables", notes: figures::NOTES, register: figures::register },
    Topic { name: "pages", title: "reports, live pages, controls", notes: pages::NOTES, register: pages::register },
    Topic { name: "plans", title: "layout drawing, pressure profile, pump curve", notes: plan::NOTES, register: plan::register },
    Topic {
        name: "cards",
        title: "cards to print: settings, timer, spring and fall, parts",
        notes: cards::NOTES,
        register: cards::register,
    },
    Topic { name: "language", title: "the script language", notes: language::NOTES, register: language::register },
    Topic { name: "help", title: "help, search, the shell", notes: help::NOTES, register: help::register },
];
