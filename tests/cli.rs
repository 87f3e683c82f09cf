//! The command line from outside: exit codes, standard output and standard error.

use assert_cmd::Command;
use std::fs;
use std::process::Stdio;

fn hosewright() -> Command {
    let mut command = Command::cargo_bin("hosewright").expect("the program is built");
    command.env("NO_COLOR", "1").env("HOSEWRIGHT_HISTORY", "").env_remove("COLUMNS");
    command
}

fn stdout(command: &mut Command) -> String {
    String::from_utf8(command.assert().success().get_output().stdout.clone()).expect("text")
}

/// Exit code and standard error of a command that must fail with nothing on standard output.
fn failure(command: &mut Command) -> (i32, String) {
    let output = command.assert().failure().get_output().clone();
    assert_eq!(String::from_utf8_lossy(&output.stdout), "");
    (output.status.code().expect("an exit code"), String::from_utf8(output.stderr).expect("text"))
}

#[test]
fn eval_prints_one_value_a_line_and_keeps_variables() {
    assert_eq!(stdout(hosewright().args(["eval", "let diameter = (5/8).inch; diameter", "diameter * 2"])), "5/8 in\n1 1/4 in\n");
}

#[test]
fn eval_shows_the_chosen_units() {
    assert_eq!(stdout(hosewright().args(["eval", "--units", "metric", "100.ft"])), "30.5 m\n");
    assert_eq!(stdout(hosewright().args(["eval", "3.bar", "--units", "us"])), "43.5 psi\n");
}

#[test]
fn eval_answers_in_json() {
    let text = stdout(hosewright().args(["eval", "--json", "44.psi.to(\"bar\")", "[1, true, \"x\"]"]));
    let answer: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(answer["shown"][0], "3.03 bar");
    assert_eq!(answer["values"][0]["unit"], "bar");
    // 44 psi in pascal by the exact pound, inch and standard gravity (NIST SP 811).
    approx::assert_relative_eq!(answer["values"][0]["si"].as_f64().expect("a number"), 303_369.320_9, max_relative = 1e-9);
    assert_eq!(answer["values"][1], serde_json::json!([1, true, "x"]));
    assert!(answer["error"].is_null());
}

#[test]
fn eval_in_json_tells_the_error_and_its_place() {
    let output = hosewright().args(["eval", "--json", "1.psi +\n 2.ft"]).assert().code(1).get_output().clone();
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(answer["error"]["message"], "cannot add 1 psi (a pressure) and 2 ft (a length)");
    assert_eq!(answer["error"]["place"]["line"], 1);
    assert_eq!(answer["error"]["place"]["column"], 7);
    assert_eq!(answer["error"]["place"]["excerpt"], "1.psi +");
    assert_eq!((&answer["error"]["place"]["excerpt_from"], &answer["error"]["place"]["excerpt_to"]), (&6.into(), &7.into()));
}

#[test]
fn a_failing_script_says_where_on_standard_error_and_exits_with_1() {
    let (code, text) = failure(hosewright().args(["eval", "30.psi + 100.ft"]));
    assert_eq!(code, 1);
    insta::assert_snapshot!(text);
}

#[test]
fn a_wrong_command_line_exits_with_2() {
    assert_eq!(failure(hosewright().arg("eval")).0, 2);
    assert_eq!(failure(hosewright().arg("dig")).0, 2);
}

#[test]
fn a_missing_file_exits_with_3_and_names_the_nearest() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("berries.rhai"), "1").expect("written");
    let (code, text) = failure(hosewright().current_dir(folder.path()).args(["run", "berrys.rhai"]));
    assert_eq!(code, 3);
    assert_eq!(text, "hosewright: cannot read 'berrys.rhai': no such file or folder\n  did you mean berries.rhai?\n");
}

#[test]
fn a_file_that_is_no_text_exits_with_3() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("bytes.rhai"), [0xff, 0xfe, 0x00]).expect("written");
    let (code, text) = failure(hosewright().current_dir(folder.path()).args(["run", "bytes.rhai"]));
    assert_eq!(code, 3);
    assert!(text.contains("it is not a text in UTF-8"), "{text}");
}

const STUDY: &str = "/* # How wide?\n   The diameters to choose from. */\nlet diameters = [(1/2).inch, (5/8).inch];\ndiameters;\nprint(\"two diameters\");\n\n// The wider one.\nmax(diameters);\n// That is all.\n";

#[test]
fn run_prints_prose_and_values_below_it() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("diameters.rhai"), STUDY).expect("written");
    insta::assert_snapshot!(stdout(hosewright().current_dir(folder.path()).args(["run", "diameters.rhai"])));
}

#[test]
fn run_reads_a_study_from_standard_input() {
    assert_eq!(stdout(hosewright().args(["run", "-"]).write_stdin("1 + 1")), "    2              1 + 1\n");
}

#[test]
fn run_imports_from_the_folder_of_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("beds.rhai"), "export const WIDTH = 3.ft;").expect("written");
    let study = folder.path().join("study.rhai");
    fs::write(&study, "import \"beds\" as beds;\nbeds::WIDTH").expect("written");
    assert_eq!(stdout(hosewright().args(["run".as_ref(), study.as_os_str()])), "    3 ft           beds::WIDTH\n");
}

#[test]
fn a_study_shows_what_came_before_its_error() {
    let output = hosewright()
        .args(["run", "-"])
        .write_stdin("// Prose\n1;\n1.psi + 1.ft;\n// never")
        .assert()
        .code(1)
        .get_output()
        .clone();
    assert_eq!(String::from_utf8_lossy(&output.stdout), "Prose\n\n    1\n");
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot add 1 psi"));
}

#[test]
fn a_study_with_an_unknown_name_does_not_begin() {
    let (code, text) = failure(hosewright().args(["run", "-"]).write_stdin("// Prose\n1;\nfeed;\n"));
    assert_eq!(code, 1);
    assert!(text.contains("there is no variable 'feed'"), "{text}");
}

#[test]
fn entries_from_a_pipe_are_answered_without_a_prompt() {
    let output = hosewright()
        .write_stdin("let a = 1.ft\nfn twice(x) {\n  2 * x\n}\ntwice(a)\nfed\na\nquit\n99\n")
        .assert()
        .code(1)
        .get_output()
        .clone();
    assert_eq!(String::from_utf8_lossy(&output.stdout), "2 ft\n1 ft\n");
    assert!(String::from_utf8_lossy(&output.stderr).contains("there is no variable 'fed'"));
}

#[test]
fn a_reader_that_stops_early_is_no_error() {
    let program = assert_cmd::cargo::cargo_bin("hosewright");
    let mut child = std::process::Command::new(program)
        .args(["eval", "for i in 0..100000 { print(\"a long line that fills the pipe of the reader\") }"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert_eq!(output.status.code(), Some(0));
}

/// Runs that take for ever.
const ENDLESS: [&str; 4] = [
    "loop { }",
    "try { sweep(vary(\"x\", between(1, 2)).samples(50000000), |c| c.x).save(\"o.csv\"); } catch { } table([#{ a: 1 }]).save(\"o.csv\")",
    "let well = supply(20.psi) >> check_valve().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named(\"pump\")
        >> pressure_tank(5.gal, 28.psi).named(\"tank\") >> pressure_switch(30.psi, 50.psi) >> leak(\"drip\", 6.gph, 40.psi);
        sweep_operation(well, vary(\"tank.volume\", steps(1.gal, 100.gal, 0.01.gal)), schedule([]), 900.days).save(\"o.csv\")",
    "let line = supply(50.psi).measured(40.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> valve(\"bed\") >> head(\"spray\", (1/8).inch);
        let day = timer(\"east\").start(\"05:30\").zone(\"bed\", 20.min);
        loop { line.failure_study(day, 900.days).save(\"o.csv\"); }",
];

#[cfg(unix)]
#[test]
fn an_interrupt_stops_whatever_runs_with_130() {
    for script in ENDLESS {
        let home = tempfile::tempdir().expect("a folder");
        let child = std::process::Command::new(assert_cmd::cargo::cargo_bin("hosewright"))
            .args(["eval", script])
            .current_dir(home.path())
            .env("NO_COLOR", "1")
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        std::thread::sleep(std::time::Duration::from_millis(500));
        let killed = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill");
        assert!(killed.success());
        let output = child.wait_with_output().expect("it ends");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(130), "{script}: {said}");
        assert!(said.starts_with("stopped: the evaluation was stopped"), "{script}: {said}");
    }
}

#[test]
fn a_study_that_meets_its_limit_of_time_is_an_error_and_goes_no_further() {
    for script in ENDLESS {
        let home = tempfile::tempdir().expect("a folder");
        std::fs::write(home.path().join("s.rhai"), script).expect("written");
        let failed = hosewright().current_dir(home.path()).args(["run", "s.rhai", "--time-limit", "0.5"]).assert().code(1);
        let said = String::from_utf8_lossy(&failed.get_output().stderr).into_owned();
        assert!(said.starts_with("limit: this takes longer than 0.5 s, the time limit"), "{script}: {said}");
        if !script.contains("loop { line") {
            assert!(!home.path().join("o.csv").exists(), "{script}");
        }
    }
}

#[test]
fn the_help_of_the_command_line_tells_commands_and_exit_codes() {
    insta::assert_snapshot!(stdout(hosewright().arg("--help")));
}

#[test]
fn the_reference_names_areas_and_words() {
    let page = stdout(hosewright().arg("reference"));
    assert!(page.starts_with("# Functions of hosewright\n"));
    for heading in ["\n## units: numbers with units, conversion\n", "\n### sqrt\n"] {
        assert_eq!(page.matches(heading).count(), 1, "{heading}");
    }
}

#[test]
fn eval_reads_standard_input() {
    assert_eq!(stdout(hosewright().arg("eval").write_stdin("let a = 1.ft;\na * 2")), "2 ft\n");
    assert_eq!(stdout(hosewright().args(["eval", "--units", "metric", "-"]).write_stdin("100.ft")), "30.5 m\n");
}

#[test]
fn a_report_stands_beside_the_study_and_differs_in_its_times_only() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("diameters.rhai"), STUDY).expect("written");
    let mut pages = Vec::new();
    for _ in 0..2 {
        assert_eq!(
            stdout(hosewright().current_dir(folder.path()).args(["run", "diameters.rhai", "--report"])),
            "wrote diameters.html\n"
        );
        let page = fs::read_to_string(folder.path().join("diameters.html")).expect("the page");
        let timeless: Vec<String> = page
            .lines()
            .filter(|line| ![">took ", ">took<", ">run on<"].iter().any(|mark| line.contains(mark)))
            .map(String::from)
            .collect();
        assert!(page.lines().count() - timeless.len() < 6, "{page}");
        pages.push(timeless);
    }
    assert_eq!(pages[0], pages[1]);
    let page = pages[0].join("\n");
    for text in ["<title>How wide?</title>", "The diameters to choose from.", "[1/2 in, 5/8 in]", "two diameters", "That is all."]
    {
        assert!(page.contains(text), "{text}");
    }
    assert!(!page.contains("http://") && !page.contains("https://"), "it needs nothing from anywhere");
}

#[test]
fn a_report_in_markdown_holds_prose_code_and_values() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("diameters.rhai"), STUDY).expect("written");
    let mut command = hosewright();
    command.current_dir(folder.path()).env("SOURCE_DATE_EPOCH", "1700000000").args(["run", "diameters.rhai", "--report", "md"]);
    assert_eq!(stdout(&mut command), "wrote diameters.md\n");
    insta::assert_snapshot!(fs::read_to_string(folder.path().join("diameters.md")).expect("the report"));
}

#[test]
fn a_report_shows_errors_in_their_place_and_exits_with_1() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("a.rhai"), "let a = 1.psi + 1.ft;\na;\n6 * 7;\n").expect("written");
    let output =
        hosewright().current_dir(folder.path()).args(["run", "a.rhai", "--report"]).assert().code(1).get_output().clone();
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot add 1 psi"));
    let page = fs::read_to_string(folder.path().join("a.html")).expect("the page");
    for text in ["cannot add 1 psi", "Line 2 did not run: it needs &#39;a&#39;, and line 1 failed", ">42<"] {
        assert!(page.contains(text), "{text} in {page}");
    }
}

#[test]
fn check_tells_mistakes_and_findings_and_writes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let study = "let plot = supply(50.psi) >> hose(50.ft, (5/8).inch) >> head(\"spray\", (1/8).inch);\nplot.run();\n1.psi + 1.ft;\n\
        chart(table([#{ a: 1, b: 2 }])).x(\"a\").y(\"b\").save(\"c.svg\");\n";
    fs::write(folder.path().join("a.rhai"), study).expect("written");
    let output = hosewright().current_dir(folder.path()).args(["check", "a.rhai"]).assert().code(1).get_output().clone();
    insta::assert_snapshot!(String::from_utf8_lossy(&output.stdout));
    let output =
        hosewright().current_dir(folder.path()).args(["check", "a.rhai", "--json"]).assert().code(1).get_output().clone();
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(answer["errors"][0]["place"]["line"], 3);
    assert_eq!(answer["findings"][0]["code"], "no-backflow-preventer");
    assert_eq!(fs::read_dir(folder.path()).expect("the folder").count(), 1, "only the study is there");
}

#[test]
fn check_names_the_garden_of_each_finding_and_its_acceptance() {
    let folder = tempfile::tempdir().expect("a folder");
    let study = "fn plot(length) { supply(50.psi).measured(40.psi, 6.gpm) >> hose(length, (5/8).inch) >> head(\"spray\", (1/8).inch) }\n\
        let lawn = plot(50.ft).accept(\"no-backflow-preventer\", \"a well of our own\");\nlet bed = plot(60.ft);\nlet border = bed;\n\
        lawn.run().findings();\nplot(70.ft).branch(\"hose\", head(\"dry\", (1/8).inch).operating_range(90.psi, 99.psi)).run().findings();\n";
    fs::write(folder.path().join("a.rhai"), study).expect("written");
    let output =
        hosewright().current_dir(folder.path()).args(["check", "a.rhai", "--json"]).assert().code(0).get_output().clone();
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let found = answer["findings"].as_array().expect("findings");
    let gardens = |code: &str| -> Vec<(serde_json::Value, serde_json::Value, serde_json::Value)> {
        let of_code = found.iter().filter(|one| one["code"] == code);
        of_code.map(|one| (one["gardens"].clone(), one["line"].clone(), one["accepted"].clone())).collect()
    };
    use serde_json::json;
    assert_eq!(gardens("below-range"), [(json!(["plot()"]), json!(6), json!(null))]);
    assert_eq!(
        gardens("no-backflow-preventer"),
        [(json!(["plot()", "bed", "border"]), json!(6), json!(null)), (json!(["lawn"]), json!(5), json!("a well of our own"))]
    );
    let output = hosewright().current_dir(folder.path()).args(["check", "a.rhai"]).assert().code(0).get_output().clone();
    insta::assert_snapshot!(String::from_utf8_lossy(&output.stdout));
}

#[test]
fn new_asks_and_writes_a_study_that_checks_well() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut new = hosewright();
    new.current_dir(folder.path()).args(["new", "willow-lane"]).write_stdin("\n".repeat(14));
    let said = stdout(&mut new);
    assert!(said.contains("\nwrote willow-lane.rhai\n") && said.ends_with("hosewright live willow-lane.rhai\n"), "{said}");
    hosewright().current_dir(folder.path()).args(["check", "willow-lane.rhai"]).assert().success();
    let (code, text) = failure(hosewright().current_dir(folder.path()).args(["new", "willow-lane"]).write_stdin("\n"));
    assert_eq!((code, text.contains("already")), (3, true));
    assert_eq!(failure(hosewright().current_dir(folder.path()).args(["new", "../x"])).0, 3);
}

#[test]
fn completions_and_the_manual_page_know_all_commands() {
    for shell in ["bash", "zsh", "fish"] {
        let text = stdout(hosewright().args(["completions", shell]));
        assert!(text.contains("live") && text.contains("check"), "{shell}");
    }
    let manual = stdout(hosewright().arg("man"));
    assert!(manual.contains(".TH hosewright 1") && manual.contains(".SH \"HOSEWRIGHT RUN\""), "{manual}");
    assert!(!manual.contains("hosewright\\-run(1)"), "it names no page that does not exist");
}

#[test]
fn live_of_a_missing_file_exits_with_3() {
    assert_eq!(failure(hosewright().args(["live", "no-such-study.rhai"])).0, 3);
}

#[test]
fn a_mark_at_the_start_of_a_file_and_windows_line_ends_do_no_harm() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("a.rhai"), "\u{feff}let a = 3.ft;\r\n// prose\r\na;\r\n").expect("written");
    let shown = stdout(hosewright().current_dir(folder.path()).args(["run", "a.rhai"]));
    assert!(shown.contains("3 ft"), "{shown}");
}

#[test]
fn what_cannot_be_a_study_is_told_with_what_to_do() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("good.rhai"), "1").expect("written");
    fs::write(folder.path().join("goods.rhai"), [0xff, 0xfe]).expect("written");
    fs::create_dir(folder.path().join("beds")).expect("a folder");
    for (arguments, code, hint) in [
        (&["run", "beds"][..], 3, "give a study in it, such as beds/study.rhai"),
        (&["run", "goods.rhai"], 3, "save it again as plain text in UTF-8"),
        (&["run", "none.txt"], 3, "there is no such file in this folder"),
        (&["good.rhai"], 2, "hosewright run good.rhai"),
    ] {
        let (ended, text) = failure(hosewright().current_dir(folder.path()).args(arguments));
        assert_eq!((ended, text.contains(hint)), (code, true), "{arguments:?}: {text}");
    }
}

#[test]
fn a_report_may_be_asked_for_before_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("a.rhai"), "1").expect("written");
    let said = stdout(hosewright().current_dir(folder.path()).args(["run", "--report", "a.rhai"]));
    assert_eq!(said, "wrote a.html\n");
}

#[test]
fn an_interview_that_ends_early_writes_what_is_known() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut new = hosewright();
    new.current_dir(folder.path()).args(["new", "a", "--units", "metric"]).write_stdin("\n5 bar\n");
    let said = stdout(&mut new);
    assert!(said.contains("Usual values for the rest: flow of the tap, working pressure,"), "{said}");
    let study = fs::read_to_string(folder.path().join("a.rhai")).expect("a study");
    assert!(
        study.contains("supply(5.bar).measured(3.8.bar, 20.lpm)") && study.contains("Usual values, not yours: flow"),
        "{study}"
    );
    let shown = stdout(hosewright().current_dir(folder.path()).args(["run", "a.rhai"]));
    for part in ["beds open", "saved a.svg", "nothing is wrong: there is nothing to cure", "Follow local code"] {
        assert!(shown.contains(part), "{part}: {shown}");
    }
    // Without a name there is nothing to write.
    hosewright().current_dir(folder.path()).arg("new").write_stdin("").assert().code(3);
}

#[test]
fn a_study_answers_in_json_cell_by_cell() {
    let folder = tempfile::tempdir().expect("a folder");
    let study = "// # A study\nlet plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named(\"feed\")\n    \
        >> head(\"berry\", (5/32).inch).operating_range(30.psi, 60.psi);\nplot.run();\nplot.run().table();\nplot.run().findings();\n\
        hose(100.ft, (5/8).inch);\nplot;\n1.psi + 2.ft;\n";
    fs::write(folder.path().join("a.rhai"), study).expect("written");
    let run = |units: &str| -> serde_json::Value {
        let output = hosewright()
            .current_dir(folder.path())
            .args(["run", "a.rhai", "--json", "--units", units])
            .assert()
            .code(1)
            .get_output()
            .clone();
        serde_json::from_slice(&output.stdout).expect("JSON")
    };
    let answer = run("metric");
    let value = |at: usize| &answer["cells"][at]["value"];
    assert_eq!(answer["cells"][0]["lines"], serde_json::json!([4, 4]));
    assert_eq!(value(0)["kind"], "result");
    let column = &value(1)["columns"][3];
    assert_eq!((&column["name"], &column["unit"]), (&"pressure".into(), &"bar".into()));
    let (bar, pa) = (column["values"][2].as_f64().expect("a number"), column["si"][2].as_f64().expect("a number"));
    assert!((bar * 1e5 - pa).abs() < 1e-6, "{bar} bar, {pa} Pa");
    assert_eq!(value(1)["rows"], 3);
    assert!(value(2)["findings"][0]["code"].is_string() && value(2)["findings"][0]["level"].is_string());
    assert_eq!(value(3)["numbers"]["length"]["unit"], "m");
    assert_eq!(value(4)["parts"][1]["name"], "feed");
    assert_eq!(answer["error"]["place"]["line"], 9, "{}", answer["error"]);
    assert_eq!(run("us")["cells"][1]["value"]["columns"][3]["unit"], "psi");
}

/// A study whose run saves a file for long enough to be ended in the middle of it.
#[cfg(unix)]
const LONG_SAVE: &str = "let g = supply(58.psi) >> hose(100.ft, (5/8).inch).named(\"feed\") >> head(\"h\", (1/8).inch);\n\
    sweep_to(\"cases.parquet\", g, vary(\"feed.length\", steps(1.ft, 30000.ft, 0.04.ft)));\n";

/// Names of the unfinished files of a folder.
#[cfg(unix)]
fn unfinished_names(folder: &std::path::Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("the folder");
    let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
    names.filter(|name| name.starts_with(".hosewright-")).collect()
}

#[cfg(unix)]
fn unfinished(folder: &std::path::Path) -> usize {
    unfinished_names(folder).len()
}

/// Starts a command of the shell in a folder with a study that saves for long, and waits until it does.
#[cfg(unix)]
fn saving(folder: &std::path::Path, command: &str) -> std::process::Child {
    fs::write(folder.join("long.rhai"), LONG_SAVE).expect("written");
    let command = command.replace("hosewright", &assert_cmd::cargo::cargo_bin("hosewright").display().to_string());
    let mut shell = std::process::Command::new("sh");
    shell.current_dir(folder).args(["-c", &command]).stdout(Stdio::null()).stderr(Stdio::null());
    let before = unfinished_names(folder);
    let child = shell.spawn().expect("it starts");
    let until = std::time::Instant::now() + std::time::Duration::from_secs(20);
    while unfinished_names(folder).iter().all(|name| before.contains(name)) {
        assert!(std::time::Instant::now() < until, "nothing is saved");
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    child
}

#[cfg(unix)]
fn signal(child: &std::process::Child, name: &str) {
    let sent = std::process::Command::new("kill").args([name, &child.id().to_string()]).status().expect("kill");
    assert!(sent.success());
}

#[cfg(unix)]
#[test]
fn a_run_that_the_system_ends_leaves_no_unfinished_file() {
    use std::os::unix::process::ExitStatusExt;
    for (name, number) in [("-TERM", 15), ("-HUP", 1)] {
        let folder = tempfile::tempdir().expect("a folder");
        let mut child = saving(folder.path(), "exec hosewright run long.rhai");
        signal(&child, name);
        let status = child.wait().expect("it ends");
        assert_eq!(status.signal(), Some(number), "whoever started it sees what ended it");
        assert_eq!(unfinished(folder.path()), 0, "{name}");
        assert_eq!(fs::read_dir(folder.path()).expect("the folder").count(), 1, "only the study is there");
    }
}

#[cfg(unix)]
#[test]
fn a_second_control_c_leaves_no_unfinished_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut child = saving(folder.path(), "exec hosewright run long.rhai");
    signal(&child, "-INT");
    signal(&child, "-INT");
    assert_eq!(child.wait().expect("it ends").code(), Some(130));
    assert_eq!(unfinished(folder.path()), 0);
}

#[cfg(unix)]
#[test]
fn the_next_start_takes_away_what_a_killed_run_left_and_nothing_of_a_living_one() {
    let folder = tempfile::tempdir().expect("a folder");
    for _ in 0..3 {
        let mut child = saving(folder.path(), "exec hosewright run long.rhai");
        signal(&child, "-KILL");
        child.wait().expect("it ends");
    }
    // Each start has swept up behind the one before.
    assert_eq!(unfinished(folder.path()), 1);
    hosewright().current_dir(folder.path()).args(["eval", "1"]).assert().success();
    assert_eq!(unfinished(folder.path()), 0);
    let mut living = saving(folder.path(), "exec hosewright run long.rhai");
    hosewright().current_dir(folder.path()).args(["eval", "1"]).assert().success();
    assert_eq!(unfinished(folder.path()), 1, "the living one goes on");
    signal(&living, "-KILL");
    living.wait().expect("it ends");
    hosewright().current_dir(folder.path()).args(["check", "long.rhai", "--time-limit", "0.1"]).assert().failure();
    assert_eq!(unfinished(folder.path()), 1, "check changes nothing");
    hosewright().current_dir(folder.path()).args(["eval", "1"]).assert().success();
    assert_eq!(unfinished(folder.path()), 0);
}

#[cfg(target_os = "linux")]
#[test]
fn a_run_that_was_started_to_outlive_its_terminal_does() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut child = saving(folder.path(), "trap '' HUP; exec hosewright run long.rhai");
    signal(&child, "-HUP");
    std::thread::sleep(std::time::Duration::from_millis(200));
    assert!(child.try_wait().expect("a process").is_none(), "it goes on");
    signal(&child, "-TERM");
    child.wait().expect("it ends");
    assert_eq!(unfinished(folder.path()), 0);
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_grow_is_an_error_and_the_old_one_stays() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("big.csv"), "old").expect("written");
    fs::write(
        folder.path().join("a.rhai"),
        "let l = []; for i in 0..3000 { l.push(#{ a: i, b: \"xxxxxxxxxxxxxxxxxxxx\" }) }\ntable(l).save(\"big.csv\");\n",
    )
    .expect("written");
    let program = assert_cmd::cargo::cargo_bin("hosewright").display().to_string();
    let mut limited = Command::new("sh");
    limited.current_dir(folder.path()).env("NO_COLOR", "1").args(["-c", &format!("ulimit -f 8; exec {program} run a.rhai")]);
    let output = limited.assert().code(1).get_output().clone();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("cannot write") && said.contains("the file would be larger than files may be here"), "{said}");
    assert_eq!(fs::read_to_string(folder.path().join("big.csv")).expect("there"), "old");
    assert_eq!(unfinished(folder.path()), 0);
}

#[cfg(unix)]
#[test]
fn control_c_ends_a_live_page_with_130() {
    use std::io::{BufRead, BufReader};
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("a.rhai"), "1;").expect("written");
    let mut live = std::process::Command::new(assert_cmd::cargo::cargo_bin("hosewright"));
    let mut child = live.current_dir(folder.path()).args(["live", "a.rhai"]).stdout(Stdio::piped()).spawn().expect("it starts");
    let mut line = String::new();
    BufReader::new(child.stdout.take().expect("an output")).read_line(&mut line).expect("a line");
    assert!(line.contains("/?key="), "{line}");
    signal(&child, "-INT");
    assert_eq!(child.wait().expect("it ends").code(), Some(130));
}

#[test]
fn what_a_terminal_would_obey_is_shown_by_every_command() {
    let folder = tempfile::tempdir().expect("a folder");
    let hostile = "a\u{1b}[2Jb\u{9b}1mc\u{202e}d";
    fs::write(folder.path().join("t.csv"), format!("{hostile},n\n{hostile},1\n")).expect("written");
    let study = format!(
        "// # Prose {hostile}\nlet t = read_table(\"t.csv\");\nt;\n\"{hostile}\";\nprint(\"{hostile}\");\n#{{ a: \"{hostile}\" }};\n\
         hose(1.ft, 1.inch).named(\"h\");\nthrow \"{hostile}\";\n"
    );
    fs::write(folder.path().join("a.rhai"), study).expect("written");
    for arguments in [&["run", "a.rhai"][..], &["check", "a.rhai"], &["run", "a.rhai", "--report", "md"], &["run", hostile]] {
        let output = hosewright().current_dir(folder.path()).args(arguments).assert().failure().get_output().clone();
        let mut said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
        if arguments.contains(&"md") {
            said += &fs::read_to_string(folder.path().join("a.md")).expect("the report");
        }
        assert!(said.contains("a\u{241b}[2Jb<9B>1mc<202E>d"), "{arguments:?}: {said}");
        assert!(!said.contains(['\u{1b}', '\u{9b}', '\u{202e}']), "{arguments:?}: {said:?}");
    }
    let page =
        hosewright().current_dir(folder.path()).args(["run", "a.rhai", "--report"]).assert().failure().get_output().clone();
    drop(page);
    let page = fs::read_to_string(folder.path().join("a.html")).expect("the page");
    assert!(page.contains("a\u{241b}[2Jb") && !page.contains(['\u{1b}', '\u{9b}', '\u{202e}']));
}

#[test]
fn entries_from_a_pipe_that_are_no_text_are_left_out() {
    let mut piped = hosewright();
    let output = piped.write_stdin(&b"let a = 1.ft\na * \xff\na * 3\n"[..]).assert().code(1).get_output().clone();
    assert_eq!(String::from_utf8_lossy(&output.stdout), "3 ft\n");
    assert!(String::from_utf8_lossy(&output.stderr).contains("not UTF-8 text"));
}

/// A study whose garden stands in a function: a booster on a main, in metric units.
const INSIDE_A_FUNCTION: &str = "// # Inside\nfn made() {\n    supply(4.bar) >> backflow_preventer() >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]) \
     >> relief(6.bar) >> hose(15.m, 16.mm) >> head(\"a\", 3.mm)\n}\nmade().run().flow(\"a\");\n";

#[test]
fn cautions_reach_run_check_reports_and_json_of_a_garden_that_is_made_inside_a_function() {
    let folder = tempfile::tempdir().expect("a folder");
    let study = folder.path().join("inside.rhai");
    fs::write(&study, INSIDE_A_FUNCTION).expect("written");
    let file = study.to_str().expect("a path");
    let run = stdout(hosewright().args(["run", file]));
    let short: Vec<&str> = run.lines().skip_while(|line| !line.starts_with("Cautions. Drinking water:")).collect();
    assert!(short.len() <= 4 && run.contains("ask supplier before a booster") && run.contains("help(\"safety\")"), "{run}");
    let check = stdout(hosewright().args(["check", file]));
    assert!(check.contains("Cautions. Drinking water:") && check.contains("help(\"safety\")"), "{check}");
    let wanted = ["booster-on-main", "cross-connection", "metric-codes", "electricity", "relief", "hose-pressure", "freezing"];
    for arguments in [["run", "--json", file], ["check", "--json", file]] {
        let answer: serde_json::Value = serde_json::from_str(&stdout(hosewright().args(arguments))).expect("JSON");
        let list = answer["cautions"].as_array().expect("a list");
        let ids: Vec<&str> = list.iter().filter_map(|one| one["id"].as_str()).collect();
        assert!(wanted.iter().all(|id| ids.contains(id)), "{ids:?}");
        assert!(list.iter().all(|one| one["text"].as_str().is_some_and(|text| text.ends_with('.'))), "{list:?}");
    }
    for (form, page) in [("html", "inside.html"), ("md", "inside.md")] {
        stdout(hosewright().args(["run", file, "--report", form]));
        let text = fs::read_to_string(folder.path().join(page)).expect("the report");
        for part in [
            "A booster on a public main may be prohibited",
            "EN 1717",
            "Drinking water",
            "from memory, not looked up: NSF/ANSI 61",
        ] {
            assert!(text.to_lowercase().contains(&part.to_lowercase()), "{form}: {part}");
        }
        assert_eq!(text.matches("Follow local code; licensed practice").count(), 1, "{form}");
    }
    fs::write(&study, "1 + 1;\n").expect("written");
    assert_eq!(stdout(hosewright().args(["run", file])), "    2              1 + 1\n");
    let answer: serde_json::Value = serde_json::from_str(&stdout(hosewright().args(["run", "--json", file]))).expect("JSON");
    assert_eq!(answer["cautions"], serde_json::json!([]));
}

#[test]
fn check_reads_back_what_a_study_saves_and_writes_nothing() {
    let home = tempfile::tempdir().expect("a folder");
    let study = "table([#{ a: 1 }, #{ a: 2 }]).save(\"t.csv\");\nlet t = read_table(\"./t.csv\");\nt.rows;\n";
    fs::write(home.path().join("s.rhai"), study).expect("written");
    let text = stdout(hosewright().args(["check", "s.rhai"]).current_dir(home.path()));
    assert!(text.ends_with("s.rhai: 0 mistakes, 0 findings, 0 statements not run; no file was written\n"), "{text}");
    assert_eq!(fs::read_dir(home.path()).expect("a folder").count(), 1);
    let text = stdout(hosewright().args(["check", "-"]).current_dir(home.path()).write_stdin(study));
    assert!(text.starts_with("standard input: 0 mistakes"), "{text}");
    let failed = hosewright().args(["check", "-"]).write_stdin("3 +").assert().code(1).get_output().clone();
    assert!(String::from_utf8_lossy(&failed.stdout).contains("standard input:1:"), "{failed:?}");
}

#[test]
fn controls_are_set_from_the_command_line() {
    let home = tempfile::tempdir().expect("a folder");
    let study = "let l = slider(\"feed length\", 25.ft, 300.ft, 100.ft);\nlet n = slider(\"heads\", 1, 8, 4);\nl; n;\n";
    fs::write(home.path().join("s.rhai"), study).expect("written");
    let run = |set: &[&str]| {
        let set = set.iter().flat_map(|set| ["--set", set]);
        hosewright().args(["run", "s.rhai"]).args(set).current_dir(home.path()).assert().get_output().clone()
    };
    let shown = |set: &[&str]| String::from_utf8_lossy(&run(set).stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(shown(&[]), "100 ft l 4 n");
    assert_eq!(shown(&["feed length=150.ft", "heads=3"]), "150 ft l 3 n");
    assert_eq!(shown(&["feed length = 30 m"]), "30 m l 4 n");
    assert_eq!(shown(&["feed length=150"]), "150 ft l 4 n");
    for (set, code, says) in [
        ("feed length=400 ft", 1, "the start 400 ft is not between 25 ft and 300 ft"),
        ("feed length=10 psi", 1, "the start is 10 psi (a pressure)"),
        ("feed lenght=150 ft", 2, "did you mean feed length?"),
        ("feed length", 2, "is no name and value"),
        ("heads=many", 1, "'many' is no value"),
    ] {
        let output = run(&[set]);
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{set}: {error}");
        assert!(error.contains(says), "{set}: {error}");
    }
    let json = stdout(hosewright().args(["run", "s.rhai", "--json", "--set", "heads=2"]).current_dir(home.path()));
    assert!(json.contains("\"value\":2"), "{json}");
}

#[test]
fn libraries_are_read_and_told_in_the_report() {
    let home = tempfile::tempdir().expect("a folder");
    for (file, text) in [
        ("stock/parts.rhai", "export let feed = 100.ft;\nlet own = 1;\n"),
        ("stock/t.csv", "a\n1\n"),
        ("willow/s.rhai", "import \"parts\" as parts;\nparts::feed;\nread_table(\"t.csv\").rows;\n"),
    ] {
        let path = home.path().join(file);
        fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        fs::write(path, text).expect("written");
    }
    let run = |arguments: &[&str]| {
        let output =
            hosewright().arg("run").args(arguments).current_dir(home.path().join("willow")).assert().get_output().clone();
        (output.status.code(), String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" "))
    };
    assert_eq!(run(&["s.rhai"]).0, Some(1));
    assert_eq!(run(&["s.rhai", "--library", "../stock"]), (Some(0), "100 ft parts::feed 1 read_table(\"t.csv\").rows".into()));
    fs::write(home.path().join("hosewright.toml"), "library = [\"stock\"]\n").expect("written");
    assert_eq!(run(&["s.rhai"]), (Some(0), "100 ft parts::feed 1 read_table(\"t.csv\").rows".into()));
    assert_eq!(run(&["s.rhai", "--report", "md"]).0, Some(0));
    let report = fs::read_to_string(home.path().join("willow/s.md")).expect("a report");
    assert!(report.contains("stock/parts.rhai") && report.contains("stock/t.csv"), "{report}");
    assert_eq!(run(&["s.rhai", "--report"]).0, Some(0));
    let page = fs::read_to_string(home.path().join("willow/s.html")).expect("a page");
    assert!(page.contains("stock/parts.rhai"));
    assert_eq!(fs::read_dir(home.path().join("stock")).expect("a folder").count(), 2, "a library is never written");
}

#[test]
fn talk_answers_a_line_for_each_request() {
    let requests =
        "{\"text\": \"let a = 3.ft;\"}\n\n{\"get\": \"a\", \"id\": 1}\nno request\n{\"reset\": true, \"get\": \"a\"}\n";
    let text = stdout(hosewright().arg("talk").write_stdin(requests));
    let answers: Vec<serde_json::Value> = text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    assert_eq!(answers.len(), 4);
    assert_eq!((&answers[1]["id"], &answers[1]["values"]["a"]["value"]), (&1.into(), &3.0.into()));
    assert_eq!(answers[2]["error"]["kind"], "request");
    assert_eq!(answers[3]["error"]["message"], "there is no variable 'a'");
}

#[test]
fn definitions_name_every_function() {
    let text = stdout(hosewright().arg("definitions"));
    for word in ["fn hose(", "fn supply(", "fn seek(", "fn round_to("] {
        assert!(text.contains(word), "{word}");
    }
}

/// The client in Python, where there is one.
#[test]
fn the_client_in_python_gets_values_tables_and_errors() {
    let python =
        ["python3", "python"].into_iter().find(|name| std::process::Command::new(name).arg("--version").output().is_ok());
    let Some(python) = python else { return eprintln!("no Python here: the client is not tested") };
    let home = tempfile::tempdir().expect("a folder");
    fs::write(home.path().join("s.rhai"), "let l = slider(\"len\", 25.ft, 300.ft, 100.ft);\n").expect("written");
    let script = r#"
import sys
from hosewright import Hosewright, HosewrightError
with Hosewright(sys.argv[1], program=sys.argv[2]) as hw:
    hw.run(text='let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);')
    p = hw.get('line.run().pressure("spray")')
    assert 40 < float(p) < 50 and p.unit == "psi" and str(p).endswith("psi"), p
    t = hw.get('sweep(line, vary("feed.length", steps(50.ft, 200.ft, 50.ft)))')
    assert len(t) == 4 and t["feed.length"] == [50, 100, 150, 200] and t.units["spray.pressure"] == "psi", t.columns
    assert hw.run(file="s.rhai", set={"len": "150 ft"}, get=["l"])["l"].value == 150
    assert hw.get("[1, #{ a: 2.ft }]")[1]["a"].value == 2
    try:
        hw.get("1.ft + 1.psi")
        raise SystemExit("no error")
    except HosewrightError as error:
        assert "cannot add" in str(error) and error.answer["place"]["line"] == 1, error
    hw.reset()
    try:
        hw.get("line")
        raise SystemExit("no reset")
    except HosewrightError as error:
        assert "no variable 'line'" in str(error), error
    for library in ("pandas", "polars"):
        try:
            __import__(library)
        except ImportError:
            continue
        frame = hw.get("table([#{ a: 1.ft }, #{ a: 2.ft }])").frame(library)
        assert list(frame.columns) == ["a (ft)"] and len(frame) == 2, frame
"#;
    let output = std::process::Command::new(python)
        .args(["-c", script])
        .arg(home.path())
        .arg(assert_cmd::cargo::cargo_bin("hosewright"))
        .env("PYTHONPATH", concat!(env!("CARGO_MANIFEST_DIR"), "/scripts"))
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .output()
        .expect("Python runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn columns_are_asked_for_by_a_variable_and_a_pipe_has_no_edge() {
    let folder = tempfile::tempdir().expect("a folder");
    let columns: Vec<String> = (0..30).map(|n| format!("measured_{n}: {n}")).collect();
    fs::write(folder.path().join("a.rhai"), format!("table([#{{ case: \"a\", {} }}]);\n", columns.join(", "))).expect("written");
    let run = || {
        let mut command = hosewright();
        command.current_dir(folder.path()).args(["run", "a.rhai"]);
        command
    };
    let whole = stdout(&mut run());
    let heads: Vec<&str> = whole.lines().filter(|line| line.contains("measured_")).collect();
    assert!(heads.len() == 1 && (0..30).all(|n| heads[0].contains(&format!("measured_{n}"))), "{whole}");
    let narrow = stdout(run().env("COLUMNS", "70"));
    assert!(narrow.lines().all(|line| line.len() <= 70), "{narrow}");
    assert!((0..30).all(|n| narrow.contains(&format!("measured_{n}"))), "{narrow}");
}
