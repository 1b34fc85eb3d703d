//! `check`.

use std::collections::HashMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::SystemTime;

use super::args::{CheckArguments, Form, ShowWhat};
use super::collect::{Named, collect};
use super::{Disk, apply, exit, files, terminal};
use crate::check::{Options, Prepared, check_plan, deviations, prepare, read_examples};
use crate::diagnostic::{Code, Counts, Diagnostic, PlanReport, Report};
use crate::names::{ReadProblem, Shelf, join, read_text};
use crate::report::{Format, Show, Style, render};
use crate::source::{FileId, Span, Store, visible};
use crate::syntax;
use crate::syntax::tree::{Line, StatementNode};
use crate::types::Date;

/// Plans per thread below which another thread is not worth starting.
const PLANS_PER_THREAD: usize = 64;

/// What is to be checked.
#[derive(Debug)]
pub struct Request {
    /// Plans and standards.
    pub named: Named,
    /// A plan's text from standard input.
    pub stdin: Option<Result<String, ReadProblem>>,
    /// The standard for all plans.
    pub standard: Option<String>,
    /// The date.
    pub date: String,
    /// How much is worked out.
    pub options: Options,
}

/// A check that was run.
#[derive(Debug)]
pub struct Run {
    /// All texts.
    pub store: Store,
    /// The standards that were checked against.
    pub prepared: Vec<Prepared>,
    /// What was found.
    pub report: Report,
}

/// Runs `check`.
pub(super) fn command(arguments: &CheckArguments, out: &mut dyn Write) -> io::Result<u8> {
    let date = match date(arguments.on.as_deref()) {
        Ok(date) => date,
        Err(words) => return usage(&words),
    };
    let disk = match disk(arguments.root.as_deref(), &arguments.paths) {
        Ok(disk) => disk,
        Err(words) => return usage(&words),
    };
    let disk = match &arguments.standard {
        Some(standard) => disk.and_around(standard),
        None => disk,
    };
    let passed = arguments.show.contains(&ShowWhat::Passed);
    let machine = matches!(arguments.form, Form::Json | Form::Sarif | Form::Junit);
    let named = collect(&arguments.paths);
    let stdin = named.stdin.then(files::stdin);
    let request = |named: Named, stdin| Request {
        named,
        stdin,
        standard: arguments
            .standard
            .as_ref()
            .map(|path| path.to_string_lossy().replace('\\', "/")),
        date: date.clone(),
        options: Options {
            explain: passed || machine,
            repairs: true,
            allow_risk: arguments.allow_risk,
            on: None,
            budget: arguments.budget,
            margins: arguments.show.contains(&ShowWhat::Margins),
        },
    };
    let mut run = check(request(named, stdin), &disk);
    if let Some(number) = arguments.apply {
        let change = match apply::change(&run.report, &run.store, number) {
            Ok(change) => change,
            Err(words) => return usage(&words),
        };
        // It is checked as it will be before a byte is written.
        let again = request(collect(&arguments.paths), None);
        run = check(again, &change.over(&disk));
        if !run.report.plans.iter().all(|plan| plan.checked) {
            return usage("the plan could not be checked with the repair, so nothing was written");
        }
        if !arguments.dry_run
            && let Err(words) = change.write(&disk)
        {
            return usage(&words);
        }
        let said = change.said(!arguments.dry_run);
        if arguments.form == Form::People {
            writeln!(out, "{said}")?;
        } else {
            write!(io::stderr(), "{said}")?;
        }
    }
    let style = Style {
        colour: terminal::colour(arguments.colour),
        width: terminal::width(),
        unicode: true,
        plain: arguments.plain,
        show: Show { passed },
        full: arguments.full,
        open: arguments.open,
    };
    let format = match arguments.form {
        Form::People => Format::People,
        Form::Log => Format::Log,
        Form::Json => Format::Json,
        Form::Sarif => Format::Sarif,
        Form::Junit => Format::Junit,
    };
    render(&run.report, &run.store, format, &style, out)?;
    let code = exit::of_report(&run.report);
    // The process ends here: giving memory back piece by piece would only take time.
    std::mem::forget(run);
    Ok(code)
}

/// Says what is wrong with the arguments, which are no more to be trusted than a file.
pub(super) fn usage(words: &str) -> io::Result<u8> {
    writeln!(io::stderr(), "strikeoff: {}", visible(words))?;
    Ok(exit::TROUBLE)
}

/// The date to check for.
pub(super) fn date(on: Option<&str>) -> Result<String, String> {
    if let Some(text) = on {
        let date = Date::parse(text);
        let date = date.ok_or_else(|| format!("`{text}` is not a date; write it as 2026-11-25"))?;
        return Ok(date.to_string());
    }
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    let days = since.map_or(0, |since| since.as_secs() / (24 * 60 * 60));
    let today = Date::since_1970(days);
    let today = today.ok_or("the clock of this machine is wrong; state the day with `--on`")?;
    Ok(today.to_string())
}

/// The folder that texts may name files in: the current one when it holds all paths, else theirs.
pub(super) fn root(paths: &[PathBuf]) -> PathBuf {
    let here = PathBuf::from(".");
    let Ok(disk) = Disk::below(&here) else {
        return here;
    };
    let outside = |path: &&PathBuf| path.as_os_str() != "-" && path.exists() && !disk.holds(path);
    let Some(first) = paths.iter().find(outside) else {
        return here;
    };
    if first.is_dir() {
        return first.clone();
    }
    first
        .parent()
        .filter(|parent| !parent.as_os_str().is_empty())
        .map_or(here, Path::to_path_buf)
}

/// The files that texts may name: those below `root`; without one, below the current folder and around
/// every path that was named.
pub(super) fn disk(root: Option<&Path>, paths: &[PathBuf]) -> Result<Disk, String> {
    let folder = root.unwrap_or_else(|| Path::new("."));
    let disk = Disk::below(folder)
        .map_err(|error| format!("the folder `{}` cannot be read: {error}", folder.display()))?;
    let outside = |path: &&PathBuf| root.is_none() && path.as_os_str() != "-" && path.exists();
    let named = paths.iter().filter(outside);
    Ok(named.fold(disk, |disk, path| disk.and_around(path)))
}

/// A plan on its way.
struct Plan {
    file: FileId,
    /// Index into the standards; `None` when it could not be read.
    standard: Option<usize>,
    /// Trouble met before it was checked.
    problem: Option<Diagnostic>,
    /// Whether there is no text at all.
    unread: bool,
}

/// Checks everything that is named.
#[must_use]
pub fn check(request: Request, shelf: &(dyn Shelf + Sync)) -> Run {
    let mut work = Work {
        store: Store::new(),
        shelf,
        prepared: Vec::new(),
        by_path: HashMap::new(),
        report: Report {
            date: request.date,
            allow_risk: request.options.allow_risk,
            diagnostics: request.named.problems,
            ..Report::default()
        },
    };
    // All plans get their numbers before the standards they name.
    let mut read = Vec::new();
    for path in &request.named.plans {
        read.push(match read_text(&mut work.store, shelf, path, None) {
            Ok(file) => Ok(file),
            Err(problem) => Err(work.unread(path, *problem)),
        });
    }
    match request.stdin {
        Some(Ok(text)) => read.push(Ok(work.store.add("<stdin>", text))),
        Some(Err(problem)) => read.push(Err(work.unread("<stdin>", stdin_problem(&problem)))),
        None => {}
    }
    let plans: Vec<Plan> = read
        .into_iter()
        .map(|read| {
            read.map_or_else(
                |unread| unread,
                |file| work.plan(file, request.standard.as_deref()),
            )
        })
        .collect();
    for path in &request.named.standards {
        work.named_standard(path);
    }
    work.parts(&request.named.parts);
    for prepared in &work.prepared {
        work.report.standards.push(prepared.report());
        work.report
            .diagnostics
            .extend(prepared.problems.iter().cloned());
    }
    let options = Options {
        on: Date::parse(&work.report.date),
        ..request.options
    };
    work.report.plans = check_all(&work.store, &work.prepared, &plans, options);
    work.deviations(options.on, &request.named.parts);
    Run {
        store: work.store,
        prepared: work.prepared,
        report: work.report,
    }
}

/// One plan and its standard, read but not checked.
pub(super) struct Read {
    pub(super) store: Store,
    pub(super) prepared: Option<Prepared>,
    /// `None` when its file could not be read.
    pub(super) plan: Option<FileId>,
    /// Trouble with files and with the standard's texts.
    pub(super) problems: Vec<Diagnostic>,
}

/// Reads one plan with the standard it names, or with `standard`.
pub(super) fn read(
    path: Option<&str>,
    stdin: Option<Result<String, ReadProblem>>,
    standard: Option<&str>,
    shelf: &dyn Shelf,
) -> Read {
    let mut work = Work {
        store: Store::new(),
        shelf,
        prepared: Vec::new(),
        by_path: HashMap::new(),
        report: Report::default(),
    };
    let file = match (path, stdin) {
        (Some(path), _) => match read_text(&mut work.store, shelf, path, None) {
            Ok(file) => Some(file),
            Err(problem) => {
                work.report.diagnostics.push(*problem);
                None
            }
        },
        (None, Some(Ok(text))) => Some(work.store.add("<stdin>", text)),
        (None, Some(Err(problem))) => {
            work.report.diagnostics.push(stdin_problem(&problem));
            None
        }
        (None, None) => None,
    };
    let plan = file.map(|file| work.plan(file, standard));
    let mut problems = work.report.diagnostics;
    let index = plan.as_ref().and_then(|plan| plan.standard);
    let prepared = index.and_then(|index| work.prepared.into_iter().nth(index));
    match (&prepared, &plan) {
        (Some(prepared), _) => problems.extend(prepared.problems.iter().cloned()),
        (None, Some(plan)) => problems.extend(unreadable(&work.store, plan).diagnostics),
        (None, None) => {}
    }
    Read {
        store: work.store,
        prepared,
        plan: file,
        problems,
    }
}

fn stdin_problem(problem: &ReadProblem) -> Diagnostic {
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

struct Work<'s> {
    store: Store,
    shelf: &'s dyn Shelf,
    prepared: Vec<Prepared>,
    by_path: HashMap<String, Option<usize>>,
    report: Report,
}

impl Work<'_> {
    /// A plan whose text could not be read: it counts as one that was not checked.
    fn unread(&mut self, path: &str, mut problem: Diagnostic) -> Plan {
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
    fn standard(&mut self, path: &str, at: Option<Span>) -> Result<Option<usize>, Box<Diagnostic>> {
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
    fn named_standard(&mut self, path: &str) {
        let index = self.standard(path, None).ok().flatten();
        if let Some(prepared) = index.and_then(|index| self.prepared.get_mut(index)) {
            read_examples(&mut self.store, self.shelf, prepared);
        }
    }

    /// A plan with the standard it names.
    fn plan(&mut self, file: FileId, standard: Option<&str>) -> Plan {
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
    fn deviations(&mut self, on: Option<Date>, parts: &[String]) {
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
    fn parts(&mut self, parts: &[String]) {
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
pub(super) fn has_header(text: &str) -> bool {
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

/// Checks all plans, on several threads when there are many; the order stays.
fn check_all(
    store: &Store,
    prepared: &[Prepared],
    plans: &[Plan],
    options: Options,
) -> Vec<PlanReport> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let threads = cores.min(plans.len() / PLANS_PER_THREAD).max(1);
    let size = plans.len().div_ceil(threads).max(1);
    if threads == 1 {
        return plans
            .iter()
            .map(|plan| one(store, prepared, plan, options))
            .collect();
    }
    thread::scope(|scope| {
        let handles: Vec<_> = plans
            .chunks(size)
            .map(|chunk| {
                scope.spawn(move || {
                    chunk
                        .iter()
                        .map(|plan| one(store, prepared, plan, options))
                        .collect::<Vec<_>>()
                })
            })
            .collect();
        handles
            .into_iter()
            .zip(plans.chunks(size))
            .flat_map(|(handle, chunk)| {
                // A thread that died is no reason to lose its plans: they are checked again here.
                handle.join().unwrap_or_else(|_| {
                    chunk
                        .iter()
                        .map(|plan| one(store, prepared, plan, options))
                        .collect()
                })
            })
            .collect()
    })
}

fn one(store: &Store, prepared: &[Prepared], plan: &Plan, options: Options) -> PlanReport {
    let Some((index, standard)) = plan
        .standard
        .and_then(|index| Some((index, prepared.get(index)?)))
    else {
        return unreadable(store, plan);
    };
    check_plan(store, standard, index, plan.file, options)
}

/// A plan whose standard could not be read: its own text is looked at all the same.
fn unreadable(store: &Store, plan: &Plan) -> PlanReport {
    let parsed = syntax::parse(plan.file, store.get(plan.file).text());
    let mut diagnostics: Vec<Diagnostic> = parsed.diagnostics().collect();
    let (scope, misplaced) = crate::names::plan_scope(&parsed.tree);
    if !plan.unread {
        diagnostics.extend(misplaced);
    }
    diagnostics.extend(plan.problem.clone());
    PlanReport {
        file: plan.file,
        name: scope.run.map(|(name, ..)| name.value()).unwrap_or_default(),
        standard: None,
        checked: false,
        checks: Vec::new(),
        counts: Counts::default(),
        diagnostics,
        cautions: Vec::new(),
        whole: None,
        margins: None,
        work: 0,
    }
}
