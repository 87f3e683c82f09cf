//! The words of scripts, one file a topic, and the one list of them.
//!
//! Wrappers only: a word reads its arguments, calls one function of another room, and wraps the result. How a word is documented is
//! told at the top of `help/mod.rs`.

mod answers; // best setting, one at a time, spread, shares
mod best; // variables, limits, the best setting
mod coverage; // rain on the ground
pub mod figures; // charts of tables
mod findings; // what to mind
mod formulas; // functions of plain numbers
mod garden; // joining parts, running zones
mod general; // words for numbers and lists
mod help; // help and the shell
mod insight; // what would help most, numbers from readings
mod language; // the script language, told in the help
mod lists; // going through lists and maps with closures
mod operation; // the garden over time
mod operators; // arithmetic and comparison of quantities and numbers
mod pages; // the word for sliders
mod parts; // constructors and numbers of parts
mod plan; // the garden from above
mod quantities; // numbers with units
mod settings; // settings of the pressure switch, falls of pressure
mod study; // axes, sweeps, seek, compare
pub mod tables;
mod water_hammer; // the blow of a valve that shuts // tables: rows, columns, files

use super::language::vocabulary::{Area, Vocabulary};

/// All words of scripts.
pub static VOCABULARY: Vocabulary = Vocabulary::of(AREAS);

/// All areas, in the order in which help lists them. A new file of words is one line here.
const AREAS: &[Area] = &[
    Area { name: "units", title: "numbers with units", notes: quantities::NOTES, register: quantities::register },
    Area { name: "numbers", title: "numbers and lists", notes: general::NOTES, register: general::register },
    Area { name: "lists", title: "going through lists and maps", notes: lists::NOTES, register: lists::register },
    Area { name: "parts", title: "what a garden is made of", notes: parts::NOTES, register: parts::register },
    Area { name: "gardens", title: "joining, running and result", notes: garden::NOTES, register: garden::register },
    Area { name: "operation", title: "the garden over time", notes: operation::NOTES, register: operation::register },
    Area { name: "findings", title: "what to mind", notes: findings::NOTES, register: findings::register },
    Area { name: "settings", title: "the pressure switch, leaks", notes: settings::NOTES, register: settings::register },
    Area {
        name: "water_hammer",
        title: "pressure surge when a valve closes",
        notes: water_hammer::NOTES,
        register: water_hammer::register,
    },
    Area { name: "coverage", title: "application rate and uniformity", notes: coverage::NOTES, register: coverage::register },
    Area { name: "studies", title: "many cases, seeking, comparing", notes: study::NOTES, register: study::register },
    Area { name: "answers", title: "best settings, spreads, trade-offs", notes: answers::NOTES, register: answers::register },
    Area { name: "insight", title: "what helps, what fits", notes: insight::NOTES, register: insight::register },
    Area { name: "tables", title: "rows and columns with units", notes: tables::NOTES, register: tables::register },
    Area { name: "charts", title: "figures beside the script", notes: figures::NOTES, register: figures::register },
    Area { name: "pages", title: "a study as a page", notes: pages::NOTES, register: pages::register },
    Area { name: "plans", title: "the garden from above", notes: plan::NOTES, register: plan::register },
    Area { name: "language", title: "how a study is written", notes: language::NOTES, register: language::register },
    Area { name: "help", title: "help and the shell", notes: help::NOTES, register: help::register },
];
