//! Every example in the README and in `docs/` runs and shows what it says.

use hosewright::script::examples::{BARE, bares_a_booster, check, examples};
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
            let name = page.file_name().unwrap_or_default().to_string_lossy();
            match check(&example) {
                Err(error) => failures.push(format!("{name}: {error}")),
                Ok(cautions) if bares_a_booster(cautions) => failures.push(format!("{name}: {BARE}\n{example}")),
                Ok(_) => {}
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n\n"));
    assert!(number > 20, "only {number} examples were found");
}

/// Whoever copies a block into a file, or pastes it into the shell, must be able to run it as it stands.
#[test]
fn every_block_of_the_documents_can_be_read_as_a_whole() {
    let mut failures = Vec::new();
    for page in pages() {
        let text = std::fs::read_to_string(&page).expect("the page can be read");
        // The reference shows entries of a shell, one a line.
        if page.file_name().is_some_and(|name| name == "reference.md") {
            continue;
        }
        for block in text.split("```hw\n").skip(1).filter_map(|rest| rest.split("```").next()) {
            let error = rhai_reads(block);
            failures.extend(error.map(|error| format!("{}: {error}\n{block}", page.display())));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n\n"));
}

/// What keeps a block from being read, leaving out blocks that show a mistake on purpose. Words that we free from the engine's
/// reserve are written otherwise.
fn rhai_reads(block: &str) -> Option<String> {
    let freed = [("case", "each"), ("with", "having"), ("static", "still")];
    let block = freed.iter().fold(block.to_string(), |block, (word, other)| block.replace(word, other));
    rhai::Engine::new().compile(&block).err().filter(|_| !block.contains("=> error")).map(|error| error.to_string())
}

#[test]
fn every_link_between_the_documents_leads_somewhere() {
    for page in pages() {
        let text = std::fs::read_to_string(&page).expect("the page can be read");
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap_or_default().trim_matches(['<', '>']);
            if file.is_empty() || file.contains("://") {
                continue;
            }
            let target = page.parent().expect("a folder").join(file);
            assert!(target.exists(), "{} links to {link}", page.display());
        }
    }
}
