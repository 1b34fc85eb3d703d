//! Random set points of every zone, put into the plan's text and checked as a plan.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::{Room, demo, looked};
use crate::room::keeping;
use strikeoff::check::{Options, Prepared, check_plan, prepare};
use strikeoff::diagnostic::{Finding, Outcome, PlanReport, Severity, Window, Zone};
use strikeoff::names::read_text;
use strikeoff::source::Store;
use strikeoff::types::Date;
use strikeoff::window::BUDGET;

/// Plans and pairs of settings: what is freed, and the start of the line that states it.
const PAIRS: &[(&str, [(&str, &str); 2])] = &[
    ("plans/tri-blend-slow-enough", [BELT, AIR]),
    ("plans/tri-blend-too-fast", [BELT, AIR]),
    ("plans/tri-blend-by-deviation", [BELT, AIR]),
    ("plans/tri-blend-at-risk", [BELT, AIR]),
    ("plans/water-based-tote", [BELT, AIR]),
    ("plans/polyester-rushed-and-hot", [AIR, BELT]),
    ("plans/leggings-low-heat", [AIR, BELT]),
    ("plans/half-poly-white-and-red", [BELT, AIR]),
    (
        "plans/cotton-two-colours",
        [
            ("screen dark: squeegee", "  squeegee "),
            ("screen dark: squeegee-angle", "  squeegee-angle "),
        ],
    ),
    (
        "plans/cotton-two-colours",
        [("screen dark: off-contact", "  off-contact "), AIR],
    ),
    (
        "plans/thin-stencil",
        [
            ("screen.off-contact", "  off-contact "),
            ("screen.squeegee", "  squeegee "),
        ],
    ),
    (
        "plans/slack-mesh",
        [
            ("screen dark: squeegee", "  squeegee "),
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
    (
        "fitted/plans/two-zones",
        [AIR, ("dryer.set-point-2 60 to 460 °F", "  set-point-2 ")],
    ),
    ("fitted/plans/water-based-undercured", [BELT, AIR]),
];

const BELT: (&str, &str) = ("dryer.belt", "  belt ");
// What the air at the print may be bounds what the controller is looked at over.
const AIR: (&str, &str) = ("dryer.set-point 60 to 460 °F", "  set-point ");

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
            "demo-data/nosuch-room.std"
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

/// What came of the points of one plan.
#[derive(Default)]
struct Came {
    /// Points tried: holds, breaks, at risk, does not hold.
    tried: [usize; 4],
    right: [usize; 4],
    wrong: Vec<String>,
}

const ZONES: [Zone; 4] = [Zone::Holds, Zone::Breaks, Zone::AtRisk, Zone::Fails];

fn points_of(room: &Room, number: usize, points: usize, budget: u64) -> Came {
    let (plan, pair) = &PAIRS[number];
    let mut random = Random(2026 + number as u64);
    let mut came = Came::default();
    let mut bench = Bench::new(room, plan);
    let free: Vec<&str> = pair.iter().map(|(setting, _)| *setting).collect();
    let run = looked(room, &bench.plan, &free, budget);
    let window = run.found.unwrap_or_else(|none| panic!("{plan}: {none:?}"));
    // Twice as many where something is promised; what a plan has none of, its other zones get.
    let boxes_of = |zone: usize| -> Vec<_> {
        let all = window.boxes.iter();
        all.filter(|part| part.zone == ZONES[zone]).collect()
    };
    let boxes: Vec<Vec<_>> = (0..4).map(boxes_of).collect();
    let turns = [0, 1, 0, 1, 2, 3];
    let turns: Vec<usize> = turns
        .into_iter()
        .filter(|n| !boxes[*n].is_empty())
        .collect();
    for turn in 0..points {
        let number = turns[turn % turns.len()];
        let boxes = &boxes[number];
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let part = boxes[(random.unit() * boxes.len() as f64) as usize];
        let at: Vec<f64> = part
            .low
            .iter()
            .zip(&part.high)
            .map(|(low, high)| low + (high - low) * random.unit())
            .collect();
        let text = put(bench.text(), pair, &at);
        let before = bench.text();
        let old: Vec<(&str, &str)> = pair
            .iter()
            .map(|(setting, start)| {
                let mut lines = before.lines();
                let line = lines.find(|line| line.starts_with(start));
                (*setting, line.unwrap()[start.len()..].trim_start())
            })
            .map(|(setting, old)| (setting.split(' ').next().unwrap(), old))
            .collect();
        let text = keeping(&bench.prepared.standard, before, text, &old);
        let report = bench.check(text);
        let found = zone(&report, &window);
        came.tried[number] += 1;
        let right = match part.zone {
            Zone::Fails => found != Zone::Holds,
            // Within a deviation's limit at some points only: a check says so by the rule's own limit, which may break at
            // all of them.
            Zone::AtRisk if found == Zone::Breaks => by_deviation(&bench.prepared, &report),
            other => found == other,
        };
        if right {
            came.right[number] += 1;
        } else {
            came.wrong.push(format!(
                "{plan} {free:?} {at:?}: {:?}, but {found:?}",
                part.zone
            ));
        }
    }
    came
}

/// `STRIKEOFF_LONG=100000 cargo test --release --test all window::points -- --nocapture` tries so many points in all.
#[test]
fn random_points_of_every_zone_check_as_it_says() {
    let long: Option<usize> = std::env::var("STRIKEOFF_LONG")
        .ok()
        .and_then(|text| text.parse().ok());
    let only = std::env::var("STRIKEOFF_ONLY").unwrap_or_default();
    let points = long.unwrap_or(SHORT).div_ceil(PAIRS.len());
    let budget = if long.is_some() { BUDGET } else { 1_000 };
    let room = demo();
    let chosen: Vec<usize> = (0..PAIRS.len())
        .filter(|number| PAIRS[*number].0.contains(&only))
        .collect();
    let next = AtomicUsize::new(0);
    let work = || {
        let mut all = Came::default();
        while let Some(number) = chosen.get(next.fetch_add(1, Ordering::Relaxed)) {
            let came = points_of(&room, *number, points, budget);
            #[allow(clippy::print_stderr)]
            if long.is_some() {
                let (plan, [(one, _), (other, _)]) = PAIRS[*number];
                eprintln!(
                    "{plan} {one}, {other}: {:?} of {:?}",
                    came.right, came.tried
                );
            }
            all.add(came);
        }
        all
    };
    let mut all = Came::default();
    std::thread::scope(|scope| {
        let others: Vec<_> = (0..2).map(|_| scope.spawn(work)).collect();
        for other in others {
            all.add(other.join().expect("no plan is left out"));
        }
    });
    #[allow(clippy::print_stderr)]
    if long.is_some() {
        eprintln!(
            "points that agree, of those tried (holds, breaks, at risk, does not hold): {:?} of {:?}",
            all.right, all.tried
        );
    }
    assert!(
        all.wrong.is_empty(),
        "{} of {:?}:\n{}",
        all.wrong.len(),
        all.tried,
        all.wrong.join("\n")
    );
    if only.is_empty() {
        assert!(all.tried[0] > 50 && all.tried[1] > 50, "{:?}", all.tried);
    }
}

impl Came {
    fn add(&mut self, other: Self) {
        for zone in 0..4 {
            self.tried[zone] += other.tried[zone];
            self.right[zone] += other.right[zone];
        }
        self.wrong.extend(other.wrong);
    }
}
