//! `check --apply N`: what it writes, and what it refuses.

use std::fs;

use super::{CLEAN, Folder, STANDARD, TROUBLE, plan_with};

const COMMENTED: &str = "# An order\r\nrun \"An order\" against \"room.std\"\r\n\r\ndryer {\r\n  chamber  2.44 m\t# measured\r\n  belt     3 m/min ± 5 %   # by watch\r\n}\r\n\r\n# the end";

/// Everything but the value is left byte for byte.
#[test]
fn only_the_value_is_changed() {
    for mark in ["", "\u{feff}"] {
        let folder = Folder::new("apply-bytes");
        folder.put("room.std", STANDARD);
        folder.put("a.plan", format!("{mark}{COMMENTED}"));
        let done = folder.run(&["check", "a.plan", "--apply", "1", "--on", "2026-11-25"]);
        assert_eq!(done.code, CLEAN);
        let text = fs::read_to_string(folder.0.join("a.plan")).unwrap();
        let wanted = COMMENTED.replace("3 m/min ± 5 %", "2.3 m/min ± 5 %");
        assert_eq!(text, format!("{mark}{wanted}"));
        let said = done.out;
        assert!(said.starts_with("a.plan: written: repair 1: bring `dryer.belt` to 2.3 m/min"));
        assert!(
            said.contains("     6 -   belt     3 m/min ± 5 %   # by watch\n"),
            "{said}"
        );
        assert!(
            said.contains("     6 +   belt     2.3 m/min ± 5 %   # by watch\n"),
            "{said}"
        );
        assert!(said.contains("An order: passes."), "{said}");
        // Nothing is left to repair.
        let twice = folder.run(&["check", "a.plan", "--apply", "1"]);
        assert_eq!(twice.code, TROUBLE);
        let said = twice.err;
        assert_eq!(said, "strikeoff: `a.plan` has no repair to apply\n");
        assert_eq!(fs::read_to_string(folder.0.join("a.plan")).unwrap(), text);
        // No other file was left behind.
        assert_eq!(fs::read_dir(&folder.0).unwrap().count(), 2);
    }
}

#[test]
fn a_dry_run_writes_nothing() {
    let folder = Folder::room("apply-dry");
    let before = fs::read(folder.0.join("breaks.plan")).unwrap();
    let done = folder.run(&["check", "breaks.plan", "--apply", "1", "--dry-run"]);
    assert_eq!(done.code, CLEAN);
    let said = done.out;
    assert!(
        said.starts_with("breaks.plan: not written: repair 1: "),
        "{said}"
    );
    assert_eq!(fs::read(folder.0.join("breaks.plan")).unwrap(), before);
}

/// For machines the report stays what it is, and what was changed is said beside it.
#[test]
fn the_form_of_the_report_stays_whole() {
    let folder = Folder::room("apply-json");
    let done = folder.run(&["check", "breaks.plan", "--apply", "1", "--as", "json"]);
    assert_eq!(done.code, CLEAN);
    assert!(done.out.starts_with("{"));
    assert!(done.err.starts_with("breaks.plan: written: repair 1"));
}

fn refused(folder: &Folder, arguments: &[&str], words: &str) {
    let before = fs::read(folder.0.join("breaks.plan")).unwrap();
    let done = folder.run(&[&["check"], arguments].concat());
    assert_eq!(done.code, TROUBLE, "{arguments:?}");
    let said = done.err;
    assert!(said.contains(words), "{arguments:?}: {said}");
    assert_eq!(fs::read(folder.0.join("breaks.plan")).unwrap(), before);
}

#[test]
fn what_cannot_be_meant_is_refused() {
    let folder = Folder::room("apply-refused");
    refused(
        &folder,
        &["breaks.plan", "--apply", "7"],
        "`breaks.plan` has no repair 7; it has repairs 1 to 2",
    );
    refused(&folder, &["breaks.plan", "--apply", "0"], "has no repair 0");
    refused(
        &folder,
        &["holds.plan", "--apply", "1"],
        "`holds.plan` has no repair to apply",
    );
    refused(
        &folder,
        &["breaks.plan", "risk.plan", "--apply", "1"],
        "2 plans were named; name one",
    );
    refused(
        &folder,
        &[".", "--apply", "1"],
        "3 plans were named; name one",
    );
    refused(
        &folder,
        &["-", "--apply", "1"],
        "a plan from standard input cannot be written",
    );
    refused(&folder, &["none.plan", "--apply", "1"], "was not checked");
    folder.put(
        "broken.plan",
        "run \"x\" against \"room.std\"\ndryer {\n  belt 3\n}\n",
    );
    refused(
        &folder,
        &["broken.plan", "--apply", "1"],
        "`broken.plan` was not checked",
    );
    refused(&folder, &["breaks.plan", "--dry-run"], "--apply <N>");
}

#[cfg(unix)]
#[test]
fn rights_stay_and_links_are_followed_inside_the_folder_only() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let folder = Folder::room("apply-rights");
    let plan = folder.0.join("breaks.plan");
    let rights = |mode| fs::set_permissions(&plan, fs::Permissions::from_mode(mode)).unwrap();
    rights(0o440);
    refused(
        &folder,
        &["breaks.plan", "--apply", "1"],
        "`breaks.plan` is read-only",
    );
    rights(0o640);
    symlink("breaks.plan", folder.0.join("link.plan")).unwrap();
    let done = folder.run(&["check", "link.plan", "--apply", "1"]);
    assert_eq!(done.code, CLEAN);
    assert!(folder.0.join("link.plan").is_symlink());
    assert!(fs::read_to_string(&plan).unwrap().contains("2.3 m/min"));
    assert_eq!(
        fs::metadata(&plan).unwrap().permissions().mode() & 0o777,
        0o640
    );
    let outside = Folder::new("apply-outside");
    outside.put("out.plan", plan_with("3 m/min"));
    symlink(outside.0.join("out.plan"), folder.0.join("out.plan")).unwrap();
    refused(&folder, &["out.plan", "--apply", "1"], "was not checked");
    let kept = fs::read_to_string(outside.0.join("out.plan")).unwrap();
    assert_eq!(kept, plan_with("3 m/min"));
}

/// What a standard says of a change is a text from a file.
#[test]
fn hostile_words_are_shown_escaped() {
    let folder = Folder::new("apply-hostile");
    let takes = "\nadd to dryer {\n  changing belt takes 1 min \"\u{202e}knob\"\n}\n";
    folder.put("room.std", format!("{STANDARD}{takes}"));
    folder.put("a.plan", plan_with("3 m/min") + "# \u{202e}\n");
    let done = folder.run(&["check", "a.plan", "--apply", "1"]);
    let said = done.out + &done.err;
    assert!(!said.contains('\u{202e}'), "{said}");
}

/// Two settings that each break a limit of their own, and share one.
const TWO: &str = r#"standard "A room" edition "1"

kind oven, one to a run "an oven" {
  upper    length from 1 mm to 300 mm  "the upper gap" set in steps of 5 mm
  lower    length from 1 mm to 300 mm  "the lower gap" set in steps of 5 mm
  gap      length = upper + lower      "both gaps" measured by "a gauge"
}

rule wide-above {
  shall    oven.upper at least 100 mm
  per      practice
}

rule wide-below {
  shall    oven.lower at least 100 mm
  per      practice
}
"#;

fn two(name: &str, standard: &str, oven: &str) -> Folder {
    let folder = Folder::new(name);
    folder.put("room.std", standard);
    folder.put(
        "a.plan",
        format!("run \"An order\" against \"room.std\"\n\noven {{\n{oven}}}\n"),
    );
    folder
}

#[test]
fn repairs_that_do_not_touch_each_other_are_put_in_together() {
    for asked in ["all", "1,2", "2, 1"] {
        let folder = two("apply-two", TWO, "  upper 80 mm\n  lower 60 mm\n");
        let done = folder.run(&["check", "a.plan", "--apply", asked, "--on", "2026-11-25"]);
        assert_eq!(done.code, CLEAN, "{}{}", done.out, done.err);
        let text = fs::read_to_string(folder.0.join("a.plan")).unwrap();
        assert!(text.contains("  upper 100 mm\n  lower 100 mm\n"), "{text}");
        assert!(done.out.contains("An order: passes."), "{}", done.out);
    }
}

/// Each alone does, but both move what a third rule limits: nothing is written.
#[test]
fn repairs_that_do_alone_and_not_together_are_not_written() {
    let third = "\nrule both {\n  shall    oven.gap at most 190 mm\n  per      practice\n}\n";
    let folder = two(
        "apply-clash",
        &format!("{TWO}{third}"),
        "  upper 80 mm\n  lower 80 mm\n",
    );
    for number in ["1", "2"] {
        let alone = [
            "check",
            "a.plan",
            "--apply",
            number,
            "--dry-run",
            "--on",
            "2026-11-25",
        ];
        assert_eq!(folder.run(&alone).code, 1);
    }
    let before = fs::read(folder.0.join("a.plan")).unwrap();
    for asked in ["1,2", "all"] {
        let done = folder.run(&["check", "a.plan", "--apply", asked, "--on", "2026-11-25"]);
        assert_eq!(done.code, TROUBLE, "{}", done.out);
        assert_eq!(
            done.err,
            "strikeoff: repairs 1, 2 each do alone, but together `both` breaks; nothing was written; \
             put in one, and look at the new report\n"
        );
        assert_eq!(fs::read(folder.0.join("a.plan")).unwrap(), before);
    }
}

/// The one mends what the other breaks again: what is mended alone has to be mended together.
#[test]
fn repairs_that_undo_each_other_are_not_written() {
    let apart = "\nrule apart {\n  shall    oven.lead at least 30 mm\n  per      practice\n  adjust   oven.upper\n}\n";
    let standard = TWO.replace(
        "  gap ",
        "  lead     length from -500 mm to 500 mm = upper - lower  \"how far it leads\"\n  gap ",
    );
    let folder = two(
        "apply-undone",
        &format!("{standard}{apart}"),
        "  upper 100 mm\n  lower 90 mm\n",
    );
    let before = fs::read(folder.0.join("a.plan")).unwrap();
    let done = folder.run(&["check", "a.plan", "--apply", "1,3", "--on", "2026-11-25"]);
    assert_eq!(done.code, TROUBLE, "{}", done.out);
    assert!(
        done.err
            .contains("together `apart` breaks, which one of them mends alone"),
        "{}",
        done.err
    );
    assert_eq!(fs::read(folder.0.join("a.plan")).unwrap(), before);
}

/// `all` says which repair it left out, and why.
#[test]
fn what_all_leaves_out_is_said() {
    let more = "\nrule wider-above {\n  shall    oven.upper at least 120 mm\n  per      practice\n}\n\
                \nrule never {\n  shall    oven.depth at least 10 mm\n  per      practice\n}\n";
    let standard = TWO.replace(
        "  gap ",
        "  depth    length from 1 mm to 300 mm  \"its depth\" given\n  gap ",
    );
    let folder = two(
        "apply-left-out",
        &format!("{standard}{more}"),
        "  upper 80 mm\n  lower 60 mm\n  depth 5 mm\n",
    );
    let done = folder.run(&["check", "a.plan", "--apply", "all", "--on", "2026-11-25"]);
    assert_eq!(done.code, 1, "{}{}", done.out, done.err);
    assert!(
        done.out.contains("was left out: repairs 1 and")
            && done.out.contains("both move `oven.upper`"),
        "{}",
        done.out
    );
}

/// A reading that both repairs keep has the places of both dials.
#[test]
fn a_reading_is_kept_with_all_dials_that_moved() {
    let oven = "  upper 80 mm\n  lower 60 mm\n  gap 140 mm ± 2 mm read on 2026-11-20\n";
    let folder = two("apply-kept", TWO, oven);
    let done = folder.run(&["check", "a.plan", "--apply", "1,2", "--on", "2026-11-25"]);
    assert_eq!(done.code, CLEAN, "{}{}", done.out, done.err);
    let text = fs::read_to_string(folder.0.join("a.plan")).unwrap();
    let kept =
        "reading oven.gap {\n  at         oven.upper 80 mm\n  at         oven.lower 60 mm\n}";
    assert!(text.contains(kept), "{text}");
    // What is shown is what was put in, with its numbers, and no line that was there before.
    let shown = "   9 + reading oven.gap {\n    10 +   at         oven.upper 80 mm\n";
    assert!(done.out.contains(shown), "{}", done.out);
    assert!(!done.out.contains("   7 + }"), "{}", done.out);
    assert!(done.out.contains("at least 138 mm here"), "{}", done.out);
}

#[test]
fn repairs_that_touch_are_named() {
    let folder = Folder::room("apply-touching");
    let before = fs::read(folder.0.join("breaks.plan")).unwrap();
    for (asked, words) in [
        ("1,7", "has no repair 7"),
        (
            "1,x",
            "write the number of a repair, several as `1,3,4`, or `all`",
        ),
    ] {
        let done = folder.run(&["check", "breaks.plan", "--apply", asked]);
        assert_eq!(done.code, TROUBLE);
        assert!(done.err.contains(words), "{}", done.err);
    }
    assert_eq!(fs::read(folder.0.join("breaks.plan")).unwrap(), before);
}
