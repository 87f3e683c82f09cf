//! Scripts that mean harm, or loop by mistake, end with an error that says what happened: no crash, no hang, no file outside.

use hosewright::files::Folder;
use hosewright::limits::Limits;
use hosewright::script::Session;
use hosewright::script::diagnostic::{Diagnostic, Trouble};
use hosewright::script::sizes::STACK_BYTES;
use std::path::Path;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

/// Seconds and memory that the scripts here may use; each needs far less of at least one of them.
const LIMITS: Limits = Limits { time: Some(Duration::from_secs(20)), memory_bytes: Some(6_000_000_000) };

/// What a script that must fail says, evaluated in a folder with the stack that the program gives it.
fn failure_in(folder: &Path, script: &str) -> Diagnostic {
    failure_within(LIMITS, folder, script)
}

fn failure_within(limits: Limits, folder: &Path, script: &str) -> Diagnostic {
    let evaluate = || {
        let mut session = Session::new(Folder::new(folder));
        session.context().watch.set_limits(limits);
        let error = session.evaluate(script).error().cloned();
        error.unwrap_or_else(|| panic!("this must fail: {script}"))
    };
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(STACK_BYTES).spawn_scoped(scope, evaluate);
        thread.expect("a thread").join().expect("no panic")
    })
}

fn failure(script: &str) -> Diagnostic {
    failure_in(Path::new("tests"), script)
}

#[test]
fn what_grows_without_end_meets_a_limit() {
    for script in [
        "let a = \"x\"; loop { a += a; }",
        "let a = \"x\"; loop { a = `${a}${a}`; }",
        "let a = \"x\"; a.pad(15000000, \"y\"); let l = []; loop { l.push(a + \"z\"); }",
        "let a = [1]; loop { a += a; }",
        "let a = [1]; loop { a = [a, a]; }",
        "let a = #{}; loop { a = #{ l: a, r: a }; }",
        "blob(1000000000000)",
        "let a = []; a.pad(1000000000, 0);",
    ] {
        let error = failure(script);
        assert_eq!(error.kind, Trouble::Limit, "{script}: {}", error.message);
        assert!(error.message.ends_with("grows too large"), "{script}: {}", error.message);
    }
}

#[test]
fn a_script_of_more_variables_than_fit_is_refused_before_the_engine_looks_through_them() {
    let script: String = (0..200_000).map(|i| format!("let x{i} = {i};\n")).collect();
    let limits = Limits { time: Some(Duration::from_secs(5)), ..LIMITS };
    let error = failure_within(limits, Path::new("tests"), &script);
    assert_eq!((error.kind, error.message.as_str()), (Trouble::Limit, "there are too many variables"));
    assert_eq!(error.place.map(|place| place.line), Some(10_001));
}

#[test]
fn huge_studies_are_refused_before_they_are_made() {
    const GARDEN: &str = "let g = supply(58.psi) >> hose(100.ft, (5/8).inch).named(\"feed\") >> head(\"h\", (1/8).inch);";
    for (script, says) in [
        ("steps(0, 1e9, 1)", "at most 1000000 fit"),
        ("sweep(g, vary(\"feed.length\", between(1.ft, 2.ft)).samples(1000000000000))", "at most 100000000000 fit"),
        (
            "let s = steps(1.ft, 9000.ft, 1.ft); sweep(g, vary(\"feed.length\", s).vary(\"supply.static_pressure\", steps(1.psi, 9000.psi, 1.psi)))",
            "at most 50000000 do",
        ),
        ("let t = table([#{ a: 1 }]); loop { t = t.append(t); }", "at most 250000000 cells fit"),
        ("let t = table([#{ a: 1 }]); for i in 0..16 { t = t.append(t); } t.join(t, \"a\")", "at most 250000000 cells fit"),
        ("let h = hose(1.ft, 1.inch); loop { h = h >> h; }", "at most 100000 are allowed"),
        ("let t = table([#{ a: 1 }]); t.row(9223372036854775807)", "no row"),
    ] {
        let error = failure(&format!("{GARDEN}\n{script}"));
        assert!(error.message.contains(says), "{script}: {}", error.message);
        assert!(error.hint.is_some(), "{script}");
    }
}

#[test]
fn names_and_schedules_have_limits() {
    const GARDEN: &str = "let g = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve(\"bed\") >> head(\"spray\", (1/8).inch);
        let t = timer(\"east\").start(\"05:30\").zone(\"bed\", 20.min);";
    for (script, says) in [
        ("let n = \"x\"; n.pad(10000000, \"y\"); hose(1.ft, 1.inch).named(n)", "is too long; at most 100 characters are allowed"),
        ("g.operate(t, 1e9.days)", "more than 1000000 openings in this run"),
        ("g.operate(t, 1e30.days)", "more than 1000000 openings in this run"),
        ("g.operate(t.every(1e-9.s), 1.days)", "more than 1000000 openings in this run"),
        ("g.operate(t.every(1e-9.s).skip(1), 1.days)", "more than 1000000 openings in this run"),
        ("table([#{ a: 1 }]).save(\"a\\nb.csv\")", "cannot be the name of a file"),
        ("1e308.bar", "too large to calculate with"),
        ("1e300 / 1e-300", "1e300 / 1e-300 is too large to calculate with"),
        ("chart(table([#{ a: 1, b: 2 }])).x(\"a\").y(\"b\").sized(1000000000, 10).save(\"a.png\")", "cannot be drawn"),
    ] {
        let error = failure(&format!("{GARDEN}\n{script}"));
        assert!(error.message.contains(says), "{script}: {}", error.message);
        assert!(error.hint.is_some(), "{script}");
    }
}

#[test]
fn depth_without_end_meets_a_limit() {
    let brackets = format!("{}1{}", "(".repeat(100_000), ")".repeat(100_000));
    let lists = "[".repeat(100_000);
    let blocks = "if true {".repeat(100_000);
    let minus = format!("{}1", "-".repeat(100_000));
    for script in ["fn f(n) { f(n + 1) } f(0)", "fn a(n) { b(n) } fn b(n) { a(n) } a(0)", &brackets, &lists, &blocks, &minus] {
        let error = failure(script);
        assert!(!error.message.is_empty());
    }
    assert_eq!(failure("fn f(n) { f(n + 1) } f(0)").message, "functions call each other too deeply");
}

#[test]
fn values_that_lie_in_themselves_without_end_meet_a_limit() {
    for script in [
        "let a = []; loop { a = [a] }",
        "let a = #{}; loop { a = #{ a: a } }",
        "let a = [[]]; loop { a[0] = [a[0]] }",
        "let f = |x| x; loop { let g = f; f = |x| g.call(x); }",
        "fn wrap(f) { |x| f.call(x) } let f = |x| x; loop { f = wrap(f) }",
        "fn wrap() { let me = this; |x| me.call(x) } let f = |x| x; loop { f = f.wrap() }",
        "let l = [|x| x]; loop { let g = l; l = [|x| g[0].call(x), 1, 2] }",
        "let l = []; l.pad(500000, 1); l.reduce(|f, x| { |y| f.call(y) }, |y| y)",
        "let f = |x| x; for i in 0..400000 { for g in [f] { f = |x| g.call(x); } }",
    ] {
        let error = failure(script);
        assert!(error.message.contains("are nested more than 100 levels deep in '"), "{script}: {}", error.message);
        assert!(error.hint.is_some_and(|hint| hint.contains("check for a loop")));
    }
}

#[test]
fn a_closure_may_lie_in_itself_and_lists_may_be_large() {
    let mut session = Session::new(Folder::new("tests"));
    let script = "let own = [1]; let f = |n| n + own.len(); own = [f]; let l = []; l.pad(1000, [[1, [2]]]);
        let s = 0; for i in 0..5000 { s += own.len() + l[i % 1000][0][0]; } s";
    let outcome = session.evaluate(script);
    assert_eq!(outcome.error(), None);
    assert_eq!(outcome.shown(), ["10000"]);
}

#[test]
fn words_that_wait_or_copy_without_end_are_switched_off() {
    for (script, hint) in [
        ("sleep(1000000)", "a study does not wait"),
        ("let f = |x| x; f.curry(f)", "write a closure"),
        ("eval(\"1\")", "write the statements directly"),
    ] {
        let error = failure(script);
        assert!(error.message.ends_with("is switched off"), "{script}: {}", error.message);
        assert!(error.hint.is_some_and(|found| found.contains(hint)), "{script}");
    }
}

#[test]
fn time_and_memory_have_limits() {
    let short = Limits { time: Some(Duration::from_millis(100)), memory_bytes: None };
    for script in ["loop { }", "try { loop { } } catch { loop { } }", "[1].map(|x| { loop { } })"] {
        let error = failure_within(short, Path::new("tests"), script);
        assert_eq!(error.kind, Trouble::Limit, "{script}");
        assert!(error.message.contains("longer than 0.1 s, the time limit"), "{script}: {}", error.message);
        assert!(error.hint.is_some_and(|hint| hint.contains("--time-limit")));
    }
    if cfg!(target_os = "linux") {
        let little = Limits { time: None, memory_bytes: Some(700_000_000) };
        for script in [
            "let a = \"x\"; a.pad(10000000, \"y\"); let m = #{}; let i = 0; loop { m[`${i}`] = a + i; i += 1; }",
            "let all = #{}; for i in 0..1000 { let l = []; l.pad(900000, i); all[`${i}`] = || l; }",
        ] {
            let error = failure_within(little, Path::new("tests"), script);
            assert_eq!(error.kind, Trouble::Limit, "{script}");
            assert!(
                error.message.contains("grows too large") || error.message.contains("more than 700 MB"),
                "{script}: {}",
                error.message
            );
        }
    }
}

#[test]
fn the_steps_of_a_script_are_counted() {
    let mut session = Session::new(Folder::new("tests"));
    assert_eq!(session.engine_mut().max_operations(), 1_000_000_000);
    session.engine_mut().set_max_operations(10_000);
    let error = session.evaluate("loop { }").error().cloned().expect("a limit");
    assert_eq!((error.kind, error.message.as_str()), (Trouble::Limit, "the script takes too many steps"));
}

#[test]
fn the_stop_flag_ends_loops_of_every_kind() {
    for script in [
        "loop { }",
        "for i in 0..9223372036854775807 { }",
        "[1].map(|x| { loop { } })",
        "table([#{ a: 1 }]).filter(|r| { loop { } })",
        "seek(1.ft, 2.ft, |x| { loop { } })",
        "try { loop { } } catch { loop { } }",
    ] {
        let mut session = Session::new(Folder::new("tests"));
        let stop = session.context().stop.clone();
        let stopper = std::thread::spawn(move || {
            std::thread::sleep(Duration::from_millis(30));
            stop.store(true, Ordering::SeqCst);
        });
        let error = session.evaluate(script).error().cloned().unwrap_or_else(|| panic!("this must be stopped: {script}"));
        assert_eq!(error.kind, Trouble::Stopped, "{script}: {}", error.message);
        stopper.join().expect("it stops");
    }
}

#[test]
fn no_word_reads_or_writes_outside_the_folder() {
    let place = tempfile::tempdir().expect("a folder");
    let (inside, outside) = (place.path().join("in"), place.path().join("out"));
    std::fs::create_dir_all(inside.join("sub")).expect("made");
    std::fs::create_dir_all(&outside).expect("made");
    std::fs::write(outside.join("x.csv"), "a\n1\n").expect("written");
    std::fs::write(outside.join("x.rhai"), "const A = 1;").expect("written");
    let mut names =
        vec!["../out/x".to_string(), outside.join("x").display().to_string(), "sub/../../out/x".into(), "./../out/x".into()];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&outside, inside.join("link")).expect("linked");
        std::os::unix::fs::symlink(outside.join("x.csv"), inside.join("y.csv")).expect("linked");
        std::os::unix::fs::symlink(outside.join("x.rhai"), inside.join("y.rhai")).expect("linked");
        names.extend(["link/x".into(), "sub/../link/x".into(), "y".into()]);
    }
    for name in &names {
        for script in [
            format!("import \"{name}\" as m;"),
            format!("read_table(\"{name}.csv\")"),
            format!("table([#{{ a: 1 }}]).save(\"{name}.csv\")"),
            format!("sweep_to(\"{name}.csv\", supply(50.psi) >> head(\"h\", (1/8).inch), vary(\"h.nozzle\", [(1/8).inch]))"),
        ] {
            let error = failure_in(&inside, &script);
            assert!(error.message.contains("leaves the folder of the script"), "{script}: {}", error.message);
            assert!(error.hint.is_some());
        }
    }
    assert_eq!(std::fs::read_to_string(outside.join("x.csv")).expect("there"), "a\n1\n");
    assert_eq!(std::fs::read_dir(&outside).expect("a folder").count(), 2);
}

/// What a script says that is stopped by its limit of time, and how long it took; the setup runs before, without a limit.
fn stopped_by_time(setup: &str, script: &str) -> (Diagnostic, Duration) {
    let home = tempfile::tempdir().expect("a folder");
    let evaluate = || {
        let mut session = Session::new(Folder::new(home.path()));
        let before = session.evaluate(setup);
        assert_eq!(before.error(), None, "{setup}");
        session.context().watch.set_limits(Limits { time: Some(LIMIT), ..LIMITS });
        let began = Instant::now();
        let error = session.evaluate(script).error().cloned();
        let took = began.elapsed();
        let error = error.unwrap_or_else(|| panic!("this must be stopped: {script} ({took:?})"));
        let left = std::fs::read_dir(home.path()).expect("a folder").map(|entry| entry.expect("an entry").file_name());
        // Charts are whole, from an earlier turn of their loop.
        let left: Vec<_> = left.filter(|name| name != "c.svg" && name != "c.png").collect();
        assert!(left.is_empty(), "{script} leaves {left:?}");
        (error, took)
    };
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(STACK_BYTES).spawn_scoped(scope, evaluate);
        thread.expect("a thread").join().expect("no panic")
    })
}

const LIMIT: Duration = Duration::from_millis(300);
/// A second is promised; builds that test are not optimized and their machines busy, and what does not look at the limit takes minutes.
const ENDS_WITHIN: Duration = Duration::from_secs(20);

/// A garden of very many zones.
const ZONES: &str = "let parts = []; for i in 0..1000 { parts.push(valve(`z${i}`) >> hose(10.ft, (1/2).inch) >> head(`h${i}`, (1/8).inch)); }
    let all = []; for i in 0..1000 { all.push(`z${i}`); }
    let g = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named(\"feed\") >> booster([[0.gpm, 40.psi], [20.gpm, 10.psi]])
        >> pressure_switch(40.psi, 60.psi) >> parts;";
/// A table of very many rows.
const ROWS: &str = "let t = sweep(vary(\"x\", steps(0, 199999, 1)), |c| c.x * 1.5); for i in 0..4 { t = t.append(t); }";
/// Points, and values over a grid, that look random.
const POINTS: &str = "let t = sweep(vary(\"x\", steps(1, 1000, 1)).vary(\"y\", steps(1, 400, 1)),
    |c| #{ a: (c.x * 7919 + c.y * 104729) % 10007, b: c.x * 1000 + c.y });";
const LONG: &str = "let a = \"yyyyyyyyyyyyyyy\"; for i in 0..20 { a += a; }";
const WELL: &str =
    "let well = supply(20.psi) >> check_valve().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named(\"pump\")
    >> pressure_tank(5.gal, 28.psi).named(\"tank\") >> pressure_switch(30.psi, 50.psi) >> leak(\"drip\", 6.gph, 40.psi)
    >> hose(50.ft, (3/4).inch) >> valve(\"bed\") >> head(\"spray\", (1/8).inch);
    let early = timer(\"east\").start(\"05:30\").zone(\"bed\", 20.min);";

#[test]
fn every_word_that_takes_long_ends_soon_after_its_limit() {
    for (setup, script) in [
        (ZONES, "loop { findings(g) }"),
        (ZONES, "loop { g.run(all).findings() }"),
        (ZONES, "loop { switch_window(g) }"),
        (ZONES, "loop { print(g); g.run(all) }"),
        (WELL, "loop { well.water_hammer(\"bed\", 1.h) }"),
        (WELL, "well.failure_study(early, 900.days)"),
        (WELL, "sweep_operation(well, vary(\"tank.volume\", steps(1.gal, 99.gal, 0.1.gal)), early, 300.days)"),
        (WELL, "loop { well.operate(early, 900.days) }"),
        (ROWS, "loop { t.describe() }"),
        (ROWS, "loop { t.sort_by(\"value\") }"),
        (ROWS, "loop { t.spread(\"value\") }"),
        (ROWS, "t.group_by(\"x\", |g| #{ n: g.rows })"),
        (ROWS, "t.pivot(\"x\", \"value\", \"value\")"),
        (ROWS, "loop { t.join(t, \"x\") }"),
        (ROWS, "t.save(\"o.csv\")"),
        (ROWS, "t.save(\"o.json\")"),
        (ROWS, "t.save(\"o.md\")"),
        (ROWS, "loop { t.with(\"y\", |r| r.x) }"),
        (ROWS, "let l = []; l.pad(1000000, t); print(l)"),
        (ROWS, "loop { t.pareto([\"value\", \"lowest\", \"x\", \"highest\"]) }"),
        (LONG, "loop { try { help(a) } catch { } }"),
        (LONG, "loop { a.replace(\"y\", \"z\"); a.replace(\"z\", \"y\"); }"),
        ("", "sobol_indices(vary(\"x\", between(0, 1)).vary(\"y\", between(0, 1)).samples(2000000), |c| c.x + c.y)"),
        ("", "sweep(vary(\"x\", steps(0, 99999, 1)), |c| { let m = #{}; m[`c${c.x}`] = 1; m })"),
        ("", "loop { try { loop { } } catch { } }"),
        ("let a = 1;", &"a += 1;".repeat(200_000)),
    ] {
        ends_soon_after_its_limit(setup, script);
    }
}

#[test]
fn every_chart_of_many_points_ends_soon_after_its_limit() {
    for (setup, script) in [
        (POINTS, "loop { chart(t).x(\"a\").y(\"b\").save(\"c.svg\") }"),
        (POINTS, "loop { chart(t).x(\"a\").y(\"b\").points().save(\"c.svg\") }"),
        (POINTS, "loop { chart(t).x(\"a\").y(\"b\").points().mark(5000, \"m\").save(\"c.png\") }"),
        (POINTS, "loop { chart(t).x(\"a\").y(\"b\").pareto_front(\"less\", \"more\").save(\"c.svg\") }"),
        (POINTS, "loop { chart(t).x(\"x\").y(\"y\").heat(\"a\").save(\"c.svg\") }"),
        (POINTS, "loop { chart(t).x(\"a\").y(\"x\").heat(\"b\").mark(5000, \"m\").save(\"c.png\") }"),
        (POINTS, "loop { chart(t).x(\"b\").histogram().save(\"c.svg\") }"),
        (POINTS, "loop { chart(t).x(\"y\").y(\"b\").boxes().save(\"c.svg\") }"),
        (POINTS, "loop { try { chart(t).x(\"b\").y(\"a\").boxes().save(\"c.svg\") } catch { } }"),
        (POINTS, "loop { try { chart(t).x(\"b\").y(\"a\").bars().save(\"c.svg\") } catch { } }"),
        (POINTS, "loop { try { chart(t).x(\"x\").y(\"a\").by(\"b\").save(\"c.svg\") } catch { } }"),
        (POINTS, "loop { try { chart(t).x(\"b\").y([\"a\", \"x\"]).tornado(5000).save(\"c.svg\") } catch { } }"),
        ("", "loop { chart(table([#{ a: 1, b: 2 }])).x(\"a\").y(\"b\").sized(1000, 1000).save(\"c.png\") }"),
    ] {
        ends_soon_after_its_limit(setup, script);
    }
}

fn ends_soon_after_its_limit(setup: &str, script: &str) {
    let (error, took) = stopped_by_time(setup, script);
    assert_eq!((error.kind, &*error.message), (Trouble::Limit, "this takes longer than 0.3 s, the time limit"), "{script}");
    assert!(took < ENDS_WITHIN, "{script}: {took:?}");
}

#[test]
fn charts_of_more_than_can_be_read_or_kept_are_refused_before_they_are_drawn() {
    for (script, says) in [
        ("chart(t).x(\"b\").y(\"a\").bars().save(\"c.svg\")", "400000 bars are too many; the maximum is 400"),
        ("chart(t).x(\"x\").y(\"a\").boxes().save(\"c.svg\")", "1000 rows are too many; the maximum is 400"),
        ("chart(t).x(\"b\").y([\"a\", \"x\"]).tornado(5).save(\"c.svg\")", "400000 rows are too many; the maximum is 400"),
        (
            "chart(t.first_rows(1000).with(\"w\", |row| `w${row.y}`)).x(\"a\").y(\"b\").by(\"w\").save(\"c.svg\")",
            "400 series are too many; the maximum is 32",
        ),
        ("chart(t).x(\"b\").y(\"a\").heat(\"x\").save(\"c.svg\")", "this needs more than 6000 MB of memory, which is the limit"),
    ] {
        let error = failure(&format!("{POINTS} {script}"));
        assert_eq!(error.message, says, "{script}");
    }
}

#[test]
fn a_long_text_is_answered_at_once_and_in_few_words() {
    for script in [
        "help(a)",
        "#{ a: 1 }[a]",
        "table([#{ a: 1 }])[a]",
        "q(a)",
        "3.psi.to(a)",
        "throw a",
        "(supply(1.psi) >> head(\"h\", 1.inch)).with(a, 1.psi)",
    ] {
        let began = Instant::now();
        let error = failure(&format!("{LONG} {script}"));
        assert!(error.message.len() < 10_000 && error.hint.is_none_or(|hint| hint.len() < 10_000), "{script}");
        assert!(began.elapsed() < ENDS_WITHIN, "{script}: {:?}", began.elapsed());
    }
}

#[test]
fn closures_that_call_their_own_word_without_end_meet_a_limit() {
    for script in [
        "fn f() { sweep(vary(\"x\", [1]), |c| f()) } f()",
        "fn f() { [1].map(|x| f()) } f()",
        "fn f() { [1, 2].reduce(|x, y| f(), 0) } f()",
        "fn f() { table([#{ a: 1 }]).filter(|r| f()) } f()",
        "fn f() { table([#{ a: 1 }]).with(\"b\", |r| f().rows) } f()",
        "fn f(t) { t.group_by(\"a\", |g| #{ n: f(g).rows }) } f(table([#{ a: 1 }]))",
        "fn f() { best(#{ a: [1, 2] }, |k| #{ lowest: f().value }) } f()",
        "fn f() { tornado(#{ x: [1, 2, 4] }, |k| f().rows) } f()",
        "fn f() { sobol_indices(vary(\"x\", between(0, 1)).vary(\"y\", between(0, 1)).samples(16), |c| f().rows) } f()",
        "fn f() { compare([head(\"h\", (1/8).inch)], |h| f()) } f()",
        "fn f() { vary(\"x\", [1, 2]).filter(|c| f().cases > 0) } f()",
        "fn f() { seek(0, 1, |x| f()) } f()",
        "fn f() { break_even(0, 1, |x| f(), |x| x) } f()",
    ] {
        let error = failure(script);
        assert_eq!((error.kind, &*error.message), (Trouble::Limit, "functions call each other too deeply"), "{script}");
    }
}

/// The most memory that the program takes for a script, in MB, and what it says. Linux tells it.
#[cfg(target_os = "linux")]
fn memory_of(script: &str, home: &Path) -> (f64, String) {
    std::fs::write(home.join("s.rhai"), script).expect("written");
    let mut program = std::process::Command::new(assert_cmd::cargo::cargo_bin("hosewright"))
        .args(["run", "s.rhai", "--memory-limit", "400", "--time-limit", "20"])
        .current_dir(home)
        .stderr(std::process::Stdio::piped())
        .stdout(std::process::Stdio::null())
        .spawn()
        .expect("the program");
    let status = format!("/proc/{}/status", program.id());
    let mut most_mb = 0.0f64;
    while program.try_wait().expect("a child").is_none() {
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let peak = text.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.parse::<f64>().ok());
        most_mb = most_mb.max(peak.unwrap_or(0.0) / 1e3);
        std::thread::sleep(Duration::from_millis(2));
    }
    let said = program.wait_with_output().expect("its output");
    (most_mb, String::from_utf8_lossy(&said.stderr).into_owned())
}

#[cfg(target_os = "linux")]
#[test]
fn memory_stays_within_a_quarter_more_than_its_limit() {
    let home = tempfile::tempdir().expect("a folder");
    std::fs::File::create(home.path().join("large.csv")).and_then(|file| file.set_len(6_000_000_000)).expect("a file");
    for (script, says) in [
        ("let t = sweep(vary(\"x\", steps(0, 99999, 1)), |c| #{ y: c.x, z: c.x }); t.pivot(\"y\", \"z\", \"x\")".to_string(), "is too large"),
        (format!("{LONG} a.replace(\"y\", a)"), "a string grows too large"),
        (format!("{LONG} a.split(\"\")"), "a list grows too large"),
        ("read_table(\"large.csv\")".to_string(), "needs more than 400 MB of memory"),
        (
            "let a = \"x\"; a.pad(1000000, \"y\"); sweep(vary(\"x\", steps(0, 99999, 1)), |c| #{ s: a }).save(\"o.csv\")".to_string(),
            "needs more than 400 MB of memory",
        ),
        (
            "let t = sweep(vary(\"x\", steps(0, 99999, 1)), |c| c.x * 1.5); for i in 0..6 { t = t.append(t); } t.save(\"o.json\")".to_string(),
            "needs more than 400 MB of memory",
        ),
        (
            "sweep(vary(\"x\", steps(0, 9999, 1)), |c| { let m = #{}; m[`c${c.x}`] = 1; m })".to_string(),
            "needs more than 400 MB of memory",
        ),
    ] {
        let (most_mb, said) = memory_of(&script, home.path());
        assert!(said.contains(says), "{script}: {said}");
        assert!(most_mb < 1.25 * 400.0, "{script}: {most_mb} MB");
        assert_eq!(std::fs::read_dir(home.path()).expect("a folder").count(), 2, "{script} leaves a file");
    }
}

#[cfg(unix)]
#[test]
fn pipes_in_the_folder_are_not_waited_for() {
    let home = tempfile::tempdir().expect("a folder");
    for name in ["p.csv", "p.json", "p.parquet", "p.rhai"] {
        let made = std::process::Command::new("mkfifo").arg(home.path().join(name)).status().expect("mkfifo");
        assert!(made.success());
    }
    for script in ["read_table(\"p.csv\")", "read_table(\"p.json\")", "read_table(\"p.parquet\")", "import \"p\" as p;"] {
        let error = failure_in(home.path(), script);
        assert!(error.message.contains("a pipe, a device or a socket"), "{script}: {}", error.message);
    }
}
