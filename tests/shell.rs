//! The shell in a pseudo-terminal: prompt, several lines, Ctrl-C, completion, history and help.
#![cfg(unix)]

use rexpect::session::{PtySession, spawn_command};
use std::path::Path;
use std::process::Command;

const WAIT_MS: u64 = 10_000;

/// Control characters as the terminal sends them.
const TAB: &str = "\t";
const UP: &str = "\x1b[A";

fn shell(folder: &Path) -> PtySession {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("hosewright"));
    command.current_dir(folder).env("NO_COLOR", "1").env("TERM", "xterm").env("HOSEWRIGHT_HISTORY", folder.join("history"));
    let mut shell = spawn_command(command, Some(WAIT_MS)).expect("the shell starts");
    shell.exp_string("plot> ").expect("the prompt");
    shell
}

/// Sends a line and waits for a text in the answer, then for the next prompt.
fn ask(shell: &mut PtySession, line: &str, answer: &str) {
    shell.send_line(line).expect("sent");
    shell.exp_string(answer).unwrap_or_else(|error| panic!("{line}: {error}"));
    shell.exp_string("plot> ").expect("the prompt");
}

fn leave(mut shell: PtySession) {
    shell.send_line("quit").expect("sent");
    shell.exp_eof().expect("it ends");
}

#[test]
fn an_entry_may_go_over_several_lines() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send_line("fn twice(x) {").expect("sent");
    shell.exp_string("....> ").expect("the prompt that goes on");
    shell.send_line("2 * x").expect("sent");
    shell.exp_string("....> ").expect("the prompt that goes on");
    shell.send_line("}").expect("sent");
    shell.exp_string("plot> ").expect("the prompt");
    ask(&mut shell, "twice(21.ft)", "42 ft");
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
    shell.exp_string("plot> ").expect("the prompt");
    ask(&mut shell, "feed * 2", "200 ft");
    leave(shell);
}

#[test]
fn control_c_at_the_prompt_drops_the_entry_and_control_d_leaves() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = shell(folder.path());
    shell.send_line("let a = [1,").expect("sent");
    shell.exp_string("....> ").expect("the prompt that goes on");
    shell.send_control('c').expect("sent");
    shell.exp_string("plot> ").expect("the prompt");
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
    ask(&mut shell, &format!("help(\"in_u{TAB}\")"), "The plain number in the named unit");
    leave(shell);
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
    second.exp_string("plot> ").expect("the prompt");
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
