//! Formulas that need each other.

use std::collections::HashMap;

use super::model::{FieldId, KindId, Standard};
use super::terms::{Expression, Hop, Path};
use crate::diagnostic::{Code, Diagnostic};

type Setting = (KindId, FieldId);

/// Takes out formulas that need themselves, and says so.
///
/// A formula may look at earlier or later steps of the sequence, even for the same setting: the
/// pallet is as warm as the previous flash left it. Such a chain ends with the sequence.
pub(super) fn check_formula_cycles(standard: &mut Standard, problems: &mut Vec<Diagnostic>) {
    let mut needs: HashMap<Setting, Vec<Setting>> = HashMap::new();
    let mut order = Vec::new();
    for (kind, number, field) in standard.numbered_fields() {
        let formula = field.formula.iter().flat_map(Expression::paths);
        let paths = formula.chain(&field.reference);
        let here = paths.filter(|path| !is_elsewhere(path));
        needs.insert((kind, number), here.flat_map(Path::settings).collect());
        order.push((kind, number));
    }
    let mut state: HashMap<Setting, bool> = HashMap::new();
    let mut bad = Vec::new();
    for start in order {
        let mut stack = vec![(start, 0_usize)];
        if state.contains_key(&start) {
            continue;
        }
        state.insert(start, false);
        while let Some((at, next)) = stack.pop() {
            let following = needs.get(&at).and_then(|list| list.get(next)).copied();
            let Some(following) = following else {
                state.insert(at, true);
                continue;
            };
            stack.push((at, next + 1));
            match state.get(&following) {
                Some(true) => {}
                Some(false) => bad.push((at, following)),
                None => {
                    state.insert(following, false);
                    stack.push((following, 0));
                }
            }
        }
    }
    for (at, following) in bad {
        let (from, to) = (
            standard.field(at.0, at.1),
            standard.field(following.0, following.1),
        );
        problems.push(
            Diagnostic::new(
                Code::FormulaCycle,
                from.span,
                if at == following {
                    format!("`{}` needs itself to be worked out", from.name)
                } else {
                    format!(
                        "`{}` needs `{}`, which needs it in turn",
                        from.name, to.name
                    )
                },
                "closes the circle",
            )
            .related(to.span, "needed here")
            .help("let one of the formulas go, and have that setting stated"),
        );
        let field = &mut standard.kinds[at.0.0 as usize].fields[at.1.0 as usize];
        field.formula = None;
        field.reference = None;
    }
}

/// Whether a path leads to another step of the sequence.
fn is_elsewhere(path: &Path) -> bool {
    let elsewhere = |hop: &Hop| matches!(hop, Hop::Next(_) | Hop::Previous(_));
    path.hops.iter().any(elsewhere)
}
