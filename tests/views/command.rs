//! The commands `sources`, `print` and `schema`: exit codes and streams.

use std::path::PathBuf;
use std::process::{Command, Output};

use super::small::{PASTES, STANDARD};

/// A folder of its own, taken away at the end.
pub(super) struct Folder(pub PathBuf);

impl Folder {
    pub(super) fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("views-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub(super) fn write(&self, path: &str, text: &str) {
        std::fs::write(self.0.join(path), text).unwrap();
    }

    pub(super) fn read(&self, path: &str) -> String {
        std::fs::read_to_string(self.0.join(path)).unwrap()
    }

    pub(super) fn run(&self, arguments: &[&str]) -> (i32, String, String) {
        let output: Output = Command::new(env!("CARGO_BIN_EXE_strikeoff"))
            .current_dir(&self.0)
            .args(arguments)
            .stdin(std::process::Stdio::null())
            .output()
            .unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (
            output.status.code().unwrap(),
            text(output.stdout),
            text(output.stderr),
        )
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn what_can_be_shown_is_and_what_cannot_says_why() {
    let folder = Folder::new("show");
    folder.write("bench.std", STANDARD);
    folder.write("pastes.std", PASTES);
    let bad = STANDARD.replace("at least 60 s", "at least 60 seconds");
    folder.write("broken.std", &bad);
    folder.write("a.plan", "run \"a\" against \"bench.std\"\n");
    for command in ["sources", "print"] {
        let (code, out, err) = folder.run(&[command, "bench.std"]);
        assert_eq!((code, err.as_str()), (0, ""), "{command}");
        assert!(out.contains("Trial bench"), "{command}");
        let (code, out, err) = folder.run(&[command, "broken.std"]);
        assert_eq!((code, out.as_str()), (2, ""), "{command}");
        assert!(
            err.contains("broken.std:") && err.contains("seconds"),
            "{err}"
        );
        let (code, _, err) = folder.run(&[command, "none.std"]);
        assert_eq!(code, 2);
        assert!(err.contains("there is no file `none.std`"), "{err}");
        let (code, _, err) = folder.run(&[command, "a.plan"]);
        assert_eq!(code, 2);
        assert!(err.contains("`a.plan` is a plan"), "{err}");
    }
}

#[test]
fn forms_are_chosen_by_flags() {
    let folder = Folder::new("forms");
    folder.write("bench.std", STANDARD);
    folder.write("pastes.std", PASTES);
    let (_, markdown, _) = folder.run(&["print", "./bench.std"]);
    assert!(markdown.starts_with("# Trial bench\n"), "{markdown}");
    let (_, html, _) = folder.run(&["print", "bench.std", "--form", "html"]);
    assert!(html.starts_with("<!DOCTYPE html>"), "{html}");
    let (_, json, _) = folder.run(&["sources", "bench.std", "--as", "json"]);
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(value["format"], "strikeoff-sources");
    let (code, schema, _) = folder.run(&["schema", "sources"]);
    assert_eq!(
        (code, schema.as_str()),
        (0, strikeoff::report::sources_schema())
    );
    // The same standard gives the same bytes.
    assert_eq!(
        folder.run(&["print", "bench.std", "--form", "html"]).1,
        html
    );
}
