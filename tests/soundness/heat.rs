//! Rules that rest on the heat engine: where one is said to hold, it holds at random points inside the tolerances, worked
//! out here from the stated numbers with a grid twice as fine; where one is said to break, it breaks at all of them.

use strikeoff::check::{Applied, Prepared, prepare, results};
use strikeoff::eval::{
    Binding, Conditions, Counterexamples, EvalContext, ExactInterval, FigureCache, Goal, Leaf,
    Verdict, condition_inputs, decide,
};
use strikeoff::physics::over::figure;
use strikeoff::physics::thermal::Settings;
use strikeoff::physics::{Outside, Passes, functions};
use strikeoff::source::Store;
use strikeoff::types::Run;
use strikeoff::units::Exact;

use crate::demo_room::{self, Random, Room, cases};

/// What the bench's standard asks for, in the order in which a plan states it: block, setting, unit, and the lowest and
/// highest nominal.
const STATED: [(&str, &str, &str, f64, f64); 12] = [
    ("oven", "chamber", "m", 2.0, 3.5),
    ("oven", "belt", "m/min", 1.5, 4.0),
    ("oven", "air", "°C", 150.0, 195.0),
    ("oven", "transfer", "W/(m²·K)", 20.0, 45.0),
    ("oven", "vapour", "kPa", 1.5, 6.0),
    ("coat", "mass", "g/m²", 60.0, 150.0),
    ("coat", "cloth", "g/m²", 120.0, 220.0),
    ("coat", "thick", "mm", 0.5, 0.9),
    ("coat", "moisture", "%", 0.0, 9.0),
    ("coat", "regain", "%", 1.0, 8.0),
    ("plate", "flux", "W/m²", 5000.0, 12000.0),
    ("plate", "warm", "°C", 25.0, 60.0),
];

/// One stated value: its text and its ends, in the unit of the text.
struct Stated {
    text: String,
    low: f64,
    high: f64,
}

fn stated(random: &Random, index: usize) -> Stated {
    let (_, name, unit, least, most) = STATED[index];
    let nominal = least + (most - least) * f64::from(random.below(1000) as u32) / 1000.0;
    let nominal = (nominal * 1000.0).round() / 1000.0;
    // Conduction, regain and vapour go either way: given a span, they make a sample, on which nothing holds.
    let either_way = ["thick", "regain", "vapour"].contains(&name);
    let percent = if random.chance(if either_way { 90 } else { 25 }) {
        0
    } else {
        random.whole(1, 8)
    };
    if percent == 0 {
        return Stated {
            text: format!("  {name} {nominal} {unit}\n"),
            low: nominal,
            high: nominal,
        };
    }
    if unit == "°C" {
        return Stated {
            text: format!("  {name} {nominal} °C ± {percent} K\n"),
            low: nominal - percent as f64,
            high: nominal + percent as f64,
        };
    }
    if unit == "%" {
        let off = 0.1 * percent as f64;
        let (low, high) = ((nominal - off).max(least), nominal + off);
        return Stated {
            text: format!("  {name} {low:.4} to {high:.4} %\n"),
            low,
            high,
        };
    }
    let off = nominal * percent as f64 / 100.0;
    Stated {
        text: format!("  {name} {nominal} {unit} ± {percent} %\n"),
        low: nominal - off,
        high: nominal + off,
    }
}

/// The figures of the standard at a point, in SI base units, by their rules: what each must not pass, and on which side.
fn at(x: &[f64], passes: &mut Passes) -> [(&'static str, Result<bool, Outside>); 5] {
    let (chamber, belt, air, transfer) = (x[0], x[1] / 60.0, x[2] + 273.15, x[3]);
    let (mass, cloth, thick) = (x[5] / 1000.0, x[6] / 1000.0, x[7] / 1000.0);
    let (moisture, warm) = (x[8] / 100.0, x[11] + 273.15);
    let coat = [
        mass, 1.0e-4, 1600.0, 0.17, 0.0, cloth, thick, 1300.0, 0.05, moisture,
    ];
    let oven = [
        x[9] / 100.0,
        chamber / belt,
        air,
        air,
        transfer,
        transfer / 2.0,
        air,
        0.0,
        0.0,
        x[4] * 1000.0,
        // Sharp mouths, one ply.
        0.0,
        0.0,
        1.0,
        0.005,
        0.0,
        295.15,
    ];
    let body = [&[296.15][..], &coat, &oven].concat();
    let mut of = |name: &str, asked: &[f64]| {
        let function = functions().iter().find(|known| known.name == name).unwrap();
        figure(function, &[&body[..], asked].concat(), passes)
    };
    let peak = of("film-peak", &[]);
    let hold = of("film-time-above", &[423.15]);
    let dye = of("dye-index", &[453.15, 30.0, 1.2e5, 1.0]);
    let gel = functions()
        .iter()
        .find(|known| known.name == "gel-time")
        .unwrap();
    let panel = [
        323.15, 10.0, 323.15, 0.0, x[10], 1500.0, warm, 0.005, 0.075, 0.0, 378.15,
    ];
    let gel = figure(gel, &[&[warm][..], &coat, &panel].concat(), passes);
    // What never happens is slower than any time.
    let gel = match gel {
        Err(Outside::Never(_)) => Ok(f64::INFINITY),
        other => other,
    };
    [
        ("cures", peak.clone().map(|peak| peak >= 423.15)),
        ("not-burnt", peak.map(|peak| peak <= 448.15)),
        ("held", hold.map(|hold| hold >= 5.0)),
        ("dye-stays", dye.map(|dye| dye <= 1.0)),
        ("gels", gel.map(|gel| gel <= 8.0)),
    ]
}

fn ready() -> (Store, Prepared) {
    let mut store = Store::new();
    let room = Room::default();
    let root = store.add("hot.std", include_str!("../../benches/hot.std"));
    let prepared = prepare(&mut store, &room, root);
    assert!(prepared.usable(), "{:?}", prepared.problems);
    (store, prepared)
}

/// A plan that states these values.
fn run_of(store: &mut Store, prepared: &Prepared, seed: u64, values: &[Stated]) -> (String, Run) {
    let mut plan = format!("run \"{seed}\" against \"hot.std\"\n");
    for block in ["oven", "coat", "plate"] {
        plan += &format!("{block} {{\n");
        for (value, (of, ..)) in values.iter().zip(STATED) {
            if of == block {
                plan += &value.text;
            }
        }
        plan += "}\n";
    }
    let run = demo_room::run_of(store, prepared, &plan);
    (plan, run)
}

#[test]
fn heat_rules_that_hold_hold_at_every_point() {
    let (mut store, prepared) = ready();
    let (mut held, mut broke, mut doubted, mut points) = (0, 0, 0, 0);
    for seed in 0..cases(200) {
        let random = Random::new(seed ^ 0x68ea7);
        let values: Vec<Stated> = (0..STATED.len()).map(|i| stated(&random, i)).collect();
        let (plan, run) = run_of(&mut store, &prepared, seed, &values);
        let cache = FigureCache::default();
        let all = results(&EvalContext::new(&prepared.standard, &run).remembering(&cache));
        let mut passes = Passes::new(Settings::FINE);
        for point in 0..12 {
            let x: Vec<f64> = values
                .iter()
                .map(|value| {
                    // Corners too, where the worst case usually lies.
                    let share = match random.below(if point < 6 { 2 } else { 1000 }) {
                        n if point < 6 => n as f64,
                        n => n as f64 / 999.0,
                    };
                    value.low + (value.high - value.low) * share
                })
                .collect();
            for (rule, good) in at(&x, &mut passes) {
                let result = all
                    .iter()
                    .find(|result| prepared.standard.rules[result.rule].name == rule)
                    .unwrap();
                let told =
                    || format!("case {seed}, `{rule}` is {result:?}, {good:?} at {x:?}\n{plan}");
                points += 1;
                match &result.applied {
                    Applied::To(Verdict::Holds(_)) => {
                        held += 1;
                        assert!(good == Ok(true), "{}", told());
                    }
                    Applied::To(Verdict::Breaks) => {
                        broke += 1;
                        assert!(good == Ok(false), "{}", told());
                    }
                    _ => doubted += 1,
                }
            }
        }
    }
    eprintln!("{points} points of heat rules: {held} hold, {broke} break, {doubted} in doubt");
    assert!(
        held * 5 > points && broke * 20 > points,
        "{held} {broke} of {points}"
    );
}

/// What a point refutes does not hold over its box, with and without a search that ends where nothing is shown; and much of
/// what does not hold is refuted; the rest only cannot be shown.
#[test]
fn what_a_point_refutes_does_not_hold() {
    let (mut store, prepared) = ready();
    let (mut refuted, mut missed, mut held) = (0, 0, 0);
    for seed in 0..cases(40) {
        let random = Random::new(seed ^ 0x00c0_0163);
        let values: Vec<Stated> = (0..STATED.len()).map(|i| stated(&random, i)).collect();
        let (plan, run) = run_of(&mut store, &prepared, seed, &values);
        let cache = FigureCache::default();
        let context = EvalContext::new(&prepared.standard, &run).remembering(&cache);
        let binding = Binding::default();
        for rule in &prepared.standard.rules {
            let goal = Goal::of(rule, &rule.requirements[0]);
            if let Verdict::Holds(_) = decide(&Conditions::new(context), &context, binding, goal) {
                continue;
            }
            let against = Counterexamples::new(&context, binding, goal);
            for leaf in condition_inputs(&context, binding, &[goal.requirement]) {
                let changed = [(leaf, moved(&random, &context, leaf))];
                let there = EvalContext {
                    narrowed: &changed,
                    ..context
                };
                let verdict = || decide(&Conditions::new(there), &there, binding, goal);
                let shown = FigureCache::proving(Some(&cache), verdict);
                let whole = verdict();
                let told = || format!("case {seed}, `{}` {changed:?} {whole:?}\n{plan}", rule.name);
                let holds = matches!(whole, Verdict::Holds(_));
                assert_eq!(holds, matches!(shown, Verdict::Holds(_)), "{}", told());
                match (against.refute(&changed), holds) {
                    (true, true) => panic!("refuted: {}", told()),
                    (true, false) => refuted += 1,
                    (false, true) => held += 1,
                    (false, false) => missed += 1,
                }
            }
        }
    }
    eprintln!("{refuted} changes refuted at a point, {missed} only by the box, {held} hold");
    assert!(
        2 * refuted > missed && held > 20,
        "{refuted} {missed} {held}"
    );
}

/// A quantity brought to between 80 and 120 % of what it is, with its tolerance or without.
fn moved(random: &Random, context: &EvalContext<'_>, leaf: Leaf) -> ExactInterval {
    let quantity = context.quantity(leaf.target, leaf.field).unwrap();
    let share = Exact::ratio(random.whole(-20, 20), 100);
    let by = quantity.nominal.mul(&share);
    if random.chance(50) {
        let value = quantity.nominal.add(&by);
        return ExactInterval::new(value.clone(), value);
    }
    ExactInterval::new(quantity.low.add(&by), quantity.high.add(&by))
}
