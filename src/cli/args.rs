//! The arguments.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use super::apply::Asked;

/// Checks garment screen-print run plans against the shop's own written standard.
#[derive(Debug, Parser)]
#[command(name = "strikeoff", version, about, max_term_width = 100)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Check run plans, or standards by themselves.
    ///
    /// Exit codes: 0 every `shall` holds; 1 a `shall` breaks, is at risk or lacks a value;
    /// 2 trouble with a text, so that something was not checked.
    #[command(after_help = "Examples:
  strikeoff check orders/                 every plan and standard below a folder
  strikeoff check 2611.plan               one plan against the standard it names
  strikeoff check room.std                the standard by itself
  strikeoff check orders/ --as sarif      for a code host
  cat 2611.plan | strikeoff check -       from a pipe
  strikeoff check 2611.plan --apply 1     write repair 1 into the plan, and check it again
  strikeoff check 2611.plan --apply all   write one repair for every finding, and check it again
  strikeoff check 2611.plan --show margins")]
    Check(CheckArguments),
    /// Show the working: every figure of a run with its formula, the numbers put in, and what came out.
    ///
    /// Without FIELD all figures of the run that can be worked out. Exit codes: 0 shown; 2 trouble with a text,
    /// or there is no such figure.
    #[command(after_help = "Examples:
  strikeoff working 2611.plan                          all figures of the run
  strikeoff working 2611.plan dryer.dwell film.peak    only these
  strikeoff working 2611.plan screen.opening           of all screens
  strikeoff working 2611.plan 'screen base: opening'   of one
  strikeoff working 2611.plan --as json                for other programs
  strikeoff working 2611.plan --picture heat.svg       temperature curves as a picture as well")]
    Working(WorkingArguments),
    /// Show the window: what the freed settings may be set to, and which rule cuts it where.
    ///
    /// A set point holds where a check of the plan with it would pass, whatever everything does inside its tolerance; the
    /// tolerance of a freed setting goes along with it. Settings that the plan does not state can be freed too.
    /// Exit codes: 0 a set point holds; 1 none was found, or the run does not pass whatever is set; 2 trouble with a text
    /// or a name.
    #[command(after_help = "Examples:
  strikeoff window 2611.plan --free dryer.belt                          the ranges of one setting
  strikeoff window 2611.plan --free dryer.belt,dryer.set-point          of each, and of both together
  strikeoff window 2611.plan --free 'dryer.belt 1 to 4 m/min ± 5 %'     in this range, with this tolerance
  strikeoff window 2611.plan --free 'screen base: tension'              of one screen of several
  strikeoff window 2611.plan --free dryer.belt,dryer.set-point --picture out.svg
  strikeoff window 2611.plan --free dryer.belt,dryer.set-point --budget 20000 look closer")]
    Window(WindowArguments),
    /// List every limit of a standard with where it is stated, what it rests on and when it was reviewed.
    ///
    /// First the limits that rest on nothing, then those on practice alone, then source by source.
    /// Exit codes: 0 shown; 2 trouble with a text.
    #[command(after_help = "Examples:
  strikeoff sources room.std              for people
  strikeoff sources room.std --as json    for other programs; see `strikeoff schema sources`")]
    Sources(SourcesArguments),
    /// Print a standard to read: its rules, records, limits in both systems of units, reasons and sources.
    ///
    /// Exit codes: 0 printed; 2 trouble with a text.
    #[command(after_help = "Examples:
  strikeoff print room.std                             as Markdown
  strikeoff print room.std --form html > room.html     a page for the press room's wall")]
    Print(PrintArguments),
    /// Write a starter room: a standard with an example, one plan, and snippets for a build server and a commit.
    ///
    /// What the flags leave open is asked on a terminal; elsewhere the defaults are taken. The room is checked
    /// before it is written. Exit codes: 0 written; 1 the answers do not go together; 2 a file is in the way,
    /// or an answer cannot be read.
    #[command(after_help = "Examples:
  strikeoff new                                    in this folder
  strikeoff new back-lane --room 'Back Lane'       in a folder of its own
  strikeoff new tees --ink standard-plastisol --fabric cotton-jersey --tunnel-length '8 ft'")]
    New(NewArguments),
    /// Run the examples of a standard: its tests. Also which of its limits they pin.
    ///
    /// Every limit is nudged one step up and down, every comparison turned round, every `when` left out; a change that no
    /// example notices is a hole. Where a plan is found that would show it, `--write-plans` writes it, with its example.
    /// Exit codes: 0 all as expected; 1 an expectation failed, or with `--pinned` there is a hole; 2 trouble with a text.
    #[command(after_help = "Examples:
  strikeoff test room.std                 run its examples
  strikeoff test room.std --pinned        fail where a limit could move and nothing would notice
  strikeoff test room.std --shipped       the limits of the specs that ship as well
  strikeoff test room.std --all           what passes and all holes, too
  strikeoff test room.std --write-plans limits   plans and examples that close holes, as files in `limits`
  strikeoff test room.std --as json       for other programs, with the texts that close holes")]
    Test(TestArguments),
    /// List the deviations of standards with their states: active, ends soon, ended, unused, wider than
    /// needed, malformed.
    ///
    /// The states are those over the plans found. Exit codes: 0 listed; 2 trouble with a text.
    #[command(after_help = "Examples:
  strikeoff deviations                             all below this folder
  strikeoff deviations room/ --ending 30 days      those that ended, or end within 30 days
  strikeoff deviations room/ --on 2027-01-01       as they will be on that day")]
    Deviations(DeviationsArguments),
    /// Review a standard by itself: what clashes, what is dead, what is missing, what cannot be verified.
    ///
    /// Answers are shown by a checked run, proved for everything the settings allow, or called not decided.
    /// Exit codes: 0 nothing above a note; 1 something to look at; 2 trouble with a text, so that nothing was reviewed.
    #[command(after_help = "Examples:
  strikeoff review room.std                worst first, notes as counts
  strikeoff review room.std --full         every finding with everything it is about
  strikeoff review room.std --witness      with the runs that show findings, as plans
  strikeoff review room.std --as json      for other programs")]
    Review(ReviewArguments),
    /// Compare two standards by what they mean: what got looser, what got tighter, for which records, with runs that show it.
    ///
    /// OLD and NEW are standards, or folders with one each. A changed spelling of a unit, a comment or another order is no
    /// change. Every run shown was checked against both; what neither a run nor a proof settles is called not decided.
    /// Exit codes: 0 compared; 1 with `--fail-on`, what it names was found, or could not be excluded; 2 trouble with a text,
    /// so that nothing was compared.
    #[command(after_help = "Examples:
  strikeoff diff old/room.std room.std                      for people
  strikeoff diff old/ new/ --full                           every record and combination by name
  strikeoff diff main..HEAD -- room.std                     two revisions, read by git
  strikeoff diff main...HEAD -- room.std                    from where HEAD left main
  strikeoff diff HEAD --plans orders -- room.std            what is not committed yet, and which plans it moves
  strikeoff diff old.std new.std --as markdown              for a merge request
  strikeoff diff old.std new.std --fail-on loosened         fail where a run may pass now that did not
  strikeoff diff old.std new.std --as json                  for other programs; see `strikeoff schema diff`")]
    Diff(DiffArguments),
    /// List what can be written: kinds, settings with their ranges, records, rules, functions, units; or say all of
    /// one of them.
    ///
    /// Without a standard it speaks of the specs that ship in this program. Exit codes: 0 shown; 2 nothing has that name,
    /// or trouble with a text.
    #[command(after_help = "Examples:
  strikeoff words                          kinds, rules, functions, units
  strikeoff words dryer                    settings and records of a kind
  strikeoff words dryer.belt               one setting: what it holds, its range, who reads it
  strikeoff words garment --standard room.std   those of a room, its own records among them
  strikeoff words --spec trade             the text of a spec that ships")]
    Words(WordsArguments),
    /// Explain a code, such as `at-risk`; without one, list them all.
    #[command(after_help = "Example:\n  strikeoff explain not-possible")]
    Explain {
        /// The code.
        code: Option<String>,
    },
    /// Print the JSON Schema of `check --as json`, or of another command's.
    #[command(after_help = "Example:\n  strikeoff schema working")]
    Schema {
        /// Whose form.
        #[arg(value_enum, default_value_t = SchemaOf::Report)]
        of: SchemaOf,
    },
}

/// What a JSON Schema describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum SchemaOf {
    /// `check --as json`.
    Report,
    /// `working --as json`.
    Working,
    /// `window --as json`.
    Window,
    /// `sources --as json`.
    Sources,
    /// `test --as json`.
    Test,
    /// `review --as json`.
    Review,
    /// `diff --as json`.
    Diff,
}

/// Arguments of `diff`.
#[derive(Debug, Args)]
pub(super) struct DiffArguments {
    /// The standard as it was: a file, or a folder with one standard in it; with `-- STANDARD` a revision, or `OLD..NEW`.
    #[arg(value_name = "OLD")]
    pub(super) old: PathBuf,
    /// The standard as it is now, or as it is proposed; with `-- STANDARD` a revision (default: the working folder).
    #[arg(value_name = "NEW")]
    pub(super) new: Option<PathBuf>,
    /// The standard, or the folder with one, as the revisions have it; git hands its texts over.
    #[arg(last = true, value_name = "STANDARD")]
    pub(super) path: Option<PathBuf>,
    /// Check the plans of a folder against both, and show which fare otherwise.
    #[arg(long, value_name = "FOLDER")]
    pub(super) plans: Option<PathBuf>,
    /// Form of the comparison.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = DiffForm::People)]
    pub(super) form: DiffForm,
    /// Exit with 1 for any of these: a limit is loosened (or may be), tightened (or may be), the meaning changed at
    /// all (or may have); with `--plans`, a plan that passed does not any more, or one passes that did not. May be
    /// given several times, or with commas.
    #[arg(long, value_name = "WHAT", value_enum, value_delimiter = ',')]
    pub(super) fail_on: Vec<FailOn>,
    /// Name every record and combination.
    #[arg(long)]
    pub(super) full: bool,
    /// How much work one question may take: runs checked and boxes of settings looked at.
    #[arg(long, value_name = "N")]
    pub(super) budget: Option<u64>,
    /// The day it is made for: deviations that have ended by then let nothing pass (default: all count).
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(super) on: Option<String>,
    /// The folder that both standards may name files in (default: the current one, or that of the standard).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
}

/// Forms of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum DiffForm {
    /// For the process lead.
    People,
    /// For other programs; see `strikeoff schema diff`.
    Json,
    /// For a comment on a merge request: a short summary, the rest folded.
    Markdown,
    /// SARIF 2.1.0: what is loosened, or not excluded to be.
    Sarif,
}

/// What makes a comparison fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum FailOn {
    /// Something passes now that did not, or that is not excluded.
    Loosened,
    /// Something that passed does not any more, or that is not excluded.
    Tightened,
    /// The meaning is not proved to be the same.
    Changed,
    /// A plan of `--plans` that passed does not any more.
    NewlyFailing,
    /// A plan of `--plans` passes that did not.
    NewlyPassing,
}

/// Arguments of `sources`.
#[derive(Debug, Args)]
pub(super) struct SourcesArguments {
    /// The standard.
    #[arg(value_name = "STANDARD")]
    pub(super) standard: PathBuf,
    /// Form of the list.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = WorkingForm::People)]
    pub(super) form: WorkingForm,
    /// The folder that the standard may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
}

/// Arguments of `test`.
#[derive(Debug, Args)]
pub(super) struct TestArguments {
    /// The standard.
    #[arg(value_name = "STANDARD")]
    pub(super) standard: PathBuf,
    /// Form of the report.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = TestForm::People)]
    pub(super) form: TestForm,
    /// Fail where there is a hole.
    #[arg(long)]
    pub(super) pinned: bool,
    /// Look at the limits of the specs that ship, too.
    #[arg(long)]
    pub(super) shipped: bool,
    /// List what passes, what was seen of each rule, and all holes.
    #[arg(long)]
    pub(super) all: bool,
    /// Write the plans that close holes, and a file of examples, into this folder, over no file that is there.
    #[arg(long, value_name = "FOLDER")]
    pub(super) write_plans: Option<PathBuf>,
    /// The folder that the standard may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
}

/// What `new` writes beside a room.
#[derive(Debug, Subcommand)]
pub(super) enum NewWhat {
    /// Write a plan to fill in: every value that the rules of a standard will ask for.
    #[command(after_help = "Examples:
  strikeoff new plan --against room.std --garment cotton-tee --ink soft-white > order.plan
  strikeoff new plan --against room.std --garment cotton-tee --ink soft-white --ink red --dryer tunnel

What follows `--against` names kinds of the standard and records of them; an ink named twice is on two screens.
`strikeoff words garment --standard room.std` lists the records of a kind.")]
    Plan(NewPlanArguments),
}

/// Arguments of `new plan`.
#[derive(Debug, Args)]
pub(super) struct NewPlanArguments {
    /// The standard that the plan is written against.
    #[arg(long, value_name = "STANDARD")]
    pub(super) against: PathBuf,
    /// A kind and a record of it, as often as wanted.
    #[arg(
        value_name = "--KIND RECORD",
        trailing_var_arg = true,
        allow_hyphen_values = true
    )]
    pub(super) choices: Vec<String>,
}

/// Arguments of `words`.
#[derive(Debug, Args)]
pub(super) struct WordsArguments {
    /// A kind, a setting, a record, a rule, a function, a unit; without one, what there is.
    #[arg(value_name = "NAME")]
    pub(super) name: Option<String>,
    /// The standard whose words are shown (default: the specs that ship).
    #[arg(long, value_name = "STANDARD")]
    pub(super) standard: Option<PathBuf>,
    /// Print the text of a spec that ships.
    #[arg(long, value_name = "SPEC", conflicts_with_all = ["name", "standard"])]
    pub(super) spec: Option<String>,
    /// The folder that the standard may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
}

/// Arguments of `new`, beside what the questions add.
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    subcommand_precedence_over_arg = true
)]
pub(super) struct NewArguments {
    /// What else there is to write.
    #[command(subcommand)]
    pub(super) what: Option<NewWhat>,
    /// The folder of the room.
    #[arg(value_name = "FOLDER", default_value = ".")]
    pub(super) folder: PathBuf,
    /// Write over files that are there already.
    #[arg(long)]
    pub(super) force: bool,
}

/// Arguments of `print`.
#[derive(Debug, Args)]
pub(super) struct PrintArguments {
    /// The standard.
    #[arg(value_name = "STANDARD")]
    pub(super) standard: PathBuf,
    /// Form of the page.
    #[arg(long, value_name = "FORM", value_enum, default_value_t = PrintForm::Markdown)]
    pub(super) form: PrintForm,
    /// The date that the states of deviations are shown for (default: today, UTC).
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(super) on: Option<String>,
    /// The folder that the standard may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
}

/// Forms of the readable standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum PrintForm {
    /// Markdown with tables.
    Markdown,
    /// One HTML file that loads nothing.
    Html,
}

/// Forms of a test report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum TestForm {
    /// For the process lead.
    People,
    /// One line each.
    Log,
    /// For other programs; see `strikeoff schema test`.
    Json,
    /// JUnit XML.
    Junit,
}

/// Arguments of `working`.
#[derive(Debug, Args)]
pub(super) struct WorkingArguments {
    /// The plan, or `-` for one from standard input.
    #[arg(value_name = "PLAN")]
    pub(super) plan: PathBuf,
    /// Figures: `dryer.dwell`, `screen.opening` for all screens, `screen base: opening` for one.
    #[arg(value_name = "FIELD")]
    pub(super) fields: Vec<String>,
    /// Form of the working.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = WorkingForm::People)]
    pub(super) form: WorkingForm,
    /// Draw the temperatures behind the figures as an SVG picture into this file.
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
    /// Work against this standard, whatever the plan names.
    #[arg(long, value_name = "FILE")]
    pub(super) standard: Option<PathBuf>,
    /// The folder that standards and plans may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
}

/// Arguments of `window`.
#[derive(Debug, Args)]
pub(super) struct WindowArguments {
    /// The plan, or `-` for one from standard input.
    #[arg(value_name = "PLAN")]
    pub(super) plan: PathBuf,
    /// What is freed: settings as reports name them, each with a range and a tolerance if wanted.
    #[arg(long, value_name = "SETTING,…", required = true)]
    pub(super) free: Vec<String>,
    /// Draw it into this file: `.html` as a page with values on hover, else as an SVG picture.
    #[arg(long, value_name = "FILE")]
    pub(super) picture: Option<PathBuf>,
    /// How often a rule may be asked for the map of all freed settings; more leaves less undecided.
    #[arg(long, value_name = "N", default_value_t = crate::window::BUDGET)]
    pub(super) budget: u64,
    /// Form of the report.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = WorkingForm::People)]
    pub(super) form: WorkingForm,
    /// The date that deviations are looked at for (default: today, UTC).
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(super) on: Option<String>,
    /// Look against this standard, whatever the plan names.
    #[arg(long, value_name = "FILE")]
    pub(super) standard: Option<PathBuf>,
    /// The folder that standards and plans may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
}

/// Forms of what a command other than `check` shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum WorkingForm {
    /// For the press room.
    People,
    /// For other programs; `strikeoff schema` prints its JSON Schema.
    Json,
}

/// Arguments of `deviations`.
#[derive(Debug, Args)]
pub(super) struct DeviationsArguments {
    /// Standards and plans, or folders of them (default: this folder).
    #[arg(value_name = "PATH")]
    pub(super) paths: Vec<PathBuf>,
    /// Only those that ended, or end within so many days.
    #[arg(long, value_name = "N days", num_args = 1..=2)]
    pub(super) ending: Vec<String>,
    /// The date to look from (default: today, UTC).
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(super) on: Option<String>,
    /// The folder that standards and plans may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
}

/// Arguments of `review`.
#[derive(Debug, Args)]
pub(super) struct ReviewArguments {
    /// The standard.
    #[arg(value_name = "STANDARD")]
    pub(super) standard: PathBuf,
    /// Form of the review.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = ReviewForm::People)]
    pub(super) form: ReviewForm,
    /// List everything: notes one by one, and all that a finding is about.
    #[arg(long)]
    pub(super) full: bool,
    /// Print the runs that show findings.
    #[arg(long)]
    pub(super) witness: bool,
    /// The folder that the standard may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
}

/// Forms of a review.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ReviewForm {
    /// For the process lead.
    People,
    /// One line each.
    Log,
    /// For other programs; see `strikeoff schema review`.
    Json,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub(super) struct CheckArguments {
    /// Plans, standards, folders of them, or `-` for a plan from standard input.
    #[arg(required = true, value_name = "PATH")]
    pub(super) paths: Vec<PathBuf>,
    /// Form of the report.
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = Form::People)]
    pub(super) form: Form,
    /// The date to check for (default: today, UTC).
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(super) on: Option<String>,
    /// Let `at risk` pass.
    #[arg(long)]
    pub(super) allow_risk: bool,
    /// Check all plans against this standard, whatever they name.
    #[arg(long, value_name = "FILE")]
    pub(super) standard: Option<PathBuf>,
    /// The folder that standards and plans may name files in (default: the current one).
    #[arg(long, value_name = "FOLDER")]
    pub(super) root: Option<PathBuf>,
    /// Show every check with its reason (`passed`), or how far each setting may drift (`margins`).
    #[arg(long, value_enum, value_name = "WHAT")]
    pub(super) show: Vec<ShowWhat>,
    /// How many findings are shown in full; the others get a line each (default: 100, and none below a long list of
    /// what is not stated).
    #[arg(long, value_name = "N", value_parser = whole_number)]
    pub(super) full: Option<usize>,
    /// How much work may go into what would help one plan; it is counted, not timed.
    #[arg(long, value_name = "N", default_value_t = crate::eval::MOST_HELPS)]
    pub(super) budget: u64,
    /// Write repair N of the report into the plan, and check it again. Takes one plan.
    ///
    /// Several as `1,3,4`, where no two of them touch each other: they are checked together, and nothing is written
    /// where they do not do together. `all` takes one repair for every finding.
    #[arg(long, value_name = "N")]
    pub(super) apply: Option<Asked>,
    /// With `--apply`: show what would be changed, and write nothing.
    #[arg(long, requires = "apply")]
    pub(super) dry_run: bool,
    /// Narrate without drawing, for screen readers.
    #[arg(long)]
    pub(super) plain: bool,
    /// When to colour.
    #[arg(long, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) colour: Colour,
    /// SARIF only: `at risk` and `not stated` as results of kind `open`.
    #[arg(long)]
    pub(super) open: bool,
}

/// Forms of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Form {
    /// For the press room.
    People,
    /// One line each.
    Log,
    /// For other programs; see `strikeoff schema`.
    Json,
    /// SARIF 2.1.0.
    Sarif,
    /// JUnit XML.
    Junit,
}

/// What to show beyond the findings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ShowWhat {
    /// Every check with its reason.
    Passed,
    /// How far each stated setting may drift, the nearest limit first.
    Margins,
}

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Colour {
    /// In a terminal that has colours, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// A number of things, as a person writes it.
fn whole_number(text: &str) -> Result<usize, String> {
    text.parse().map_err(|_| "write a whole number".to_owned())
}
