//! Text from files can never become markup, whatever stands in it and wherever it stands.

use pulldown_cmark::{Event, Options, Parser};
use quick_xml::Reader;
use strikeoff::report::PageForm;
use strikeoff::source::visible;

use super::small::{page, read, sources_json, sources_text};
use crate::room::Room;

/// A standard with the same text in every place that takes one.
fn room(words: &str, path: &str) -> Room {
    let text = words.replace('\\', "\\\\").replace('"', "\\\"");
    let root = format!(
        r#"standard "TEXT" edition "TEXT"

use "{path}"

kind paste "TEXT" {{
  label     text                                     "TEXT" given
  cure      range of temperature from 15 to 220 °C   "TEXT" given   per "TEXT"
}}

kind ground, one to a run "TEXT" {{
  name-of   text   "TEXT" given
}}

kind frame, many to a run "TEXT" {{
  paste     paste  "TEXT" given
}}

ground plain "TEXT" {{
  name-of   "TEXT"
}}

ground other "TEXT" {{
  name-of   "something else"
}}

rule first "TEXT" {{
  for each  frame
  when      ground.name-of is "TEXT"
  shall     frame.paste.label is "TEXT"   per "TEXT"
  because   "TEXT"
  caution   "TEXT"
  per       "TEXT" reviewed 2026-03-01
}}

caution second "TEXT" {{
  say       "TEXT"
  per       "TEXT"
}}

example third "TEXT" {{
  run       "a.plan"
  expect    first holds
  because   "TEXT"
}}

deviation from first "TEXT" {{
  run       "TEXT"
  because   "TEXT"
  approved  "TEXT"
  until     2026-12-31
}}
"#
    );
    let pastes = r#"paste wide "TEXT" {
  label     "TEXT"
  cure      280 to 320 °F   per "TEXT"
}

paste wider is wide "TEXT" {
  loosens   cure 270 to 320 °F because "TEXT" per "TEXT"
}
"#;
    let mut room = Room::default();
    let put = |body: &str| Ok(body.replace("TEXT", &text));
    room.texts.insert("bench.std".to_owned(), put(&root));
    room.texts.insert(path.to_owned(), put(pastes));
    room
}

const HOSTILE: &[&str] = &[
    "<script>alert(1)</script>",
    "</style></title></h3></section><h1>",
    "\"><img src=x onerror=alert(1)>",
    "' onmouseover='alert(1)",
    "<!-- open",
    "-->",
    "<![CDATA[ x ]]>",
    "<?x y?>",
    "&lt;b&gt; &amp; &#60;",
    "[a](javascript:alert(1))",
    "![a](http://a.example/x.png)",
    "[a]: http://a.example",
    "[a][b] [^1] [x]",
    "<http://a.example>",
    "http://a.example www.a.example a@b.example",
    "`code` ``more`` ```",
    "` one",
    "a | b | c",
    "| --- |",
    "**bold** *thin* __both__ _one_ ~~gone~~ ~low~ ^high^",
    "*",
    "**",
    "# head",
    "#tag",
    "- item",
    "+ item",
    "* item",
    "1. item",
    "12) item",
    "> said",
    "---",
    "===",
    "    indented",
    "$x$ $$y$$",
    "a\\",
    "\\",
    "\\| \\` \\<",
    "{#id .class} {{x}}",
    ": definition",
    "| a |\\",
    "  spaces  ",
    "\u{202e}turned \u{200b}hidden",
    "ends with a colon:",
    "x \u{fffe} y",
    "]]>",
];

/// What a Markdown reader makes of it: structure, and the words that are seen.
fn markdown(text: &str) -> (Vec<String>, String) {
    let (mut shape, mut words) = (Vec::new(), String::new());
    for event in Parser::new_ext(text, Options::all()) {
        match event {
            Event::Start(tag) => shape.push(format!("start {:?}", tag.to_end())),
            Event::End(tag) => {
                shape.push(format!("end {tag:?}"));
                words.push(' ');
            }
            Event::Text(piece) => words.push_str(&piece),
            Event::Code(piece) => {
                shape.push("code".to_owned());
                words.push_str(&piece);
            }
            // A line goes on as itself.
            Event::SoftBreak => words.push(' '),
            other => shape.push(format!("{other:?}")),
        }
    }
    (shape, words)
}

/// The same for HTML.
fn html(text: &str) -> (Vec<String>, String) {
    let mut reader = Reader::from_str(text);
    let (mut shape, mut words) = (Vec::new(), String::new());
    loop {
        use quick_xml::events::Event;
        match reader.read_event().unwrap() {
            Event::Start(tag) | Event::Empty(tag) => {
                let name = String::from_utf8(tag.name().as_ref().to_vec()).unwrap();
                let attributes = tag.attributes().map(|attribute| {
                    String::from_utf8(attribute.unwrap().key.as_ref().to_vec()).unwrap()
                });
                shape.push(format!("{name} {:?}", attributes.collect::<Vec<_>>()));
            }
            Event::End(tag) => {
                shape.push(format!("/{}", String::from_utf8_lossy(tag.name().as_ref())));
            }
            Event::Text(piece) => words.push_str(&piece.decode().unwrap()),
            Event::GeneralRef(entity) => words.push(match entity.decode().unwrap().as_ref() {
                "amp" => '&',
                "lt" => '<',
                "gt" => '>',
                "quot" => '"',
                "#39" => '\'',
                other => panic!("{other}"),
            }),
            Event::DocType(_) => shape.push("doctype".to_owned()),
            Event::Eof => break,
            other => panic!("{other:?}"),
        }
    }
    (shape, words)
}

/// Spaces at the ends and in rows do not count: neither form keeps them apart.
fn squeezed(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn every_text_keeps_the_shape_of_the_page() {
    let plain = read(&room("plain words", "pastes.std"), "bench.std");
    let plain_markdown = markdown(&page(&plain, PageForm::Markdown)).0;
    let plain_html = html(&page(&plain, PageForm::Html)).0;
    assert!(plain_markdown.len() > 60 && plain_html.len() > 60);
    let raw = |event: &String| {
        event.contains("Html") || event.contains("Link") || event.contains("Image")
    };
    assert!(!plain_markdown.iter().any(raw), "{plain_markdown:?}");
    for words in HOSTILE {
        let read = read(&room(words, "pastes.std"), "bench.std");
        let (text, shown) = (page(&read, PageForm::Markdown), squeezed(&visible(words)));
        let (shape, seen) = markdown(&text);
        assert_eq!(shape, plain_markdown, "{words}\n{text}");
        assert!(squeezed(&seen).contains(&shown), "{words}\n{seen}");
        let text = page(&read, PageForm::Html);
        let (shape, seen) = html(&text);
        assert_eq!(shape, plain_html, "{words}");
        let shown = shown.replace('\u{fffe}', "\u{fffd}");
        assert!(squeezed(&seen).contains(&shown), "{words}\n{seen}");
        assert!(!text.contains('\u{202e}') && !text.contains('\u{200b}'));
    }
}

#[test]
fn file_names_are_text_as_well() {
    let plain = read(&room("plain", "pastes.std"), "bench.std");
    for path in [
        "<b>bold.std",
        "a`b`.std",
        "a|b.std",
        "[a](b).std",
        "a&amp;b.std",
        "a*b*.std",
    ] {
        let read = read(&room("plain", path), "bench.std");
        for (form, shape) in [
            (
                PageForm::Markdown,
                markdown as fn(&str) -> (Vec<String>, String),
            ),
            (PageForm::Html, html),
        ] {
            let (found, seen) = shape(&page(&read, form));
            assert_eq!(found, shape(&page(&plain, form)).0, "{path}");
            assert!(seen.contains(path), "{path}\n{seen}");
        }
    }
}

#[test]
fn addresses_do_not_become_links_by_themselves() {
    // Readers that turn bare addresses into links look for these (GitHub Flavored Markdown spec, 6.9).
    let read = read(
        &room("http://a.example www.a.example a@b.example", "pastes.std"),
        "bench.std",
    );
    let text = page(&read, PageForm::Markdown);
    let outside_code: String = text.split('`').step_by(2).collect();
    for bare in ["http://", "www.a", "a@b"] {
        assert!(!outside_code.contains(bare), "{bare}");
    }
}

#[test]
fn the_list_of_sources_cannot_act_on_a_terminal() {
    let read = read(
        &room("a\u{202e}b\u{200b}c\u{2066}d", "pastes.std"),
        "bench.std",
    );
    for text in [sources_text(&read), sources_json(&read)] {
        let hidden = |character: char| {
            character.is_control() && character != '\n' || character == '\u{202e}'
        };
        assert!(!text.contains(hidden), "{text}");
    }
}
