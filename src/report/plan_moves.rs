//! Plans that fare otherwise under a new edition, by rule: as text, and the grouping that other views share.

use std::io::{self, Write};

use super::Style;
use super::fold::fold;
use crate::diagnostic::{Fared, Outcome, PlanMove, PlanMoves, RuleMove, Verb, Way};
use crate::source::visible;

/// How many plans are told for one rule.
const MOST_TOLD: usize = 12;

/// Plans that went one way by one rule.
pub(super) struct ByRule<'m> {
    pub(super) rule: &'m str,
    pub(super) plans: Vec<(&'m PlanMove, &'m RuleMove)>,
}

impl ByRule<'_> {
    /// How many plans there are; one plan may have several things.
    pub(super) fn count(&self) -> usize {
        let mut paths: Vec<&str> = self
            .plans
            .iter()
            .map(|(plan, _)| plan.path.as_str())
            .collect();
        paths.dedup();
        paths.len()
    }
}

/// The rules by which plans went one way, those with most plans first.
pub(super) fn by_rule(moves: &PlanMoves, way: Way) -> Vec<ByRule<'_>> {
    let mut groups: Vec<ByRule<'_>> = Vec::new();
    for plan in moves.moved.iter().filter(|plan| plan.way() == way) {
        for rule in plan.rules.iter().filter(|rule| decides(way, rule)) {
            match groups.iter_mut().find(|group| group.rule == rule.rule) {
                Some(group) => group.plans.push((plan, rule)),
                None => groups.push(ByRule {
                    rule: &rule.rule,
                    plans: vec![(plan, rule)],
                }),
            }
        }
    }
    groups.sort_by(|one, other| {
        let most = other.count().cmp(&one.count());
        most.then_with(|| one.rule.cmp(other.rule))
    });
    groups
}

/// Whether a rule is why a plan went that way.
fn decides(way: Way, rule: &RuleMove) -> bool {
    let fails = |fared: &Option<Fared>| {
        fared
            .as_ref()
            .is_some_and(|fared| !fared.rank().0 && fared.verb == Verb::Shall)
    };
    match way {
        Way::Lost => fails(&rule.new),
        Way::Gained => fails(&rule.old),
        Way::Unreadable | Way::Readable | Way::StillFails | Way::StillPasses => true,
    }
}

/// `held, now breaks`.
pub(super) fn change(rule: &RuleMove) -> String {
    let old = match &rule.old {
        None => "no such rule",
        Some(fared) => match (fared.outcome, fared.verb) {
            (Outcome::Holds, _) => "held",
            (Outcome::DoesNotApply, _) => "did not apply",
            (Outcome::Breaks, Verb::Shall) => "broke",
            (Outcome::Breaks, Verb::Should) => "broke a `should`",
            (Outcome::AtRisk, Verb::Shall) => "was at risk",
            (Outcome::AtRisk, Verb::Should) => "was at risk of a `should`",
            (Outcome::NotStated, _) => "lacked a value",
        },
    };
    let new = match &rule.new {
        None => "no such rule now",
        Some(fared) => match (fared.outcome, fared.verb) {
            (Outcome::Holds, _) => "now holds",
            (Outcome::DoesNotApply, _) => "now does not apply",
            (Outcome::Breaks, Verb::Shall) => "now breaks",
            (Outcome::Breaks, Verb::Should) => "now breaks a `should`",
            (Outcome::AtRisk, Verb::Shall) => "now at risk",
            (Outcome::AtRisk, Verb::Should) => "now at risk of a `should`",
            (Outcome::NotStated, _) => "now lacks a value",
        },
    };
    format!("{old}, {new}")
}

/// The reason that the reader wants: of what fails now, else of what failed before.
pub(super) fn reason(rule: &RuleMove) -> Option<String> {
    let bad = |fared: &&Fared| !fared.rank().0;
    if let Some(fared) = rule.new.as_ref().filter(bad) {
        return Some(fared.why.clone());
    }
    let fared = rule.old.as_ref().filter(bad)?;
    Some(format!("before, {}", fared.why))
}

fn plans(count: usize) -> String {
    let noun = if count == 1 { "plan" } else { "plans" };
    format!("{count} {noun}")
}

/// `81 compared: 2 newly failing, 79 as before`.
pub(super) fn summary(moves: &PlanMoves) -> String {
    let mut parts: Vec<String> = Way::ALL
        .into_iter()
        .filter_map(|way| match moves.count(way) {
            0 => None,
            count => Some(format!("{count} {}", way.word())),
        })
        .collect();
    let both = |plan: &&PlanMove| plan.why.is_none();
    let same = moves.compared - moves.moved.iter().filter(both).count();
    if same > 0 || parts.is_empty() {
        parts.push(format!("{same} as before"));
    }
    let mut words = format!("{} compared: {}", moves.compared, parts.join(", "));
    if !moves.unchecked.is_empty() {
        words.push_str(&format!(
            "; {} checked against neither",
            moves.unchecked.len()
        ));
    }
    if moves.elsewhere > 0 {
        words.push_str(&format!(
            "; {} against another standard, not compared",
            moves.elsewhere
        ));
    }
    words
}

/// Writes which plans fare otherwise, for people.
///
/// # Errors
/// Whatever `out` fails with.
pub fn plan_moves(moves: &PlanMoves, style: &Style, out: &mut dyn Write) -> io::Result<()> {
    let width = style.width.clamp(40, 1000);
    let mut write = |text: &str, first: &str, rest: &str| {
        out.write_all(fold(text, width, first, rest).as_bytes())
    };
    write(&summary(moves), "plans: ", "  ")?;
    for way in Way::ALL {
        let count = moves.count(way);
        if count == 0 {
            continue;
        }
        write(&format!("{} ({count})", way.word()), "\n", "  ")?;
        for plan in moves.moved.iter().filter(|plan| plan.way() == way) {
            let Some(why) = &plan.why else {
                continue;
            };
            let words = format!("{}: {}", visible(&plan.path), visible(why));
            write(&words, "  ", "    ")?;
        }
        for group in by_rule(moves, way) {
            let head = format!("{} ({})", visible(group.rule), plans(group.count()));
            write(&head, "  ", "    ")?;
            for (plan, rule) in group.plans.iter().take(MOST_TOLD) {
                write(&line(plan, rule), "    ", "      ")?;
            }
            if group.plans.len() > MOST_TOLD {
                let more = group.plans.len() - MOST_TOLD;
                write(
                    &format!("and {more} more; `--as json` lists all"),
                    "    ",
                    "      ",
                )?;
            }
        }
    }
    if !moves.unchecked.is_empty() {
        let head = format!("checked against neither ({})", moves.unchecked.len());
        write(&head, "\n", "  ")?;
        for plan in &moves.unchecked {
            let words = format!("{}: {}", visible(&plan.path), visible(&plan.why));
            write(&words, "  ", "    ")?;
        }
    }
    Ok(())
}

/// One plan under its rule.
fn line(plan: &PlanMove, rule: &RuleMove) -> String {
    let subject = rule
        .subject
        .as_ref()
        .map(|subject| format!(", {}", visible(subject)))
        .unwrap_or_default();
    let mut words = format!("{}{subject}: {}", visible(&plan.path), change(rule));
    if let Some(reason) = reason(rule) {
        words.push_str(": ");
        words.push_str(&visible(&reason));
    }
    words
}
