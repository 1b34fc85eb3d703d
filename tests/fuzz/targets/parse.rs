//! Any text has a tree, and every problem lies inside the text.
#![no_main]

use libfuzzer_sys::fuzz_target;
use strikeoff::source::FileId;
use strikeoff::syntax::{diagnostic, parse};

fuzz_target!(|data: &[u8]| {
    let text = String::from_utf8_lossy(data);
    let parsed = parse(FileId(0), &text);
    for problem in &parsed.problems {
        let said = diagnostic(problem);
        for label in said.labels() {
            assert!(text.get(label.span.range()).is_some(), "{said:?}");
        }
    }
});
