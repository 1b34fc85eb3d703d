//! Cases of what lies on the belt and of the tunnel's mouths: two plies, a second pass, ramps, positions across.

use super::answer::{Answer, Answers, answers};
use super::engine::read;
use super::format::{Case, Fault, number, or_never, wrong};
use serde_json::Value;
use strikeoff::physics::dose::Rate;
use strikeoff::physics::over::{figure, worst};
use strikeoff::physics::plies::{entry_temperature, ply_contact as ply_contact_of};
use strikeoff::physics::props::ZERO_CELSIUS as ZERO;
use strikeoff::physics::thermal::{
    Body, Lower, Pass, Place, Settings, Start, Stretch, Underside, Zone, run,
};
use strikeoff::physics::{Passes, agreement, functions, load, panel};

fn of(value: &Value, key: &str, default: Option<f64>) -> Result<f64, Fault> {
    match (value.get(key), default) {
        (Some(given), _) if !given.is_null() => number(given),
        (_, Some(default)) => Ok(default),
        _ => wrong(format!("`{key}` is missing")),
    }
}

fn map<'v>(value: &'v Value, key: &str) -> Result<&'v Value, Fault> {
    match value.get(key) {
        Some(found) if found.is_object() => Ok(found),
        _ => wrong(format!("`{key}` is no map")),
    }
}

fn list<'v>(value: &'v Value, key: &str) -> Result<&'v Vec<Value>, Fault> {
    match value.get(key).and_then(Value::as_array) {
        Some(list) => Ok(list),
        None => wrong(format!("`{key}` is no list")),
    }
}

/// How easily vapour passes: a number, or a word for the ends.
fn path(value: &Value, key: &str) -> Result<f64, Fault> {
    match value.get(key) {
        None => Ok(f64::INFINITY),
        Some(Value::String(word)) if word == "free" => Ok(f64::INFINITY),
        Some(Value::String(word)) if word == "closed" => Ok(0.0),
        Some(given) => number(given),
    }
}

/// Film and plies; `moistures` says how wet each ply is where it is not as it says itself.
fn body(inputs: &Value, moistures: Option<[f64; 2]>, path_of: Option<f64>) -> Result<Body, Fault> {
    let ink = map(inputs, "ink")?;
    let plies = list(inputs, "plies")?;
    let Some(top) = plies.first() else {
        return wrong("no ply");
    };
    let n = |value: &Value, key: &str| of(value, key, None);
    let moisture = |ply: usize, value: &Value| match moistures {
        Some(moistures) => Ok(moistures[ply]),
        None => of(value, "x", Some(0.0)),
    };
    let contact = match inputs.get("gap") {
        Some(gap) => ply_contact(gap)?,
        None => of(inputs, "gap_r", Some(0.005))?,
    };
    let lower = |ply: &Value| -> Result<Lower, Fault> {
        Ok(Lower {
            mass: n(ply, "m")?,
            thickness: n(ply, "l")?,
            heat: n(ply, "c")?,
            conductivity: n(ply, "k")?,
            moisture: moisture(1, ply)?,
            regain: of(ply, "regain", Some(0.075))?,
            contact,
            vapour_path: path_of.map_or_else(|| path(inputs, "vap"), Ok)?,
        })
    };
    Ok(Body {
        ink_mass: n(ink, "m")?,
        ink_thickness: n(ink, "l")?,
        ink_heat: n(ink, "c")?,
        ink_conductivity: n(ink, "k")?,
        ink_water: of(ink, "w", Some(0.0))?,
        fabric_mass: n(top, "m")?,
        fabric_thickness: n(top, "l")?,
        fabric_heat: n(top, "c")?,
        fabric_conductivity: n(top, "k")?,
        moisture: moisture(0, top)?,
        regain: of(top, "regain", Some(0.075))?,
        pallet_capacity: 0.0,
        lower: plies.get(1).map(lower).transpose()?,
        underside: None,
    })
}

fn ply_contact(gap: &Value) -> Result<f64, Fault> {
    let n = |key: &str| of(gap, key, None);
    Ok(ply_contact_of(n("d")?, n("T")? + ZERO, n("e1")?, n("e2")?)?)
}

fn zones(value: &Value, key: &str) -> Result<Vec<Zone>, Fault> {
    let zone = |value: &Value| -> Result<Zone, Fault> {
        let n = |key: &str, default: f64| of(value, key, Some(default));
        Ok(Zone {
            transfer_below: n("h_bot", 0.0)?,
            air_below: n("t_bot", 25.0)? + ZERO,
            flux: n("q_top", 0.0)?,
            panel_factor: n("f_top", 0.0)?,
            panel: n("t_pan", 25.0)? + ZERO,
            ..Zone::room(
                of(value, "dt", None)?,
                n("h_top", 0.0)?,
                n("t_top", 25.0)? + ZERO,
                n("p_air", 1500.0)?,
            )
        })
    };
    list(value, key)?.iter().map(zone).collect()
}

fn heated(body: &Body, zones: &[Zone], from: f64) -> Result<Pass, Fault> {
    let start = Start {
        film: from,
        pallet: from,
    };
    Ok(run(body, zones, zones.len(), start, Settings::CHECK)?)
}

fn start(inputs: &Value) -> Result<f64, Fault> {
    Ok(of(inputs, "T0", Some(25.0))? + ZERO)
}

/// A ramp whose middle lies at `edge`, by its 10 to 90 % width: the logistic form of the cases.
fn share(x: f64, edge: f64, width: f64, kind: &str) -> f64 {
    if width <= 0.0 {
        f64::from(u8::from(x >= edge))
    } else if kind == "logistic" {
        1.0 / (1.0 + (-2.0 * 9.0_f64.ln() * (x - edge) / width).exp())
    } else {
        (0.5 + 0.8 * (x - edge) / width).clamp(0.0, 1.0)
    }
}

/// A tunnel whose settings run from those of the room and back, as short stretches.
fn along(inputs: &Value, position: Option<&Value>) -> Result<Vec<Zone>, Fault> {
    let tunnel = map(inputs, "tunnel")?;
    let n = |key: &str| of(tunnel, key, None);
    let at = |key: &str, default: f64| {
        position.map_or(Ok(default), |position| of(position, key, Some(default)))
    };
    let (length, belt) = (n("length")?, n("belt")?);
    let (from, to) = (-n("pre")?, length + n("post")?);
    let kind = tunnel
        .get("kind")
        .and_then(Value::as_str)
        .unwrap_or("linear");
    let (room, room_transfer) = (n("room")? + ZERO, n("h_room")?);
    let (scale, offset) = (at("k_h", 1.0)?, at("d_air", 0.0)?);
    let count = 400;
    let each = (to - from) / f64::from(count);
    (0..count)
        .map(|i| {
            let x = from + (f64::from(i) + 0.5) * each;
            let s = share(x, of(tunnel, "shift_in", Some(0.0))?, n("w_in")?, kind)
                * (1.0
                    - share(
                        x,
                        length + of(tunnel, "shift_out", Some(0.0))?,
                        n("w_out")?,
                        kind,
                    ));
            let between = |outside: f64, inside: f64| outside + (inside - outside) * s;
            let air = between(room, n("air")? + offset + ZERO);
            Ok(Zone {
                transfer_below: between(room_transfer, n("h_bot")? * scale),
                air_below: air,
                panel_factor: n("f_top")? * s,
                panel: between(room, n("t_pan")? + ZERO),
                ..Zone::room(
                    each / belt,
                    between(room_transfer, n("h_top")? * scale),
                    air,
                    n("p_air")?,
                )
            })
        })
        .collect()
}

/// A temperature, where the case gives its unit nowhere: degC.
fn celsius(kelvin: f64) -> Answer {
    Answer::AsGiven(kelvin - ZERO)
}

/// What several passes of one film come to: the least and the greatest.
fn ends(list: &[f64]) -> (f64, f64) {
    let low = list.iter().copied().fold(f64::INFINITY, f64::min);
    (low, list.iter().copied().fold(f64::NEG_INFINITY, f64::max))
}

pub(crate) fn two_plies(case: &Case<'_>) -> Result<Answers, Fault> {
    let inputs = &case.all_inputs();
    match case.task.as_str() {
        "pass" => {
            let pass = heated(
                &body(inputs, None, None)?,
                &zones(inputs, "zones")?,
                start(inputs)?,
            )?;
            let keys = case.expected.keys();
            keys.map(|key| Ok((key.clone(), read(&pass, key)?)))
                .collect()
        }
        "vap-scan" => {
            let mut peaks = Vec::new();
            for path in list(inputs, "vaps")? {
                let path = number(path)?;
                let path = if path > 1.0e6 { f64::INFINITY } else { path };
                let body = body(inputs, None, Some(path))?;
                let pass = heated(&body, &zones(inputs, "zones")?, start(inputs)?)?;
                peaks.push(pass.peak(Place::Boundary, Stretch::Whole));
            }
            let (lo, hi) = ends(&peaks);
            let (closed, free) = (peaks[0], peaks[peaks.len() - 1]);
            let all = [("lo", lo), ("hi", hi), ("closed", closed), ("free", free)];
            Ok(answers(all.map(|(key, value)| (key, celsius(value)))))
        }
        "gap" => Ok(answers([("R", Answer::Si(ply_contact(inputs)?))])),
        "second-pass" => second_pass(inputs),
        "entry" => {
            let n = |key: &str| of(inputs, key, None);
            let entry = entry_temperature(
                n("T_flash")? + ZERO,
                n("room")? + ZERO,
                n("h")?,
                n("C")?,
                n("ride")?,
            )?;
            Ok(answers([("T", Answer::Kelvin(entry))]))
        }
        _ => case.unknown_task(),
    }
}

fn second_pass(inputs: &Value) -> Result<Answers, Fault> {
    let (between, dose) = (map(inputs, "between")?, map(inputs, "dose")?);
    let rate = Rate::Arrhenius {
        reference: of(dose, "ref", None)? + ZERO,
        energy: of(dose, "Ea", None)?,
    };
    let first = heated(
        &body(inputs, None, None)?,
        &zones(inputs, "zones")?,
        start(inputs)?,
    )?;
    let wet = list(between, "x")?;
    let wet = [number(&wet[0])?, number(&wet[1])?];
    let other = between.get("side").and_then(Value::as_str) == Some("other");
    let (body, place) = if other {
        let before = map(inputs, "ink")?;
        let mut turned = inputs.clone();
        turned["ink"] = inputs["ink2"].clone();
        if let Some(plies) = turned["plies"].as_array_mut() {
            plies.reverse();
        }
        let n = |key: &str| of(before, key, None);
        let underside = Underside {
            mass: n("m")?,
            thickness: n("l")?,
            heat: n("c")?,
            conductivity: n("k")?,
            vapour_path: 0.0,
        };
        let body = Body {
            underside: Some(underside),
            ..body(&turned, Some(wet), None)?
        };
        (body, Place::LastBack)
    } else {
        let dry = Body {
            ink_water: 0.0,
            ..body(inputs, Some(wet), None)?
        };
        (dry, Place::Boundary)
    };
    let from = of(between, "T", None)? + ZERO;
    let second = heated(&body, &zones(inputs, "zones2")?, from)?;
    let whole = Stretch::Whole;
    let dose1 = first.equivalent(Place::Boundary, &rate, whole);
    let dose2 = second.equivalent(place, &rate, whole);
    let index = of(dose, "factor", None)? * (dose1 + dose2) / of(dose, "hold", None)?;
    Ok(answers([
        ("peak1", celsius(first.peak(Place::Boundary, whole))),
        ("peak2", celsius(second.peak(place, whole))),
        ("dose1", Answer::Si(dose1)),
        ("dose2", Answer::Si(dose2)),
        ("dose", Answer::Si(dose1 + dose2)),
        ("index", Answer::Si(index)),
    ]))
}

pub(crate) fn zone_edges(case: &Case<'_>) -> Result<Answers, Fault> {
    let inputs = &case.all_inputs();
    match case.task.as_str() {
        "pass-smooth" => {
            let pass = heated(
                &body(inputs, None, None)?,
                &along(inputs, None)?,
                start(inputs)?,
            )?;
            let keys = case.expected.keys();
            keys.map(|key| Ok((key.clone(), read(&pass, key)?)))
                .collect()
        }
        "across" => {
            let Some(positions) = inputs.get("positions").and_then(Value::as_object) else {
                return wrong("`positions` is no map");
            };
            let mut peaks = Vec::new();
            for position in positions.values() {
                let zones = along(inputs, Some(position))?;
                let pass = heated(&body(inputs, None, None)?, &zones, start(inputs)?)?;
                peaks.push(pass.peak(Place::Boundary, Stretch::Whole));
            }
            let (lo, hi) = ends(&peaks);
            Ok(answers([
                ("lo", celsius(lo)),
                ("hi", celsius(hi)),
                ("spread", Answer::Si(hi - lo)),
            ]))
        }
        _ => case.unknown_task(),
    }
}

/// The steady balance of a tunnel under load, and how long it warms up.
pub(crate) fn tunnel_load(case: &Case<'_>) -> Result<Answers, Fault> {
    let inputs = &case.all_inputs();
    let n = |key: &str| of(inputs, key, None);
    match case.task.as_str() {
        "steady" => {
            let (piece, belt) = (map(inputs, "piece")?, map(inputs, "belt")?);
            let p = |key: &str| of(piece, key, None);
            let mut capacity = 0.0;
            for layer in list(piece, "layers")? {
                capacity += of(layer, "m", None)? * of(layer, "c", None)?;
            }
            let b = |key: &str| of(belt, key, None);
            let moved = b("m")? * b("c")? * b("width")? * b("speed")? * b("share")?;
            let air_heat = 1009.0;
            let loss = moved + n("exhaust")? * air_heat + n("UA")?;
            let set = n("set")? + ZERO;
            let mut piece = [
                p("area")?,
                capacity,
                p("water")?,
                p("t_in")? + ZERO,
                set,
                p("short")?,
                p("t_ev")? + ZERO,
            ];
            let [a, c, w, enters, air, short, dries_at] = piece;
            let (rate, room, power) = (n("rate")? / 3600.0, n("room")? + ZERO, n("power")?);
            let loaded = [
                a, c, w, enters, air, short, dries_at, rate, loss, room, power,
            ];
            let demand = rate * load::piece_heat(piece)? + loss * (set - room);
            let sag = load::air_sag(loaded)?;
            let [
                a,
                c,
                w,
                enters,
                air,
                short,
                dries_at,
                rate,
                loss,
                room,
                power,
            ] = loaded;
            let drop = load::stream_drop([
                a,
                c,
                w,
                enters,
                air,
                short,
                dries_at,
                rate,
                loss,
                room,
                power,
                n("circulation")?,
            ])?;
            piece[4] = set - sag;
            let (low, high) = match inputs.get("sensor").and_then(Value::as_str) {
                Some("supply") => (sag, sag + drop),
                Some("return") => (sag - drop, sag),
                _ => (sag - drop, sag + drop),
            };
            Ok(answers([
                ("piece_kJ", Answer::Si(load::piece_heat(piece)?)),
                ("demand_kW", Answer::Si(demand)),
                ("air", Answer::Kelvin(set - sag)),
                ("sag_power", Answer::Si(sag)),
                ("stream_drop", Answer::Si(drop)),
                ("sag_lo", Answer::Si(low)),
                ("sag_hi", Answer::Si(high)),
            ]))
        }
        "warm-up" => {
            let (room, start, set) = (n("room")? + ZERO, n("start")? + ZERO, n("set")? + ZERO);
            let (capacity, loss, power) = (n("C")?, n("G")?, n("power")?);
            let time = or_never(load::warm_up_time([
                capacity, loss, power, room, start, set,
            ]))?;
            Ok(answers([
                ("time", Answer::Si(time)),
                ("t_inf", Answer::Kelvin(room + power / loss)),
            ]))
        }
        "warm-up-walls" => {
            let (capacity, transfer) = (n("C_wall")?, n("h_wall")?);
            let (start, set) = (n("wall_start")? + ZERO, n("set")? + ZERO);
            let wait = load::walls_warm_up_time([capacity, transfer, start, set, n("within")?])?;
            Ok(answers([
                ("tau_wall", Answer::Si(capacity / transfer)),
                ("wait", Answer::Si(wait)),
            ]))
        }
        "panel-loss" => {
            // 1 Btu (IT) = 1055.05585262 J, 1 ft = 0.3048 m, 1 °F = 5/9 K: NIST SP 811, appendix B.
            let btu = 1_055.055_852_62;
            let foot = 0.3048_f64 * 0.3048;
            let per = btu / 3600.0 / foot / (5.0 / 9.0);
            let area = n("area_ft2")? * foot;
            let watt = load::wall_loss([area, n("factor")? * per, n("rise_F")? * 5.0 / 9.0])?;
            Ok(answers([
                ("Btu_h", Answer::Si(watt)),
                ("kW", Answer::Si(watt)),
            ]))
        }
        _ => case.unknown_task(),
    }
}

/// Panels, and the gel of a coat on damp cloth between the bounds of how that dries.
pub(crate) fn flash_damp(case: &Case<'_>) -> Result<Answers, Fault> {
    let inputs = &case.all_inputs();
    let n = |key: &str| of(inputs, key, None);
    match case.task.as_str() {
        // The mean over one of two equal rectangles that lie opposite each other.
        "view-opposed" => {
            let (a, b) = (n("a")?, n("b")?);
            let mean = panel::view_from_print(a, b, n("c")?, a, b)?;
            Ok(answers([("F", Answer::Si(mean))]))
        }
        // The mean along an edge: half of what the same edge sees of a panel twice as wide.
        "view-strip" => {
            let (a, b, c) = (n("a")?, n("b")?, n("c")?);
            let mut sum = 0.0;
            let points = 2_000;
            for i in 0..points {
                let along = (f64::from(i) + 0.5) / f64::from(points) * b;
                let from_middle = 2.0 * (along - 0.5 * b).abs();
                sum += panel::view_from_corner(2.0 * a, b, c, 0.0, from_middle)?;
            }
            Ok(answers([("F", Answer::Si(0.5 * sum / f64::from(points)))]))
        }
        "view-print" => {
            let (width, length, gap) = (n("W")?, n("L")?, n("c")?);
            let (across, along) = (n("w")?, n("l")?);
            let centre = panel::view_from_centre(width, length, gap)?;
            let corner = panel::view_from_corner(width, length, gap, across, along)?;
            let mean = panel::view_from_print(width, length, gap, across, along)?;
            Ok(answers([
                ("centre", Answer::Si(centre)),
                ("corner", Answer::Si(corner)),
                ("mean", Answer::Si(mean)),
            ]))
        }
        "flux" => {
            let (panel_at, print) = (n("T_panel")? + ZERO, n("T_print")? + ZERO);
            let q = panel::panel_flux(n("F")?, n("e_panel")?, n("e_print")?, panel_at, print)?;
            Ok(answers([("q", Answer::Si(q))]))
        }
        "panel-temperature" => {
            let (power, area, room) = (n("power")?, n("area")?, n("room")? + ZERO);
            let face = panel::panel_face(power, area, n("e")?, n("h")?, room, n("back")?)?;
            Ok(answers([("T", Answer::Kelvin(face))]))
        }
        "swing" => {
            let time = panel::swing_time(n("on")?, n("move")?)?;
            Ok(answers([
                ("fluence", Answer::Si(n("q")? * time)),
                ("equal_time", Answer::Si(time)),
            ]))
        }
        "bounds" => damp_bounds(inputs),
        _ => case.unknown_task(),
    }
}

/// The figures of the table over all that the path of the cloth's vapour may be.
fn damp_bounds(inputs: &Value) -> Result<Answers, Fault> {
    let n = |key: &str| of(inputs, key, None);
    let (ink, ply, zone) = (
        map(inputs, "ink")?,
        map(inputs, "ply")?,
        map(inputs, "zone")?,
    );
    let i = |key: &str| of(ink, key, None);
    let p = |key: &str| of(ply, key, None);
    let z = |key: &str, default: f64| of(zone, key, Some(default));
    let water = i("w")?;
    let mut shared: Vec<(f64, f64)> = [
        n("T0")? + ZERO,
        i("m")?,
        i("l")?,
        i("c")?,
        i("k")?,
        water,
        p("m")?,
        p("l")?,
        p("c")?,
        p("k")?,
        p("x")?,
        z("t_top", 25.0)? + ZERO,
        z("h_top", 0.0)?,
        z("t_pan", 25.0)? + ZERO,
        z("f_top", 0.0)?,
        z("q_top", 0.0)?,
        z("p_air", 1500.0)?,
        z("pallet_t", 25.0)? + ZERO,
        z("pallet_r", 0.0)?,
        p("regain")?,
    ]
    .map(|x| (x, x))
    .to_vec();
    shared.push((0.0, n("hv_max")?));
    let mut passes = Passes::default();
    let mut over = |name: &str, asked: f64| -> Result<(f64, f64), Fault> {
        let function = functions().iter().find(|function| function.name == name);
        let Some(function) = function else {
            return wrong(format!("no figure `{name}`"));
        };
        let mut inputs = shared.clone();
        inputs.push((asked, asked));
        let found = worst(function, &inputs, &mut passes)?;
        // As the figure is, without its own accuracy.
        let low = figure(function, &found.low_at, &mut passes)?;
        Ok((low, figure(function, &found.high_at, &mut passes)?))
    };
    let (mut lower, mut upper) = over("gel-time", n("gel")? + ZERO)?;
    let mut list = Vec::new();
    if water > 0.0 {
        let (dry, wet) = over("coat-dry-time", n("dry_share")?)?;
        (lower, upper) = (lower.max(dry), upper.max(wet));
        list.extend([("tack_lower", dry), ("tack_upper", wet)]);
    }
    list.extend([("lower", lower), ("upper", upper)]);
    let all = list.into_iter();
    Ok(all
        .map(|(key, time)| (key.to_owned(), Answer::Si(time)))
        .collect())
}

/// What the model is known to miss.
pub(crate) fn model_error(case: &Case<'_>) -> Result<Answers, Fault> {
    let inputs = &case.all_inputs();
    let n = |key: &str| of(inputs, key, None);
    match case.task.as_str() {
        "prediction-interval" => {
            let residuals = super::format::numbers(&inputs["residuals"])?;
            let found = agreement::prediction(&residuals, of(inputs, "p", Some(0.95))?)?;
            Ok(answers([
                ("mean", Answer::Si(found.mean)),
                ("s", Answer::Si(found.deviation)),
                ("half", Answer::Si(found.half)),
                ("lo", Answer::Si(found.mean - found.half)),
                ("hi", Answer::Si(found.mean + found.half)),
            ]))
        }
        "en" => {
            let en = agreement::normalised_error(n("x")?, n("U_x")?, n("X")?, n("U_X")?)?;
            Ok(answers([("En", Answer::Si(en))]))
        }
        "contradicted" => {
            let between = (n("model_lo")?, n("model_hi")?);
            let found = agreement::agreement(between, n("error")?, n("reading")?, n("U")?);
            let word = match found.standing {
                agreement::Standing::Agrees => "agrees",
                agreement::Standing::WithinError => "within",
                agreement::Standing::Contradicted => "contradicted",
            };
            Ok(answers([
                ("state", Answer::Word(word)),
                ("gap", Answer::Si(found.gap)),
                ("needs", Answer::Si(found.needs)),
            ]))
        }
        _ => case.unknown_task(),
    }
}
