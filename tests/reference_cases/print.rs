//! Ink, hiding, pace of the line, off-contact.

use super::answer::{Answer, Answers, answers, si};
use super::format::{Case, Fault, amount, numbers, wrong};
use strikeoff::physics::order::{Line, makespan};
use strikeoff::physics::pace::{Bottleneck, belt_rate, bottleneck, press_rate};
use strikeoff::physics::stencil::{Layer, dry_film_of};
use strikeoff::physics::{ink as amounts, mesh, off_contact as contact, opacity, stencil};

pub(crate) fn ink(case: &Case<'_>) -> Result<Answers, Fault> {
    let count = || case.si("count", "1/cm");
    let thread = || case.si("thread", "um");
    Ok(match case.task.as_str() {
        "v_th" => si(
            "v_th",
            mesh::ink_volume(count()?, thread()?, case.si("thickness", "um")?)?,
        ),
        "geometry" => answers([
            ("opening", Answer::Si(mesh::opening(count()?, thread()?)?)),
            (
                "open_area",
                Answer::Si(mesh::open_area(count()?, thread()?)?),
            ),
        ]),
        "job" => {
            let density = case.si("density", "g/cm3")?;
            let mass = amounts::ink_mass(case.si("area", "cm2")?, case.si("wet", "um")?, density)?;
            let (waste, setup) = (
                case.si_or("waste", "1", 0.0)?,
                case.si_or("setup", "g", 0.0)?,
            );
            let all = amounts::ink_for_order(case.si("pieces", "1")?, mass, waste, setup)?;
            answers([("grams", Answer::Si(mass)), ("kg", Answer::Si(all))])
        }
        "stack" => {
            // Each layer: wet film in um, volume solids, strokes, what each further stroke adds.
            let Some(rows) = case.raw("layers")?.as_array() else {
                return wrong("`layers` is no list");
            };
            let mut layers = Vec::new();
            for row in rows {
                match numbers(row)?[..] {
                    [wet, volume_solids, strokes, stroke_gain] => layers.push(Layer {
                        deposit: wet * 1e-6,
                        strokes,
                        stroke_gain,
                        volume_solids,
                    }),
                    _ => return wrong("a layer is wet film, solids, strokes and gain"),
                }
            }
            let dry = dry_film_of(&layers)?;
            // Without a unit the answer is in um, as the layers are.
            match case.expected.get("dry").and_then(|e| e.get("unit")) {
                Some(_) => si("dry", dry),
                None => answers([("dry", Answer::AsGiven(dry * 1e6))]),
            }
        }
        "wet" | "wet-deposit" => {
            let (volume, eom) = (case.si("v_th", "um")?, case.si("eom", "um")?);
            let transfer = case.si("transfer", "1")?;
            si(
                "wet",
                stencil::wet_deposit(volume, eom, case.si("stencil_share", "1")?, transfer)?,
            )
        }
        "km" => {
            let ground = case.si("R_bg", "1")?;
            si(
                "R",
                opacity::reflectance(case.si("SX", "1")?, case.si("R_inf", "1")?, ground)?,
            )
        }
        "contrast" => {
            let white = case.si_or("R_white", "1", 0.8)?;
            si(
                "C",
                opacity::contrast_ratio(case.si("SX", "1")?, case.si("R_inf", "1")?, white)?,
            )
        }
        _ => return case.unknown_task(),
    })
}

pub(crate) fn throughput(case: &Case<'_>) -> Result<Answers, Fault> {
    if case.task != "order" {
        return case.unknown_task();
    }
    let Some(work) = case.raw("work")?.as_array() else {
        return wrong("`work` is no list");
    };
    let mut slowest = 0.0_f64;
    for station in work {
        slowest = slowest.max(amount(station, "s")?);
    }
    let line = Line {
        stations: case.si("stations", "1")?,
        index: case.si("index", "s")?,
        slowest,
        chamber: case.si("dryer_length", "m")?,
        belt: case.si("belt", "m/min")?,
        pitch: case.si("pitch", "m")?,
        lanes: case.si("lanes", "1")?,
    };
    let press = press_rate(line.index, slowest)?;
    let belt = belt_rate(line.belt, line.pitch, line.lanes)?;
    let slower = match bottleneck(press, belt)? {
        Bottleneck::Press => "press",
        Bottleneck::Dryer => "dryer",
    };
    let time = makespan(case.si("pieces", "1")?, &line)?;
    Ok(answers([
        ("hours", Answer::Si(time)),
        ("bottleneck", Answer::Word(slower)),
    ]))
}

pub(crate) fn off_contact(case: &Case<'_>) -> Result<Answers, Fault> {
    let (length, gap) = (case.si("L", "m")?, case.si("gap", "m")?);
    Ok(match case.task.as_str() {
        "strain" => si("strain", contact::strain(length, case.si("s", "m")?, gap)?),
        "elongation" => si(
            "mm",
            contact::print_growth(length, case.si("s1", "m")?, case.si("s2", "m")?, gap)?,
        ),
        _ => return case.unknown_task(),
    })
}
