//! The command line: what it understands, and how it ends.

mod answers;
mod check;
mod choices;
mod input;
mod interview;
mod library;
mod manual;
mod parts;
mod settings;
mod status;
mod talk;

pub use status::Status;

use crate::files::{FileError, Folder, Place, withhold_writes, write_atomically};
use crate::notebook::ahead::ahead;
use crate::notebook::live::Live;
use crate::notebook::page::{self as report, Ahead, CodeShown, Use, page};
use crate::notebook::workbook::Workbook;
use crate::notebook::{Moment, Page, Printer, SET_IN, markdown};
use crate::quantity::UnitSystem;
use crate::script::present::is_bare;
use crate::script::share::{OnePart, Share};
use crate::script::{Context, Session, VOCABULARY, reference};
use crate::shell::paint::Paint;
use crate::shell::{self, Piped, status_line, terminal};
use crate::signals;
use crate::study::{PartError, mark_of, note_failure, read_part};
use crate::told::Told;
use crate::visible::visible;
use choices::{Choices, Units, context, fit, plain_context, session};
use clap::error::ErrorKind;
use clap::{CommandFactory, Parser, Subcommand, ValueEnum};
use input::{read_study, say_problem, study_text};
use settings::{all_are_taken, set_controls};
use status::{INTERRUPTED, say_error};
use std::ffi::OsString;
use std::io::{self, IsTerminal, Read, Write};
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

/// What-if studies of a garden watered through hoses. Without a command: the shell.
///
/// A study is a text file of the script language, NAME.rhai; `hosewright new` writes a first one.
///
/// Exit codes: 0 fine, 1 a script failed, 2 usage, 3 a file could not be read or written, 130 interrupted.
#[derive(Parser)]
#[command(version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    choices: Choices,
}

#[derive(Subcommand)]
enum Command {
    /// Run a study and print its prose and values.
    Run {
        /// The study; `-` reads it from standard input.
        file: PathBuf,
        /// Write a page next to the study instead, with code, tables and figures; default html.
        #[arg(long, value_enum, num_args = 0..=1, default_missing_value = "html", value_name = "FORM")]
        report: Option<Form>,
        /// The code in the page: folded, open, or left out.
        #[arg(long, value_enum, default_value_t = Code::Folded, value_name = "HOW", requires = "report")]
        code: Code,
        /// Settings of controls that are computed ahead, so that the controls work in the page; default none.
        #[arg(long, value_name = "N", requires = "report")]
        ahead: Option<usize>,
        /// Print one JSON object instead: each statement that shows a value, with its lines and value, and the error.
        #[arg(long, conflicts_with_all = ["report", "part"])]
        json: bool,
        /// Run only this part of every sweep, such as 3/7, and save it in the folder of --out.
        #[arg(long, value_name = "K/N", requires = "out")]
        part: Option<String>,
        /// The folder of the parts; `gather` joins them.
        #[arg(long, value_name = "FOLDER")]
        out: Option<PathBuf>,
        /// A value for a control, such as "feed length=150 ft"; more than one may be given.
        #[arg(long, value_name = "NAME=VALUE")]
        set: Vec<String>,
        /// Number of threads; default all cores.
        #[arg(long, value_name = "N")]
        threads: Option<NonZeroUsize>,
    },
    /// List the sweeps of a study, and into how many parts to divide it; solves a few cases of each and writes no files.
    Parts {
        /// The study; `-` reads it from standard input.
        file: PathBuf,
        /// Print one JSON object.
        #[arg(long)]
        json: bool,
        /// A value for a control, such as "feed length=150 ft"; more than one may be given.
        #[arg(long, value_name = "NAME=VALUE")]
        set: Vec<String>,
    },
    /// Show a study in the browser, and rerun what changed when its file is saved or a control is set.
    Live {
        /// The study.
        file: PathBuf,
        /// The port of the page on this machine; default any free port.
        #[arg(long, default_value_t = 0, hide_default_value = true)]
        port: u16,
    },
    /// Check a study for errors and findings; writes no files.
    Check {
        /// The study; `-` reads it from standard input.
        file: PathBuf,
        /// Print one JSON object.
        #[arg(long)]
        json: bool,
    },
    /// Ask about a plot and write a study of it, NAME.rhai.
    New {
        /// The name of the study, such as willow-lane; a question if left out.
        name: Option<String>,
    },
    /// Evaluate expressions and print their values, one per line.
    Eval {
        /// Expressions such as '30.psi.to("bar")'; later ones can use the variables of earlier ones.
        /// Without an expression, or with `-`, reads standard input.
        expressions: Vec<String>,
        /// Print one JSON object with the values or the error.
        #[arg(long)]
        json: bool,
    },
    /// Answer requests of another program: one JSON object a line on standard input, one a line on standard output.
    Talk {
        /// The folder of the files that requests name; default the one you are in.
        folder: Option<PathBuf>,
    },
    /// Print the definitions of all functions for script editors.
    Definitions,
    /// Print the completions of this command line for a shell of the system.
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Print the manual page.
    Man,
    /// Print the reference of all functions as Markdown.
    #[command(hide = true)]
    Reference,
}

/// The form of a report.
#[derive(Clone, Copy, ValueEnum)]
enum Form {
    Html,
    Md,
}

/// The code in a report.
#[derive(Clone, Copy, ValueEnum)]
enum Code {
    Folded,
    Open,
    Out,
}

impl Code {
    fn shown(self) -> CodeShown {
        match self {
            Code::Folded => CodeShown::Folded,
            Code::Open => CodeShown::Open,
            Code::Out => CodeShown::Out,
        }
    }
}

/// Reads the command line and does what it says.
pub fn main() -> Status {
    signals::listen();
    let given = plain_report(std::env::args_os().collect());
    let arguments = match Arguments::try_parse_from(&given) {
        Ok(arguments) => arguments,
        Err(error) => {
            let _ = error.print();
            if let (ErrorKind::InvalidSubcommand, Some(file)) = (error.kind(), given.iter().skip(1).find(|given| is_study(given)))
            {
                let file = file.display().to_string();
                let _ = writeln!(io::stderr(), "  to run a study: hosewright run {}", visible(&file));
            }
            return if error.use_stderr() { Status::Usage } else { Status::Fine };
        }
    };
    match obey(arguments) {
        Ok(status) => status,
        // Whoever reads our output has seen enough.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Status::Fine,
        Err(error) => {
            say_problem(&format!("cannot read or write: {}", crate::files::plain_reason(&error)), "");
            Status::FileProblem
        }
    }
}

/// `--report FILE` without a form means the usual one.
fn plain_report(mut given: Vec<OsString>) -> Vec<OsString> {
    let form = |next: Option<&OsString>| next.is_some_and(|next| next == "html" || next == "md");
    if let Some(at) = given.iter().position(|one| one == "--report").filter(|at| !form(given.get(at + 1))) {
        given[at] = "--report=html".into();
    }
    given
}

fn is_study(given: &OsString) -> bool {
    Path::new(given).extension().is_some_and(|ending| ending == "rhai")
}

fn obey(arguments: Arguments) -> io::Result<Status> {
    match arguments.command {
        None => start_shell(arguments.choices),
        Some(Command::Run { file, report, code, ahead, json, part, out, set, threads }) => {
            if let Err(error) = set_controls(&Context::new(Folder::new(".")), &set) {
                say_problem(&error, "");
                return Ok(Status::Usage);
            }
            let choices = arguments.choices;
            match report {
                Some(form) => report_of(&file, form, code.shown(), ahead, choices, &set),
                None if json => answers::run_json(&file, choices, &set, threads),
                None => run(&file, choices, part.zip(out), &set, threads),
            }
        }
        Some(Command::Parts { file, json, set }) => {
            if let Err(error) = set_controls(&Context::new(Folder::new(".")), &set) {
                say_problem(&error, "");
                return Ok(Status::Usage);
            }
            withhold_writes();
            parts::parts(&file, json, arguments.choices, &set)
        }
        Some(Command::Live { file, port }) => live(&file, port, arguments.choices),
        Some(Command::Check { file, json }) => {
            withhold_writes();
            let form = if json { check::Form::Json } else { check::Form::Text };
            check::check(&file, workbook(&file, arguments.choices), form)
        }
        Some(Command::New { name }) => new_study(name, arguments.choices),
        Some(Command::Eval { expressions, json }) => match to_evaluate(expressions)? {
            None => {
                say_problem(
                    "there is nothing to evaluate",
                    "write hosewright eval '30.psi.to(\"bar\")', or give expressions on standard input",
                );
                Ok(Status::Usage)
            }
            Some(expressions) if json => answers::eval_json(&expressions, arguments.choices),
            Some(expressions) => eval(&expressions, arguments.choices),
        },
        Some(Command::Talk { folder }) => talk::talk(&folder.unwrap_or_else(|| ".".into()), arguments.choices),
        Some(Command::Definitions) => {
            let mut session = plain_session();
            write!(io::stdout(), "{}", session.engine_mut().definitions().single_file())?;
            Ok(Status::Fine)
        }
        Some(Command::Completions { shell }) => {
            let mut bytes = Vec::new();
            clap_complete::generate(shell, &mut Arguments::command(), "hosewright", &mut bytes);
            io::stdout().write_all(&bytes)?;
            Ok(Status::Fine)
        }
        Some(Command::Man) => {
            io::stdout().write_all(&manual::manual(Arguments::command())?)?;
            Ok(Status::Fine)
        }
        Some(Command::Reference) => {
            write!(io::stdout(), "{}", reference::reference_markdown(&VOCABULARY))?;
            Ok(Status::Fine)
        }
    }
}

fn plain_session() -> Session {
    Session::new(Folder::new("."))
}

fn start_shell(choices: Choices) -> io::Result<Status> {
    let mut session = session(".", choices);
    if io::stdin().is_terminal() {
        shell::run(&mut session)?;
        return Ok(Status::Fine);
    }
    fit(session.context(), 0);
    Ok(match shell::read_piped(&mut session)? {
        Piped::Fine => Status::Fine,
        Piped::Failed => Status::ScriptError,
        Piped::Stopped => Status::Interrupted,
    })
}

fn run(
    file: &Path,
    choices: Choices,
    division: Option<(String, PathBuf)>,
    set: &[String],
    threads: Option<NonZeroUsize>,
) -> io::Result<Status> {
    let Some((name, source)) = study_text(file)? else { return Ok(Status::FileProblem) };
    let mut session = session(file.parent().unwrap_or(Path::new(".")), choices);
    session.context().set_threads(threads.map(NonZeroUsize::get));
    give(session.context(), set);
    let part = match division.map(|(part, out)| one_part(&part, &out, &source, session.context().units())).transpose() {
        Ok(part) => part,
        Err(error) => {
            say_problem(&error.to_string(), &error.hint().unwrap_or_default());
            return Ok(if matches!(error, PartError::BadPart { .. }) { Status::Usage } else { Status::FileProblem });
        }
    };
    if let Some(part) = &part {
        session.context().set_share(Share::of_part(part.clone()));
    }
    fit(session.context(), SET_IN.len());
    let page = Page { width: terminal::columns_of_output(), paint: Paint::of_output() };
    let mut printer = Printer::new(&source, page, io::stdout().lock());
    let mut written = Ok(());
    let mut failed = None;
    let stop = session.context().stop.clone();
    session.evaluate_each(&name, &source, &mut |cell| {
        if written.is_ok() && !cell.shown.is_empty() {
            let named = cell.value.as_ref().filter(|value| is_bare(value)).and_then(|_| source.get(cell.range.clone()));
            status_line::wipe();
            written = printer.values(cell.lines.0, &cell.shown, named.map(|text| text.trim_end_matches([';', ' ', '\n'])));
        }
        if written.is_err() {
            stop.store(true, Ordering::Relaxed); // Nobody reads on: no need to go on.
        }
        failed = failed.take().or(cell.error);
    });
    let cautions = session.context().take_cautions();
    if written.is_ok() && !cautions.is_empty() {
        if failed.is_none() {
            written = printer.finish();
        }
        written = written.and_then(|()| printer.closing(&cautions.in_short(session.context().width())));
    }
    if let Some(part) = &part {
        let reason = failed.as_ref().map(|error| error.message.as_str());
        if let Err(error) = note_failure(&part.folder, part.part, part.parts, reason) {
            say_problem(&error.to_string(), &error.hint().unwrap_or_default());
            return Ok(Status::FileProblem);
        }
    }
    written?;
    if let Some(error) = failed {
        return Ok(say_error(&error));
    }
    if part.is_some() && session.context().sweeps() == 0 {
        say_problem("this study has no sweep to divide", "run it without --part");
        return Ok(Status::ScriptError);
    }
    printer.finish()?;
    if !all_are_taken(session.context()) {
        return Ok(Status::Usage);
    }
    Ok(if INTERRUPTED.load(Ordering::Relaxed) { Status::Interrupted } else { Status::Fine })
}

/// Runs a study and writes its report beside it; a statement that fails leaves the others running.
fn report_of(
    file: &Path,
    form: Form,
    code: CodeShown,
    settings: Option<usize>,
    choices: Choices,
    set: &[String],
) -> io::Result<Status> {
    let Some(source) = read_study(file) else { return Ok(Status::FileProblem) };
    let mut book = workbook(file, choices);
    give(book.context(), set);
    book.renew(&source, &mut |_, _, _| {});
    let moment = Moment::now();
    let ahead = settings.filter(|_| matches!(form, Form::Html)).and_then(|most| ahead(&mut book, code, most));
    let (ending, text) = match form {
        Form::Html => ("html", html_report(&book, code, ahead.as_ref(), &moment)),
        Form::Md => ("md", markdown(&book, &moment)),
    };
    let target = file.with_extension(ending);
    if let Err(error) = Place::at(&target).and_then(|place| write_atomically(&place, text.as_bytes())) {
        say_problem(&error.to_string(), &error.hint().unwrap_or_default());
        return Ok(Status::FileProblem);
    }
    writeln!(io::stdout(), "wrote {}", visible(&target.display().to_string()))?;
    if let Some(ahead) = &ahead {
        writeln!(io::stdout(), "{}", visible(&ahead.said))?;
    }
    let mut status = Status::Fine;
    for error in book.statements().iter().filter_map(|statement| statement.result.error.as_ref()) {
        status = status.graver(say_error(error));
    }
    Ok(if all_are_taken(book.context()) { status } else { status.graver(Status::Usage) })
}

/// The page of a study, with the settings of its controls that were computed ahead, if any.
fn html_report(book: &Workbook, code: CodeShown, ahead: Option<&Ahead>, moment: &Moment) -> String {
    match ahead.filter(|ahead| !ahead.data.is_empty()) {
        Some(ahead) => report::Page::of(book, Use::Ahead, code, moment, &[]).with_ahead(ahead.clone()).write(),
        None => page(book, Use::File, code, moment),
    }
}

/// Gives controls their values, which were looked at before.
fn give(context: &Context, set: &[String]) {
    drop(set_controls(context, set));
}

/// Serves the page of a study to this machine until somebody presses Ctrl-C.
fn live(file: &Path, port: u16, choices: Choices) -> io::Result<Status> {
    if read_study(file).is_none() {
        return Ok(Status::FileProblem);
    }
    let context = plain_context(file.parent().unwrap_or(Path::new(".")), choices);
    let live = Live::open(file, context, port)?;
    drop(ctrlc::set_handler(|| signals::leave(Status::Interrupted.code())));
    writeln!(io::stdout(), "the study is at {} for a browser on this machine; Ctrl-C ends it", live.url())?;
    live.serve()?;
    Ok(Status::Fine)
}

/// An empty workbook for a study, with Ctrl-C bound to its stop flag.
fn workbook(file: &Path, choices: Choices) -> Workbook {
    let name = file.file_name().map_or_else(|| "study".into(), |name| name.to_string_lossy().into_owned());
    let name = if file == Path::new("-") { "standard input".into() } else { name };
    Workbook::new(&name, context(file.parent().unwrap_or(Path::new(".")), choices))
}

/// What to evaluate: the arguments, or the text on standard input; nothing when there is neither.
fn to_evaluate(expressions: Vec<String>) -> io::Result<Option<Vec<String>>> {
    let from_input = expressions.is_empty() || expressions == ["-"];
    if !from_input {
        return Ok(Some(expressions));
    }
    if io::stdin().is_terminal() && expressions.is_empty() {
        return Ok(None);
    }
    let mut text = String::new();
    io::stdin().read_to_string(&mut text)?;
    Ok((!text.trim().is_empty()).then(|| vec![text]))
}

/// Asks about a plot and writes its study into the folder one is in, never over another file.
fn new_study(name: Option<String>, choices: Choices) -> io::Result<Status> {
    let (mut input, mut output) = (io::stdin().lock(), io::stdout());
    let name = match name {
        Some(name) => name,
        None => match interview::ask_name(&mut input, &mut output) {
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => {
                say_problem("the study has no name", "give one, as in hosewright new my-plot");
                return Ok(Status::FileProblem);
            }
            name => name?,
        },
    };
    let stem = name.trim_end_matches(".rhai");
    let file = format!("{stem}.rhai");
    let place = match Folder::new(".").place(&file) {
        Ok(place) if !place.is_taken() => place,
        Ok(_) => {
            say_problem(&format!("the file '{file}' already exists and was not changed"), "choose another name");
            return Ok(Status::FileProblem);
        }
        Err(error) => {
            say_problem(&error.to_string(), &error.hint().unwrap_or_default());
            return Ok(Status::FileProblem);
        }
    };
    let own_name = Path::new(stem).file_name().map_or_else(|| stem.into(), |name| name.to_string_lossy().into_owned());
    let usual = choices.units.map_or(UnitSystem::AsWritten, Units::system);
    let text = interview::interview(&own_name, usual, &mut input, &mut output)?;
    if let Err(error) = write_atomically(&place, text.as_bytes()) {
        say_problem(&error.to_string(), &error.hint().unwrap_or_default());
        return Ok(Status::FileProblem);
    }
    let shown = if file.contains(char::is_whitespace) { format!("'{file}'") } else { file };
    writeln!(
        output,
        "\nwrote {shown}\n  see the answers:    hosewright run {shown}\n  in the browser:     hosewright live {shown}"
    )?;
    Ok(Status::Fine)
}

/// What a run of one part must know. Errors: no such part, the folder cannot be made.
fn one_part(part: &str, out: &Path, source: &str, units: UnitSystem) -> Result<OnePart, PartError> {
    let (part, parts) = read_part(part)?;
    std::fs::create_dir_all(out).map_err(|error| FileError::Failed {
        action: "write",
        path: out.display().to_string(),
        reason: crate::files::plain_reason(&error),
    })?;
    let study = mark_of(format!("{} {units:?} {source}", env!("CARGO_PKG_VERSION")).as_bytes());
    Ok(OnePart { part, parts, folder: out.to_path_buf(), study })
}

fn eval(expressions: &[String], choices: Choices) -> io::Result<Status> {
    let mut session = session(".", choices);
    fit(session.context(), 0);
    let paint = Paint::of_output();
    let mut out = io::stdout().lock();
    for text in expressions {
        let outcome = session.evaluate(text);
        for shown in outcome.shown() {
            writeln!(out, "{}", paint.values(&visible(shown)))?;
        }
        if let Some(error) = outcome.error() {
            return Ok(say_error(error));
        }
    }
    Ok(Status::Fine)
}
