//! Any text goes through parse, check and every view: no panic, no hang, spans on character
//! boundaries, and the same bytes twice.
//!
//! `STRIKEOFF_LONG=1000000 cargo test --release --test all robust:: -- --nocapture` runs so many texts of
//! each sort, counts the work of each, and says which took the most. `STRIKEOFF_VIEWS=few` shows
//! one plan in sixteen in the views, the others are parsed and checked only.

use crate::demo_room::{self, Random, Room, cases, quick};
use strikeoff::check::{Options, Prepared, check_plan};
use strikeoff::diagnostic::Report;
use strikeoff::report::{Format, Style, render};
use strikeoff::source::Store;

/// No text of a few kilobytes may take more steps of the engine.
const MOST_WORK: u64 = 2_000_000;

const FORMATS: [Format; 5] = [
    Format::People,
    Format::Log,
    Format::Json,
    Format::Sarif,
    Format::Junit,
];

/// Pieces of the language, good and bad.
const TOKENS: &[&str] = &[
    "standard ",
    "\"a\"",
    " edition ",
    "run ",
    " against ",
    "\"room.std\"",
    "use ",
    "trade",
    "inks",
    "unit ",
    "kind ",
    "step ",
    "add to ",
    "rule ",
    "caution ",
    "sequence ",
    "is ",
    "is not ",
    "is one of ",
    " at least ",
    " at most ",
    " above ",
    " below ",
    " to ",
    "not ",
    " and ",
    " or ",
    " stated",
    " within ",
    " per ",
    "practice",
    " because ",
    "  shall ",
    "  should ",
    "  may ",
    "  when ",
    "  for each ",
    "  adjust ",
    "  say ",
    "parts ",
    " make ",
    "loosens ",
    "choice of ",
    "count of ",
    "range of ",
    " from ",
    "table ",
    " by ",
    "  a | ",
    " | ",
    "deviation from ",
    "  up to ",
    "  until ",
    "  approved ",
    "2026-12-31",
    "2026-02-30",
    "one to a run",
    "many to a run",
    "screen",
    "dryer",
    "garment",
    "ink",
    "flash",
    "print",
    "cool",
    "press",
    "film",
    "order",
    "screen.ink.mesh",
    "dryer.dwell",
    "flash.previous-print",
    "next",
    "place",
    "belt",
    "chamber",
    "mesh",
    "peak",
    "length",
    "time",
    "speed",
    "share",
    "temperature",
    "number",
    "text",
    "yes/no",
    "least(",
    "most(",
    "root(",
    "round-up(",
    "low(",
    "high(",
    "count(",
    "total(",
    "(",
    ")",
    " {\n",
    "{",
    "\n}\n",
    "}\n",
    "}",
    "\n",
    "\n\n",
    "\r\n",
    "\r",
    " ",
    "  ",
    "\t",
    ", ",
    ",",
    " + ",
    " - ",
    " * ",
    " / ",
    " ^ ",
    " = ",
    "=",
    ".",
    "60",
    "2.44",
    "0",
    "-5",
    "1e9",
    "1e-40",
    "1e400",
    "99999999999999999999999999999999999999999999",
    ".5",
    "1,5",
    " m",
    " s",
    " °F",
    " /in",
    " %",
    " m/min",
    " W/(m²·K)",
    " m^127",
    " K",
    " Δ°C",
    " pieces",
    " ± ",
    " +- ",
    " +1 s -0 s",
    "# note\n",
    "\"",
    "\\\"",
    "\\",
    "\u{feff}",
    "\u{202e}",
    "\u{0}",
    "\u{1}",
    "é",
    "日本",
    "𝔸",
    "\u{301}",
    "\u{a0}",
    "yes",
    "no",
    "soft-white",
    "half-poly-tee",
    "stock-110",
    "tunnel-a",
    "base",
    "a",
    "b-c",
];

/// Characters that texts of the wild hold.
fn any_char(random: &Random) -> char {
    loop {
        let code = match random.below(10) {
            0..=4 => random.below(0x80),
            5 => random.below(0x800),
            6 => 0x2000 + random.below(0x70),
            7 => random.below(0x1_0000),
            8 => *random.pick(&[
                0xfeff, 0x202e, 0x2028, 0x85, 0x1, 0x0, 0x7f, 0x301, 0x200d, 0xfffd,
            ]),
            _ => random.below(0x11_0000),
        };
        if let Some(found) = u32::try_from(code).ok().and_then(char::from_u32) {
            return found;
        }
    }
}

/// A random text: a soup of tokens, of characters, or of bytes.
fn random_text(random: &Random) -> String {
    let length = 1 + random.below(if random.chance(10) { 400 } else { 60 });
    match random.below(4) {
        0 | 1 => (0..length).map(|_| *random.pick(TOKENS)).collect(),
        2 => (0..length).map(|_| any_char(random)).collect(),
        _ => {
            let bytes: Vec<u8> = (0..length)
                .map(|_| u8::try_from(random.below(256)).unwrap())
                .collect();
            String::from_utf8_lossy(&bytes).into_owned()
        }
    }
}

/// An offset of the text on a character boundary.
fn boundary(random: &Random, text: &str) -> usize {
    let mut at = random.below(text.len() + 1);
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A text changed in a few places: pieces cut out, doubled, moved, replaced, characters put in.
fn mutated(random: &Random, text: &str) -> String {
    let mut text = text.to_owned();
    for _ in 0..=random.below(4) * random.below(2) {
        let (one, two) = (boundary(random, &text), boundary(random, &text));
        let (start, end) = (one.min(two), one.max(two));
        let mut short = (start + random.below(24)).min(end);
        while !text.is_char_boundary(short) {
            short -= 1;
        }
        match random.below(9) {
            0 => text.replace_range(start..short, ""),
            1 => text.insert_str(start, random.pick::<&str>(TOKENS)),
            2 => text.insert(start, any_char(random)),
            3 => {
                let piece = text[start..short].to_owned();
                text.insert_str(end, &piece);
            }
            4 => text.replace_range(start..short, random.pick::<&str>(TOKENS)),
            5 => {
                // A whole line goes, or comes twice.
                let lines: Vec<&str> = text.lines().collect();
                let at = random.below(lines.len().max(1));
                let twice = random.chance(50);
                let rest = lines.iter().enumerate().flat_map(|(index, line)| {
                    let times = if index != at {
                        1
                    } else {
                        usize::from(twice) * 2
                    };
                    std::iter::repeat_n(*line, times)
                });
                text = rest.map(|line| format!("{line}\n")).collect();
            }
            6 => {
                // A digit becomes another one.
                let digits: Vec<usize> = text
                    .char_indices()
                    .filter(|(_, character)| character.is_ascii_digit())
                    .map(|(at, _)| at)
                    .collect();
                if !digits.is_empty() {
                    let at = *random.pick(&digits);
                    let digit = random.below(10).to_string();
                    text.replace_range(at..=at, &digit);
                }
            }
            7 => text.truncate(end),
            _ => {
                let words: Vec<&str> = text.split_whitespace().collect();
                if !words.is_empty() {
                    let word = (*random.pick(&words)).to_owned();
                    text.insert_str(start, &word);
                }
            }
        }
    }
    text
}

/// Every span of a report lies on character boundaries of its text.
fn assert_spans(store: &Store, report: &Report) {
    for diagnostic in report.all_diagnostics() {
        let repairs = diagnostic.repairs.iter().flat_map(|repair| &repair.edits);
        let spans = diagnostic.labels().iter().map(|label| label.span);
        for span in spans.chain(repairs.map(|edit| edit.span)) {
            assert!(
                store.get(span.file).text().get(span.range()).is_some(),
                "{span:?} in {diagnostic:?}"
            );
        }
    }
}

fn views(store: &Store, report: &Report) -> Vec<Vec<u8>> {
    let style = Style::default();
    let one = |format: &Format| {
        let mut out = Vec::new();
        render(report, store, *format, &style, &mut out).unwrap();
        assert!(std::str::from_utf8(&out).is_ok());
        out
    };
    FORMATS.iter().map(one).collect()
}

/// What one round of texts came to.
#[derive(Default)]
struct Tally {
    checked: u64,
    most: u64,
    most_text: String,
    most_seed: u64,
}

/// The demo room with its standard made ready.
struct Bench {
    room: Room,
    store: Store,
    prepared: Prepared,
}

impl Bench {
    fn new() -> Self {
        let room = Room::demo();
        let (store, prepared) = room.prepare(demo_room::ROOT);
        assert!(
            prepared.usable(),
            "{:#?}",
            demo_room::errors(&prepared.problems)
        );
        Self {
            room,
            store,
            prepared,
        }
    }

    /// Checks a text as a plan, and shows it in every view; `true` when rules ran.
    fn plan(&self, text: &str, options: Options) -> (Report, Vec<Vec<u8>>) {
        let mut store = self.store.clone();
        let file = store.add("demo-data/plans/a.plan", text);
        let plan = check_plan(&store, &self.prepared, 0, file, options);
        let report = demo_room::report_of(&self.prepared, Some(plan));
        assert_spans(&store, &report);
        // Millions of texts are each checked; with `STRIKEOFF_VIEWS=few` one in sixteen is shown as well.
        let few = std::env::var("STRIKEOFF_VIEWS").is_ok_and(|wanted| wanted == "few");
        let views = if few && !text.len().is_multiple_of(16) {
            Vec::new()
        } else {
            views(&store, &report)
        };
        (report, views)
    }

    /// Reads a text as a standard, checks a demo plan against it, and shows both in every view.
    fn standard(&self, text: &str, path: &str, plan: &str) -> (Report, Vec<Vec<u8>>) {
        let mut room = self.room.clone();
        room.files.insert(path.to_owned(), text.to_owned());
        let root = if path.starts_with("demo-data/") {
            demo_room::ROOT
        } else {
            path
        };
        let (mut store, prepared) = room.prepare(root);
        let file = store.add("demo-data/plans/a.plan", self.room.files[plan].clone());
        let plan = check_plan(&store, &prepared, 0, file, quick());
        let report = demo_room::report_of(&prepared, Some(plan));
        assert_spans(&store, &report);
        let views = views(&store, &report);
        (report, views)
    }
}

/// Runs one sort of text, and says how it went.
fn round(name: &str, short: u64, one: impl Fn(&Random) -> (String, Report)) {
    let mut tally = Tally::default();
    let count = cases(short);
    for seed in 0..count {
        let (text, report) = one(&Random::new(seed));
        let work = report.plans.iter().map(|plan| plan.work).sum();
        if work > tally.most {
            (tally.most, tally.most_text, tally.most_seed) = (work, text, seed);
        }
        tally.checked += u64::from(report.plans.iter().any(|plan| plan.checked));
    }
    eprintln!(
        "{name}: {count} texts, {} of them checked; the most work {}, case {}, {} bytes",
        tally.checked,
        tally.most,
        tally.most_seed,
        tally.most_text.len()
    );
    assert!(
        tally.most <= MOST_WORK,
        "{name}: {} for\n{}",
        tally.most,
        tally.most_text
    );
}

#[test]
fn random_plans() {
    let bench = Bench::new();
    round("random plans", 1_000, |random| {
        let mut text = random_text(random);
        if random.chance(50) {
            text.insert_str(0, "run \"a\" against \"../nosuch-room.std\"\n");
        }
        let (report, _) = bench.plan(&text, Options::default());
        (text, report)
    });
}

#[test]
fn random_standards() {
    let bench = Bench::new();
    let plan = bench.room.plans().next().unwrap().to_owned();
    round("random standards", 1_000, |random| {
        let mut text = random_text(random);
        if random.chance(50) {
            text.insert_str(0, "standard \"a\" edition \"1\"\nuse trade\n");
        }
        let (report, _) = bench.standard(&text, "room.std", &plan);
        (text, report)
    });
}

#[test]
fn changed_plans() {
    let bench = Bench::new();
    let plans: Vec<&str> = bench.room.plans().collect();
    round("changed plans", 500, |random| {
        let text = mutated(random, &bench.room.files[*random.pick(&plans)]);
        let (report, _) = bench.plan(&text, Options::default());
        (text, report)
    });
}

#[test]
fn changed_standards() {
    let mut bench = Bench::new();
    bench.room = Room::with_specs();
    let plans: Vec<String> = bench.room.plans().map(str::to_owned).collect();
    let standards: Vec<&str> = bench.room.standards().collect();
    round("changed standards", 30, |random| {
        let path = *random.pick(&standards);
        let text = mutated(random, &bench.room.files[path]);
        let (report, _) = bench.standard(&text, path, random.pick::<String>(&plans));
        (text, report)
    });
}

#[test]
fn the_same_text_gives_the_same_bytes() {
    // Two rooms read one after the other: no hash order, no clock, no address may show.
    let (one, two) = (Bench::new(), Bench::new());
    let plans: Vec<&str> = one.room.plans().collect();
    for seed in 0..cases(60).min(20_000) {
        let random = Random::new(seed);
        let text = if random.chance(20) {
            random_text(&random)
        } else {
            mutated(&random, &one.room.files[*random.pick(&plans)])
        };
        let (first, second) = (
            one.plan(&text, Options::default()),
            two.plan(&text, Options::default()),
        );
        assert_eq!(first, second, "case {seed}:\n{text}");
    }
}
