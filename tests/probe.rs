use hosewright::files::Folder;
use hosewright::script::{Session, diagnostic::Colour};
#[test]
fn probe() {
    let mut session = Session::new(Folder::new("/tmp"));
    let text = std::fs::read_to_string("/tmp/probe.txt").unwrap();
    for entry in text.split("\n---\n") {
        println!(">> {entry}");
        for cell in session.evaluate(entry).cells {
            println!("[{:?}] {:?}", cell.lines, cell.shown);
            if let Some(e) = cell.error { println!("{}", e.render(Colour::No)); }
        }
    }
}
