//! What is read off cannot be freed, and where what it rests on is freed the window says to read it again.

use super::{demo, found, looked, refused, small};
use strikeoff::report::{self, Style};
use strikeoff::window::BUDGET;

#[test]
fn a_reading_cannot_be_freed_and_the_reason_is_said() {
    let room = demo();
    let plan = "demo-data/plans/film-too-hot-on-polyester.plan";
    let said = refused(&room, plan, &["film.peak"]);
    assert!(
        said.starts_with(
            "`film.peak` is read off, not set (a probe in the wet print: type K of class 2, good to ± 2.5 °C); \
             free what it depends on, and measure it again after a change: `dryer.belt`, `dryer.set-point`"
        ),
        "{said}"
    );
    for setting in [
        "film.hold",
        "garment.moisture",
        "press.room-air",
        "press.pallet-start",
        "screen base: tension",
        "screen base: eom",
    ] {
        let said = refused(&room, plan, &[setting]);
        assert!(said.contains("is read off, not set"), "{setting}: {said}");
    }
    let plan = "demo-data/plans/first-flash-too-short.plan";
    for setting in [
        "flash, step 2: pallet-before",
        "flash, step 2: pallet-after",
        "cool, step 3: pallet-after",
    ] {
        let said = refused(&room, plan, &[setting]);
        assert!(said.contains("is read off, not set"), "{setting}: {said}");
    }
}

#[test]
fn a_window_under_a_probed_film_says_to_probe_again() {
    let room = demo();
    let again = "`film.peak` was read at `dryer.belt` 2.2 m/min; measure it again after any change";
    let probed = found(
        &room,
        "demo-data/plans/film-too-hot-on-polyester.plan",
        &["dryer.belt"],
    );
    assert_eq!(probed.measure_again.as_deref(), Some(again));
    // What the film does not rest on leaves the reading as it is.
    let squeegee = found(
        &room,
        "demo-data/plans/film-too-hot-on-polyester.plan",
        &["screen base: squeegee"],
    );
    assert_eq!(squeegee.measure_again, None);
    let fitted = found(
        &room,
        "demo-data/fitted/plans/cotton-from-a-dry-store.plan",
        &["dryer.belt"],
    );
    assert_eq!(fitted.measure_again, None);
}

#[test]
fn every_view_says_to_probe_again() {
    let plan = "demo-data/plans/film-too-hot-on-polyester.plan";
    let run = looked(&demo(), plan, &["dryer.belt"], BUDGET);
    let window = run.found.unwrap();
    let again = "film.peak was read at dryer.belt 2.2 m/min; measure it again after any change";
    let (mut text, mut json) = (Vec::new(), Vec::new());
    report::window(&window, &run.store, &Style::default(), &mut text).unwrap();
    report::window_json(&window, &run.store, &mut json).unwrap();
    for view in [
        String::from_utf8(text).unwrap(),
        String::from_utf8(json).unwrap(),
        report::window_picture(&window),
        report::window_page(&window, &run.store),
    ] {
        assert!(view.replace('`', "").contains(again), "{view}");
    }
}

#[test]
fn nothing_but_what_is_set_can_be_freed() {
    let room = demo();
    let (mut asked, mut plans) = (0, 0);
    for plan in room.ending(".plan") {
        let run = room.check(
            vec![plan.clone()],
            strikeoff::check::Options {
                repairs: false,
                ..Default::default()
            },
        );
        let report = &run.report.plans[0];
        let Some(index) = report.standard.filter(|_| report.checked) else {
            continue;
        };
        let prepared = &run.prepared[index];
        let mut store = run.store.clone();
        let text = run.store.get(report.file).text().to_owned();
        let made = crate::demo_room::try_run_of(&mut store, prepared, &text).unwrap();
        let standard = &prepared.standard;
        plans += 1;
        for instance in &made.instances {
            let kind = standard.kind(instance.kind);
            if kind.place != strikeoff::types::PlaceInRun::One {
                continue;
            }
            for (field, stated) in kind.fields.iter().zip(&instance.values) {
                let number = matches!(field.ty, strikeoff::types::Type::Quantity(_));
                if stated.is_none() || !number || field.sort == strikeoff::types::Sort::Set {
                    continue;
                }
                let name = format!("{}.{}", kind.name, field.name);
                let said = refused(&room, &plan, &[&name]);
                assert!(said.contains(", not set"), "{plan}: {name}: {said}");
                asked += 1;
            }
        }
    }
    assert!(plans >= 40 && asked >= 60, "{plans} {asked}");
}

/// That no set point holds is shown where no reading leaves it open: here the swing of the belt is too wide for the rule.
#[test]
fn what_no_reading_leaves_open_is_shown() {
    let standard = |rule: &str| {
        format!(
            "standard \"A room\" edition \"1\"\nuse trade\n\nrule one {{\n  shall    {rule}\n  per      practice\n}}\n"
        )
    };
    let plan = "run \"a\" against \"room.std\"\n\ndryer {\n  chamber    3 m\n  belt       3 m/min ± 5 %\n  set-point  200 °C\n}\n\n\
                film {\n  peak       140 °C ± 3 K read on 2026-11-20 from 5 pieces\n}\n";
    let narrow = "(dryer.dwell at least 59 s) and (dryer.dwell at most 61 s)";
    let window = found(&small(&standard(narrow), plan), "a.plan", &["dryer.belt"]);
    assert!(window.empty && !window.until_read);
    let cool = "(film.peak at most 130 °C) and (dryer.dwell at least 10 s)";
    let window = found(&small(&standard(cool), plan), "a.plan", &["dryer.belt"]);
    assert!(window.empty && window.until_read);
}
