//! Plans under an old and a new edition: which fare otherwise, and by which rule.

use crate::demo_room::{self, Room};
use strikeoff::check::{Options, prepare};
use strikeoff::cli::compare_plans;
use strikeoff::diagnostic::{PlanMoves, Way};
use strikeoff::names::read_text;
use strikeoff::report::{self, Style};
use strikeoff::source::Store;

const KINDS: &str = r#"standard "A room" edition "1"

kind dryer, one to a run "a tunnel" {
  chamber  length from 0.3 m to 15 m    "heated length" given
  belt     speed from 0.05 to 20 m/min  "belt speed" set in steps of 0.1 m/min
  air      temperature from 20 to 350 °C "air" set
  dwell    time = chamber / belt        "time under heat"
}
kind screen, many to a run "a screen" {
  mesh     thread-count from 4 to 200 /cm  "its mesh" set
}
"#;

const OLD: &str = "
rule slow \"heated slowly\" {
  shall    dryer.dwell at least 60 s
  per      practice
}
rule cool \"not too hot\" {
  shall    dryer.air at most 160 °C
  per      practice
}
rule fine \"a fine mesh\" {
  for each screen
  should   screen.mesh at least 40 /cm
  per      practice
}
";

/// The dwell is 2 m over the belt: 60 s at 2 m/min, 120 s at 1 m/min.
fn plan(standard: &str, belt: &str, air: &str, mesh: &str) -> String {
    format!(
        "run \"order\" against \"{standard}\"\ndryer {{\n  chamber 2 m\n  belt {belt}\n  air {air}\n}}\nscreen base {{\n  mesh {mesh}\n}}\n"
    )
}

fn moves(old: &str, new: &str, plans: &[(&str, String)]) -> PlanMoves {
    let texts = |standard: &str| {
        let mut room = Room::of(&format!("{KINDS}{standard}"));
        for (path, text) in plans {
            room.files.insert((*path).to_owned(), text.clone());
        }
        room
    };
    let (before, after) = (texts(old), texts(new));
    let mut store = Store::new();
    let mut ready = |room: &Room| {
        let file = read_text(&mut store, room, "room.std", None).unwrap();
        prepare(&mut store, room, file)
    };
    let (old, new) = (ready(&before), ready(&after));
    let paths: Vec<String> = plans.iter().map(|(path, _)| (*path).to_owned()).collect();
    compare_plans(&mut store, (&old, &new), &paths, &after, Options::default())
}

fn told(moves: &PlanMoves) -> String {
    let mut text = Vec::new();
    report::plan_moves(moves, &Style::default(), &mut text).unwrap();
    String::from_utf8(text).unwrap()
}

fn ways(moves: &PlanMoves) -> Vec<(&str, Way)> {
    let way = |plan: &'_ strikeoff::diagnostic::PlanMove| plan.way();
    moves
        .moved
        .iter()
        .map(|plan| (plan.path.as_str(), way(plan)))
        .collect()
}

#[test]
fn plans_go_every_way() {
    // Longer under heat, hotter air let through, a coarser mesh no longer warned of.
    let new = OLD
        .replace("60 s", "65 s")
        .replace("160 °C", "170 °C")
        .replace("40 /cm", "30 /cm");
    let plans = [
        (
            "a-same.plan",
            plan("room.std", "1 m/min", "150 °C", "50 /cm"),
        ),
        (
            "b-lost.plan",
            plan("room.std", "2 m/min", "150 °C", "50 /cm"),
        ),
        (
            "c-gained.plan",
            plan("room.std", "1 m/min", "165 °C", "50 /cm"),
        ),
        (
            "d-still-fails.plan",
            plan("room.std", "2 m/min", "165 °C", "50 /cm"),
        ),
        (
            "e-warned.plan",
            plan("room.std", "1 m/min", "150 °C", "35 /cm"),
        ),
        (
            "f-elsewhere.plan",
            plan("other.std", "2 m/min", "150 °C", "50 /cm"),
        ),
        ("g-broken.plan", plan("room.std", "2 m", "150 °C", "50 /cm")),
        (
            "h-lost-too.plan",
            plan("room.std", "1.9 m/min", "150 °C", "50 /cm"),
        ),
    ];
    let moves = moves(OLD, &new, &plans);
    assert_eq!(
        ways(&moves),
        [
            ("b-lost.plan", Way::Lost),
            ("h-lost-too.plan", Way::Lost),
            ("c-gained.plan", Way::Gained),
            ("d-still-fails.plan", Way::StillFails),
            ("e-warned.plan", Way::StillPasses),
        ]
    );
    assert_eq!((moves.compared, moves.elsewhere), (6, 1));
    assert_eq!(moves.unchecked.len(), 1);
    insta::assert_snapshot!(told(&moves));
}

#[test]
fn what_one_edition_cannot_read_is_said() {
    let new = OLD
        .replace("dryer.air", "dryer.dwell")
        .replace("160 °C", "600 s");
    let plans = [
        ("a.plan", plan("room.std", "1 m/min", "150 °C", "50 /cm")),
        (
            "b.plan",
            "run \"order\" against \"room.std\"\nbench {\n}\n".to_owned(),
        ),
        ("c.plan", "\u{1b}[31m".to_owned()),
    ];
    let kinds_more = format!("{new}\nkind bench, one to a run \"a bench\" {{\n}}\n");
    let moves = moves(OLD, &kinds_more, &plans);
    assert_eq!(ways(&moves), [("b.plan", Way::Readable)]);
    assert_eq!(moves.unchecked.len(), 1);
    let text = told(&moves);
    assert!(!text.contains('\u{1b}'), "{text}");
    insta::assert_snapshot!(text);
}

#[test]
fn a_renamed_rule_is_the_same_rule() {
    let new = OLD.replace("rule slow", "rule heated-slowly");
    let plans = [("a.plan", plan("room.std", "3 m/min", "150 °C", "50 /cm"))];
    assert!(moves(OLD, &new, &plans).moved.is_empty());
}

#[test]
fn the_same_edition_moves_nothing() {
    let room = Room::demo();
    let (mut store, prepared) = room.prepare(demo_room::ROOT);
    let plans: Vec<String> = room.plans().map(str::to_owned).collect();
    let moves = compare_plans(
        &mut store,
        (&prepared, &prepared),
        &plans,
        &room,
        Options::default(),
    );
    assert!(moves.moved.is_empty(), "{}", told(&moves));
    assert!(moves.compared > 50, "{}", told(&moves));
}
