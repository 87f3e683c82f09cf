//! The studies in `scripts/` run as they stand, show what they should, and save their figures.

use hosewright::files::Folder;
use hosewright::script::Session;
use hosewright::script::diagnostic::Color;
use hosewright::script::examples::{BARE, bares_a_booster};
use std::path::Path;

/// Runs a study in a copy of the folder of studies and gives what it shows.
fn run(name: &str) -> (String, tempfile::TempDir) {
    let folder = tempfile::tempdir().expect("a folder");
    let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts");
    for entry in std::fs::read_dir(&scripts).expect("the studies") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|ending| ending == "rhai" || ending == "csv") {
            std::fs::copy(&path, folder.path().join(path.file_name().expect("a name"))).expect("a copy");
        }
    }
    let text = std::fs::read_to_string(folder.path().join(name)).expect("the study");
    let mut session = Session::new(Folder::new(folder.path()));
    let mut shown = String::new();
    session.evaluate_each(name, &text, &mut |cell| {
        if let Some(error) = &cell.error {
            panic!("{name}: {}", error.render(Color::No));
        }
        for value in &cell.shown {
            shown.push_str(value);
            shown.push_str("\n\n");
        }
    });
    assert!(!bares_a_booster(session.context().take_cautions()), "{name}: {BARE}");
    (shown, folder)
}

fn names() -> Vec<String> {
    let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts");
    let mut names: Vec<String> = std::fs::read_dir(scripts)
        .expect("the studies")
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.ends_with(".rhai"))
        .collect();
    names.sort();
    names
}

#[test]
fn every_study_shows_what_it_showed_before() {
    for name in names() {
        let (shown, _folder) = run(&name);
        insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(format!("study-{}", name.trim_end_matches(".rhai")), shown);
        });
    }
}

#[test]
fn every_figure_and_table_that_a_study_saves_is_there() {
    for name in names() {
        let (shown, folder) = run(&name);
        for line in shown.lines().filter_map(|line| line.strip_prefix("saved ")) {
            let size = std::fs::metadata(folder.path().join(line)).map_or(0, |file| file.len());
            assert!(size > 200, "{name}: {line} has {size} bytes");
        }
    }
}

#[test]
fn the_feed_study_saves_its_figure() {
    let (shown, folder) = run("feed-length.rhai");
    assert!(shown.contains("saved feed-length.svg"));
    let figure = std::fs::read_to_string(folder.path().join("feed-length.svg")).expect("the figure");
    assert!(figure.contains("stalls below 30 psi") && figure.contains("(ft)"), "{figure}");
}

#[test]
fn the_figure_in_the_documents_is_the_one_the_study_draws() {
    let (_, folder) = run("feed-length.rhai");
    let drawn = std::fs::read_to_string(folder.path().join("feed-length.svg")).expect("the figure");
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/feed-length.svg");
    if std::env::var_os("HOSEWRIGHT_UPDATE").is_some() {
        std::fs::write(&page, &drawn).expect("the page can be written");
    }
    let kept = std::fs::read_to_string(&page).expect("the figure of the documents");
    assert!(kept == drawn, "docs/feed-length.svg is out of date; refresh it with HOSEWRIGHT_UPDATE=1 cargo test --test studies");
}

/// docs/gallery.md is the report of its study as Markdown with another end, and its pictures are those that the study draws.
#[test]
fn the_gallery_in_the_documents_is_the_report_of_its_study() {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs");
    let folder = tempfile::tempdir().expect("a folder");
    let study = folder.path().join("gallery.rhai");
    std::fs::copy(docs.join("gallery/gallery.rhai"), &study).expect("a copy");
    let program = assert_cmd::cargo::cargo_bin("hosewright");
    let done = std::process::Command::new(program).arg("run").arg(&study).arg("--report=md").output().expect("the program runs");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let report = std::fs::read_to_string(folder.path().join("gallery.md")).expect("a report");
    let end = "This page is the report of [gallery.rhai](gallery/gallery.rhai): `hosewright run gallery.rhai --report=md` writes it with its figures.";
    // The report ends with the cautions of its gardens.
    let (shown, _) = report.rsplit_once("\n---\n").unwrap_or((report.as_str(), ""));
    let page = format!("{}\n\n---\n\n{end}\n", shown.replace("](<gallery-", "](<gallery/gallery-").trim_end());
    let mut made = vec![("gallery.md".to_string(), page.into_bytes())];
    for entry in std::fs::read_dir(folder.path()).expect("the folder").map(|entry| entry.expect("an entry").path()) {
        let name = entry.file_name().unwrap_or_default().to_string_lossy().to_string();
        if name.starts_with("gallery-") {
            made.push((format!("gallery/{name}"), std::fs::read(&entry).expect("a figure")));
        }
    }
    assert!(made.len() > 15, "{} files", made.len());
    if std::env::var_os("HOSEWRIGHT_UPDATE").is_some() {
        made.iter().for_each(|(name, bytes)| std::fs::write(docs.join(name), bytes).expect("a file"));
    }
    let is_old = |(name, bytes): &&(String, Vec<u8>)| std::fs::read(docs.join(name)).ok().as_ref() != Some(bytes);
    let old: Vec<&str> = made.iter().filter(is_old).map(|(name, _)| name.as_str()).collect();
    assert!(old.is_empty(), "out of date: {}; renew with HOSEWRIGHT_UPDATE=1 cargo test --test studies", old.join(", "));
}
