//! Text to tree.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use strikeoff::source::FileId;
use strikeoff::syntax::parse;

#[test]
fn first() {
    for file in ["room.std", "harbour.plan", "trade.std"] {
        let text = std::fs::read_to_string(format!("tests/cases/syntax/{file}")).unwrap();
        let parsed = parse(FileId(0), &text);
        assert_eq!(parsed.problems, [], "{file}");
        if std::env::var("SHOW").is_ok() {
            println!("{:#?}", parsed.tree);
        }
    }
}
