//! Every example in the README and in `docs/` runs and shows what it says.

use hosewright::script::examples::{check, examples};
use std::path::{Path, PathBuf};

fn pages() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut pages: Vec<PathBuf> = std::fs::read_dir(root.join("docs"))
        .expect("the folder of the documents")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|ending| ending == "md"))
        .collect();
    pages.extend([root.join("README.md"), root.join("DEVELOPERS.md")]);
    pages.sort();
    pages
}

#[test]
fn every_example_in_the_documents_shows_what_it_says() {
    let mut failures = Vec::new();
    let mut number = 0;
    for page in pages() {
        let text = std::fs::read_to_string(&page).expect("the page can be read");
        for example in examples(&text) {
            number += 1;
            if let Err(error) = check(&example) {
                failures.push(format!("{}: {error}", page.file_name().unwrap_or_default().to_string_lossy()));
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n\n"));
    assert!(number > 20, "only {number} examples were found");
}

#[test]
fn every_link_between_the_documents_leads_somewhere() {
    for page in pages() {
        let text = std::fs::read_to_string(&page).expect("the page can be read");
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap_or_default();
            if file.is_empty() || file.contains("://") {
                continue;
            }
            let target = page.parent().expect("a folder").join(file);
            assert!(target.exists(), "{} links to {link}", page.display());
        }
    }
}
