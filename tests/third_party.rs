//! The list of the crates in the program, with their licenses, is current.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::process::Command;

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/third-party.md");
/// The system whose crates are listed; others add some of their own.
const SYSTEM: &str = "x86_64-unknown-linux-gnu";

#[test]
fn the_list_of_third_party_crates_is_current() {
    let page = page();
    if std::env::var_os("HOSEWRIGHT_UPDATE").is_some() {
        std::fs::write(PAGE, &page).expect("the page can be written");
    }
    let kept = std::fs::read_to_string(PAGE).unwrap_or_default();
    assert!(kept == page, "docs/third-party.md is out of date: run this test with HOSEWRIGHT_UPDATE=1");
}

#[test]
fn every_crate_allows_its_use_in_a_program_under_our_licenses() {
    let permissive = [
        "MIT",
        "Apache-2.0",
        "BSD-2-Clause",
        "BSD-3-Clause",
        "0BSD",
        "ISC",
        "Zlib",
        "Unicode-3.0",
        "Unlicense",
        "CC0-1.0",
        "BSL-1.0",
        "MIT-0",
    ];
    // These bind the files of the crate itself and no others; its source must be told.
    let by_file = ["MPL-2.0", "MPL-2.0+"];
    let strict: Vec<String> = crates()
        .into_iter()
        .filter(|one| {
            !(by_file.contains(&one.license.as_str()) && include_str!("../NOTICE").contains(&format!("`{}`", one.name)))
        })
        .filter(|one| {
            // Of alternatives one is enough; of licenses that hold together each must do.
            let normal = one.license.replace('/', " OR ").replace(" WITH LLVM-exception", "");
            let allowed = |name: &str| permissive.contains(&name.trim_matches(['(', ')', ' ']));
            !normal.split(" AND ").all(|part| part.split(" OR ").any(allowed))
        })
        .map(|one| format!("{} {}: {}", one.name, one.version, one.license))
        .collect();
    assert!(strict.is_empty(), "look at these licenses: {}", strict.join(", "));
}

#[test]
fn the_notice_says_what_the_embedded_fonts_say_of_their_license() {
    let notice = include_str!("../NOTICE");
    for font in [notosans::REGULAR_TTF, notosans::BOLD_TTF] {
        for line in ["Copyright 2012 Google Inc. All Rights Reserved.", "Licensed under the Apache License, Version 2.0"] {
            // Texts in fonts have two bytes for each sign.
            let wanted: Vec<u8> = line.encode_utf16().flat_map(u16::to_be_bytes).collect();
            assert!(font.windows(wanted.len()).any(|part| part == wanted), "the fonts do not say: {line}");
            assert!(notice.contains(line), "NOTICE does not say: {line}");
        }
    }
}

#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Crate {
    name: String,
    version: String,
    license: String,
}

fn page() -> String {
    let crates = crates();
    let mut page = format!(
        "# Third-party crates\n\nThe crates that the program is made of, as built for `{SYSTEM}`: {} with their versions and licenses. Other \
         systems add some of their\nown. What only builds or tests the program is left out. Where a license is a choice, either may be taken. \
         The embedded fonts have\nlicenses of their own, told in [NOTICE](../NOTICE).\n\nMade by `cargo test --test \
         third_party` with HOSEWRIGHT_UPDATE=1.\n\n| crate | version | license |\n|---|---|---|\n",
        crates.len()
    );
    for Crate { name, version, license } in &crates {
        let _ = writeln!(page, "| {name} | {version} | {license} |");
    }
    page
}

/// The crates that the program is linked with, in order.
fn crates() -> BTreeSet<Crate> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let told = Command::new(cargo)
        .args([
            "tree",
            "--locked",
            "--target",
            SYSTEM,
            "--edges",
            "normal,no-proc-macro",
            "--prefix",
            "none",
            "--format",
            "{p}|{l}",
        ])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo can be run");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let text = String::from_utf8(told.stdout).expect("text");
    // The first line is the program itself.
    text.lines().skip(1).filter(|line| !line.is_empty()).map(crate_of).collect()
}

/// A crate of `name v1.2.3|license`; a star behind it says that what it needs was told before.
fn crate_of(line: &str) -> Crate {
    let (package, license) = line.trim_end_matches(" (*)").split_once('|').expect("name and license");
    let (name, version) = package.split_once(" v").expect("name and version");
    let version = version.split(' ').next().unwrap_or(version);
    let license = if license.is_empty() { "not said" } else { license };
    Crate { name: name.into(), version: version.into(), license: license.into() }
}
