//! `diff --plans`: a folder of plans under both editions.

use std::collections::BTreeMap;

use super::check::against;
use crate::check::{Options, Prepared};
use crate::compare::{Edition, PlanOptions, plan_moves};
use crate::diagnostic::{PlanMoves, Unchecked};
use crate::names::{Shelf, join, read_text};
use crate::source::{FileId, Store};

/// An edition whose store takes the plans up.
#[derive(Debug)]
pub struct Side<'s> {
    /// Its texts.
    pub store: &'s mut Store,
    /// The standard.
    pub prepared: &'s Prepared,
}

/// Checks every plan that is against one of the two standards under both. The plans are read from `shelf`.
#[must_use]
pub fn compare_plans(
    old: Side<'_>,
    new: Side<'_>,
    plans: &[String],
    shelf: &dyn Shelf,
    options: Options,
    renamed: &BTreeMap<String, String>,
) -> PlanMoves {
    let roots = [&old, &new].map(|side| {
        let root = side.prepared.standard.root;
        side.store.get(root).name().to_owned()
    });
    let mut pairs: Vec<(FileId, FileId)> = Vec::new();
    let (mut elsewhere, mut unread) = (0, Vec::new());
    for path in plans {
        let file = match read_text(new.store, shelf, path, None) {
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
        let standard = against(new.store, file);
        let is_ours = standard.is_none_or(|(written, _)| {
            join(path, &written).is_some_and(|path| roots.contains(&path))
        });
        if !is_ours {
            elsewhere += 1;
            continue;
        }
        let text = new.store.get(file).text().to_owned();
        pairs.push((old.store.add(path.clone(), text), file));
    }
    let mut moves = plan_moves(
        &Edition {
            store: old.store,
            prepared: old.prepared,
        },
        &Edition {
            store: new.store,
            prepared: new.prepared,
        },
        &pairs,
        PlanOptions { options, renamed },
    );
    moves.elsewhere = elsewhere;
    moves.unchecked.splice(0..0, unread);
    moves
}
