//! Plans that fare otherwise, as a folded part of a comment on a merge request.

use std::fmt::Write as _;

use super::document::{markdown_code as coded, markdown_escape as escaped};
use super::plan_moves::{by_rule, change, reason, summary};
use crate::diagnostic::{PlanMoves, Way};

/// How many plans are told for one rule.
const MOST_TOLD: usize = 20;

/// One line for the summary.
pub(super) fn plans_line(moves: &PlanMoves) -> String {
    format!("**Plans**: {}\n\n", escaped(&summary(moves)))
}

/// The plans, folded; nothing where all fare as before.
pub(super) fn plans_details(moves: &PlanMoves) -> String {
    let mut text = String::new();
    for way in Way::ALL {
        let count = moves.count(way);
        if count == 0 {
            continue;
        }
        let _ = writeln!(
            text,
            "<details>\n<summary>Plans {} ({count})</summary>\n",
            way.word()
        );
        for plan in moves.moved.iter().filter(|plan| plan.way() == way) {
            if let Some(why) = &plan.why {
                let _ = writeln!(text, "- {}: {}", coded(&plan.path), escaped(why));
            }
        }
        for group in by_rule(moves, way) {
            let _ = writeln!(text, "- {} ({})", coded(group.rule), group.count());
            for (plan, rule) in group.plans.iter().take(MOST_TOLD) {
                let _ = write!(text, "  - {}", coded(&plan.path));
                if let Some(subject) = &rule.subject {
                    let _ = write!(text, ", {}", escaped(subject));
                }
                let _ = write!(text, ": {}", escaped(&change(rule)));
                match reason(rule) {
                    Some(reason) => {
                        let _ = writeln!(text, ": {}", escaped(&reason));
                    }
                    None => text.push('\n'),
                }
            }
            if group.plans.len() > MOST_TOLD {
                let _ = writeln!(text, "  - and {} more", group.plans.len() - MOST_TOLD);
            }
        }
        text.push_str("\n</details>\n\n");
    }
    if !moves.unchecked.is_empty() {
        let _ = writeln!(
            text,
            "<details>\n<summary>Plans checked against neither ({})</summary>\n",
            moves.unchecked.len()
        );
        for plan in &moves.unchecked {
            let _ = writeln!(text, "- {}: {}", coded(&plan.path), escaped(&plan.why));
        }
        text.push_str("\n</details>\n\n");
    }
    text
}
