//! The areas of words a script has, in the order in which help lists them. A new file of words is one line here.

use super::vocabulary::{Area, Vocabulary};
use super::{
    answers, figures, findings, garden, general, help, insight, knock, language, lists, operation, pages, parts, plan,
    quantities, rain, settings, study, tables,
};

/// All words of scripts.
pub static VOCABULARY: Vocabulary = Vocabulary::of(AREAS);

/// All areas.
const AREAS: &[Area] = &[
    Area { name: "units", title: "numbers with units", notes: quantities::NOTES, register: quantities::register },
    Area { name: "numbers", title: "numbers and lists", notes: general::NOTES, register: general::register },
    Area { name: "lists", title: "going through lists and maps", notes: lists::NOTES, register: lists::register },
    Area { name: "parts", title: "what a garden is made of", notes: parts::NOTES, register: parts::register },
    Area { name: "gardens", title: "joining, running and reading", notes: garden::NOTES, register: garden::register },
    Area { name: "operation", title: "the garden over time", notes: operation::NOTES, register: operation::register },
    Area { name: "findings", title: "what to mind", notes: findings::NOTES, register: findings::register },
    Area { name: "settings", title: "the pressure switch, leaks", notes: settings::NOTES, register: settings::register },
    Area { name: "knock", title: "the blow of a valve that shuts", notes: knock::NOTES, register: knock::register },
    Area { name: "rain", title: "rain on the ground, evenness", notes: rain::NOTES, register: rain::register },
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
