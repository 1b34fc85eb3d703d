//! A pair and a plan made as small as they get while they still show what is wrong.

use super::model::Room;
use super::plans::Plan;

/// Both standards, and the plan.
#[derive(Debug, Clone)]
pub(super) struct Case {
    pub(super) old: Room,
    pub(super) new: Room,
    pub(super) plan: Plan,
}

/// Takes part after part out of both, as long as `wrong` stays true.
pub(super) fn shrink(mut case: Case, wrong: &mut dyn FnMut(&Case) -> bool) -> Case {
    for _ in 0..6 {
        let before = case.clone();
        let parts = parts(&case);
        for part in parts {
            let mut less = case.clone();
            part(&mut less);
            if wrong(&less) {
                case = less;
            }
        }
        if before.old == case.old && before.new == case.new && before.plan == case.plan {
            break;
        }
    }
    case
}

type Part = Box<dyn Fn(&mut Case)>;

fn on_both(act: impl Fn(&mut Room) + 'static) -> Part {
    Box::new(move |case| {
        act(&mut case.old);
        act(&mut case.new);
    })
}

fn parts(case: &Case) -> Vec<Part> {
    let mut all: Vec<Part> = Vec::new();
    for room in [&case.old, &case.new] {
        for name in room.rules.iter().map(|rule| rule.name.clone()) {
            all.push(on_both(move |room| {
                room.rules.retain(|rule| rule.name != name);
                room.deviations.retain(|one| one.rule != name);
            }));
        }
        all.push(on_both(|room| room.tables.clear()));
        all.push(on_both(|room| room.deviations.clear()));
        for record in &room.records {
            let name = record.name.clone();
            all.push(on_both(move |room| {
                room.records.retain(|record| record.name != name);
            }));
            for (setting, _) in &record.values {
                let (name, setting) = (record.name.clone(), setting.clone());
                all.push(on_both(move |room| {
                    let records = room.records.iter_mut();
                    for record in records.filter(|record| record.name == name) {
                        record.values.retain(|(one, _)| *one != setting);
                    }
                }));
            }
        }
        for unit in &room.units {
            let name = unit.name.clone();
            all.push(on_both(move |room| {
                room.units.retain(|unit| unit.name != name)
            }));
        }
        for kind in &room.kinds {
            let name = kind.name.clone();
            all.push(on_both(move |room| {
                room.kinds.retain(|kind| kind.name != name);
            }));
            let name = kind.name.clone();
            all.push(on_both(move |room| {
                let kinds = room.kinds.iter_mut();
                kinds
                    .filter(|kind| kind.name == name)
                    .for_each(|kind| kind.parts = None);
            }));
            for setting in &kind.settings {
                for whole in [true, false] {
                    let (kind, setting) = (kind.name.clone(), setting.name.clone());
                    all.push(on_both(move |room| {
                        let kinds = room.kinds.iter_mut();
                        for kind in kinds.filter(|one| one.name == kind) {
                            if whole {
                                kind.settings.retain(|one| one.name != setting);
                            } else {
                                let settings = kind.settings.iter_mut();
                                for one in settings.filter(|one| one.name == setting) {
                                    one.range = None;
                                    one.formula = None;
                                }
                            }
                        }
                    }));
                }
            }
        }
        for rule in &room.rules {
            for at in 0..rule.whens.len() {
                let name = rule.name.clone();
                all.push(on_both(move |room| {
                    for rule in room.rules.iter_mut().filter(|rule| rule.name == name) {
                        if at < rule.whens.len() {
                            rule.whens.remove(at);
                        }
                    }
                }));
            }
            for at in 0..rule.clauses.len() {
                let name = rule.name.clone();
                all.push(on_both(move |room| {
                    for rule in room.rules.iter_mut().filter(|rule| rule.name == name) {
                        if at < rule.clauses.len() {
                            rule.clauses.remove(at);
                        }
                    }
                }));
            }
        }
    }
    for at in (0..case.plan.parts()).rev() {
        all.push(Box::new(move |case| case.plan.without(at)));
    }
    all
}
