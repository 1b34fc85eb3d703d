//! A plan that states next to nothing: what it lacks is told on one screen.

use strikeoff::check::Options;
use strikeoff::cli::{Named, Request, check};
use strikeoff::report::{Format, Style, render};

use crate::room::Room;

/// Three screens with names, and nothing else of them.
const EMPTY: &str = r#"run "three screens" against "../nosuch-room.std"

order {
}

garment is tri-blend-tee {
}

screen base is stock-110 {
  ink              soft-white
}

screen red is stock-156 {
}

screen dark is stock-156 {
}

press is carousel

flash-unit is quartz-flash

sequence {
  print            base
  flash
  print            base
  print            red
  print            dark
}

dryer is tunnel-a {
}

film {
}
"#;

fn shown(plan: &str, full: Option<usize>) -> String {
    let mut room = Room::of_folders(&["demo-data", "demo-data/plans"]);
    // A deviation of the room that has ended is told of with any plan.
    if let Some(Ok(text)) = room.texts.get_mut("demo-data/deviations.std") {
        *text = text.replace("2026-06-30", "2027-06-30");
    }
    let path = "demo-data/plans/three.plan";
    room.texts.insert(path.to_owned(), Ok(plan.to_owned()));
    let request = Request {
        named: Named {
            plans: vec![path.to_owned()],
            ..Named::default()
        },
        stdin: None,
        standard: None,
        date: "2026-11-25".to_owned(),
        options: Options::default(),
    };
    let run = check(request, &room);
    let style = Style {
        full,
        ..Style::default()
    };
    let mut out = Vec::new();
    render(&run.report, &run.store, Format::People, &style, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn an_empty_plan_of_three_screens_is_one_screen() {
    let text = shown(EMPTY, None);
    assert!(text.lines().count() <= 44, "{text}");
    assert!(
        text.lines().all(|line| line.chars().count() <= 140),
        "{text}"
    );
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    // Each thing once, with what is possible; what to read off is the first way.
    for told in [
        "screen base, screen red, screen dark (lines 9, 13, 16), each: tension (1 to 80 N/cm; a tension meter)",
        "screen red, screen dark (lines 13, 16), each: ink (one of 32 of kind `ink`)",
        "print, steps 1, 3, 4, 5 (lines 24, 26, 27, 28), each: strokes (1 to 12 strokes)",
        "dryer (line 31): belt (0.05 to 20 m/min)",
        "film (line 34): peak (5 to 225 °C",
        "or, instead of reading `film.peak`, state all that it is worked out from: press: room-air",
        "error[breaks]: `flash.next` is print, step 3; `cool-after-a-flash` wants cool",
        "cautions, written out by `--full 100`: squeegee-suits-the-ink",
        "scorch-and-fire",
        "holds 19, breaks 1, at risk 0, not stated 87",
    ] {
        assert!(one_line.contains(told), "no {told:?} in\n{text}");
    }
    assert!(one_line.find("film (line 34)") < one_line.find("or, instead of reading"));
}

#[test]
fn what_is_short_is_written_out_when_it_is_asked_for() {
    let text = shown(EMPTY, Some(100));
    assert!(text.contains("☞ the standard says:"), "{text}");
    assert!(
        text.contains("scorch-and-fire: thin or dark synthetics"),
        "{text}"
    );
    // And where little is missing, without asking.
    let fuller = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("demo-data/plans/film-not-stated.plan"),
    )
    .unwrap();
    let text = shown(&fuller, None);
    assert!(text.contains("cautions\n"), "{text}");
    assert!(
        text.contains("    peak  … °C  5 to 225 °C; read it off"),
        "{text}"
    );
}
