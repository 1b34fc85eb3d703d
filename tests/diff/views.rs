//! The views of a comparison: schemas, hostile text, snapshots.

use serde_json::Value;
use strikeoff::report::{self, Style};
use strikeoff::source::visible;

use super::room::{Pair, Room, compared};

const ROOM: &str = r#"standard "Back Lane" edition "1"

kind ink "an ink" {
  cure   range of temperature from 15 °C to 220 °C given
}

kind garment, one to a run "what is printed on" {
  cotton     share from 0 % to 100 % given
  polyester  share from 0 % to 100 % given
  parts cotton, polyester make 100 %
}

kind screen, many to a run "a screen" {
  ink   ink given
}

kind dryer, one to a run "the tunnel" {
  dwell    time from 1 s to 3600 s set
  film     temperature from 5 °C to 220 °C set
}

ink white-base {
  cure  280 to 320 °F  per practice
}

ink snow is white-base "TITLE"

garment tee {
  cotton  100 %
}

rule slow-heat "TITLE" {
  when     garment.polyester above 0 %
  shall    dryer.dwell at least 60 s
  because  "REASON"
  per      practice
}

rule cured {
  for each  screen
  shall     dryer.film within screen.ink.cure
  per       practice
}

rule quick {
  should    dryer.dwell at most 90 s
  per       practice
}
"#;

/// Text that wants to be more than text.
const HOSTILE: &str =
    "</details><script>alert(1)</script> [x](https://a.b) ```\u{1b}[31m\u{202e}| @all #1 `";

fn pair(title: &str) -> Pair {
    let old = Room::of(&ROOM.replace("TITLE", title).replace("REASON", title));
    let new = old
        .with("room.std", "280 to 320 °F", "285 to 320 °F")
        .with("room.std", "at least 60 s", "at least 50 s")
        .with("room.std", "at most 90 s", "at most 90 min");
    let mut new = new;
    new.root = "proposed.std".to_owned();
    let text = new.files.remove("room.std").expect("the text");
    new.files.insert(
        "proposed.std".to_owned(),
        text.replace("edition \"1\"", "edition \"2\""),
    );
    compared(&old, &new).expect("it can be used")
}

type View<'v> = dyn Fn(&Pair, &mut dyn std::io::Write) -> std::io::Result<()> + 'v;

fn written(pair: &Pair, view: &View<'_>) -> String {
    let mut out = Vec::new();
    view(pair, &mut out).expect("memory takes it");
    String::from_utf8(out).expect("UTF-8")
}

fn text(pair: &Pair) -> String {
    let style = Style {
        width: 100,
        ..Style::default()
    };
    written(pair, &|pair, out| {
        report::diff(&pair.found, &pair.store, false, &style, out)
    })
}

fn markdown(pair: &Pair) -> String {
    written(pair, &|pair, out| {
        report::diff_markdown(&pair.found, &pair.store, out)
    })
}

fn json(pair: &Pair) -> Value {
    let text = written(pair, &|pair, out| {
        report::diff_json(&pair.found, &pair.store, out)
    });
    serde_json::from_str(&text).expect("JSON")
}

fn sarif(pair: &Pair) -> Value {
    let text = written(pair, &|pair, out| {
        report::diff_sarif(&pair.found, &pair.store, out)
    });
    serde_json::from_str(&text).expect("JSON")
}

#[test]
fn people_read_what_got_looser_first() {
    insta::assert_snapshot!("text", text(&pair("heated slowly")));
}

#[test]
fn a_merge_request_gets_the_summary_first() {
    insta::assert_snapshot!("markdown", markdown(&pair("heated slowly")));
}

#[test]
fn json_fits_its_schema() {
    let schema: Value = serde_json::from_str(report::diff_schema()).unwrap();
    let validator = jsonschema::draft202012::options().build(&schema).unwrap();
    for title in ["heated slowly", "x"] {
        let value = json(&pair(title));
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|error| format!("{} {error}", error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{errors:#?}");
        assert_eq!(value["meaning"], "differs");
        assert_eq!(value["counts"]["likely_slips"], 1);
    }
    assert!(!validator.is_valid(&serde_json::json!({ "format": "strikeoff-diff" })));
}

#[test]
fn sarif_fits_the_schema_that_oasis_publishes() {
    let schema = include_str!("../reference/sarif/sarif-schema-2.1.0.json");
    // The published pattern for a language has a stray bracket; we write no language.
    let slip = "^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$";
    let schema = schema.replace(slip, "^[a-zA-Z]{2}(-[a-zA-Z]{2})?$");
    let schema: Value = serde_json::from_str(&schema).unwrap();
    let validator = jsonschema::draft7::options()
        .should_validate_formats(true)
        .build(&schema)
        .unwrap();
    let value = sarif(&pair("heated slowly"));
    let errors: Vec<String> = validator
        .iter_errors(&value)
        .map(|error| format!("{} {error}", error.instance_path()))
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
    let results = value["runs"][0]["results"].as_array().unwrap();
    // The loosened limit and the likely slip; the tightened one is no result.
    assert_eq!(results.len(), 2, "{results:#?}");
    for result in results {
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
        assert_eq!(
            value["runs"][0]["tool"]["driver"]["rules"][index]["id"],
            result["ruleId"]
        );
    }
}

/// A room whose texts are hostile wherever a text may stand.
fn hostile() -> Pair {
    let quoted = HOSTILE.replace(['\u{1b}', '\u{202e}'], "");
    let old = Room::of(&ROOM.replace("TITLE", &quoted).replace("REASON", "before"));
    let mut new = old.with("room.std", "\"before\"", &format!("\"{quoted}\""));
    let text = new.files.get_mut("room.std").expect("the text");
    *text = text.replace(
        "rule quick {\n",
        &format!("rule quick {{\n  caution   \"{quoted}\"\n"),
    );
    *text = text.replace("standard \"Back Lane\"", &format!("standard \"{quoted}\""));
    *text = text.replace("at least 60 s", "at least 50 s");
    compared(&old, &new).expect("it can be used")
}

#[test]
fn hostile_text_stays_text() {
    let pair = hostile();
    let page = markdown(&pair);
    // Outside of stretches and blocks of code, nothing of it is markup.
    let mut fenced = false;
    for line in page.lines() {
        if line.starts_with("```") {
            fenced = !fenced;
            continue;
        }
        if fenced {
            continue;
        }
        let plain = without_code(line);
        let ours = ["<details>", "</details>"].contains(&line)
            || line.starts_with("<summary>") && line.ends_with("</summary>");
        assert!(ours || !has(&plain, '<'), "{line}");
        assert!(!has(&plain, '['), "{line}");
        assert!(!has(&plain, '@'), "{line}");
    }
    let opens = page.lines().filter(|line| *line == "<details>").count();
    let closes = page.lines().filter(|line| *line == "</details>").count();
    assert_eq!(opens, closes);
    for shown in [page, text(&pair)] {
        assert_eq!(visible(&shown.replace('\n', " ")), shown.replace('\n', " "));
    }
}

/// Whether a sign stands there that no backslash takes its meaning.
fn has(text: &str, sign: char) -> bool {
    let mut before = ' ';
    for letter in text.chars() {
        if letter == sign && before != '\\' {
            return true;
        }
        before = if before == '\\' && letter == '\\' {
            ' '
        } else {
            letter
        };
    }
    false
}

/// A line without its stretches of code.
fn without_code(line: &str) -> String {
    let mut out = String::new();
    let mut rest = line;
    while let Some(at) = rest.find('`') {
        if rest[..at].ends_with('\\') {
            out.push_str(&rest[..=at]);
            rest = &rest[at + 1..];
            continue;
        }
        out.push_str(&rest[..at]);
        let fence: String = rest[at..]
            .chars()
            .take_while(|letter| *letter == '`')
            .collect();
        let inside = &rest[at + fence.len()..];
        let mut from = 0;
        let end = loop {
            let Some(found) = inside[from..].find(&fence) else {
                panic!("a stretch of code does not end: {line}");
            };
            let found = from + found;
            let longer = inside[found + fence.len()..].starts_with('`');
            if !longer {
                break found;
            }
            from = found
                + inside[found..]
                    .chars()
                    .take_while(|letter| *letter == '`')
                    .count();
        };
        rest = &inside[end + fence.len()..];
    }
    out + rest
}
