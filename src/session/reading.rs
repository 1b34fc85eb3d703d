//! Reading plans and standards: each text once, each standard made ready once.

use std::collections::HashMap;

use crate::check::{Prepared, deviations, prepare, read_examples};
use crate::diagnostic::{Code, Diagnostic, PlanReport, Report};
use crate::names::{ReadProblem, Shelf, join, read_text};
use crate::source::{FileId, Span, Store};
use crate::syntax;
use crate::syntax::tree::{Line, StatementNode};
use crate::types::Date;

/// A plan on its way.
pub(super) struct Plan {
    pub(super) file: FileId,
    /// Index into the standards; `None` when it could not be read.
    pub(super) standard: Option<usize>,
    /// Trouble met before it was checked.
    pub(super) problem: Option<Diagnostic>,
    /// Whether there is no text at all.
    pub(super) unread: bool,
}

/// What was read so far.
pub(super) struct Reading<'s> {
    pub(super) store: Store,
    pub(super) shelf: &'s dyn Shelf,
    pub(super) prepared: Vec<Prepared>,
    pub(super) by_path: HashMap<String, Option<usize>>,
    pub(super) report: Report,
}

impl<'s> Reading<'s> {
    /// Nothing read yet.
    pub(super) fn new(shelf: &'s dyn Shelf, report: Report) -> Self {
        Self {
            store: Store::new(),
            shelf,
            prepared: Vec::new(),
            by_path: HashMap::new(),
            report,
        }
    }

    /// A plan whose text could not be read: it counts as one that was not checked.
    pub(super) fn unread(&mut self, path: &str, mut problem: Diagnostic) -> Plan {
        let file = self.store.add(path, "");
        problem.file = Some(file);
        Plan {
            file,
            standard: None,
            problem: Some(problem),
            unread: true,
        }
    }

    /// The number of a standard; reads it the first time.
    pub(super) fn standard(
        &mut self,
        path: &str,
        at: Option<Span>,
    ) -> Result<Option<usize>, Box<Diagnostic>> {
        if let Some(known) = self.by_path.get(path) {
            return Ok(*known);
        }
        let file = match read_text(&mut self.store, self.shelf, path, at) {
            Ok(file) => file,
            Err(problem) => {
                if at.is_some() {
                    return Err(problem);
                }
                self.by_path.insert(path.to_owned(), None);
                self.report.diagnostics.push(*problem);
                return Ok(None);
            }
        };
        let prepared = prepare(&mut self.store, self.shelf, file);
        let index = self.prepared.len();
        self.prepared.push(prepared);
        self.by_path.insert(path.to_owned(), Some(index));
        Ok(Some(index))
    }

    /// A standard that is checked for itself, its examples' plans included.
    pub(super) fn named_standard(&mut self, path: &str) {
        let index = self.standard(path, None).ok().flatten();
        if let Some(prepared) = index.and_then(|index| self.prepared.get_mut(index)) {
            read_examples(&mut self.store, self.shelf, prepared);
        }
    }

    /// A plan with the standard it names.
    pub(super) fn plan(&mut self, file: FileId, standard: Option<&str>) -> Plan {
        let mut plan = Plan {
            file,
            standard: None,
            problem: None,
            unread: false,
        };
        let found = match standard {
            Some(path) => self.standard(path, None),
            None => match against(&self.store, file) {
                // The plan's own check says that its first statement is missing.
                None => Ok(None),
                Some((written, span)) => {
                    let name = self.store.get(file).name().to_owned();
                    let base = if name == "<stdin>" {
                        "stdin.plan"
                    } else {
                        name.as_str()
                    };
                    match join(base, &written) {
                        Some(path) => self.standard(&path, Some(span)),
                        None => Err(Box::new(Diagnostic::new(
                            Code::PathLeaves,
                            span,
                            match written.trim_matches(['.', '/', ' ']) {
                                "" => "no file is named here".to_owned(),
                                _ => format!("`{written}` leads out of the folder that is checked"),
                            },
                            "not read",
                        )
                        .help("write a path with forward slashes, relative to the plan; `--root` names a wider folder"))),
                    }
                }
            },
        };
        match found {
            Ok(index) => plan.standard = index,
            Err(problem) => plan.problem = Some(*problem),
        }
        plan
    }

    /// The states of all deviations. Where the folder of a standard was named, its plans are all there are.
    pub(super) fn deviations(&mut self, on: Option<Date>, parts: &[String]) {
        for (index, prepared) in self.prepared.iter().enumerate() {
            let plans = self.report.plans.iter();
            let plans: Vec<&PlanReport> =
                plans.filter(|plan| plan.standard == Some(index)).collect();
            let root = self.store.get(prepared.standard.root).name();
            let whole = parts.iter().any(|path| path == root);
            let (list, said) = deviations(prepared, &plans, on, whole);
            self.report.diagnostics.extend(said);
            if let Some(standard) = self.report.standards.get_mut(index) {
                standard.deviations = list;
            }
        }
    }

    /// `.std` files met in folders: those with a header are standards, the others must be used by one.
    pub(super) fn parts(&mut self, parts: &[String]) {
        let mut left = Vec::new();
        let mut unread = Vec::new();
        for path in parts {
            match self.shelf.read(path) {
                Ok(text) if has_header(&text) => {
                    self.named_standard(path);
                }
                Ok(_) => left.push(path),
                Err(_) => unread.push(path),
            }
        }
        for path in unread {
            let Err(problem) = read_text(&mut self.store, self.shelf, path, None) else {
                continue;
            };
            // Where a standard uses it, its line has said so.
            let said = |known: &Diagnostic| known.headline == problem.headline;
            let standards = self.prepared.iter().flat_map(|known| &known.problems);
            if !standards.chain(&self.report.diagnostics).any(said) {
                self.report.diagnostics.push(*problem);
            }
        }
        for path in left {
            let used = self
                .prepared
                .iter()
                .flat_map(|prepared| &prepared.standard.files);
            let mut used = used.map(|file| self.store.get(*file).name());
            if used.any(|name| name == path) {
                continue;
            }
            self.report.diagnostics.push(
                Diagnostic::without_place(
                    Code::FileNotUsed,
                    format!("no standard uses `{path}`, so nothing in it was read"),
                )
                .help("start it with `standard \"…\" edition \"…\"`, or `use` it from a standard"),
            );
        }
    }
}

/// Whether a text has the first statement of a standard.
pub(crate) fn has_header(text: &str) -> bool {
    text.trim_start_matches('\u{feff}')
        .lines()
        .map(str::trim_end)
        .find(|line| !line.is_empty() && !line.starts_with('#'))
        .is_some_and(|line| line.starts_with("standard"))
}

/// The standard that a plan names, and where.
pub(super) fn against(store: &Store, file: FileId) -> Option<(String, Span)> {
    let text = store.get(file).text();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let offset = start;
        start += line.len();
        let body = line.trim_start_matches('\u{feff}');
        if !body.starts_with("run") {
            continue;
        }
        let shift = offset + line.len() - body.len();
        for item in syntax::parse(file, body).tree.items {
            if let Line::Good(statement, _) = item
                && let StatementNode::Run { against, .. } = statement.node
            {
                let span = against.span;
                let place = Span::new(file, shift + span.start as usize, shift + span.end as usize);
                return Some((against.value(), place));
            }
        }
    }
    None
}

pub(super) fn stdin_problem(problem: &ReadProblem) -> Diagnostic {
    Diagnostic::without_place(
        match problem {
            ReadProblem::NotUtf8(_) => Code::NotUtf8,
            ReadProblem::TooLarge(_) => Code::FileTooLarge,
            _ => Code::FileUnreadable,
        },
        "standard input cannot be read as a plan",
    )
    .help("it must be UTF-8 text of at most 16 MiB")
}
