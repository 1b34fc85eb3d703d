//! Files, folders, links, and what lies outside.

use std::fs;
use std::process::Command;

use super::{CLEAN, FINDINGS, Folder, STANDARD, TROUBLE, plan_with};

#[test]
fn a_path_that_is_not_there() {
    let folder = Folder::room("not-there");
    folder
        .check(&["hold.plan"])
        .exits(TROUBLE)
        .says("error[file-missing]: there is no file `hold.plan`")
        .says("did you mean `holds.plan`?");
    folder.check(&["orders"]).exits(TROUBLE).says("orders");
    folder.check(&["notes.txt"]).exits(TROUBLE);
}

#[test]
fn a_folder_is_searched_and_each_path_is_taken_once() {
    let folder = Folder::room("folders");
    folder.put(
        "orders/may/order.plan",
        plan_with("2 m/min").replace("room.std", "../../room.std"),
    );
    folder.put("orders/.hidden/order.plan", "nonsense");
    folder.put("orders/notes.txt", "nonsense");
    folder
        .check(&["orders"])
        .exits(CLEAN)
        .says("1 plan checked, 0 not checked");
    folder
        .check(&[
            "orders",
            "orders/may",
            "orders/may/order.plan",
            "holds.plan",
        ])
        .exits(CLEAN)
        .says("2 plans checked, 0 not checked");
    folder
        .check(&["."])
        .exits(FINDINGS)
        .says("4 plans checked, 0 not checked");
}

#[test]
fn folders_without_a_plan_or_a_standard() {
    let folder = Folder::room("empty-folder");
    fs::create_dir(folder.0.join("empty")).unwrap();
    folder
        .check(&["empty"])
        .exits(TROUBLE)
        .says("error[nothing-to-check]");
    folder.put("order.txt", plan_with("2 m/min"));
    folder
        .check(&["order.txt"])
        .exits(TROUBLE)
        .says("error[nothing-to-check]: `order.txt` is neither a plan nor a standard");
}

#[test]
fn a_folder_with_the_name_of_a_file() {
    let folder = Folder::room("folder-for-a-file");
    fs::create_dir(folder.0.join("room2.std")).unwrap();
    folder.put(
        "order.plan",
        plan_with("2 m/min").replace("room.std", "room2.std"),
    );
    folder
        .check(&["order.plan"])
        .exits(TROUBLE)
        .says("error[file-is-folder]");
}

#[test]
fn another_standard_for_all_plans() {
    let folder = Folder::room("other-standard");
    folder.put("strict.std", STANDARD.replace("60 s", "90 s"));
    folder
        .check(&["holds.plan", "--standard", "strict.std"])
        .exits(FINDINGS)
        .says("at least 90 s");
    folder
        .check(&["holds.plan", "--standard", "nowhere.std"])
        .exits(TROUBLE)
        .says("there is no file `nowhere.std`");
}

#[test]
fn a_standard_outside_the_root_is_not_read() {
    let folder = Folder::room("root");
    folder.put(
        "orders/order.plan",
        plan_with("2 m/min").replace("room.std", "../room.std"),
    );
    folder
        .check(&["orders/order.plan", "--root", "orders"])
        .exits(TROUBLE)
        .says("error[path-leaves]");
    folder
        .check(&["orders/order.plan", "--root", "."])
        .exits(CLEAN);
    folder.put("secret.std", "the secret is out");
    folder.put(
        "orders/order.plan",
        plan_with("2 m/min").replace("room.std", "../../../../../../../../etc/passwd"),
    );
    let ran = folder.check(&["orders/order.plan"]).exits(TROUBLE);
    assert!(ran.out.contains("error[path-leaves]"), "{}", ran.out);
    assert!(!ran.out.contains("root:"));
}

#[test]
fn a_plan_is_the_same_from_every_folder() {
    let folder = Folder::room("from-everywhere");
    folder.put(
        "orders/2026/order.plan",
        plan_with("2 m/min").replace("room.std", "../../room.std"),
    );
    // The same name where a path joined wrongly would end up.
    folder.put(
        "orders/room.std",
        "standard \"The wrong room\" edition \"1\"\n",
    );
    let within = Folder(folder.0.join("orders"));
    for arguments in [
        &["2026/order.plan", "--root", ".."][..],
        &["../orders/2026/order.plan", "--root", ".."],
        &["2026/order.plan", "--standard", "../room.std"],
    ] {
        let ran = within.check(arguments).exits(CLEAN);
        assert!(
            !ran.out.contains("wrong room"),
            "{arguments:?}: {}",
            ran.out
        );
    }
    within
        .check(&["2026/order.plan"])
        .exits(TROUBLE)
        .says("error[path-leaves]");
    // Nothing is told of what lies outside, not even whether it is there.
    folder.put(
        "orders/2026/order.plan",
        plan_with("2 m/min").replace("room.std", "../../nowhere.std"),
    );
    within
        .check(&["2026/order.plan"])
        .exits(TROUBLE)
        .says("error[path-leaves]");
}

#[test]
fn a_plan_that_cannot_be_read_is_counted() {
    let folder = Folder::room("unread");
    folder.put("binary.plan", b"\xff\xfe\x00");
    folder
        .check(&["holds.plan", "binary.plan"])
        .exits(TROUBLE)
        .says("error[not-utf8]")
        .says("1 plan checked, 1 not checked");
    let report = folder
        .check(&["binary.plan", "--as", "json"])
        .exits(TROUBLE);
    assert!(
        report.out.contains("\"file\": \"binary.plan\""),
        "{}",
        report.out
    );
}

#[test]
fn paths_inside_and_outside_the_folder_go_together() {
    let folder = Folder::room("inside-and-outside");
    folder.put("orders/room.std", STANDARD);
    folder.put("orders/order.plan", plan_with("2 m/min"));
    Folder(folder.0.join("orders"))
        .check(&["order.plan", "../holds.plan"])
        .exits(CLEAN);
}

#[cfg(unix)]
#[test]
fn a_link_that_leaves_is_not_followed() {
    let folder = Folder::room("link");
    let outside = Folder::new("link-outside");
    outside.put("secret.std", "secret \"words\"\n");
    std::os::unix::fs::symlink(outside.0.join("secret.std"), folder.0.join("link.std")).unwrap();
    folder.put(
        "order.plan",
        plan_with("2 m/min").replace("room.std", "link.std"),
    );
    let ran = folder.check(&["order.plan"]).exits(TROUBLE);
    assert!(ran.out.contains("error[path-leaves]"), "{}", ran.out);
    assert!(!ran.out.contains("secret \"words\""));
    // A circle of links ends.
    std::os::unix::fs::symlink(&folder.0, folder.0.join("round")).unwrap();
    fs::remove_file(folder.0.join("link.std")).unwrap();
    fs::remove_file(folder.0.join("order.plan")).unwrap();
    folder.check(&["."]).exits(FINDINGS);
}

#[cfg(unix)]
#[test]
fn a_pipe_for_a_file_does_not_hang() {
    let folder = Folder::room("fifo");
    let made = Command::new("mkfifo")
        .arg(folder.0.join("pipe.plan"))
        .status();
    if made.is_ok_and(|status| status.success()) {
        folder
            .check(&["pipe.plan"])
            .exits(TROUBLE)
            .says("it is not a plain file");
    }
}

#[test]
fn files_that_use_each_other() {
    let folder = Folder::room("cycle");
    folder.put("room.std", format!("{STANDARD}\nuse \"one.std\"\n"));
    folder.put("one.std", "use \"two.std\"\n");
    folder.put("two.std", "use \"one.std\"\n");
    folder
        .check(&["holds.plan"])
        .exits(TROUBLE)
        .says("error[import-cycle]");
}
