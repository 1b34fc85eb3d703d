//! Bytes that are no text, and texts that mean harm.

use std::fs;

use super::{FINDINGS, Folder, Ran, STANDARD, TROUBLE, plan_with};

#[test]
fn bytes_that_are_no_text() {
    let folder = Folder::room("not-utf8");
    folder.put("odd.plan", b"run \"\xff\xfe\" against \"room.std\"\n");
    folder
        .check(&["odd.plan"])
        .exits(TROUBLE)
        .says("error[not-utf8]: `odd.plan` is not UTF-8 text: byte 5");
    folder
        .piped(&["check", "-"], b"run \"\xff\"")
        .exits(TROUBLE)
        .says("error[not-utf8]");
}

#[test]
fn byte_order_marks_and_other_line_ends_change_nothing() {
    let folder = Folder::room("bom");
    let other = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let plain = folder
        .check(&["breaks.plan", "--as", "log"])
        .exits(FINDINGS);
    folder.put("room.std", other(STANDARD));
    folder.put("breaks.plan", other(&plan_with("3 m/min ± 5 %")));
    let odd = folder
        .check(&["breaks.plan", "--as", "log"])
        .exits(FINDINGS);
    let first = |ran: &Ran| ran.out.lines().next().unwrap().to_owned();
    assert_eq!(first(&plain), first(&odd));
}

#[test]
fn empty_files() {
    let folder = Folder::room("empty");
    folder.put("empty.plan", "");
    folder.put("blank.plan", "\n\n  \n");
    folder.put("empty.std", "");
    folder
        .check(&["empty.plan"])
        .exits(TROUBLE)
        .says("error[header-missing]");
    folder
        .check(&["blank.plan"])
        .exits(TROUBLE)
        .says("error[header-missing]");
    folder
        .check(&["empty.std"])
        .exits(TROUBLE)
        .says("error[header-missing]");
    folder
        .piped(&["check", "-"], b"")
        .exits(TROUBLE)
        .says("error[header-missing]");
}

#[test]
fn a_file_of_50_megabytes_is_refused() {
    let folder = Folder::room("large");
    let file = fs::File::create(folder.0.join("large.plan")).unwrap();
    file.set_len(50 * 1024 * 1024).unwrap();
    folder
        .check(&["large.plan"])
        .exits(TROUBLE)
        .says("error[file-too-large]");
}

#[test]
fn deep_nesting_ends() {
    let folder = Folder::room("deep");
    let deep = "(".repeat(100_000);
    folder.put("room.std", STANDARD.replace("dryer.dwell", &deep));
    folder
        .check(&["holds.plan"])
        .exits(TROUBLE)
        .says("error[nested-too-deep]");
}

#[test]
fn what_could_move_the_cursor_is_shown_escaped() {
    let folder = Folder::room("hostile");
    let bad = "\u{1b}[31m\u{7}\u{202e}\u{2066}\u{9b}2J";
    folder.put(
        "room.std",
        STANDARD
            .replace("A room", "A\u{202e} room")
            .replace("heated slowly", "heated\u{2066} slowly"),
    );
    folder.put(
        "order.plan",
        plan_with("3 m/min").replace("An order", "An\u{202e} order\u{200b}"),
    );
    folder.put("worse.plan", plan_with(bad));
    for form in ["people", "log", "json", "sarif", "junit"] {
        for extra in [&[][..], &["--plain"], &["--show", "passed"]] {
            let arguments = [&["order.plan", "worse.plan", "--as", form][..], extra].concat();
            let ran = folder.check(&arguments).exits(TROUBLE);
            for raw in ['\u{1b}', '\u{7}', '\u{202e}', '\u{2066}', '\u{9b}'] {
                assert!(!ran.out.contains(raw), "{form} {extra:?}: {raw:?}");
            }
        }
    }
    // Names of files and arguments are no more to be trusted.
    let ran = folder
        .check(&["\u{1b}[2J.plan", "\u{202e}.std"])
        .exits(TROUBLE);
    assert!(!ran.out.contains(['\u{1b}', '\u{202e}']), "{:?}", ran.out);
    let ran = folder.run(&["explain", "\u{1b}[2J"]).exits(TROUBLE);
    assert!(!ran.err.contains("\u{1b}[2J"), "{:?}", ran.err);
    let ran = folder
        .run(&["check", "holds.plan", "--on", "\u{1b}[2J"])
        .exits(TROUBLE);
    assert!(!ran.err.contains("\u{1b}[2J"), "{:?}", ran.err);
}
