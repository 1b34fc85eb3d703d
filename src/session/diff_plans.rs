//! A folder of plans under both editions.

use super::reading::against;
use crate::check::{Options, Prepared};
use crate::diagnostic::{PlanMoves, Unchecked};
use crate::diff::{PlanOptions, plan_moves, renamed_rules};
use crate::names::{Shelf, join, read_text};
use crate::source::{FileId, Store};

/// Checks every plan that is against one of the two standards under both. The plans are read from `shelf`.
#[must_use]
pub fn compare_plans(
    store: &mut Store,
    (old, new): (&Prepared, &Prepared),
    plans: &[String],
    shelf: &dyn Shelf,
    options: Options,
) -> PlanMoves {
    let roots = [old, new].map(|side| store.get(side.standard.root).name().to_owned());
    let mut ours: Vec<FileId> = Vec::new();
    let (mut elsewhere, mut unread) = (0, Vec::new());
    for path in plans {
        let file = match read_text(store, shelf, path, None) {
            Ok(file) => file,
            Err(problem) => {
                unread.push(Unchecked {
                    path: path.clone(),
                    why: problem.headline.clone(),
                });
                continue;
            }
        };
        // One that names no standard is checked, which then says so.
        let is_ours = against(store, file).is_none_or(|(written, _)| {
            join(path, &written).is_some_and(|path| roots.contains(&path))
        });
        if is_ours {
            ours.push(file);
        } else {
            elsewhere += 1;
        }
    }
    let renamed = renamed_rules(&old.standard, &new.standard);
    let how = PlanOptions {
        options,
        renamed: &renamed,
    };
    let mut moves = plan_moves(store, (old, new), &ours, how);
    moves.elsewhere = elsewhere;
    moves.unchecked.splice(0..0, unread);
    moves
}
