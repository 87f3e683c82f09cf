//! The list of trade terms is sound: each term once, with a place where it is used. What help finds for them is told elsewhere.

use std::collections::HashSet;

const PLACES: [&str; 5] = ["all", "US", "UK/AU", "metric", "DE-English"];

#[test]
fn trade_terms_stand_once_and_name_where_they_are_used() {
    let text = include_str!("trade_terms.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    assert_eq!(reader.headers().expect("heads"), vec!["term", "topic", "where"]);
    let mut seen = HashSet::new();
    let mut with_topic = 0;
    for row in reader.records().map(|row| row.expect("a readable row")) {
        assert!(seen.insert(row[0].to_lowercase()), "'{}' stands twice", &row[0]);
        assert!(row.iter().all(|cell| cell == cell.trim()) && !row[0].is_empty(), "{row:?}");
        assert!(row[1].chars().all(|letter| letter.is_ascii_lowercase() || letter == '_'), "{row:?}");
        assert!(PLACES.contains(&&row[2]), "{row:?}");
        with_topic += usize::from(!row[1].is_empty());
    }
    assert!(with_topic >= 230, "{with_topic} terms with a topic");
}
