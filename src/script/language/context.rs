//! What all functions of a session share: the unit system, the script's folder, the stop flag and lines to show.
//!
//! Knows no single function.

use super::controls::Controls;
use super::error::{Answer, ScriptError, raise};
use super::held_axes::HeldAxes;
use super::modules::file_name;
use super::saves::Saves;
use super::share::{Look, Share, Turn};
use super::vocabulary::Vocabulary;
use crate::figure::Drawn;
use crate::files::{Folder, Place};
use crate::findings::CautionSet;
use crate::garden::{Garden, Thresholds};
use crate::limits::Watch;
use crate::quantity::UnitSystem;
use crate::report::Saved;
use crate::study::{Inputs, PartError, Samples};
use crate::table::{Origin, Table};
use rhai::Position;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, AtomicU8, AtomicU64, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// What the functions of a session share. It is held in an `Arc`, so every part can be changed through `&self`.
pub struct Context {
    units: AtomicU8,
    /// Thresholds of findings in place of the usual ones.
    thresholds: Mutex<Thresholds>,
    /// Whether the last entry with units is written in metric ones.
    written_metric: AtomicBool,
    /// The functions that scripts know.
    vocabulary: &'static Vocabulary,
    /// The only folder that scripts read from and write to.
    pub folder: Folder,
    /// Set to end the evaluation; every loop that takes long looks at it.
    pub stop: Arc<AtomicBool>,
    /// Stops what takes too much time or memory, by the same flag.
    pub watch: Watch,
    /// Set by the function `exit`: no further statement is evaluated.
    left: AtomicBool,
    lines: Mutex<Vec<String>>,
    listener: Mutex<Option<Listener>>,
    watcher: Mutex<Option<Watcher>>,
    width: AtomicUsize,
    whole_tables: AtomicBool,
    /// How controls are set.
    pub controls: Controls,
    /// The axes of figures while somebody holds a handle.
    pub axes: HeldAxes,
    /// Texts that define functions, as the engine compiled them, the oldest first.
    sources: Mutex<Vec<Arc<str>>>,
    /// The text that is being evaluated.
    text: Mutex<Arc<str>>,
    /// Threads that functions may use; 0 means all cores.
    threads: AtomicUsize,
    /// What was drawn last.
    picture: Mutex<Option<Arc<Drawn>>>,
    /// True while a study is tried with one setting after the other.
    tries: AtomicBool,
    /// The samples that were drawn: their seeds and numbers.
    drawn: Mutex<BTreeSet<(u64, usize)>>,
    /// The cautions that apply to the gardens that were made, as bits; engines that work at the same time share them.
    cautions: Arc<AtomicU64>,
    /// Gardens whose cautions were not looked for yet: more may be joined to them in the same statement.
    growing: Mutex<Vec<Garden>>,
    /// The names of the entries, each with the lines of the session before it.
    entries: Mutex<Vec<(usize, String)>>,
    /// What this run makes of the sweeps of its study; nothing where it makes them whole.
    share: Mutex<Option<Share>>,
    /// The files that the statements of a study saved.
    pub saves: Saves,
    /// What a run of one part reads beside its study.
    inputs: Arc<Inputs>,
    /// True where somebody may ask for what is done of a sweep that was stopped.
    keeps_partial_tables: AtomicBool,
    /// What is done of the last such sweep.
    partial_table: Mutex<Option<Table>>,
}

/// Ends a call of a closure, within which sweeps are whole, when it is dropped.
#[must_use = "sweeps are whole as long as this is kept"]
pub struct WithinClosure<'c> {
    context: &'c Context,
}

impl Drop for WithinClosure<'_> {
    fn drop(&mut self) {
        if let Some(share) = self.context.share().as_mut() {
            share.closures -= 1;
        }
    }
}

/// Receives lines as soon as they are noted; it must not note lines itself.
pub type Listener = Box<dyn Fn(&str) + Send>;

/// Cases done of a sweep, and the time that they took.
#[derive(Clone, Copy, Debug)]
pub struct Progressed {
    /// Cases that have a result.
    pub done: usize,
    /// All cases of the sweep.
    pub cases: usize,
    /// Time since the sweep began.
    pub spent: Duration,
}

/// Shows how far a sweep is; nothing stands for its end.
pub type Watcher = Box<dyn Fn(Option<Progressed>) + Send>;

/// Columns used when the width of the terminal is unknown.
pub const USUAL_WIDTH: usize = 100;
/// Columns below which nothing is readable.
const LEAST_WIDTH: usize = 30;

/// Gardens that may grow at a time while a statement is evaluated.
const MOST_GROWING: usize = 16;

impl Context {
    /// A context for scripts of that folder that know these functions.
    pub fn with_functions(folder: Folder, vocabulary: &'static Vocabulary) -> Context {
        let stop = Arc::new(AtomicBool::new(false));
        let inputs = Arc::new(Inputs::of(&folder));
        Context {
            units: AtomicU8::new(0),
            thresholds: Mutex::default(),
            written_metric: AtomicBool::new(false),
            vocabulary,
            folder,
            watch: Watch::new(stop.clone()),
            stop,
            left: AtomicBool::new(false),
            lines: Mutex::new(Vec::new()),
            listener: Mutex::new(None),
            watcher: Mutex::new(None),
            width: AtomicUsize::new(USUAL_WIDTH),
            whole_tables: AtomicBool::new(false),
            controls: Controls::default(),
            axes: HeldAxes::default(),
            sources: Mutex::default(),
            text: Mutex::new("".into()),
            threads: AtomicUsize::new(0),
            picture: Mutex::new(None),
            tries: AtomicBool::new(false),
            drawn: Mutex::default(),
            cautions: Arc::default(),
            growing: Mutex::default(),
            entries: Mutex::default(),
            share: Mutex::default(),
            saves: Saves::default(),
            inputs,
            keeps_partial_tables: AtomicBool::new(false),
            partial_table: Mutex::default(),
        }
    }

    /// A context for one of several engines that work at the same time: the same folder, units and stop flag, its own lines,
    /// and no further threads.
    pub fn apart(&self) -> Context {
        let other = Context::with_functions(self.folder.clone(), self.vocabulary);
        let units = AtomicU8::new(self.units.load(Ordering::Relaxed));
        let width = AtomicUsize::new(self.width());
        let whole_tables = AtomicBool::new(self.whole_tables.load(Ordering::Relaxed));
        let thresholds = Mutex::new(self.thresholds());
        let (stop, inputs, cautions) = (self.stop.clone(), self.inputs.clone(), self.cautions.clone());
        Context { units, thresholds, width, whole_tables, stop, inputs, cautions, threads: AtomicUsize::new(1), ..other }
    }

    /// The functions that scripts know.
    pub fn vocabulary(&self) -> &'static Vocabulary {
        self.vocabulary
    }

    /// From now on what is done of a sweep that is stopped is kept; for a shell, where somebody may look at it.
    pub fn keep_partial_tables(&self) {
        self.keeps_partial_tables.store(true, Ordering::Relaxed);
    }

    /// True where what is done of a sweep that is stopped is kept.
    pub fn keeps_partial_tables(&self) -> bool {
        self.keeps_partial_tables.load(Ordering::Relaxed)
    }

    /// Keeps what is done of a sweep.
    pub fn keep_partial_table(&self, table: Table) {
        *self.partial_table.lock().unwrap_or_else(PoisonError::into_inner) = Some(table);
    }

    /// What is done of the last sweep that was stopped.
    pub fn partial_table(&self) -> Option<Table> {
        self.partial_table.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Keeps a text that defines functions.
    pub fn add_source(&self, text: impl Into<Arc<str>>) {
        self.sources.lock().unwrap_or_else(PoisonError::into_inner).push(text.into());
    }

    /// The texts that define the functions of the session, the oldest first.
    pub fn sources(&self) -> Vec<Arc<str>> {
        self.sources.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Notes the text that is evaluated next.
    pub fn begin_text(&self, text: &str) {
        *self.text.lock().unwrap_or_else(PoisonError::into_inner) = text.into();
    }

    /// The text that is being evaluated.
    pub fn text(&self) -> Arc<str> {
        self.text.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Notes that the lines of an entry follow `lines_before` others.
    pub fn add_entry(&self, name: &str, lines_before: usize) {
        let mut entries = self.entries.lock().unwrap_or_else(PoisonError::into_inner);
        // The numbering begins again when it has come to its end.
        let earlier = entries.partition_point(|(before, _)| *before < lines_before);
        entries.truncate(earlier);
        entries.push((lines_before, name.to_string()));
    }

    /// A place as `study.rhai:3:5`: in the named module, or in an entry; empty where it is not known.
    pub fn place_in_words(&self, module: Option<&str>, at: Position) -> String {
        let (Some(line), column) = (at.line(), at.position().unwrap_or(1)) else { return String::new() };
        if let Some(module) = module {
            return format!("{}:{line}:{column}", file_name(module));
        }
        let entries = self.entries.lock().unwrap_or_else(PoisonError::into_inner);
        let found = entries.iter().rev().find(|(before, _)| *before < line);
        found.map_or_else(String::new, |(before, name)| format!("{name}:{}:{column}", line - before))
    }

    /// What makes the tables of this session: the first entry, and the seeds of the samples that were drawn.
    pub fn origin(&self) -> Origin {
        let study = self.entries.lock().unwrap_or_else(PoisonError::into_inner).first().map(|(_, name)| name.clone());
        let drawn = self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
        let seeds: BTreeSet<u64> = drawn.iter().map(|(seed, _)| *seed).collect();
        Origin { study, seeds: seeds.into_iter().collect() }
    }

    /// Makes this run one part of a divided study, or a look at its sweeps.
    pub fn set_share(&self, share: Share) {
        self.inputs.begin();
        *self.share() = Some(share);
    }

    fn share(&self) -> MutexGuard<'_, Option<Share>> {
        self.share.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A function calls a closure for each of its values. Sweeps inside it run whole: only the outermost sweep is divided.
    pub fn within_closure(&self) -> WithinClosure<'_> {
        if let Some(share) = self.share().as_mut() {
            share.closures += 1;
        }
        WithinClosure { context: self }
    }

    /// What this run makes of the sweep that begins now; nothing where it is made whole, as inside a closure.
    pub fn next_turn(&self, cases: usize) -> Option<Turn> {
        Some(self.share().as_mut().filter(|share| share.closures == 0)?.next_turn(cases, &self.inputs))
    }

    /// Notes what was found out about the sweep that was begun last.
    pub fn note_look(&self, look: Look) {
        if let Some(share) = self.share().as_mut() {
            share.looks.push(look);
        }
    }

    /// What was found out about the sweeps of the study, in their order.
    pub fn take_looks(&self) -> Vec<Look> {
        self.share().as_mut().map(|share| std::mem::take(&mut share.looks)).unwrap_or_default()
    }

    /// Notes what stands in a file that this run reads, where the run makes a part: parts that read other things do not belong
    /// together. Errors: the file was changed since it was read before.
    pub fn note_input(&self, name: &str, bytes: &[u8]) -> Result<(), PartError> {
        self.inputs.note(name, bytes)
    }

    /// Sweeps that a run of one part, or a look, has begun.
    pub fn sweeps(&self) -> usize {
        self.share().as_ref().map_or(0, |share| share.sweeps)
    }

    /// What becomes of a file in a run that has only a part of its tables; nothing in other runs.
    pub fn leaves_out(&self, file: &str) -> Option<Saved> {
        self.share().as_ref().map(|share| share.leaves_out(file))
    }

    /// Where a file is saved in the folder of the script.
    ///
    /// Errors: a name that leads out of the folder, or one under which another statement of the study saves.
    pub fn place_to_save(&self, file: &str) -> Answer<Place> {
        let place = self.folder.place(file).map_err(raise)?;
        self.saves.note(place.path()).map_err(|line| {
            ScriptError::new(format!("'{file}' is already saved by the statement of line {line}"))
                .with_hint("give each file a name of its own: both statements would show the same one")
        })?;
        Ok(if self.tries.load(Ordering::Relaxed) { place.without_waiting() } else { place })
    }

    /// Says that from now on a study is tried with one setting after the other, so that its files are written again and again: nobody
    /// waits for the disk. Or that this is over.
    pub fn set_tries(&self, tries: bool) {
        self.tries.store(tries, Ordering::Relaxed);
    }

    /// Threads that functions may use; default all cores.
    pub fn threads(&self) -> Option<usize> {
        Some(self.threads.load(Ordering::Relaxed)).filter(|threads| *threads > 0)
    }

    /// Sets how many threads functions may use; `None` for all cores.
    pub fn set_threads(&self, threads: Option<usize>) {
        self.threads.store(threads.unwrap_or(0), Ordering::Relaxed);
    }

    /// The units in which results are shown.
    pub fn units(&self) -> UnitSystem {
        match self.units.load(Ordering::Relaxed) {
            1 => UnitSystem::Us,
            2 => UnitSystem::Metric,
            _ => UnitSystem::AsWritten,
        }
    }

    /// The thresholds of findings that hold in place of the usual ones.
    pub fn thresholds(&self) -> Thresholds {
        self.thresholds.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Sets which thresholds of findings hold in place of the usual ones.
    pub fn set_thresholds(&self, thresholds: Thresholds) {
        *self.thresholds.lock().unwrap_or_else(PoisonError::into_inner) = thresholds;
    }

    /// The units of the hints of errors: those chosen, else those in which the last entry with units was written.
    pub fn units_of_hints(&self) -> UnitSystem {
        let metric = self.written_metric.load(Ordering::Relaxed);
        self.units().or_own(if metric { UnitSystem::AsWrittenMetric } else { UnitSystem::AsWritten })
    }

    /// Keeps in mind in which units an entry is written.
    pub fn note_units_written(&self, units: UnitSystem) {
        self.written_metric.store(units.is_metric(), Ordering::Relaxed);
    }

    /// Chooses the units in which results are shown.
    pub fn set_units(&self, system: UnitSystem) {
        let code = match system {
            UnitSystem::AsWritten | UnitSystem::AsWrittenMetric => 0,
            UnitSystem::Us => 1,
            UnitSystem::Metric => 2,
        };
        self.units.store(code, Ordering::Relaxed);
    }

    /// Columns that printed texts may use.
    pub fn width(&self) -> usize {
        self.width.load(Ordering::Relaxed)
    }

    /// Columns that printed tables may use; none where nobody looks at them on a page with an edge.
    pub fn width_of_tables(&self) -> Option<usize> {
        (!self.whole_tables.load(Ordering::Relaxed)).then(|| self.width())
    }

    /// Sets the columns that printed texts and tables may use.
    pub fn set_width(&self, columns: usize) {
        self.width.store(columns.max(LEAST_WIDTH), Ordering::Relaxed);
    }

    /// Tables stand whole from now on, however wide they are: what is printed goes to a file or a program.
    pub fn print_whole_tables(&self) {
        self.whole_tables.store(true, Ordering::Relaxed);
    }

    /// True when somebody asked to stop.
    pub fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// True once the script said `exit`.
    pub fn left(&self) -> bool {
        self.left.load(Ordering::Relaxed)
    }

    /// Notes that the script said `exit`.
    pub fn leave(&self) {
        self.left.store(true, Ordering::Relaxed);
    }

    /// Forgets that a script said `exit`, and what was drawn last, for a study that runs again.
    pub fn begin_step(&self) {
        self.left.store(false, Ordering::Relaxed);
        self.take_picture();
    }

    /// Shows a line once, such as `saved feed-length.svg`; `print` comes here as well.
    pub fn note(&self, line: impl Into<String>) {
        if let Some(listener) = &*self.listener.lock().unwrap_or_else(PoisonError::into_inner) {
            return listener(&line.into());
        }
        self.lines.lock().unwrap_or_else(PoisonError::into_inner).push(line.into());
    }

    /// Notes the random samples of a study, if it has any.
    pub fn note_samples(&self, samples: Option<Samples>) {
        let seeds = samples.map(|samples| (samples.seed, samples.n));
        self.drawn.lock().unwrap_or_else(PoisonError::into_inner).extend(seeds);
    }

    /// Takes the seeds and numbers of the samples that were drawn since the last call.
    pub fn take_drawn(&self) -> BTreeSet<(u64, usize)> {
        std::mem::take(&mut *self.drawn.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Notes that a garden was made, wherever it stands: its cautions concern what is made of it.
    ///
    /// Of a garden that a statement builds step by step, the last state counts. A line without a source has no cautions.
    pub fn made(&self, garden: &Garden) {
        if !garden.is_fed() {
            return;
        }
        let mut growing = self.growing.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(at) = growing.iter().rposition(|before| garden.grows_from(before)) {
            growing.remove(at);
        } else if growing.len() == MOST_GROWING {
            self.judge(&growing.remove(0));
        }
        growing.push(garden.clone());
    }

    /// Looks for the cautions of the gardens that were made: a statement, or a piece of the work of an engine, is done.
    pub fn judge_made(&self) {
        let made = std::mem::take(&mut *self.growing.lock().unwrap_or_else(PoisonError::into_inner));
        made.iter().for_each(|garden| self.judge(garden));
    }

    fn judge(&self, garden: &Garden) {
        self.cautions.fetch_or(CautionSet::of(garden).bits(), Ordering::Relaxed);
    }

    /// Takes the cautions that apply to the gardens that were made since the last call.
    pub fn take_cautions(&self) -> CautionSet {
        self.judge_made();
        CautionSet::from_bits(self.cautions.swap(0, Ordering::Relaxed))
    }

    /// Notes what was drawn into a file.
    pub fn drew(&self, picture: Drawn) {
        *self.picture.lock().unwrap_or_else(PoisonError::into_inner) = Some(Arc::new(picture));
    }

    /// What was drawn last since the last call.
    pub fn take_picture(&self) -> Option<Arc<Drawn>> {
        self.picture.lock().unwrap_or_else(PoisonError::into_inner).take()
    }

    /// Hands each further line to a listener at once instead of keeping it; for a shell, where people wait for it.
    pub fn listen(&self, listener: Listener) {
        *self.listener.lock().unwrap_or_else(PoisonError::into_inner) = Some(listener);
    }

    /// Shows how far sweeps are by a watcher, where somebody can see it.
    pub fn watch_progress(&self, watcher: Watcher) {
        *self.watcher.lock().unwrap_or_else(PoisonError::into_inner) = Some(watcher);
    }

    /// Shows how far a sweep is; nothing stands for its end.
    pub fn show_progress(&self, progressed: Option<Progressed>) {
        if let Some(watcher) = &*self.watcher.lock().unwrap_or_else(PoisonError::into_inner) {
            watcher(progressed);
        }
    }

    /// Takes the lines noted since the last call.
    pub fn take_notes(&self) -> Vec<String> {
        std::mem::take(&mut *self.lines.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::{Kind, Part};

    #[test]
    fn a_line_that_grows_is_judged_once() {
        let context = Context::new(Folder::new("."));
        let part = |kind: Kind| Garden::of(Part::new(kind));
        let mut all = vec![part(Kind::Supply)];
        for _ in 0..500 {
            // In brackets, the right side is a line of its own.
            let right = part(Kind::Hose).then(&part(Kind::Valve)).expect("joins");
            context.made(&right);
            all.push(all[all.len() - 1].then(&right).expect("joins"));
            context.made(&all[all.len() - 1]);
        }
        let laid = all.iter().filter(|garden| garden.is_laid_out()).count();
        assert!(laid < 40, "{laid}");
        assert_eq!(context.take_cautions(), CautionSet::of(&all[500]));
        assert_eq!(context.take_cautions(), CautionSet::default());
        let apart = context.apart();
        apart.made(&all[0]);
        apart.judge_made();
        assert_eq!(context.take_cautions(), CautionSet::of(&all[0]), "what other threads make counts too");
    }
}
