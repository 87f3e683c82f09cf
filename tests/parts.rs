//! Studies divided between runs: the same table from any division, parts that are there are not made again, missing and
//! failed ones are named.

use assert_cmd::Command;
use hosewright::files::Folder;
use hosewright::study::{Demand, Joint, gather};
use std::fs;
use std::path::Path;

const STUDY: &str = r#"
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
let axes = vary("feed.diameter", [(1/2).inch, (5/8).inch]).vary("feed.length", normal(100.ft, 30.ft)).samples(3000, 9);
let t = sweep(plot, axes);
let own = sweep(vary("x", between(0, 10)).samples(1000), |case| {
    if case.x > 9.5 { throw "too large"; }
    #{ y: (case.x * case.x + 1) * 1.psi, z: if case.x < 1 { "small" } else { "large" } }
});
t.save("whole.csv");
"#;

fn hosewright(home: &Path, arguments: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("hosewright").expect("the program").current_dir(home).args(arguments).assert()
}

fn home() -> tempfile::TempDir {
    let home = tempfile::tempdir().expect("a folder");
    fs::write(home.path().join("study.rhai"), STUDY).expect("written");
    home
}

/// Runs the study in parts and gives the bytes of both joined tables, as parquet and as text.
fn divided(parts: usize, threads: &str) -> Vec<Vec<u8>> {
    let home = home();
    for part in (1..=parts).rev() {
        let which = format!("{part}/{parts}");
        hosewright(home.path(), &["run", "study.rhai", "--part", &which, "--out", "parts", "--threads", threads]).success();
    }
    assert!(!home.path().join("whole.csv").exists(), "a part saves no table of the whole");
    let join = r#"gather("parts", 1).save("a.parquet"); gather("parts", 2).save("b.parquet"); gather("parts", 2).save("b.csv")"#;
    hosewright(home.path(), &["eval", join]).success();
    ["a.parquet", "b.parquet", "b.csv"].iter().map(|name| fs::read(home.path().join(name)).expect(name)).collect()
}

#[test]
fn the_bytes_are_the_same_in_one_and_seven_parts_with_one_and_two_threads() {
    let one = divided(1, "1");
    assert_eq!(one[0], divided(1, "2")[0]);
    for (place, bytes) in divided(7, "2").iter().zip(divided(7, "1")).enumerate() {
        assert!(one[place] == *bytes.0 && *bytes.0 == bytes.1, "table {place}");
    }
    let text = String::from_utf8(one[2].clone()).expect("a text");
    assert_eq!(text.lines().count(), 1001);
    assert!(text.lines().any(|line| line.ends_with(",too large")), "failed cases stay as rows");
}

#[test]
fn a_sweep_inside_a_closure_is_whole_in_every_part() {
    let home = tempfile::tempdir().expect("a folder");
    let nested = "fn inner(scale) { sweep(vary(\"y\", steps(1, 10, 1)), |case| scale * case.y) }
        let t = sweep(vary(\"x\", steps(1, 6, 1)), |case| {
            let all = inner(case.x);
            let again = table([#{ a: 1 }]).with(\"sum\", |row| inner(case.x)[\"value\"].sum())[\"sum\"][0];
            #{ cases: all.rows, sum: all[\"value\"].sum(), again: again, zero: seek(0, 9, |z| inner(1)[\"value\"].sum() - 10 * z) }
        });
        t.save(\"whole.csv\");";
    fs::write(home.path().join("study.rhai"), nested).expect("written");
    hosewright(home.path(), &["run", "study.rhai"]).success();
    for threads in ["1", "2"] {
        let parts = format!("parts-{threads}");
        for part in ["1/2", "2/2"] {
            hosewright(home.path(), &["run", "study.rhai", "--part", part, "--out", &parts, "--threads", threads]).success();
        }
        hosewright(home.path(), &["eval", &format!("gather(\"{parts}\").save(\"joined.csv\")")]).success();
        let read = |name: &str| fs::read_to_string(home.path().join(name)).expect(name);
        assert_eq!(read("joined.csv"), read("whole.csv"), "{threads} threads");
        assert!(read("whole.csv").contains("\n2,10,110,110,5.5\n"), "{}", read("whole.csv"));
    }
}

#[test]
fn a_finished_part_is_not_made_again_unless_the_study_was_changed() {
    let home = home();
    let arguments = ["run", "study.rhai", "--part", "2/3", "--out", "parts"];
    hosewright(home.path(), &arguments).success();
    let note = home.path().join("parts/sweep-1-part-002-of-003.json");
    let first = fs::read(&note).expect("a note");
    hosewright(home.path(), &arguments).success();
    assert_eq!(fs::read(&note).expect("a note"), first, "the seconds would differ");
    fs::write(home.path().join("study.rhai"), STUDY.replace("samples(3000, 9)", "samples(3000, 8)")).expect("written");
    hosewright(home.path(), &arguments).success();
    assert_ne!(fs::read(&note).expect("a note"), first);
}

#[test]
fn missing_and_failed_parts_are_named() {
    let home = home();
    for part in ["1/4", "3/4"] {
        hosewright(home.path(), &["run", "study.rhai", "--part", part, "--out", "parts"]).success();
    }
    let bad = STUDY.replace("let axes", "let x = 1.ft + 1.psi; let axes");
    fs::write(home.path().join("bad.rhai"), bad).expect("written");
    hosewright(home.path(), &["run", "bad.rhai", "--part", "4/4", "--out", "parts"]).code(1);
    let error = hosewright(home.path(), &["eval", "gather(\"parts\", 1)"]).code(1);
    let text = String::from_utf8_lossy(&error.get_output().stderr).into_owned();
    assert!(text.contains("2 of 4 parts are missing: 2, 4"), "{text}");
    let report = hosewright(home.path(), &["eval", "show(gather_report(\"parts\"))"]).success();
    let text = String::from_utf8_lossy(&report.get_output().stdout).into_owned();
    assert!(text.contains("missing") && text.contains("failed: cannot add"), "{text}");
    let there = hosewright(home.path(), &["eval", "gather_present(\"parts\", 1).rows"]).success();
    let rows: usize = String::from_utf8_lossy(&there.get_output().stdout).trim().parse().expect("a number");
    assert!((2048..=3584).contains(&rows), "{rows}");
    hosewright(home.path(), &["run", "study.rhai", "--part", "4/4", "--out", "parts"]).success();
    let files = fs::read_dir(home.path().join("parts")).expect("a folder");
    assert!(files.filter_map(|file| file.ok()?.file_name().into_string().ok()).all(|name| !name.ends_with(".failed")));
}

#[test]
fn a_damaged_part_is_named_left_out_and_made_again() {
    let home = home();
    for part in ["1/2", "2/2"] {
        hosewright(home.path(), &["run", "study.rhai", "--part", part, "--out", "parts"]).success();
    }
    let table = home.path().join("parts/sweep-1-part-002-of-002.parquet");
    let whole = fs::read(&table).expect("a table");
    fs::write(&table, &whole[..whole.len() / 2]).expect("written");
    let error = hosewright(home.path(), &["eval", "gather(\"parts\", 1)"]).code(1);
    let text = String::from_utf8_lossy(&error.get_output().stderr).into_owned();
    assert!(text.contains("1 of 2 parts are missing or damaged: 2"), "{text}");
    let report = hosewright(home.path(), &["eval", "gather_report(\"parts\")[\"state\"]"]).success();
    let text = String::from_utf8_lossy(&report.get_output().stdout).into_owned();
    assert!(text.contains(r#"["done", "damaged", "done", "done"]"#), "{text}");
    hosewright(home.path(), &["eval", "gather_present(\"parts\", 1)"]).success();
    hosewright(home.path(), &["run", "study.rhai", "--part", "2/2", "--out", "parts"]).success();
    assert_eq!(fs::read(&table).expect("a table"), whole);
}

#[test]
fn parts_made_before_and_after_a_change_of_what_the_study_reads_do_not_join() {
    let (module, table) = ("export const MOST = 9;", "x,y\n1,2\n");
    let study = r#"import "own" as own; let t = read_table("t.csv");
        let s = sweep(vary("x", steps(0, 99, 1)), |case| { import "late" as late; #{ y: case.x * own::MOST + t["y"][0] + late::N } });"#;
    for (file, changed) in [("own.rhai", "export const MOST = 8;"), ("t.csv", "x,y\n1,3\n"), ("late.rhai", "export const N = 2;")]
    {
        let home = tempfile::tempdir().expect("a folder");
        let write = |file: &str, text: &str| fs::write(home.path().join(file), text).expect("written");
        [("study.rhai", study), ("own.rhai", module), ("t.csv", table), ("late.rhai", "export const N = 1;")]
            .iter()
            .for_each(|(file, text)| write(file, text));
        let run = |part: &str| hosewright(home.path(), &["run", "study.rhai", "--part", part, "--out", "parts"]).success();
        run("1/2");
        run("2/2");
        hosewright(home.path(), &["eval", "gather(\"parts\")"]).success();
        write(file, changed);
        run("2/2");
        let error = hosewright(home.path(), &["eval", "gather(\"parts\")"]).code(1);
        let text = String::from_utf8_lossy(&error.get_output().stderr).into_owned();
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let says = format!("parts 1 and 2 of sweep 1 were made from different versions of the study: '{file}' was changed");
        assert!(text.contains(&says), "{text}");
        hosewright(home.path(), &["eval", "gather_present(\"parts\")"]).code(1);
        run("1/2");
        hosewright(home.path(), &["eval", "gather(\"parts\")"]).success();
    }
}

#[test]
fn a_flipped_bit_in_a_finished_part_is_noticed_wherever_it_is() {
    let home = home();
    hosewright(home.path(), &["run", "study.rhai", "--part", "1/1", "--out", "parts"]).success();
    let parts = home.path().join("parts");
    let folder = Folder::new(home.path());
    let joint = Joint { folder: &folder, parts: "parts" };
    for name in ["sweep-1-part-001-of-001.parquet", "sweep-1-part-001-of-001.json"] {
        let path = parts.join(name);
        let whole = fs::read(&path).expect("a file");
        for place in (0..whole.len()).step_by(whole.len().div_ceil(50)) {
            let mut bytes = whole.clone();
            bytes[place] ^= 1 << (place % 8);
            fs::write(&path, &bytes).expect("written");
            let joined = gather(joint, Some(1), Demand::WhatIsThere);
            // A blank of the note says nothing.
            assert!(joined.is_err() || whole[place].is_ascii_whitespace(), "byte {place} of {name}");
        }
        fs::write(&path, &whole).expect("written");
    }
    assert!(gather(joint, Some(1), Demand::AllParts).is_ok());
}

#[test]
fn wrong_parts_and_studies_without_a_sweep_are_refused() {
    let home = home();
    hosewright(home.path(), &["run", "study.rhai", "--part", "5/4", "--out", "parts"]).code(2);
    hosewright(home.path(), &["run", "study.rhai", "--part", "1/4"]).code(2);
    fs::write(home.path().join("none.rhai"), "1 + 1").expect("written");
    hosewright(home.path(), &["run", "none.rhai", "--part", "1/2", "--out", "parts"]).code(1);
}

/// What the program prints for an expression.
fn told(home: &Path, expression: &str) -> String {
    let done = hosewright(home, &["eval", expression]).success();
    String::from_utf8_lossy(&done.get_output().stdout).trim().to_string()
}

#[test]
fn each_part_is_given_to_a_closure_by_itself() {
    let home = home();
    for part in ["1/3", "2/3", "3/3"] {
        hosewright(home.path(), &["run", "study.rhai", "--part", part, "--out", "parts"]).success();
    }
    assert_eq!(told(home.path(), r#"gather_each("parts", 1, |part| part.rows)"#), "[2048, 2048, 1904]");
    let least = told(home.path(), r#"gather_each("parts", 1, |part| part["berry.pressure"].min()).min()"#);
    assert_eq!(least, told(home.path(), r#"gather("parts", 1)["berry.pressure"].min()"#));
    // Cases failed in some part, so that all parts have a column of reasons.
    let reasons = told(home.path(), r#"gather_each("parts", 2, |part| part.names.contains("reason"))"#);
    assert_eq!(reasons, "[true, true, true]");
    let thrown = hosewright(home.path(), &["eval", r#"gather_each("parts", 1, |part| part["nothing"])"#]).code(1);
    assert!(String::from_utf8_lossy(&thrown.get_output().stderr).contains("no column 'nothing'"));
    fs::remove_file(home.path().join("parts/sweep-1-part-002-of-003.json")).expect("a note");
    let error = hosewright(home.path(), &["eval", r#"gather_each("parts", 1, |part| part.rows)"#]).code(1);
    let text = String::from_utf8_lossy(&error.get_output().stderr).into_owned();
    assert!(text.contains("1 of 3 parts are missing: 2"), "{text}");
}

#[test]
fn the_sweeps_of_a_study_are_listed_and_no_file_is_written() {
    let home = home();
    let listed = hosewright(home.path(), &["parts", "study.rhai", "--json"]).success();
    let answer: serde_json::Value = serde_json::from_slice(&listed.get_output().stdout).expect("JSON");
    let cases: Vec<_> = answer["sweeps"].as_array().expect("a list").iter().map(|sweep| sweep["cases"].clone()).collect();
    assert_eq!(cases, [6000, 1000]);
    assert_eq!((&answer["parts"], &answer["error"]), (&1.into(), &serde_json::Value::Null));
    // Two axes, pressure and flow of the tap and of the head, and why a case of a length below zero failed.
    assert_eq!(answer["sweeps"][0]["columns"], 7);
    assert!(answer["memory_mb"].as_f64().is_some_and(|memory| memory > 10.0), "{answer}");
    let text = hosewright(home.path(), &["parts", "study.rhai"]).success();
    let text = String::from_utf8_lossy(&text.get_output().stdout).into_owned();
    assert!(text.contains("sweep 2: 1,000 cases") && text.contains("--part 1/1 --out parts"), "{text}");
    assert_eq!(fs::read_dir(home.path()).expect("a folder").count(), 1, "the study alone");
    fs::write(home.path().join("bad.rhai"), "let t = sweep(vary(\"x\", [1, 2]), |case| case.y);").expect("written");
    let bad = hosewright(home.path(), &["parts", "bad.rhai", "--json"]).code(1);
    let answer: serde_json::Value = serde_json::from_slice(&bad.get_output().stdout).expect("JSON");
    assert!(answer["error"]["message"].is_string(), "{answer}");
    let none = hosewright(home.path(), &["eval", "30.psi"]).success();
    assert!(!none.get_output().stdout.is_empty());
}

#[test]
fn a_script_that_goes_on_with_its_part_has_the_table_of_the_part() {
    let home = home();
    let more = format!("{STUDY}\nt.rows; own.rows;");
    fs::write(home.path().join("study.rhai"), more).expect("written");
    for _ in 0..2 {
        let run = hosewright(home.path(), &["run", "study.rhai", "--part", "2/3", "--out", "parts"]).success();
        let text = String::from_utf8_lossy(&run.get_output().stdout).into_owned();
        let shown: Vec<Vec<&str>> = text.lines().map(|line| line.split_whitespace().collect()).collect();
        assert!(shown.contains(&vec!["2048", "t.rows"]) && shown.contains(&vec!["333", "own.rows"]), "{text}");
    }
}
