//! Random set points of every zone, put into the plan's text and checked as a plan.

use super::{Room, demo, looked};
use strikeoff::check::{Options, Prepared, check_plan, prepare};
use strikeoff::diagnostic::{Finding, Outcome, PlanReport, Severity, Window, Zone};
use strikeoff::names::read_text;
use strikeoff::source::Store;
use strikeoff::types::Date;

/// Plans and pairs of settings: what is freed, and the start of the line that states it.
const PAIRS: &[(&str, [(&str, &str); 2])] = &[
    ("plans/tri-blend-slow-enough", [BELT, FILM]),
    ("plans/tri-blend-too-fast", [BELT, FILM]),
    ("plans/tri-blend-by-deviation", [BELT, FILM]),
    ("plans/tri-blend-at-risk", [BELT, FILM]),
    ("plans/water-based-tote", [BELT, FILM]),
    ("plans/polyester-rushed-and-hot", [FILM, BELT]),
    ("plans/leggings-low-heat", [FILM, BELT]),
    ("plans/half-poly-white-and-red", [BELT, FILM]),
    (
        "plans/cotton-two-colours",
        [
            ("screen dark: tension", "  tension "),
            ("screen dark: eom", "  eom "),
        ],
    ),
    (
        "plans/cotton-two-colours",
        [("screen dark: off-contact", "  off-contact "), FILM],
    ),
    (
        "plans/thin-stencil",
        [("screen.eom", "  eom "), ("screen.squeegee", "  squeegee ")],
    ),
    (
        "plans/slack-mesh",
        [
            ("screen dark: tension", "  tension "),
            ("screen dark: off-contact", "  off-contact "),
        ],
    ),
    ("fitted/plans/blend-white-slow-and-cool", [BELT, AIR]),
    ("fitted/plans/blend-white-fast-and-hot", [AIR, BELT]),
    ("fitted/plans/cotton-from-a-dry-store", [BELT, AIR]),
    ("fitted/plans/cotton-from-a-damp-store", [BELT, AIR]),
    ("fitted/plans/cotton-of-unknown-damp", [BELT, AIR]),
    ("fitted/plans/hired-tunnel", [BELT, AIR]),
    ("fitted/plans/hundred-tees-with-cooling", [BELT, AIR]),
    (
        "fitted/plans/order-in-time",
        [BELT, ("dryer.pitch", "  pitch ")],
    ),
    ("fitted/plans/two-zones", [AIR, ("dryer.air-2", "  air-2 ")]),
    ("fitted/plans/water-based-undercured", [BELT, AIR]),
];

const BELT: (&str, &str) = ("dryer.belt", "  belt ");
const AIR: (&str, &str) = ("dryer.air", "  air ");
const FILM: (&str, &str) = ("film.peak", "  peak ");

const SHORT: usize = 440;

/// Random numbers that are the same on every run (SplitMix64, public domain).
struct Random(u64);

impl Random {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// The plan with other numbers where it states the settings; units and tolerances stay.
fn put(text: &str, pair: &[(&str, &str); 2], at: &[f64]) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for ((setting, start), at) in pair.iter().zip(at) {
        let line = lines.iter_mut().find(|line| line.starts_with(start));
        let line = line.unwrap_or_else(|| panic!("{setting}"));
        let value = line[start.len()..].trim_start();
        let rest = value.split_once(' ').unwrap().1;
        *line = format!("{start}{at:.12} {rest}");
    }
    lines.join("\n") + "\n"
}

struct Bench {
    room: Room,
    store: Store,
    prepared: Prepared,
    plan: String,
}

impl Bench {
    fn new(room: &Room, plan: &str) -> Self {
        let path = format!("demo-data/{plan}.plan");
        let root = if plan.starts_with("fitted/") {
            "demo-data/fitted/fitted-room.std"
        } else {
            "demo-data/harbour-room.std"
        };
        let mut store = Store::new();
        let file = read_text(&mut store, room, root, None).unwrap();
        let prepared = prepare(&mut store, room, file);
        assert!(prepared.usable());
        Self {
            room: room.clone(),
            store,
            prepared,
            plan: path,
        }
    }

    fn text(&self) -> &str {
        self.room.texts[&self.plan].as_ref().unwrap()
    }

    fn check(&mut self, text: String) -> PlanReport {
        let file = self.store.add("point.plan", text);
        let options = Options {
            explain: false,
            repairs: false,
            allow_risk: false,
            on: Date::parse("2026-11-25"),
            ..Options::default()
        };
        check_plan(&self.store, &self.prepared, 0, file, options)
    }
}

/// What a report comes to, leaving aside what fails whatever is set.
fn zone(report: &PlanReport, window: &Window) -> Zone {
    assert!(report.checked, "{:#?}", report.diagnostics);
    let aside = |finding: &Finding| {
        let still = window.standstill.iter();
        still.map(|still| &window.cuts[still.cut]).any(|cut| {
            (&cut.rule, cut.clause, &cut.subject)
                == (&finding.rule, finding.clause, &finding.subject)
        })
    };
    let mut zone = Zone::Holds;
    for said in &report.diagnostics {
        if said.severity != Severity::Error {
            continue;
        }
        let breaks = match &said.finding {
            Some(finding) if aside(finding) => continue,
            Some(finding) => finding.outcome == Outcome::Breaks,
            None => true,
        };
        if breaks {
            return Zone::Breaks;
        }
        zone = Zone::AtRisk;
    }
    zone
}

/// Whether all that breaks is asked by rules from which a deviation departs.
fn by_deviation(prepared: &Prepared, report: &PlanReport) -> bool {
    let standard = &prepared.standard;
    let departed = |finding: &Finding| {
        let rules = standard.deviations.iter().filter_map(|one| one.rule);
        let names = rules.map(|rule| &standard.rules[rule].name);
        names.into_iter().any(|name| *name == finding.rule)
    };
    let found = report
        .diagnostics
        .iter()
        .filter_map(|said| said.finding.as_ref());
    found
        .filter(|finding| finding.outcome == Outcome::Breaks)
        .all(|finding| departed(finding))
}

#[test]
fn random_points_of_every_zone_check_as_it_says() {
    let long: Option<usize> = std::env::var("STRIKEOFF_LONG")
        .ok()
        .and_then(|text| text.parse().ok());
    let only = std::env::var("STRIKEOFF_ONLY").unwrap_or_default();
    let points = long.unwrap_or(SHORT).div_ceil(PAIRS.len());
    let budget = if long.is_some() { 10_000 } else { 1_000 };
    let room = demo();
    let mut random = Random(2026);
    let mut wrong: Vec<String> = Vec::new();
    let mut tried = [0_usize; 4];
    for (plan, pair) in PAIRS.iter().filter(|(plan, _)| plan.contains(&only)) {
        let mut bench = Bench::new(&room, plan);
        let free: Vec<&str> = pair.iter().map(|(setting, _)| *setting).collect();
        let run = looked(&room, &bench.plan, &free, budget);
        let window = run.found.unwrap_or_else(|none| panic!("{plan}: {none:?}"));
        let zones = [Zone::Holds, Zone::Breaks, Zone::AtRisk, Zone::Fails];
        // Twice as many where something is promised.
        let turns = [0, 1, 0, 1, 2, 3];
        for turn in 0..points {
            let number = turns[turn % turns.len()];
            let boxes: Vec<_> = window
                .boxes
                .iter()
                .filter(|part| part.zone == zones[number])
                .collect();
            if boxes.is_empty() {
                continue;
            }
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let part = boxes[(random.unit() * boxes.len() as f64) as usize];
            let at: Vec<f64> = part
                .low
                .iter()
                .zip(&part.high)
                .map(|(low, high)| low + (high - low) * random.unit())
                .collect();
            let text = put(bench.text(), pair, &at);
            let report = bench.check(text);
            let came = zone(&report, &window);
            tried[number] += 1;
            let right = match part.zone {
                Zone::Fails => came != Zone::Holds,
                // Within a deviation's limit at some points only: a check says so by the rule's own limit, which may
                // break at all of them.
                Zone::AtRisk if came == Zone::Breaks => by_deviation(&bench.prepared, &report),
                other => came == other,
            };
            if !right {
                wrong.push(format!(
                    "{plan} {free:?} {at:?}: {:?}, but {came:?}",
                    part.zone
                ));
            }
        }
    }
    #[allow(clippy::print_stderr)]
    if long.is_some() {
        eprintln!("points tried (holds, breaks, at risk, does not hold): {tried:?}");
    }
    assert!(
        wrong.is_empty(),
        "{} of {tried:?}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    if only.is_empty() {
        assert!(tried[0] > 50 && tried[1] > 50, "{tried:?}");
    }
}
