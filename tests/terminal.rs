//! What is printed in terminals of several widths: nothing is lost, no word is cut, colors are the reader's choice.
#![cfg(unix)]

use rexpect::session::{PtySession, spawn_command};
use std::path::Path;
use std::process::Command;

const WAIT_MS: u64 = 20_000;
/// What the line editor says once when it begins to read an entry.
const READY: &str = "\x1b[?2004h";

/// What a terminal would show of the output: colors and moves of the cursor taken away, as far as it is text that stays.
fn plain(shown: &str) -> String {
    let bytes: Vec<u8> = shown.chars().map(|sign| sign as u8).collect();
    anstream::adapter::strip_str(&String::from_utf8_lossy(&bytes)).to_string().replace('\r', "")
}

const WIDE_STUDY: &str = "// # How wide must the feed be?\n// A head below 30 psi stalls, so the berry row needs the wider hose, which costs more than the narrow one.\n\
    let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named(\"feed\")\n    \
    >> [ valve(\"beds\") >> head(\"first bed\", (1/8).inch).operating_range(25.psi, 60.psi),\n         \
         valve(\"berries\") >> head(\"berry row\", (5/32).inch).operating_range(50.psi, 60.psi) ];\n\
    let t = sweep(plot, vary(\"feed.length\", [50.ft, 100.ft]).vary(\"feed.diameter\", [(1/2).inch, (5/8).inch]).vary_zones([\"beds\", \"berries\"]));\n\
    t.with(\"supply_pressure\", 58.psi);\nplot.run(\"berries\").pressure(\"berry row\");\nplot.run(\"berries\");\n";

/// A program in a terminal of so many columns.
fn in_terminal(folder: &Path, columns: usize, arguments: &str, color: bool) -> PtySession {
    let mut command = Command::new("sh");
    let program = assert_cmd::cargo::cargo_bin("hosewright");
    command.args(["-c", &format!("stty cols {columns} rows 40; exec '{}' {arguments}", program.display())]);
    command.current_dir(folder).env("TERM", "xterm").env("HOSEWRIGHT_HISTORY", folder.join("history")).env_remove("COLUMNS");
    if color {
        command.env_remove("NO_COLOR")
    } else {
        command.env("NO_COLOR", "1")
    };
    spawn_command(command, Some(WAIT_MS)).expect("the program starts")
}

#[test]
fn a_study_fits_terminals_of_60_80_and_120_columns_without_losing_a_column_or_cutting_a_word() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("s.rhai"), WIDE_STUDY).expect("written");
    for columns in [60, 80, 120] {
        let text = plain(&in_terminal(folder.path(), columns, "run s.rhai", false).exp_eof().expect("it ends"));
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines.iter().all(|line| line.chars().count() <= columns), "{columns}: {text}");
        for name in ["first bed.pressure", "berry row.pressure", "first bed.flow", "berry row.flow", "reason"] {
            assert!(text.contains(name), "{columns}: {name}: {text}");
        }
        // The axes stand in every panel of the sweep, and what is the same in every row stands above.
        let panels = lines.iter().filter(|line| line.contains("berry row.") || line.contains("first bed.")).count();
        let with_axes = lines.iter().filter(|line| line.contains("feed.length") && !line.contains("throughout")).count();
        assert!(panels <= with_axes, "{columns}: {text}");
        assert!(text.contains("supply_pressure 58 psi"), "{columns}: {text}");
        let prose: String =
            lines.iter().skip(1).take_while(|line| !line.trim().is_empty()).copied().collect::<Vec<_>>().join(" ");
        assert!(
            prose.contains("so the berry row needs the wider hose, which costs more than the narrow one."),
            "{columns}: {prose}"
        );
        let value = lines.iter().find(|line| line.contains("plot.run(\"berries\").pressure")).expect("the statement");
        assert!(columns < 80 || value.contains(" psi "), "{columns}: {value}");
        // The garden as a tree with its pressures.
        assert!(text.contains("|   first bed") || text.contains("+-- berries"), "{columns}: {text}");
    }
}

#[test]
fn the_shell_fits_its_answers_to_the_terminal() {
    let folder = tempfile::tempdir().expect("a folder");
    for columns in [60, 80, 120] {
        let mut shell = in_terminal(folder.path(), columns, "", false);
        shell.exp_string(READY).expect("the prompt");
        shell.send_line("(supply(58.psi) >> hose(400.ft, (1/2).inch) >> head(\"a\", (1/8).inch).operating_range(50.psi, 60.psi)).run().findings()").expect("sent");
        let shown = plain(&shell.exp_string(READY).expect("the prompt"));
        let answer: Vec<&str> =
            shown.lines().skip_while(|line| !line.starts_with("Warning") && !line.starts_with("Danger")).collect();
        assert!(answer.len() > 3 && answer.iter().all(|line| line.chars().count() <= columns), "{columns}: {shown}");
        shell.send_line("quit").expect("sent");
        shell.exp_eof().expect("it ends");
    }
}

#[test]
fn heads_are_bold_and_warnings_are_colored_unless_somebody_forbids_it() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("s.rhai"), WIDE_STUDY).expect("written");
    let colored = in_terminal(folder.path(), 100, "run s.rhai", true).exp_eof().expect("it ends");
    assert!(colored.contains("\u{1b}[1m# How wide must the feed be?\u{1b}[0m"), "{colored}");
    assert!(colored.contains("\u{1b}[33mWarning\u{1b}[0m") && colored.contains("\u{1b}[33mbelow range\u{1b}[0m"), "{colored}");
    let bare = in_terminal(folder.path(), 100, "run s.rhai", false).exp_eof().expect("it ends");
    assert!(!bare.contains('\u{1b}'), "{bare:?}");
}

#[test]
fn what_says_that_work_goes_on_is_wiped_before_the_answer() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shell = in_terminal(folder.path(), 60, "", false);
    shell.exp_string(READY).expect("the prompt");
    shell.send_line("loop { }").expect("sent");
    shell.exp_string("working for ").expect("it says so");
    shell.send_control('c').expect("sent");
    let shown = shell.exp_string("stopped: ").expect("the answer");
    assert!(shown.contains("Ctrl-C stops it") && shown.contains("\r\u{1b}[J"), "{shown:?}");
    shell.exp_string(READY).expect("the prompt");
    shell.send_line("quit").expect("sent");
    shell.exp_eof().expect("it ends");
}
