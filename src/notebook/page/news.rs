//! What an open page is sent of a cell: what differs from what it shows, down to the pieces of the body and the cells of its tables.
//!
//! Knows what two views hold, and nothing of who has heard what.

use super::pieces::{Piece, PieceNews};
use super::view::CellView;
use serde::Serialize;

/// What of a cell is sent; null stands for what is the same.
#[derive(Serialize)]
pub struct CellNews<'a> {
    prose: Option<&'a str>,
    code: Option<&'a str>,
    settings: Option<&'a str>,
    body: Option<BodyNews<'a>>,
    text: Option<&'a str>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum BodyNews<'a> {
    Whole(&'a str),
    Pieces {
        /// How many pieces the page shows now.
        of: usize,
        /// Null for each that stays, up to the last one.
        pieces: Vec<Option<PieceNews<'a>>>,
    },
}

impl<'a> CellNews<'a> {
    /// What is sent to a page that shows a cell as known, or does not show it yet; nothing where it looks the same.
    pub fn of(view: &'a CellView, known: Option<&CellView>) -> Option<CellNews<'a>> {
        if known.is_some_and(|known| known.looks_like(view)) {
            return None;
        }
        let unless_same = |one: fn(&CellView) -> &str| known.is_none_or(|known| one(known) != one(view)).then(|| one(view));
        let body = unless_same(|view| &view.body).map(|whole| match known {
            Some(known) => body_news(view, known),
            None => BodyNews::Whole(whole),
        });
        Some(CellNews {
            prose: unless_same(|view| &view.prose),
            code: unless_same(|view| &view.code),
            settings: unless_same(|view| &view.settings),
            body,
            text: unless_same(|view| &view.text),
        })
    }
}

fn body_news<'a>(view: &'a CellView, known: &CellView) -> BodyNews<'a> {
    let piece = |(index, piece): (usize, &'a Piece)| match known.pieces.get(index) {
        Some(former) => piece.news(&view.body, (former, &known.body)),
        None => Some(PieceNews::Whole(piece.markup(&view.body))),
    };
    BodyNews::Pieces { of: known.pieces.len(), pieces: view.pieces.iter().enumerate().map(piece).collect() }
}

#[cfg(test)]
mod tests {
    use super::super::{CodeShown, Use, views};
    use super::*;
    use crate::files::Folder;
    use crate::notebook::workbook::Workbook;
    use crate::script::Context;
    use serde_json::Value;
    use std::sync::Arc;

    const STUDY: &str = "let n = slider(\"n\", 1, 9, 3);\nlet m = slider(\"m\", 1, 9, 2);\n\
        // ## Tables\ntable(#{ a: [1, 2, n], b: [\"x\", \"y_z\", \"x\"] });\n`${n} and more`;\ntable(#{ c: [m, 2] });\n\
        chart(table(#{ x: [1, 2], y: [1, m] })).x(\"x\").y(\"y\");\ntable(#{ d: if n > 4 { [1] } else { [1, 2] } });\n";

    fn shown(book: &Workbook) -> Arc<CellView> {
        views(book, Use::Live, CodeShown::Open, &[]).pop().expect("a cell")
    }

    /// Each piece without the texts in its cells, and these.
    type Pieces = Vec<(String, Vec<String>)>;

    fn pieces(view: &CellView) -> Pieces {
        view.pieces.iter().map(|piece| piece.apart(&view.body)).collect()
    }

    /// What a page shows after it has heard the news of a body; whole pieces are those of the view.
    fn heard(shown: &Pieces, news: &Value, view: &CellView) -> Pieces {
        assert_eq!(news["of"], shown.len());
        let piece = |(index, one): (usize, &Value)| match one {
            Value::Null => shown[index].clone(),
            Value::String(markup) => {
                assert_eq!(*markup, view.pieces[index].markup(&view.body));
                pieces(view)[index].clone()
            }
            _ => {
                let (frame, mut cells) = shown[index].clone();
                assert_eq!(one["of"], cells.len());
                let mut at = 0;
                for cell in one["cells"].as_array().expect("cells") {
                    match cell.as_str() {
                        Some(text) => {
                            cells[at] = text.to_string();
                            at += 1;
                        }
                        None => at += cell.as_u64().expect("a number") as usize,
                    }
                }
                (frame, cells)
            }
        };
        news["pieces"].as_array().expect("pieces").iter().enumerate().map(piece).collect()
    }

    #[test]
    fn a_page_that_hears_what_changed_shows_what_a_new_page_shows() {
        let mut book = Workbook::new("study.rhai", Arc::new(Context::new(Folder::new("."))));
        book.renew(STUDY, &mut |_, _, _| {});
        let mut before = shown(&book);
        let mut page = pieces(&before);
        let mut kinds = Vec::new();
        for (name, value) in [("n", 4.0), ("m", 5.0), ("n", 4.0), ("n", 5.0), ("m", 2.0)] {
            book.set_controls(&[(name.to_string(), Some(value))], &mut |_, _, _| {});
            let now = shown(&book);
            let news = serde_json::to_value(CellNews::of(&now, Some(&before))).expect("JSON");
            if news.is_null() {
                kinds.push("nothing".to_string());
            } else {
                assert!(news["prose"].is_null() && news["code"].is_null() && news["text"].is_null(), "{news}");
                page = heard(&page, &news["body"], &now);
                let kind = |piece: &Value| match piece {
                    Value::Null => "-",
                    Value::String(_) => "whole",
                    _ => "cells",
                };
                kinds.push(news["body"]["pieces"].as_array().expect("pieces").iter().map(kind).collect::<Vec<_>>().join(" "));
            }
            assert_eq!(page, pieces(&now));
            before = now;
        }
        // The last table has another number of rows.
        assert_eq!(kinds, ["cells whole - - -", "- - cells whole -", "nothing", "cells whole - - whole", "- - cells whole -"]);
        let whole = serde_json::to_value(CellNews::of(&before, None)).expect("JSON");
        assert_eq!(whole["body"], before.body.as_str());
    }
}
