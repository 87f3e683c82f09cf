//! Bytes changed at random from a kept corpus never make the program panic.
//!
//! `cargo test --test fuzz` tries every file of `tests/corpus/` and a few thousand changes of them. For a long run:
//! `HOSEWRIGHT_FUZZ_SECONDS=600 cargo test --test fuzz -- --ignored --nocapture quantities` (or `tables`, `json`, `parquet`, `scripts`, `requests`).
//! An input that fails is kept in the corpus before the test ends, and in a long run each that takes over two seconds is as well.

use hosewright::files::Folder;
use hosewright::notebook::cells;
use hosewright::notebook::live::Live;
use hosewright::quantity::read_quantity;
use hosewright::script::diagnostic::Color;
use hosewright::script::entry::Entries;
use hosewright::script::sizes::STACK_BYTES;
use hosewright::script::{Context, Session};
use hosewright::table::Table;
use std::io::{Read, Write};
use std::net::{Shutdown, TcpStream};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock};
use std::time::{Duration, Instant};

/// A small generator of random numbers (xorshift, 64 bits; from memory), so that a run can be repeated from its seed.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % n.max(1) as u64) as usize
    }
}

/// Pieces that are put into the texts.
const PIECES: &[&str] = &[
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    "#{",
    "\"",
    "`",
    "${",
    ";",
    ",",
    ".",
    "..",
    "..=",
    ">>",
    "=>",
    "|x| ",
    "=",
    "==",
    "+",
    "-",
    "*",
    "/",
    "%",
    "**",
    "\n",
    " ",
    "\t",
    "\u{0}",
    "\u{feff}",
    "é",
    "”",
    "𝄞",
    "0",
    "1",
    "-1",
    "9223372036854775807",
    "-9223372036854775808",
    "1e308",
    "1e-320",
    "0x",
    "1_0",
    "NaN",
    "inf",
    "5/8",
    "1 1/2",
    " in",
    " ft",
    " psi",
    " gpm",
    "°C",
    "let a = ",
    "a",
    "const B = ",
    "if ",
    "else ",
    "for i in ",
    "while ",
    "loop ",
    "fn f(x) ",
    "f(",
    "return ",
    "break",
    "throw ",
    "try ",
    "catch ",
    "import \"a\" as a;",
    "switch ",
    "this",
    "global::",
    "supply(50.psi)",
    "hose(100.ft, (5/8).inch)",
    ".named(\"feed\")",
    "head(\"h\", (1/8).inch)",
    "valve(\"z\")",
    ".run()",
    ".run(\"z\")",
    "vary(\"feed.length\", ",
    "steps(1.ft, 9.ft, 1.ft)",
    "sweep(",
    "table([#{a: 1}])",
    ".filter(",
    ".sort_by(\"a\")",
    ".sample_rows(",
    ".row(",
    "chart(",
    ".x(\"a\")",
    "normal(",
    "samples(",
    "seek(",
    "sum(",
    ".to(\"bar\")",
    ".feed.length",
    "help(",
    "show(",
    "plan(",
    "findings(",
    "operate(",
    "a [psi]",
    "a [",
    "?",
    "\"\"",
    "\r\n",
    ";;",
    "true",
    "no",
];

/// One of the corpus, changed in one to eight places.
fn changed(corpus: &[(PathBuf, Vec<u8>)], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = corpus[dice.below(corpus.len())].1.clone();
    for _ in 0..=dice.below(8) {
        let at = dice.below(bytes.len() + 1);
        let end = (at + dice.below(12)).min(bytes.len());
        match dice.below(7) {
            0 if at < bytes.len() => bytes[at] ^= 1 << dice.below(8),
            1 if at < bytes.len() => bytes[at] = dice.below(256) as u8,
            2 => drop(bytes.drain(at..end)),
            3 => bytes.truncate(at),
            4 => {
                let other = &corpus[dice.below(corpus.len())].1;
                let from = dice.below(other.len() + 1);
                let to = (from + dice.below(40)).min(other.len());
                bytes.splice(at..at, other[from..to].iter().copied());
            }
            5 => {
                let again = bytes[at..end].to_vec();
                bytes.splice(at..at, again);
            }
            _ => drop(bytes.splice(at..at, PIECES[dice.below(PIECES.len())].bytes())),
        }
    }
    bytes.truncate(20_000);
    bytes
}

fn corpus(name: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(name);
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).expect("the corpus").map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    paths.into_iter().map(|path| (path.clone(), std::fs::read(&path).expect("read"))).collect()
}

/// How long and how often a run tries.
enum Length {
    Short,
    Long,
}

/// What takes longer in a long run is kept to be looked at.
const SLOW: Duration = Duration::from_secs(2);

/// Tries the corpus and changes of it, with the stack of the program.
fn fuzz(name: &'static str, length: Length, trial: fn(&[u8])) {
    let run = move || {
        let files = corpus(name);
        let (seconds, most) = match length {
            Length::Short => (60, 300),
            Length::Long => {
                (std::env::var("HOSEWRIGHT_FUZZ_SECONDS").ok().and_then(|text| text.parse().ok()).unwrap_or(10), usize::MAX)
            }
        };
        let seed = std::env::var("HOSEWRIGHT_FUZZ_SEED").ok().and_then(|text| text.parse().ok()).unwrap_or(20_260_401);
        let (mut dice, began, mut tried) = (Dice(seed), Instant::now(), 0);
        let mut slowest = Duration::ZERO;
        let check = |bytes: &[u8]| {
            let start = Instant::now();
            let fine = catch_unwind(AssertUnwindSafe(|| trial(bytes))).is_ok();
            (fine, start.elapsed())
        };
        for (path, bytes) in &files {
            let (fine, took) = check(bytes);
            assert!(fine, "{} makes it panic", path.display());
            slowest = slowest.max(took);
        }
        let keep = |word: &str, tried: usize, bytes: &[u8]| {
            let ending = files[0].0.extension().unwrap_or_default().to_string_lossy().into_owned();
            let kept = files[0].0.with_file_name(format!("{word}-{seed}-{tried}.{ending}"));
            std::fs::write(&kept, bytes).expect("kept");
            kept
        };
        while tried < most && began.elapsed() < Duration::from_secs(seconds) {
            let bytes = changed(&files, &mut dice);
            let (fine, took) = check(&bytes);
            assert!(fine, "{} makes it panic", keep("failed", tried, &bytes).display());
            if took > SLOW && most == usize::MAX {
                println!("{name}: {took:?} for {}", keep("slow", tried, &bytes).display());
            }
            slowest = slowest.max(took);
            tried += 1;
        }
        println!("{name}: {tried} inputs in {:.0} s, slowest {:?}", began.elapsed().as_secs_f64(), slowest);
    };
    std::thread::Builder::new().stack_size(STACK_BYTES).spawn(run).expect("a thread").join().expect("no panic");
}

fn quantity(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    match read_quantity(&text) {
        Ok(quantity) => assert!(quantity.si.is_finite(), "{quantity:?}"),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

fn table(bytes: &[u8]) {
    let made = Table::from_csv(&String::from_utf8_lossy(bytes));
    match made {
        Ok(table) => drop(table.describe()),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

fn json(bytes: &[u8]) {
    let made = Table::from_json(&String::from_utf8_lossy(bytes));
    match made {
        Ok(table) => drop(table.describe()),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

/// A damaged parquet file; only its bytes between head and foot are worth changing.
fn parquet(bytes: &[u8]) {
    let file = tempfile::Builder::new().suffix(".parquet").tempfile().expect("a file");
    let mut whole = bytes.to_vec();
    if whole.len() >= 8 {
        whole[..4].copy_from_slice(b"PAR1");
        let end = whole.len() - 4;
        whole[end..].copy_from_slice(b"PAR1");
    }
    std::fs::write(file.path(), &whole).expect("written");
    if let Err(error) = Table::read(file.path()) {
        assert!(!error.to_string().is_empty());
    }
}

fn script(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let place = tempfile::tempdir().expect("a folder");
    let mut session = Session::new(Folder::new(place.path()));
    session.engine_mut().set_max_operations(2_000);
    Entries::default().goes_on(&text);
    cells(&text);
    for cell in session.evaluate(&text).cells {
        assert!(cell.range.start <= cell.range.end && cell.range.end <= text.len());
        if let Some(error) = cell.error {
            assert!(!error.render(Color::No).is_empty() && !error.message.is_empty());
        }
    }
}

/// A live page for requests: its address, the path below which it is, and its secret.
struct Page {
    address: String,
    room: String,
    key: String,
    _folder: tempfile::TempDir,
}

/// Panics anywhere in the program: those of a thread of the server are seen nowhere else.
static PANICS: AtomicUsize = AtomicUsize::new(0);

static PAGE: LazyLock<Page> = LazyLock::new(|| {
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        PANICS.fetch_add(1, Ordering::SeqCst);
        usual(info);
    }));
    let outer = tempfile::tempdir().expect("a folder");
    let inside = outer.path().join("garden");
    std::fs::create_dir(&inside).expect("a folder");
    for (file, text) in [
        (outer.path().join("secret.csv"), "outside"),
        (inside.join("table.csv"), "a\n1\n"),
        (inside.join("study.rhai"), "let l = slider(\"length\", 1.ft, 9.ft, 2.ft);\nl * 2;\n"),
    ] {
        std::fs::write(file, text).expect("written");
    }
    let live = Live::open(&inside.join("study.rhai"), Arc::new(Context::new(Folder::new(&inside))), 0).expect("a free port");
    let url = live.url();
    let (address, rest) = url.trim_start_matches("http://").split_once('/').expect("a path");
    let (room, key) = rest.split_once("/?key=").expect("a secret");
    let page = Page { address: address.into(), room: room.into(), key: key.into(), _folder: outer };
    std::thread::spawn(move || live.serve());
    page
});

/// A request to the live page: it is answered or not, but the page goes on, and whoever lacks the secret learns nothing.
fn request(bytes: &[u8]) {
    let page = &*PAGE;
    let before = PANICS.load(Ordering::SeqCst);
    let (mut sent, mut rest) = (Vec::new(), bytes);
    while let Some(byte) = rest.first() {
        let words = [("HOST", &page.address), ("ROOM", &page.room), ("KEY", &page.key)];
        match words.iter().find(|(word, _)| rest.starts_with(word.as_bytes())) {
            Some((word, with)) => {
                sent.extend(with.bytes());
                rest = &rest[word.len()..];
            }
            None => {
                sent.push(*byte);
                rest = &rest[1..];
            }
        }
    }
    let mut stream = TcpStream::connect(&page.address).expect("it listens");
    stream.set_read_timeout(Some(Duration::from_secs(10))).expect("a time limit");
    let _ = stream.write_all(&sent); // It may have been refused by then.
    let _ = stream.shutdown(Shutdown::Write);
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    let answer = String::from_utf8_lossy(&answer);
    assert!(answer.is_empty() || answer.starts_with("HTTP/1."), "{answer}");
    assert!(!answer.contains("outside"), "{answer}");
    let knows = sent.windows(page.key.len()).any(|part| part == page.key.as_bytes());
    assert!(knows || !answer.starts_with("HTTP/1.1 20"), "{answer}");
    assert_eq!(PANICS.load(Ordering::SeqCst), before, "the server panics");
}

#[test]
fn changed_texts_of_quantities_are_answered() {
    fuzz("quantities", Length::Short, quantity);
}

#[test]
fn changed_tables_are_answered() {
    fuzz("tables", Length::Short, table);
}

#[test]
fn changed_tables_in_json_are_answered() {
    fuzz("json", Length::Short, json);
}

#[test]
fn changed_parquet_files_are_answered() {
    fuzz("parquet", Length::Short, parquet);
}

#[test]
fn changed_scripts_are_answered() {
    fuzz("scripts", Length::Short, script);
}

#[test]
fn changed_requests_are_answered() {
    fuzz("requests", Length::Short, request);
}

#[test]
#[ignore = "runs for HOSEWRIGHT_FUZZ_SECONDS"]
fn long_requests() {
    fuzz("requests", Length::Long, request);
}

#[test]
#[ignore = "runs for HOSEWRIGHT_FUZZ_SECONDS"]
fn long_quantities() {
    fuzz("quantities", Length::Long, quantity);
}

#[test]
#[ignore = "runs for HOSEWRIGHT_FUZZ_SECONDS"]
fn long_tables() {
    fuzz("tables", Length::Long, table);
}

#[test]
#[ignore = "runs for HOSEWRIGHT_FUZZ_SECONDS"]
fn long_json() {
    fuzz("json", Length::Long, json);
}

#[test]
#[ignore = "runs for HOSEWRIGHT_FUZZ_SECONDS"]
fn long_parquet() {
    fuzz("parquet", Length::Long, parquet);
}

#[test]
#[ignore = "runs for HOSEWRIGHT_FUZZ_SECONDS"]
fn long_scripts() {
    fuzz("scripts", Length::Long, script);
}
