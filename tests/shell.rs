//! The shell in a pseudo-terminal: prompt, several lines, Ctrl-C, completion, history and help.
#![cfg(unix)]

use rexpect::session::{PtySession, spawn_command};
use std::io::Write;
use std::path::Path;
use std::process::Command;

const WAIT_MS: u64 = 10_000;

/// Control characters as the terminal sends them.
const TAB: &str = "\t";
const UP: &str = "\x1b[A";
/// What the line editor says once when it begins to read an entry: it asks the terminal to mark pasted text.
const READY: &str = "\x1b[?2004h";

fn shell(folder: &Path) -> PtySession {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("hosewright"));
    command.current_dir(folder).env("NO_COLOR", "1").env("TERM", "xterm").env("HOSEWRIGHT_HISTORY", folder.join("history"));
    let mut shell = spawn_command(command, Some(WAIT_MS)).expect("the shell starts");
    shell.exp_string(READY).expect("the prompt");
    shell
}

/// Sends a line and waits for a text in the answer, then for the next prompt.
fn ask(shell: &mut PtySession, line: &str, answer: &str) {
    shell.send_line(line).expect("sent");
    shell.exp_string(answer).unwrap_or_else(|error| panic!("{line}: {error}"));
    shell.exp_string(READY).expect("the prompt");
}

/// Sends bytes that are no text.
fn send_bytes(shell: &PtySession, bytes: &[u8]) {
    let mut terminal = shell.process().get_file_handle().expect("the terminal");
    terminal.write_all(bytes).expect("sent");
}

fn leave(mut shell: PtySession) {
    shell.send_line("quit").expect("sent");
    shell.exp_eof().expect("it ends");
}

#[test]
fn a_question_mark_lists_topics_by_question_and_searches() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "?", "How even is the coverage?");
    ask(&mut shell, "? friction loss", "loss_at   ");
    ask(&mut shell, "?hose", "hose(length, diameter)");
    ask(&mut shell, "? what's an (open", "no help on");
    shell.send_line("1 + 1").expect("sent");
    shell.exp_string("hosewright> ").expect("the prompt");
    shell.exp_string(READY).expect("the prompt");
    leave(shell);
}

#[test]
fn an_entry_may_go_over_several_lines() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send_line("fn twice(x) {").expect("sent");
    shell.exp_string("\n   goes on> ").expect("the lead");
    shell.send_line("2 * x").expect("sent");
    shell.send_line("}").expect("sent");
    shell.exp_string(READY).expect("the prompt");
    ask(&mut shell, "twice(21.ft)", "42 ft");
    ask(&mut shell, "keep(\"study.rhai\")", "kept 2 entries");
    let text = std::fs::read_to_string(folder.path().join("study.rhai")).expect("the script");
    assert_eq!(text, "fn twice(x) {\n2 * x\n};\ntwice(21.ft);\n");
    leave(shell);
    let history = std::fs::read_to_string(folder.path().join("history")).expect("the history");
    assert!(history.contains("fn twice(x) {\\n2 * x\\n}\n"), "{history}");
}

#[test]
fn backspace_at_the_beginning_of_a_line_that_goes_on_joins_it_to_the_one_above() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send_line("[4, ").expect("sent");
    shell.exp_string("\n   goes on> ").expect("the lead");
    shell.send("\x7f\x7f\x7f").expect("sent");
    shell.send_line("2]").expect("sent");
    shell.exp_string("\n[42]\r").expect("the value of one line");
    shell.exp_string(READY).expect("the prompt");
    // Tab in a line that goes on completes what stands there.
    shell.send_line("[").expect("sent");
    shell.exp_string("\n   goes on> ").expect("the lead");
    shell.send("bucket_te\t").expect("sent");
    shell.flush().expect("sent");
    shell.exp_string("goes on> bucket_test").expect("completed");
    shell.send_control('c').expect("sent");
    shell.exp_string(READY).expect("the prompt");
    leave(shell);
}

#[test]
fn control_c_stops_an_evaluation_and_keeps_the_variables() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "let feed = 100.ft; feed", "100 ft");
    shell.send_line("loop { }").expect("sent");
    std::thread::sleep(std::time::Duration::from_millis(300));
    shell.send_control('c').expect("sent");
    shell.exp_string("stopped: the evaluation was stopped").expect("the message");
    shell.exp_string(READY).expect("the prompt");
    ask(&mut shell, "feed * 2", "200 ft");
    leave(shell);
}

#[test]
fn control_c_at_the_prompt_drops_the_entry_and_control_d_leaves() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send_line("let a = [1,").expect("sent");
    shell.send_control('c').expect("sent");
    shell.exp_string(READY).expect("the prompt");
    ask(&mut shell, "1 + 1", "2");
    shell.send_control('d').expect("sent");
    shell.exp_eof().expect("it ends");
}

#[test]
fn the_tab_key_completes_words_units_and_topics() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "let waterline = 12.ft; waterline", "12 ft");
    ask(&mut shell, &format!("waterl{TAB}"), "12 ft");
    ask(&mut shell, &format!("44.imperial_gall{TAB}.to(\"L\")"), "200 L");
    ask(&mut shell, &format!("help(\"in_u{TAB}\")"), "The plain number of a quantity in the named unit");
    leave(shell);
}

#[test]
fn an_entry_of_several_lines_comes_back_whole_and_can_be_changed() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send_line("let sum = 20 +").expect("sent");
    ask(&mut shell, "1; sum", "21");
    // The entry again, from history: its end is changed.
    shell.send(UP).expect("sent");
    ask(&mut shell, " * 2", "42");
    leave(shell);
}

#[test]
fn control_r_searches_the_history() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "31.psi + 1.psi", "32 psi");
    ask(&mut shell, "1 + 1", "2");
    shell.send_control('r').expect("sent");
    shell.send("psi").expect("sent");
    shell.send_line("").expect("sent");
    shell.exp_string("32 psi").expect("the sum again");
    leave(shell);
}

#[test]
fn undo_brings_variables_back_and_redo_says_the_entry_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "let feed = 100.ft; feed", "100 ft");
    ask(&mut shell, "feed = 250.ft; feed", "250 ft");
    ask(&mut shell, "undo", "took back: feed = 250.ft; feed");
    ask(&mut shell, "feed * 3", "300 ft");
    ask(&mut shell, "undo", "took back: feed * 3");
    ask(&mut shell, "undo", "took back: let feed");
    ask(&mut shell, "feed", "there is no variable 'feed'");
    ask(&mut shell, "redo", "nothing to redo");
    ask(&mut shell, "let feed = 7.ft; feed * 2", "14 ft");
    ask(&mut shell, "undo", "took back");
    ask(&mut shell, "redo", "14 ft");
    leave(shell);
}

#[test]
fn keep_writes_what_worked_and_load_brings_it_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut first = shell(folder.path());
    ask(&mut first, "let feed = 100.ft", "");
    ask(&mut first, "feed + 1.psi", "cannot add");
    ask(&mut first, "let wide = feed * 2; no_such_thing", "there is no variable");
    ask(&mut first, "feed * 3", "300 ft");
    ask(&mut first, "keep(\"study.rhai\")", "kept 2 entries in study.rhai");
    ask(&mut first, "keep(\"../study.rhai\")", "leaves the folder");
    leave(first);
    let text = std::fs::read_to_string(folder.path().join("study.rhai")).expect("the script");
    assert_eq!(text, "let feed = 100.ft;\nfeed * 3;\n");
    let mut second = shell(folder.path());
    ask(&mut second, "load(\"study.rhai\")", "300 ft");
    ask(&mut second, "feed + 1.ft", "101 ft");
    ask(&mut second, "keep(\"study.rhai\")", "the file 'study.rhai' already exists");
    leave(second);
}

#[test]
fn a_saved_chart_is_drawn_in_characters_and_a_part_is_a_card() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "let t = table([#{ l: 1.ft, p: 9.psi }, #{ l: 2.ft, p: 4.psi }]); t.rows", "2");
    shell.send_line("chart(t).x(\"l\").y(\"p\").save(\"p.svg\")").expect("sent");
    shell.exp_string("saved p.svg").expect("the file");
    shell.exp_string("p (psi)").expect("the axis");
    // The bytes of a half block, which the library hands over one by one.
    shell.exp_string("\u{e2}\u{96}\u{80}").expect("a block");
    shell.exp_string("l (ft)").expect("the other axis");
    shell.exp_string(READY).expect("the prompt");
    ask(&mut shell, "hose(100.ft, (5/8).inch).named(\"feed\")", "feed (hose)");
    leave(shell);
}

#[test]
fn a_hint_tells_how_a_word_is_called() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send("hose(").expect("sent");
    shell.flush().expect("sent");
    shell.exp_string("hose(length, diameter)").expect("the signature");
    shell.send_line("1.ft, 1.inch).length").expect("sent");
    shell.exp_string("1 ft").expect("the value");
    leave(shell);
}

#[test]
fn a_narrow_terminal_gets_narrow_tables() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut command = Command::new("sh");
    let program = assert_cmd::cargo::cargo_bin("hosewright");
    command.args(["-c", &format!("stty cols 46; exec {}", program.display())]);
    command.current_dir(folder.path()).env("NO_COLOR", "1").env("TERM", "xterm").env("HOSEWRIGHT_HISTORY", "");
    let mut shell = spawn_command(command, Some(WAIT_MS)).expect("the shell starts");
    shell.exp_string(READY).expect("the prompt");
    shell.send_line("fittings()").expect("sent");
    let shown = shell.exp_string(READY).expect("the prompt");
    let table: Vec<&str> = shown.lines().skip(1).filter(|line| !line.contains('\x1b')).map(str::trim_end).collect();
    assert!(table.len() > 10 && table.iter().all(|line| line.chars().count() <= 46), "{shown}");
    leave(shell);
}

#[test]
fn without_no_color_the_entry_is_highlighted() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("hosewright"));
    command.current_dir(folder.path()).env_remove("NO_COLOR").env("TERM", "xterm-256color").env("HOSEWRIGHT_HISTORY", "");
    let mut shell = spawn_command(command, Some(WAIT_MS)).expect("the shell starts");
    shell.exp_string(READY).expect("the prompt");
    shell.send_line("5.psi").expect("sent");
    shell.exp_string("\x1b[36m5\x1b[0m").expect("a highlighted number");
    shell.exp_string("\x1b[32mpsi\x1b[0m").expect("a highlighted unit");
    leave(shell);
}

/// Enter keeps what is offered, `?` explains, `back` goes back, and Ctrl-D writes the study with what was said.
#[test]
fn new_in_a_terminal_ends_with_what_is_known() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("hosewright"));
    command.current_dir(folder.path()).arg("new").env("NO_COLOR", "1").env("TERM", "xterm");
    let mut new = spawn_command(command, Some(WAIT_MS)).expect("it starts");
    let mut answer = |question: &str, line: &str| {
        new.exp_string(question).unwrap_or_else(|error| panic!("{question}: {error}"));
        new.send_line(line).expect("sent");
    };
    answer("Name of the study? [my-plot]", "");
    answer("Which units", "metric");
    answer("[4 bar]", "4.5");
    answer("[20 L/min]", "back");
    answer("[4.5 bar]", "");
    answer("[20 L/min]", "10 L in 25 s");
    answer("[3.4 bar]", "?");
    answer("while the bucket fills", "3 bar");
    answer("How much higher", "-1.5");
    answer("booster pump? yes or no", "yes");
    new.exp_string("[30 m]").expect("the next question");
    send_bytes(&new, &[4]);
    new.exp_string("Usual values for the rest: length of the feed hose").expect("the end");
    new.exp_string("wrote my-plot.rhai").expect("a study");
    new.exp_eof().expect("it ends");
    let study = std::fs::read_to_string(folder.path().join("my-plot.rhai")).expect("a study");
    for part in ["supply(4.5.bar).measured(3.bar, 24.lpm)", "downhill(1.5.m)", "booster_from(2.bar", ".EUR", "not yours: length"]
    {
        assert!(study.contains(part), "{part}: {study}");
    }
    let check = Command::new(assert_cmd::cargo::cargo_bin("hosewright"))
        .current_dir(folder.path())
        .args(["check", "my-plot.rhai"])
        .status();
    assert!(check.expect("it runs").success());
}

#[test]
fn history_survives_the_shell() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut first = shell(folder.path());
    ask(&mut first, "31.psi + 1.psi", "32 psi");
    leave(first);
    let mut second = shell(folder.path());
    // Up once is the `quit` of the first shell, twice the sum.
    second.send(UP).expect("sent");
    second.send(UP).expect("sent");
    second.send_line("").expect("sent");
    second.exp_string("32 psi").expect("the sum again");
    second.exp_string(READY).expect("the prompt");
    leave(second);
}

#[test]
fn help_works_as_a_word_and_errors_show_their_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "help", "numbers with units");
    ask(&mut shell, "help sqrt", "The square root of a number");
    ask(&mut shell, "help sqr", "did you mean sqrt");
    ask(&mut shell, "30.psy", "did you mean psi");
    ask(&mut shell, "1 + 1", "2");
    leave(shell);
}

#[test]
fn lines_that_arrive_in_one_write_are_all_answered() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send("11 + 11\r12 + 12\r13 + 13\r").expect("sent");
    shell.flush().expect("sent");
    for answer in ["\n22\r", "\n24\r", "\n26\r"] {
        shell.exp_string(answer).unwrap_or_else(|error| panic!("{answer}: {error}"));
    }
    shell.exp_string(READY).expect("the prompt");
    leave(shell);
}

#[test]
fn lines_typed_while_an_entry_runs_are_answered_after_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send_line("let n = 0; while n < 400000 { n += 1 } n + 1").expect("sent");
    std::thread::sleep(std::time::Duration::from_millis(60));
    shell.send("n + 2\rn + 3\r").expect("sent");
    shell.flush().expect("sent");
    for answer in ["400001", "400002", "400003"] {
        shell.exp_string(answer).unwrap_or_else(|error| panic!("{answer}: {error}"));
    }
    shell.exp_string(READY).expect("the prompt");
    leave(shell);
}

#[test]
fn pasted_lines_run_as_one_entry_of_several_statements() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    // Marked as a paste, the lines come as one entry; semicolons at their ends may be missing.
    shell.send("\x1b[200~let a = 20\na + 1\n// a word\na + 2\n\x1b[201~\r").expect("sent");
    shell.flush().expect("sent");
    shell.exp_string("\n21\r").expect("the first value");
    shell.exp_string("\n22\r").expect("the second value");
    shell.exp_string(READY).expect("the prompt");
    ask(&mut shell, "undo", "took back: let a = 20; ...");
    ask(&mut shell, "a", "there is no variable 'a'");
    leave(shell);
}

#[test]
fn an_entry_that_begins_with_an_arrow_or_a_point_goes_on_from_the_one_before() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "let plot = supply(58.psi).measured(44.psi, 6.gpm); // the tap", "");
    ask(&mut shell, ">> hose(100.ft, (5/8).inch).named(\"feed\")", "continues from: let plot = ");
    // A mistake changes nothing, and the line can be said again.
    ask(&mut shell, ">> heat(\"bed\", (1/8).inch)", "the previous entry is unchanged");
    std::thread::sleep(std::time::Duration::from_millis(400));
    ask(&mut shell, ">> head(\"bed\", (1/8).inch)", "continues from: let plot = ");
    ask(&mut shell, "plot", "feed");
    ask(&mut shell, "plot.run()", "bed");
    ask(&mut shell, "  .pressure(\"bed\")", "psi");
    ask(&mut shell, "keep(\"study.rhai\")", "kept 3 entries");
    let text = std::fs::read_to_string(folder.path().join("study.rhai")).expect("the script");
    assert_eq!(
        text,
        "let plot = supply(58.psi).measured(44.psi, 6.gpm) // the tap\n>> hose(100.ft, (5/8).inch).named(\"feed\")\n\
         >> head(\"bed\", (1/8).inch);\nplot;\nplot.run()\n  .pressure(\"bed\");\n"
    );
    ask(&mut shell, "undo", "took back: plot.run() ...");
    ask(&mut shell, "undo", "took back: plot");
    ask(&mut shell, "undo", "took back: let plot");
    ask(&mut shell, "plot", "there is no variable 'plot'");
    leave(shell);
}

#[test]
fn a_pasted_garden_with_a_wrong_line_is_not_joined_around_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send("let plot = supply(58.psi)\r>> hosee(1.ft, 1.inch)\r>> head(\"bed\", (1/8).inch)\r").expect("sent");
    shell.flush().expect("sent");
    shell.exp_string("did you mean hose").expect("the mistake");
    shell.exp_string("the previous entry failed").expect("a refusal");
    shell.exp_string(READY).expect("the prompt");
    ask(&mut shell, "plot", "58 psi");
    leave(shell);
}

#[test]
fn an_arrow_with_nothing_before_it_is_told_what_to_do() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, ">> hose(1.ft, 1.inch)", "there is no entry to continue from");
    leave(shell);
}

#[test]
fn undo_passes_over_entries_that_failed() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "let feed = 100.ft", "");
    ask(&mut shell, "feed = 250.ft", "");
    ask(&mut shell, "fed", "there is no variable");
    ask(&mut shell, "for n in 0..3 { feed = 7.ft; if n == 1 { feed + 1.psi } }", "cannot add");
    ask(&mut shell, "feed", "250 ft");
    ask(&mut shell, "undo", "took back: feed\r");
    ask(&mut shell, "undo", "took back: feed = 250.ft");
    ask(&mut shell, "feed", "100 ft");
    leave(shell);
}

#[test]
fn keep_without_a_name_asks_for_a_script_and_never_writes_over_one() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("plot.rhai"), "1").expect("written");
    let mut shell = shell(folder.path());
    ask(&mut shell, "6 * 7", "42");
    ask(&mut shell, "keep", "keep(\"study.rhai\")");
    ask(&mut shell, "load", "load(\"study.rhai\")");
    ask(&mut shell, "keep plot.rhai", "the file 'plot.rhai' already exists");
    ask(&mut shell, "keep plot2", "kept 1 entry in plot2.rhai");
    assert_eq!(std::fs::read_to_string(folder.path().join("plot.rhai")).expect("the old one"), "1");
    assert_eq!(std::fs::read_to_string(folder.path().join("plot2.rhai")).expect("the new one"), "6 * 7;\n");
    leave(shell);
}

#[test]
fn a_byte_that_is_no_utf_8_ends_neither_the_shell_nor_the_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    ask(&mut shell, "let feed = 100.ft; feed", "100 ft");
    shell.send("feed * 3").expect("sent");
    shell.flush().expect("sent");
    shell.exp_string("feed * 3").expect("the line");
    send_bytes(&shell, b"\xff");
    shell.exp_string("a byte that is not UTF-8 was left out").expect("the reason");
    // What was typed stands there again, and goes on.
    shell.exp_string("feed * 3").expect("the line again");
    shell.send_line(" + 1.ft").expect("sent");
    shell.exp_string("301 ft").expect("the value");
    shell.exp_string(READY).expect("the prompt");
    // A letter of another encoding, in the middle of a word.
    send_bytes(&shell, b"1 + 1 // f\xfcr\r");
    shell.exp_string("a byte that is not UTF-8 was left out").expect("the reason");
    shell.exp_string("1 + 1 // f").expect("the line again");
    shell.send_control('c').expect("sent");
    shell.exp_string(READY).expect("the prompt");
    ask(&mut shell, "feed * 2", "200 ft");
    leave(shell);
}

#[test]
fn ten_thousand_entries_come_back_from_the_history() {
    let folder = tempfile::tempdir().expect("a folder");
    let many: String = (0..9_990).map(|n| format!("{n} + 0.5\n")).collect();
    std::fs::write(folder.path().join("history"), format!("#V2\n{many}")).expect("written");
    let mut first = shell(folder.path());
    ask(&mut first, "31.psi + 1.psi", "32 psi");
    leave(first);
    let kept = std::fs::read_to_string(folder.path().join("history")).expect("the history");
    assert!(kept.starts_with("#V2\n0 + 0.5\n") && kept.ends_with("31.psi + 1.psi\nquit\n"), "all entries are kept");
    let mut second = shell(folder.path());
    second.send_control('r').expect("sent");
    second.send("7 + 0.5").expect("sent");
    second.send_control('r').expect("sent");
    second.send_line("").expect("sent");
    second.exp_string("9977.5").expect("an old entry");
    second.exp_string(READY).expect("the prompt");
    leave(second);
}

#[test]
fn what_a_terminal_would_obey_is_shown_and_not_obeyed() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("t.csv"), "\x1b[2Jname,n\n\x1b]0;title\x07x,1\n").expect("written");
    let mut shell = shell(folder.path());
    for (entry, answer) in [
        ("let t = read_table(\"t.csv\"); t", "\u{241b}[2Jname"),
        ("t.row(0)", "]0;title"),
        ("print(\"a\\x1b[2Jb\")", "a\u{241b}[2Jb"),
        ("throw \"a\\x1b[2Jb\"", "a\u{241b}[2Jb"),
        ("#{ a: \"a\\x1b[2Jb\" }", "[2Jb"),
        ("load(\"\\x07.rhai\")", "x07.rhai"),
    ] {
        shell.send_line(entry).expect("sent");
        let shown = shell.exp_string(READY).unwrap_or_else(|error| panic!("{entry}: {error}"));
        // The library hands over bytes one by one.
        let bytes: Vec<u8> = shown.chars().map(|sign| sign as u8).collect();
        let shown = String::from_utf8_lossy(&bytes);
        assert!(shown.contains(answer), "{entry}: {shown:?}");
        assert!(!shown.contains("\u{1b}[2J") && !shown.contains("\u{1b}]") && !shown.contains('\u{7}'), "{entry}: {shown:?}");
    }
    leave(shell);
}
