//! A closure called for many numbered values: first in the calling thread, then, when it takes a while, in all threads.
//!
//! Each thread has an engine of its own with the functions of the script compiled anew and the captured variables copied,
//! since engines that share anything wait for each other. A closure that changes what it captured, or captured what cannot
//! be copied, is called in one thread. It knows nothing of what the values and the answers are.

use super::calling::context_of;
use super::calls::{Caller, call_all};
use super::context::Context;
use super::engine::engine;
use super::error::Answer;
use super::progress::Progress;
use super::sizes::STACK_BYTES;
use super::transfer::{Packed, pack, pack_function};
use crate::limits;
use crate::thread_pool::{ThreadPool, cores, in_order};
use rhai::{Dynamic, Engine, EvalAltResult, FnPtr, GlobalRuntimeState, NativeCallContext};
use std::ops::{ControlFlow, Range};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Time after which further threads are worth their while.
const ALONE: Duration = Duration::from_millis(30);
/// Time after which it is reported why only one thread works.
const WORTH_A_WORD: Duration = Duration::from_secs(1);
/// Values between two looks at the clock while alone.
const AT_A_TIME: usize = 16;
/// Values that a thread takes at a time.
const CHUNK: usize = 256;

/// A closure, to be called for a range of numbered values.
pub struct Job<'a> {
    pub call: &'a NativeCallContext<'a>,
    pub closure: &'a FnPtr,
    /// The function that calls it, for messages.
    pub word: &'static str,
    pub range: Range<usize>,
}

/// Why there is no piece of work.
pub enum Trouble {
    /// A stop by the user or `exit`.
    Ends(Box<EvalAltResult>),
    /// The closure failed for the value of that number.
    At(usize, Box<EvalAltResult>),
    /// The answers are of no use.
    Answers(Box<EvalAltResult>),
}

impl Job<'_> {
    /// The answers to all values, in order. In each thread `make` gives what makes the value of a number, and `read` reads
    /// an answer.
    ///
    /// Errors: a stop by the user; the first failure in order, reported with the value of its number by `name`.
    pub fn answers<T: Send, V: FnMut(usize) -> Answer<Dynamic>>(
        &self,
        make: impl Fn() -> V + Sync,
        read: impl Fn(&Dynamic) -> Answer<T> + Sync,
        name: impl Fn(usize) -> String,
    ) -> Answer<Vec<T>> {
        let work = || {
            let mut value = make();
            let read = &read;
            move |caller: &mut Caller, range: Range<usize>| {
                let answers = call_all(caller, range.len(), |number| value(range.start + number));
                let mut found = Vec::with_capacity(range.len());
                for answer in answers.answers {
                    found.push(read(&answer).map_err(|error| Trouble::At(range.start + found.len(), error))?);
                }
                match answers.error {
                    Some(error) if super::calls::ends_the_script(&error) => Err(Trouble::Ends(error)),
                    Some(error) => Err(Trouble::At(range.start + found.len(), error)),
                    None => Ok(found),
                }
            }
        };
        let context = context_of(self.call)?;
        match self.work(work) {
            Ok(pieces) => {
                let found: Vec<T> = pieces.into_iter().flatten().collect();
                limits::go_on()?;
                Ok(found)
            }
            Err(Trouble::Ends(error) | Trouble::Answers(error)) => Err(error),
            Err(Trouble::At(number, error)) => {
                if self.range.len() > 1 {
                    context.note(format!("{}: failed for {}", self.word, name(number)));
                }
                Err(error)
            }
        }
    }

    /// Works on the range in pieces and gives them in order; when somebody stops it, those that are done. In each thread
    /// `make` gives what works on a piece.
    ///
    /// Errors: the first trouble in order.
    pub fn work<T, W>(&self, make: impl Fn() -> W + Sync) -> Result<Vec<T>, Trouble>
    where
        T: Send,
        W: FnMut(&mut Caller, Range<usize>) -> Result<T, Trouble>,
    {
        let context = context_of(self.call).map_err(Trouble::Answers)?;
        let progress = Progress::new(&context, self.range.len());
        let packed = pack_function(self.closure);
        let threads = context.threads().unwrap_or_else(cores);
        let mut caller = Caller::of_call(self.call, self.closure).map_err(Trouble::Answers)?;
        let began = Instant::now();
        let mut pieces = Vec::new();
        let mut work = make();
        let mut next = self.range.start;
        let mut alone = threads == 1;
        while next < self.range.end && !limits::ended() {
            if let (false, true, Ok(packed)) = (alone, began.elapsed() > ALONE, &packed) {
                alone = true;
                if packed.is_still_function(self.closure) {
                    let model = self.call.global_runtime_state();
                    let parallel_calls = Hands { packed, model, context: &context, threads };
                    if let Some(more) = parallel_calls.work(next..self.range.end, &progress, &make)? {
                        pieces.extend(more);
                        break;
                    }
                }
            }
            let end = (next + AT_A_TIME).min(self.range.end);
            match work(&mut caller, next..end) {
                Ok(piece) => pieces.push(piece),
                Err(_) if limits::ended() => break,
                Err(trouble) => return Err(trouble),
            }
            next = end;
            progress.report(next - self.range.start);
        }
        drop(progress);
        if let (Err(what), true) = (&packed, threads > 1 && began.elapsed() > WORTH_A_WORD) {
            let what = format!("runs one case at a time, because the closure uses {what}, which other threads cannot use");
            context.note(format!("{}: {what}", self.word));
        }
        Ok(pieces)
    }
}

/// What is needed to work in several threads.
struct Hands<'a> {
    packed: &'a Packed,
    model: &'a GlobalRuntimeState,
    context: &'a Arc<Context>,
    threads: usize,
}

impl Hands<'_> {
    /// Works on a range in all threads; nothing when it cannot be done so.
    fn work<T, W>(
        &self,
        range: Range<usize>,
        progress: &Progress,
        make: &(impl Fn() -> W + Sync),
    ) -> Result<Option<Vec<T>>, Trouble>
    where
        T: Send,
        W: FnMut(&mut Caller, Range<usize>) -> Result<T, Trouble>,
    {
        let before = progress.cases() - range.len();
        // Small chunks at first sight of few values, so that every thread has some.
        let chunk = (range.len() / (8 * self.threads)).clamp(1, CHUNK);
        let cases = |number: usize| range.start + number * chunk..(range.start + (number + 1) * chunk).min(range.end);
        let thread_pool = ThreadPool { threads: self.threads, stack_bytes: Some(STACK_BYTES) };
        let unfit = AtomicBool::new(false);
        let mut pieces = Vec::new();
        let mut notes = Vec::new();
        let mut trouble = None;
        let make = || {
            let mut hand = Hand::new(self, &unfit);
            let mut work = make();
            move |number: usize| Some((number, hand.as_mut()?.piece(&mut work, cases(number))?))
        };
        in_order(0..range.len().div_ceil(chunk), &thread_pool, make, |(number, (piece, lines))| match piece {
            Ok(piece) => {
                progress.report(before + cases(number).end - range.start);
                pieces.push(piece);
                notes.extend(lines);
                ControlFlow::Continue(())
            }
            Err(found) => {
                trouble = Some(found);
                ControlFlow::Break(())
            }
        });
        if unfit.load(Ordering::Relaxed) {
            return Ok(None);
        }
        notes.into_iter().for_each(|line: String| self.context.note(line));
        trouble.map_or(Ok(Some(pieces)), Err)
    }
}

/// One thread with its engine.
struct Hand<'a> {
    engine: Box<Engine>,
    closure: FnPtr,
    parallel_calls: &'a Hands<'a>,
    context: Arc<Context>,
    /// Told when the closure cannot be called here as it would be in the calling thread.
    unfit: &'a AtomicBool,
    state: GlobalRuntimeState,
}

/// A piece of work, or why there is none, and the lines that the closure printed.
type Worked<T> = (Result<T, Trouble>, Vec<String>);

impl<'a> Hand<'a> {
    fn new(parallel_calls: &'a Hands<'a>, unfit: &'a AtomicBool) -> Option<Hand<'a>> {
        let found = Hand::try_new(parallel_calls, unfit);
        // A stop may have come in between: then what the other threads have done counts.
        unfit.fetch_or(found.is_none() && !limits::ended(), Ordering::Relaxed);
        found
    }

    fn try_new(parallel_calls: &'a Hands<'a>, unfit: &'a AtomicBool) -> Option<Hand<'a>> {
        let context = Arc::new(parallel_calls.context.apart());
        let mut engine = Box::new(engine(&context));
        // Names of variables were checked when the script was compiled; here they are not known.
        engine.set_strict_variables(false);
        let mut functions = rhai::AST::empty();
        for source in parallel_calls.context.sources() {
            functions = functions.merge(&engine.compile(&*source).ok()?.clone_functions_only());
        }
        engine.set_strict_variables(true);
        let functions: Arc<rhai::Module> = functions.shared_lib().clone();
        let closure = parallel_calls.packed.unpack_function(&functions)?;
        let mut state = engine.new_global_runtime_state();
        state.lib.push(functions.clone());
        state.level = parallel_calls.model.level;
        for (name, module) in parallel_calls.model.scan_imports_raw() {
            state.push_import(name.as_str(), module.clone());
        }
        if let Some(constants) = &parallel_calls.model.constants {
            let constants = constants.read().ok()?;
            let packed = constants.iter().map(|(name, value)| Some((name.to_string(), pack(value).ok()?)));
            let packed: Vec<(String, Packed)> = packed.collect::<Option<_>>()?;
            let copied = packed.iter().map(|(name, value)| Some((name.as_str().into(), value.unpack(&functions)?)));
            state.constants = Some(Arc::new(copied.collect::<Option<std::collections::BTreeMap<_, _>>>()?.into()));
        }
        Some(Hand { engine, closure, parallel_calls, context, unfit, state })
    }

    /// A piece of work; nothing when it was interrupted.
    fn piece<T>(
        &mut self,
        work: &mut impl FnMut(&mut Caller, Range<usize>) -> Result<T, Trouble>,
        range: Range<usize>,
    ) -> Option<Worked<T>> {
        if self.unfit.load(Ordering::Relaxed) {
            return None;
        }
        let mut caller = match Caller::new(&self.engine, self.context.clone(), self.state.clone(), self.closure.clone()) {
            Ok(caller) => caller,
            Err(error) => return Some((Err(Trouble::Answers(error)), Vec::new())),
        };
        let worked = work(&mut caller, range);
        self.context.judge_made();
        match worked {
            Err(_) if limits::ended() => None,
            worked => Some((worked, self.context.take_notes())),
        }
    }
}

impl Drop for Hand<'_> {
    fn drop(&mut self) {
        if !self.parallel_calls.packed.is_still_function(&self.closure) {
            self.unfit.store(true, Ordering::Relaxed);
        }
    }
}
