//! The worked-out settings of the shipped specs, over the demo plans with other values and tolerances:
//! the interval holds what any point gives, and is hardly wider than what points reach.

use std::collections::BTreeMap;

use strikeoff::check::Prepared;
use strikeoff::eval::{Aim, Binding, EvalContext, ExactInterval, FigureCache, Leaf, inputs, range};
use strikeoff::interval::Bounds;
use strikeoff::source::{FileId, Store};
use strikeoff::syntax::parse;
use strikeoff::syntax::tree::{Line, Literal, Sides, StatementNode, ValueNode};
use strikeoff::types::{Expression, FieldId, InstanceId, Run, Target};
use strikeoff::units::Exact;

use crate::demo_room::{self, Random, Room, cases};

/// How much wider than what points reach an interval may be.
const WIDER: f64 = 1.01;

/// Settings whose interval may be wider than that: figures that take milliseconds are worked out once
/// over the whole box (see `eval`), which is sound and not tight where an input is used twice. How wide a mouth is and how
/// many plies lie under a print, nobody says, so that no point reaches its ends; the least of several prints is reached where points rarely come.
const WIDE: &[&str] = &["dryer.edge-share", "film.piece-capacity", "film.thin-solid"];

/// What the demo plans leave to the stock screens and to nobody, so that every formula has its inputs.
const FURTHER: &[(&str, &str)] = &[
    (
        "screen ",
        "  mesh 43 /cm\n  thread 80 µm\n  mesh-thickness 130 µm\n  image-area 400 cm²\n  ink-transfer 0.7\n  \
         stencil-share 40 %\n  stroke-gain 30 %\n",
    ),
    (
        "press ",
        "  index 3 s\n  stroke 2 s\n  load 5 s\n  set-up 12 min\n  availability 80 %\n",
    ),
    ("dryer ", "  pitch 60 cm\n  lanes 2\n"),
    (
        "order ",
        "  spoilage 2 %\n  ink-waste 8 %\n  ink-to-fill 300 g\n",
    ),
];

/// A plan with those lines in every block that has none of its own.
fn furnished(text: &str) -> String {
    let mut out = String::new();
    for line in text.lines() {
        let further = FURTHER.iter().find(|(kind, _)| line.starts_with(kind));
        let opens = line.ends_with('{');
        out += line;
        if let Some((_, lines)) = further {
            out += if opens { "\n" } else { " {\n" };
            out += lines;
            if !opens {
                out += "}\n";
            }
        } else {
            out += "\n";
        }
    }
    out
}

/// A demo plan with every number moved and every tolerance made anew.
fn changed(random: &Random, text: &str) -> String {
    let mut edits = Vec::new();
    let tree = parse(FileId(0), text).tree;
    let mut value = |node: &ValueNode<'_>| {
        let ValueNode::Quantity {
            nominal, tolerance, ..
        } = node
        else {
            return;
        };
        let Literal { span, number, unit } = nominal;
        let Ok(was) = number.text.parse::<f64>() else {
            return;
        };
        let unit = unit.map_or("", |unit| unit.text);
        if was == 0.0
            || unit.is_empty()
            || unit.starts_with("piece")
            || unit.starts_with("stroke")
            || unit.starts_with("station")
        {
            return;
        }
        let of_it = tolerance.as_ref().and_then(|tolerance| tolerance.of_it);
        let end = match tolerance.as_ref().map(|tolerance| &tolerance.sides) {
            None => span.end,
            Some(_) if of_it.is_some() => of_it.map_or(span.end, |words| words.end),
            Some(Sides::Both(size)) => size.span.end,
            Some(Sides::Sided { plus, minus }) => {
                let ends = plus.iter().chain(minus).map(|size| size.span.end);
                ends.max().unwrap()
            }
        };
        let moved = was * (0.95 + 0.1 * random.below(100) as f64 / 100.0);
        let temperature = unit.contains('°') && unit != "°";
        let tolerance = match random.below(4) {
            0 => String::new(),
            // Behind a share, `± 9 %` is nine hundredths of the whole, and would leave little above zero.
            _ if unit == "%" => format!(" ± {} points", random.whole(1, 2)),
            _ if temperature => format!(" ± {} {unit}", random.whole(1, 9)),
            _ => format!(" ± {} %", random.whole(1, 12)),
        };
        edits.push((
            span.start as usize..end as usize,
            format!("{moved:.3} {unit}{tolerance}"),
        ));
    };
    for item in &tree.items {
        let Line::Good(statement, _) = item else {
            continue;
        };
        match &statement.node {
            StatementNode::Record(record) => {
                for line in record.block.iter().flat_map(|block| &block.lines) {
                    if let Line::Good(clause, _) = line {
                        value(&clause.value.node);
                    }
                }
            }
            StatementNode::Sequence(sequence) => {
                for line in &sequence.block.lines {
                    if let Line::Good(step, _) = line {
                        step.settings
                            .iter()
                            .for_each(|setting| value(&setting.value.node));
                    }
                }
            }
            _ => {}
        }
    }
    let mut text = text.to_owned();
    for (span, with) in edits.into_iter().rev() {
        text.replace_range(span, &with);
    }
    text
}

/// The value at one point; the engine on sharp values, which `intervals_hold_every_point` holds
/// against exact fractions.
fn at(
    context: &EvalContext<'_>,
    binding: Binding,
    formula: &Expression,
    point: &[(Leaf, ExactInterval)],
) -> Option<Bounds> {
    let sharp = EvalContext {
        narrowed: point,
        ..*context
    };
    Some(range(&sharp, binding, Aim::value(formula)).ok()?.bounds)
}

fn points(
    random: &Random,
    context: &EvalContext<'_>,
    used: &[Leaf],
    count: usize,
) -> Vec<Vec<(Leaf, ExactInterval)>> {
    let ends: Vec<(Leaf, Exact, Exact)> = used
        .iter()
        .filter_map(|leaf| {
            let quantity = context.quantity(leaf.target, leaf.field)?;
            (quantity.low < quantity.high)
                .then(|| (*leaf, quantity.low.clone(), quantity.high.clone()))
        })
        .collect();
    let point = |choose: &dyn Fn(usize) -> i64| {
        let one = |(index, (leaf, low, high)): (usize, &(Leaf, Exact, Exact))| {
            let part = Exact::ratio(choose(index), 64);
            let value = low.add(&high.sub(low).mul(&part));
            (*leaf, ExactInterval::new(value.clone(), value))
        };
        ends.iter().enumerate().map(one).collect::<Vec<_>>()
    };
    let corners = 1_usize << ends.len().min(9);
    let mut found: Vec<_> = (0..corners)
        .map(|bits| point(&|index| if bits >> (index % 9) & 1 == 0 { 0 } else { 64 }))
        .collect();
    for _ in 0..count {
        let parts: Vec<i64> = ends
            .iter()
            .map(|_| match random.below(4) {
                0 => 0,
                1 => 64,
                _ => random.whole(0, 64),
            })
            .collect();
        found.push(point(&|index| parts[index]));
    }
    found
}

/// The furthest value that is reached from the furthest point by setting one input after the other to an end.
///
/// The corners of [`points`] turn inputs beyond the ninth together with another one, so that those which
/// move a figure in opposite ways would never stand at opposite ends.
fn climbed(
    context: &EvalContext<'_>,
    binding: Binding,
    formula: &Expression,
    points: &[Vec<(Leaf, ExactInterval)>],
    up: bool,
) -> Option<Bounds> {
    let worked_out = points
        .iter()
        .filter_map(|point| Some((point, at(context, binding, formula, point)?)));
    let furthest = |one: &(_, Bounds), other: &(_, Bounds)| {
        let order = one.1.mid().total_cmp(&other.1.mid());
        if up { order } else { order.reverse() }
    };
    let (start, mut value) = worked_out.max_by(furthest)?;
    let mut best = start.clone();
    let highs = points.get((1_usize << best.len().min(9)) - 1)?;
    for _ in 0..2 {
        for (index, high) in highs.iter().enumerate() {
            for end in [points[0][index].clone(), high.clone()] {
                let mut tried = best.clone();
                tried[index] = end;
                let Some(found) = at(context, binding, formula, &tried) else {
                    continue;
                };
                if (found.mid() > value.mid()) == up && found.mid() != value.mid() {
                    (best, value) = (tried, found);
                }
            }
        }
    }
    Some(value)
}

/// What was seen of one setting.
#[derive(Default)]
struct Seen {
    times: u64,
    widest: f64,
}

fn look(
    random: &Random,
    prepared: &Prepared,
    run: &Run,
    seen: &mut BTreeMap<String, Seen>,
    costly: &mut BTreeMap<String, u64>,
) {
    let standard = &prepared.standard;
    for (index, instance) in run.instances.iter().enumerate() {
        let target = Target::Thing(InstanceId(u32::try_from(index).unwrap()));
        let kind = standard.kind(instance.kind);
        for (number, field) in kind.fields.iter().enumerate() {
            let Some(formula) = &field.formula else {
                continue;
            };
            let id = FieldId(u32::try_from(number).unwrap());
            if run.stated(standard, target, id).is_some() {
                continue;
            }
            let binding = Binding {
                own: Some(target),
                ..Binding::default()
            };
            let cache = FigureCache::default();
            let context = EvalContext::new(standard, run).remembering(&cache);
            let Ok(found) = range(&context, binding, Aim::value(formula)) else {
                continue;
            };
            let name = format!("{}.{}", kind.name, field.name);
            let used: Vec<Leaf> = inputs(&context, binding, &[formula])
                .into_iter()
                .map(|(leaf, _)| leaf)
                .collect();
            let count = if found.costly { 3 } else { 60 };
            let mut hull: Option<Bounds> = None;
            let all = points(random, &context, &used, count);
            let all = if found.costly {
                &all[all.len() - 3..]
            } else {
                &all[..]
            };
            for point in all {
                let Some(value) = at(&context, binding, formula, point) else {
                    continue;
                };
                assert!(
                    found.sampled || (found.bounds.lo <= value.hi && value.lo <= found.bounds.hi),
                    "{name}: {value:?} lies outside {:?}",
                    found.bounds
                );
                let middle = Bounds::point(value.mid());
                hull = Some(hull.map_or(middle, |known| known.hull(middle)));
            }
            if found.costly {
                *costly.entry(name).or_default() += 1;
                continue;
            }
            let mut hull = hull.unwrap();
            for value in [true, false].map(|up| climbed(&context, binding, formula, all, up)) {
                let value = value.unwrap_or(hull);
                hull = hull.hull(Bounds::point(value.mid()));
            }
            let size = hull.lo.abs().max(hull.hi.abs());
            // Values that hardly move are told apart by rounding only.
            let reached = hull.width() + 1e-9 * size;
            let wider = found.bounds.width() / reached.max(f64::MIN_POSITIVE);
            let entry = seen.entry(name).or_default();
            entry.times += 1;
            if hull.width() > 1e-9 * size {
                entry.widest = entry.widest.max(wider);
            }
        }
    }
}

#[test]
fn worked_out_settings_are_tight() {
    let room = Room::demo();
    let (store, prepared) = room.prepare(demo_room::ROOT);
    let plans: Vec<&str> = room.plans().collect();
    let (mut seen, mut costly) = (BTreeMap::new(), BTreeMap::new());
    let (mut tried, mut read) = (0, 0);
    for seed in 0..cases(12) {
        let random = Random::new(4_000_000 + seed);
        let text = changed(&random, &furnished(&room.files[*random.pick(&plans)]));
        tried += 1;
        let mut store: Store = store.clone();
        let Some(run) = demo_room::try_run_of(&mut store, &prepared, &text) else {
            continue;
        };
        read += 1;
        look(&random, &prepared, &run, &mut seen, &mut costly);
    }
    for (name, seen) in &seen {
        eprintln!(
            "{name}: {} times, at most {:.4} times as wide as what points reach",
            seen.times, seen.widest
        );
    }
    eprintln!("{read} of {tried} plans read; costly: {costly:?}");
    let wide: Vec<&String> = seen
        .iter()
        .filter(|(name, seen)| seen.widest > WIDER && !WIDE.contains(&name.as_str()))
        .map(|(name, _)| name)
        .collect();
    assert!(wide.is_empty(), "wider than the guarantee: {wide:?}");
    assert!(
        read * 3 >= tried,
        "too few of the changed plans are read: {read} of {tried}"
    );
    assert!(seen.len() >= 5);
}
