//! A study that is kept: its statements, what each gave, and which of them a change asks to run again.
//!
//! Knows nothing of pages; how names are found is in `uses`.

use super::affected::{Before, affected};
use super::statement::Stamp;
pub use super::statement::{Statement, StatementOutcome};
use super::uses::{Uses, uses};
use crate::findings::CautionSet;
use crate::garden::{Garden, Thresholds};
use crate::quantity::UnitSystem;
use crate::script::controls::Control;
use crate::script::diagnostic::Trouble;
use crate::script::span::Lines;
use crate::script::statements::statements;
use crate::script::tokens::tokenize;
use crate::script::{Context, Session};
use std::collections::{BTreeMap, BTreeSet, HashMap, VecDeque};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// A study and what its statements gave when they last ran.
pub struct Workbook {
    name: String,
    source: String,
    session: Session,
    /// The units with which the study begins.
    units: UnitSystem,
    /// The thresholds of findings with which the study begins.
    thresholds: Thresholds,
    statements: Vec<Statement>,
    /// How often it was run, to find what is new.
    runs: usize,
    /// Set by whoever wants another run in place of the one that goes on.
    superseded: Arc<AtomicBool>,
}

/// Sees a workbook while it runs: how it stands, how many statements are done, and of how many.
pub type Watching<'a> = dyn FnMut(&Workbook, usize, usize) + 'a;

impl Workbook {
    /// An empty workbook; `name` is the name of the study in messages.
    pub fn new(name: &str, context: Arc<Context>) -> Workbook {
        let (units, thresholds) = (context.units(), context.thresholds());
        let session = Session::with_context(context);
        Workbook {
            name: name.to_string(),
            source: String::new(),
            session,
            units,
            thresholds,
            statements: Vec::new(),
            runs: 0,
            superseded: Arc::default(),
        }
    }

    /// What all evaluations of the study share: its folder, units, threads.
    pub fn context(&self) -> &Arc<Context> {
        self.session.context()
    }

    /// The name of the study.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text of the study, as [`Workbook::renew`] was last given it.
    pub fn source(&self) -> &str {
        &self.source
    }

    /// Its statements in the order of the text.
    pub fn statements(&self) -> &[Statement] {
        &self.statements
    }

    /// The gardens that variables of the study hold, with the names of those.
    pub fn gardens(&self) -> Vec<(String, Garden)> {
        self.session.gardens()
    }

    /// What the study calls the garden that a statement shows something of: the variable that holds it; else the variable or the
    /// function, such as `plot()`, that the statement has it from. Nothing where neither is known.
    pub fn garden_of(&self, statement: &Statement, garden: Option<&Garden>) -> Option<String> {
        let gardens = self.session.gardens();
        let held = gardens.iter().find(|(_, held)| Some(held) == garden).map(|(name, _)| name.clone());
        held.or_else(|| self.origin_of(statement, &gardens))
    }

    /// The nearest variable with a garden, or function of the study, from which the names come that a statement reads.
    fn origin_of(&self, statement: &Statement, gardens: &[(String, Garden)]) -> Option<String> {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let mut names: VecDeque<&str> = statement.uses.reads.iter().map(String::as_str).collect();
        while let Some(name) = names.pop_front() {
            if !seen.insert(name) {
                continue;
            }
            if gardens.iter().any(|(held, _)| held == name) {
                return Some(name.into());
            }
            for writer in self.statements.iter().filter(|writer| writer.uses.writes.contains(name)) {
                if writer.uses.function {
                    return Some(format!("{name}()"));
                }
                names.extend(writer.uses.reads.iter().map(String::as_str));
            }
        }
        None
    }

    /// The standing cautions that apply to the gardens that its statements made, wherever these stand.
    pub fn cautions(&self) -> CautionSet {
        self.statements.iter().fold(CautionSet::default(), |all, statement| all.and(statement.result.cautions))
    }

    /// The number of the last run, from one.
    pub fn runs(&self) -> usize {
        self.runs
    }

    /// With a flag that ends a run since another is to follow; whoever sets it also sets the stop flag of the context. What did not
    /// run keeps its result, and is stale.
    pub fn superseded_by(self, superseded: Arc<AtomicBool>) -> Workbook {
        Workbook { superseded, ..self }
    }

    /// True when statements wait for a run, since the last one was superseded.
    pub fn is_stale(&self) -> bool {
        self.statements.iter().any(|statement| statement.stale)
    }

    /// The controls of the study, in the order of its statements; one that several ask for once.
    pub fn controls(&self) -> Vec<&Control> {
        let mut found: Vec<&Control> = Vec::new();
        for control in self.statements.iter().flat_map(|statement| &statement.result.controls) {
            if !found.iter().any(|other| other.name == control.name) {
                found.push(control);
            }
        }
        found
    }

    /// True when a file that some statement names has changed since it ran.
    pub fn files_changed(&self) -> bool {
        self.statements.iter().any(|statement| self.statement_files_changed(statement))
    }

    /// Takes a new text of the study and runs the statements that it asks for; before each and at the end it reports the
    /// state, how many statements are done, and of how many.
    pub fn renew(&mut self, source: &str, progress: &mut Watching) {
        let changed = self.adopt(source);
        self.run(changed, progress);
    }

    /// Sets controls, or sets them back to their start, and runs what depends on them, and what is stale. False where nothing had
    /// to run: controls that the study does not have, or that are set so.
    pub fn set_controls(&mut self, settings: &[(String, Option<f64>)], progress: &mut Watching) -> bool {
        let mut changed: BTreeSet<usize> = BTreeSet::new();
        for (name, setting) in settings {
            let moves = |control: &Control| {
                let mut moved = control.clone();
                moved.set(setting.unwrap_or(control.start()));
                control.name == *name && moved != *control
            };
            let asks = |index: &usize| self.statements[*index].result.controls.iter().any(moves);
            let asking: Vec<usize> = (0..self.statements.len()).filter(asks).collect();
            let known = || self.statements.iter().flat_map(|statement| &statement.result.controls).any(|one| one.name == *name);
            if !asking.is_empty() || (self.is_stale() && known()) {
                self.context().controls.set(name, *setting);
            }
            changed.extend(asking);
        }
        changed.extend((0..self.statements.len()).filter(|index| self.statements[*index].stale));
        if changed.is_empty() {
            return false;
        }
        self.context().set_tries(true);
        self.run(changed, progress);
        self.context().set_tries(false);
        true
    }

    /// Somebody takes the handle of a control, or lets it go: meanwhile figures keep their axes. True when some of them have other axes
    /// than their own since then.
    pub fn hold(&mut self, held: bool) -> bool {
        self.context().axes.hold(held);
        self.statements.iter().any(|statement| statement.result.stretched)
    }

    /// Draws the figures on their own axes again that had others.
    pub fn draw_again(&mut self, progress: &mut Watching) {
        let stretched = (0..self.statements.len()).filter(|index| self.statements[*index].result.stretched);
        self.run(stretched.collect(), progress);
    }

    /// Makes the statements of a new text, with the results of those that stay; gives those that must run.
    fn adopt(&mut self, source: &str) -> BTreeSet<usize> {
        let old_source = std::mem::replace(&mut self.source, source.to_string());
        let mut old: Vec<Option<Statement>> = std::mem::take(&mut self.statements).into_iter().map(Some).collect();
        let mut places: HashMap<&str, VecDeque<usize>> = HashMap::new();
        for (at, statement) in old.iter().flatten().enumerate() {
            places.entry(&old_source[statement.range.clone()]).or_default().push_back(at);
        }
        let lines_of_source = Lines::of(source);
        let line = |at: usize| lines_of_source.line(at);
        let mut changed = BTreeSet::new();
        let mut from = 0;
        for (index, range) in statements(source, &tokenize(source)).into_iter().enumerate() {
            let text = &source[range.clone()];
            let lines = (line(range.start), line(range.end));
            let same = places.get_mut(text).and_then(|places| {
                while places.front().is_some_and(|at| *at < from) {
                    places.pop_front();
                }
                places.pop_front()
            });
            let kept = same.and_then(|at| {
                from = at + 1;
                old[at].take()
            });
            let statement = match kept {
                Some(statement) => {
                    let moved = statement.lines != lines && statement.result.error.is_some();
                    if moved || statement.stale || statement.result.is_unfinished() || self.statement_files_changed(&statement) {
                        changed.insert(index);
                    }
                    Statement { range, lines, ..statement }
                }
                None => {
                    changed.insert(index);
                    let (uses, result, files) = (uses(text), StatementOutcome::default(), BTreeMap::new());
                    Statement { range, lines, result, run: 0, stale: true, uses, files }
                }
            };
            self.statements.push(statement);
        }
        // What a statement wrote that is no longer there is unknown now, or is what another statement made of it.
        let gone: BTreeSet<String> = old.into_iter().flatten().flat_map(|statement| statement.uses.writes).collect();
        self.session.forget(&gone);
        for (index, statement) in self.statements.iter().enumerate() {
            if statement.uses.reads.iter().chain(&statement.uses.writes).any(|name| gone.contains(name)) {
                changed.insert(index);
            }
        }
        changed
    }

    /// Runs the given statements and all that depend on them, in the order of the study.
    fn run(&mut self, changed: BTreeSet<usize>, progress: &mut Watching) {
        self.runs += 1;
        let wanted = affected(&self.statements, changed);
        let written: BTreeSet<String> =
            wanted.iter().flat_map(|index| self.statements[*index].uses.writes.iter().cloned()).collect();
        self.session.forget(&written);
        self.define_functions(&wanted);
        let total = wanted.len();
        for index in &wanted {
            self.statements[*index].stale = true;
        }
        let (mut done, mut before) = (0, Before::default());
        for index in 0..self.statements.len() {
            if wanted.contains(&index) {
                progress(self, done, total);
                self.run_step(index, &before);
                if self.superseded.load(Ordering::SeqCst) {
                    break;
                }
                done += 1;
            }
            before.note(&self.statements[index]);
        }
        progress(self, done, total);
    }

    /// Functions are known everywhere in a study, so they are defined before anything runs.
    fn define_functions(&mut self, wanted: &BTreeSet<usize>) {
        let is_function = |index: &usize| self.statements[*index].uses.function;
        if !wanted.iter().any(is_function) {
            return;
        }
        self.session.forget_functions();
        for index in (0..self.statements.len()).filter(is_function).collect::<Vec<_>>() {
            let Statement { range, lines, .. } = &self.statements[index];
            self.session.evaluate_in_study(&self.name, &self.source, range.clone(), lines.0 - 1);
        }
    }

    fn run_step(&mut self, index: usize, before: &Before) {
        let last = self.statements[..index].last();
        let units = last.map_or(self.units, |statement| statement.result.units);
        let thresholds = last.map_or(&self.thresholds, |statement| &statement.result.thresholds).clone();
        let start = Instant::now();
        let mut result = StatementOutcome { units, thresholds: thresholds.clone(), ..StatementOutcome::default() };
        if let Some(reason) = before.reason_to_skip(&self.statements[index]) {
            result.skipped = Some(reason);
        } else {
            self.context().set_units(units);
            self.context().set_thresholds(thresholds);
            self.context().begin_step();
            let range = self.statements[index].range.clone();
            self.context().axes.begin(Some(&self.source[range]));
            let saved = |statement: &Statement| {
                let line = statement.lines.0;
                statement.result.saved.iter().map(move |file| (file.clone(), line)).collect::<Vec<_>>()
            };
            self.context().saves.begin(self.statements[..index].iter().flat_map(saved).collect());
            let Statement { range, lines, .. } = &self.statements[index];
            let found = self.session.evaluate_in_study(&self.name, &self.source, range.clone(), lines.0 - 1);
            (result.shown, result.error, result.ended) = (found.shown, found.error, found.ended);
            result.units = self.context().units();
            result.thresholds = self.context().thresholds();
            result.controls = self.context().controls.take_met();
            result.stretched = self.context().axes.take_stretched();
            result.drawn = self.context().take_drawn();
            result.cautions = self.context().take_cautions();
            result.saved = self.context().saves.take();
        }
        let stopped = result.error.as_ref().is_some_and(|error| error.kind == Trouble::Stopped);
        if stopped && self.superseded.load(Ordering::SeqCst) {
            return; // Its former result stays, and it is stale.
        }
        result.took = start.elapsed();
        let files = self.files_of(&self.statements[index].uses);
        let statement = &mut self.statements[index];
        (statement.result, statement.run, statement.files, statement.stale) = (result, self.runs, files, false);
    }

    /// The files beside the study that a statement names, with their stamps; an import depends on all scripts there.
    fn files_of(&self, uses: &Uses) -> BTreeMap<String, Stamp> {
        let folder = &self.context().folder;
        let mut names: BTreeSet<String> = uses.texts.iter().filter(|text| text.contains('.')).cloned().collect();
        if uses.reads.contains("import") {
            let all = folder.libraries().iter().map(|library| library.as_path()).chain([folder.root()]);
            names.extend(all.flat_map(scripts_in).filter(|name| *name != self.name));
        }
        let stamp = |name: String| {
            let path = folder.found(&name).ok()?;
            Some((name, stamp_of(&path)))
        };
        names.into_iter().filter_map(stamp).collect()
    }

    fn statement_files_changed(&self, statement: &Statement) -> bool {
        let folder = &self.context().folder;
        statement.files.iter().any(|(name, stamp)| folder.found(name).is_ok_and(|path| stamp_of(&path) != *stamp))
    }
}

fn stamp_of(path: &std::path::Path) -> Stamp {
    let data = std::fs::metadata(path).ok().filter(std::fs::Metadata::is_file)?;
    Some((data.modified().ok()?, data.len()))
}

fn scripts_in(folder: &std::path::Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries.filter_map(|entry| entry.file_name().into_string().ok()).filter(|name| name.ends_with(".rhai")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;
    use crate::script::present::Shown;

    struct Bench {
        book: Workbook,
        _folder: tempfile::TempDir,
    }

    fn bench(source: &str) -> Bench {
        let folder = tempfile::tempdir().expect("a folder");
        let mut book = Workbook::new("study.rhai", Arc::new(Context::new(Folder::new(folder.path()))));
        book.renew(source, &mut |_, _, _| {});
        Bench { book, _folder: folder }
    }

    impl Bench {
        fn texts(&self) -> Vec<String> {
            let shown = self.book.statements().iter().flat_map(|statement| &statement.result.shown);
            shown.filter_map(|shown| if let Shown::Text(text) = shown { Some(text.clone()) } else { None }).collect()
        }

        /// The lines of the statements that the last run ran.
        fn ran(&self) -> Vec<usize> {
            self.book
                .statements()
                .iter()
                .filter(|statement| statement.run == self.book.runs())
                .map(|statement| statement.lines.0)
                .collect()
        }

        fn renew(&mut self, source: &str) {
            self.book.renew(source, &mut |_, _, _| {});
        }
    }

    #[test]
    fn a_change_runs_what_reads_it_and_nothing_else() {
        let mut bench = bench("let a = 1;\nlet b = 10;\na + 1;\nb + 1;\n");
        assert_eq!(bench.texts(), ["2", "11"]);
        bench.renew("let a = 1;\nlet b = 20;\na + 1;\nb + 1;\n");
        assert_eq!(bench.ran(), [2, 4]);
        assert_eq!(bench.texts(), ["2", "21"]);
        bench.renew("// prose\nlet a = 1;\nlet b = 20;\na + 1;\nb + 1;\n");
        assert_eq!(bench.ran(), [0_usize; 0]);
    }

    #[test]
    fn a_name_written_twice_is_made_anew_from_its_beginning() {
        let mut bench = bench("let a = [1];\na.push(2);\na;\na.push(3);\na;\nlet b = 5;");
        assert_eq!(bench.texts(), ["[1, 2]", "[1, 2, 3]"]);
        bench.renew("let a = [1];\na.push(2);\na;\na.push(4);\na;\nlet b = 5;");
        assert_eq!(bench.texts(), ["[1, 2]", "[1, 2, 4]"]);
        assert_eq!(bench.ran(), [1, 2, 3, 4, 5]);
    }

    #[test]
    fn a_removed_statement_is_missed_by_its_readers() {
        let mut bench = bench("let a = 1;\nlet b = 2;\na;\nb;");
        bench.renew("let b = 2;\na;\nb;");
        assert!(bench.book.statements()[1].result.error.is_some());
        assert_eq!(bench.texts(), ["2"]);
    }

    #[test]
    fn an_error_leaves_the_rest_running_and_skips_what_needs_it() {
        let bench = bench("let a = 1.ft + 1.psi;\nlet c = a * 2;\nc;\nlet b = 2;\nb;");
        assert_eq!(bench.texts(), ["2"]);
        let skipped: Vec<_> =
            bench.book.statements().iter().filter_map(|statement| statement.result.skipped.as_deref()).collect();
        assert_eq!(skipped, ["it needs 'a', and line 1 failed", "it needs 'c', and line 2 failed"]);
    }

    #[test]
    fn a_statement_that_cannot_be_read_fails_alone() {
        let bench = bench("let a = 1);\nlet b = 2;\nb;\nsurplus;");
        assert_eq!(bench.texts(), ["2"]);
        assert_eq!(bench.book.statements().iter().filter(|statement| statement.result.error.is_some()).count(), 2);
    }

    #[test]
    fn functions_are_known_before_their_line_and_follow_a_change() {
        let mut bench = bench("twice(2);\nfn twice(x) { 2 * x }\n7;");
        assert_eq!(bench.texts(), ["4", "7"]);
        bench.renew("twice(2);\nfn twice(x) { 3 * x }\n7;");
        assert_eq!(bench.texts(), ["6", "7"]);
        assert_eq!(bench.ran(), [1, 2]);
    }

    #[test]
    fn a_closure_follows_what_it_captured() {
        let mut bench = bench("let base = 10;\nlet add = |x| x + base;\nbase = 20;\nadd.call(1);");
        assert_eq!(bench.texts(), ["21"]);
        bench.renew("let base = 10;\nlet add = |x| x + base;\nbase = 30;\nadd.call(1);");
        assert_eq!(bench.texts(), ["31"]);
    }

    #[test]
    fn units_hold_from_their_line_on() {
        let mut bench = bench("let a = 100.ft;\na;\nunits(\"metric\");\na;\n3;");
        assert_eq!(bench.texts(), ["100 ft", "30.5 m", "3"]);
        bench.renew("let a = 200.ft;\na;\nunits(\"metric\");\na;\n3;");
        assert_eq!(bench.texts(), ["200 ft", "61 m", "3"]);
    }

    #[test]
    fn a_control_runs_what_depends_on_it() {
        let mut bench = bench("let l = slider(\"length\", 1.ft, 9.ft, 2.ft);\nl * 2;\n5;");
        assert_eq!(bench.texts(), ["4 ft", "5"]);
        let set = |bench: &mut Bench, name: &str, setting| bench.book.set_controls(&[(name.into(), setting)], &mut |_, _, _| {});
        assert!(set(&mut bench, "length", Some(3.0 * 0.3048)));
        assert_eq!(bench.texts(), ["6 ft", "5"]);
        assert_eq!(bench.ran(), [1, 2]);
        assert!(set(&mut bench, "length", Some(1e9)));
        assert_eq!(bench.texts()[0], "18 ft");
        assert!(!set(&mut bench, "length", Some(9.0 * 0.3048)), "it is set so");
        assert!(!set(&mut bench, "width", Some(1.0)));
        assert!(set(&mut bench, "length", None));
        assert_eq!(bench.texts()[0], "4 ft");
    }

    #[test]
    fn a_run_that_is_superseded_leaves_the_former_results_and_the_next_one_runs_the_rest() {
        let mut bench = bench("let l = slider(\"length\", 1.ft, 9.ft, 2.ft);\nl * 2;\nlet m = l * 3;\nm;\n5;");
        assert_eq!(bench.texts(), ["4 ft", "6 ft", "5"]);
        let (superseded, stop) = (bench.book.superseded.clone(), bench.book.context().stop.clone());
        // Somebody sets the control again while the third statement is about to run.
        bench.book.set_controls(&[("length".into(), Some(3.0 * 0.3048))], &mut |_, done, _| {
            superseded.store(done == 2, Ordering::SeqCst);
            stop.store(done == 2, Ordering::SeqCst);
        });
        assert_eq!(bench.texts(), ["6 ft", "6 ft", "5"], "what ran is new, what did not is as before");
        let stale: Vec<bool> = bench.book.statements().iter().map(|statement| statement.stale).collect();
        assert_eq!(stale, [false, false, true, true, false]);
        superseded.store(false, Ordering::SeqCst);
        stop.store(false, Ordering::SeqCst);
        assert!(bench.book.set_controls(&[], &mut |_, _, _| {}));
        assert_eq!(bench.texts(), ["6 ft", "9 ft", "5"]);
        assert_eq!(bench.ran(), [3, 4]);
        assert!(!bench.book.is_stale());
    }

    #[test]
    fn a_text_that_comes_while_statements_are_stale_runs_them_too() {
        let mut bench = bench("let a = 1;\na + 1;\n5;");
        let (superseded, stop) = (bench.book.superseded.clone(), bench.book.context().stop.clone());
        bench.book.renew("let a = 2;\na + 1;\n5;", &mut |_, done, _| {
            superseded.store(done == 1, Ordering::SeqCst);
            stop.store(done == 1, Ordering::SeqCst);
        });
        assert_eq!(bench.texts(), ["2", "5"]);
        superseded.store(false, Ordering::SeqCst);
        stop.store(false, Ordering::SeqCst);
        bench.renew("let a = 2;\na + 1;\n6;");
        assert_eq!(bench.texts(), ["3", "6"]);
    }

    #[test]
    fn two_statements_do_not_save_under_one_name() {
        let save = "table([#{ a: 1 }]).save(\"t.csv\");";
        let mut bench = bench(&format!("{save}\n1;\ntable([#{{ a: 2 }}]).save(\"t.csv\");"));
        let message =
            |bench: &Bench, index: usize| bench.book.statements()[index].result.error.clone().map(|error| error.message);
        assert_eq!(message(&bench, 0), None);
        assert_eq!(message(&bench, 2).as_deref(), Some("'t.csv' is already saved by the statement of line 1"));
        // One that is run again saves again, and one under another name does too.
        bench.renew("table([#{ a: 3 }]).save(\"t.csv\");\n1;\ntable([#{ a: 2 }]).save(\"u.csv\");");
        assert_eq!((message(&bench, 0), message(&bench, 2)), (None, None));
        bench.renew("1;\ntable([#{ a: 2 }]).save(\"t.csv\");");
        assert_eq!(message(&bench, 1), None);
    }

    #[test]
    fn a_changed_table_file_runs_its_reader() {
        let mut bench = bench("1;");
        let path = bench._folder.path().join("t.csv");
        std::fs::write(&path, "a\n1\n").expect("written");
        let source = "1;\nread_table(\"t.csv\")[\"a\"];";
        bench.renew(source);
        assert_eq!(bench.texts(), ["1", "[1]"]);
        std::fs::write(&path, "a\n1\n2\n").expect("written");
        assert!(bench.book.files_changed());
        bench.renew(source);
        assert_eq!(bench.texts(), ["1", "[1, 2]"]);
        assert_eq!(bench.ran(), [2]);
    }

    #[test]
    fn a_study_ends_at_exit() {
        let bench = bench("1;\nexit();\n2;");
        assert_eq!(bench.texts(), ["1"]);
    }
}
