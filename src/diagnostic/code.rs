//! The one table of codes. `explain`, SARIF rules and the completeness test read it.

use super::Severity;

/// What `explain` prints.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// One line.
    pub summary: &'static str,
    /// The long text: what it means, why it matters, what to do.
    pub text: &'static str,
}

macro_rules! codes {
    ($( $(#[doc = $text:literal])+ $variant:ident = $slug:literal, $severity:ident, $summary:literal; )+) => {
        /// A stable name for each thing that can be said.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Code { $( $(#[doc = $text])+ $variant, )+ }

        impl Code {
            /// All codes, in the order of the table.
            pub const ALL: &'static [Self] = &[ $( Self::$variant, )+ ];

            /// The stable name in kebab case.
            #[must_use]
            pub fn slug(self) -> &'static str {
                match self { $( Self::$variant => $slug, )+ }
            }

            /// The usual severity.
            #[must_use]
            pub fn severity(self) -> Severity {
                match self { $( Self::$variant => Severity::$severity, )+ }
            }

            /// What `explain` prints.
            #[must_use]
            pub fn explanation(self) -> Explanation {
                match self {
                    $( Self::$variant => Explanation {
                        summary: $summary,
                        text: concat!($( $text, "\n", )+),
                    }, )+
                }
            }

            /// The code with this name.
            #[must_use]
            pub fn from_slug(slug: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|code| code.slug() == slug)
            }
        }
    };
}

codes! {
    /// A requirement of the standard breaks at every point inside the plan's tolerances.
    /// The finding shows the plan's line, the standard's line, the value, the limit and the margin.
    /// Change the setting it names, or record a permitted deviation.
    Breaks = "breaks", Error, "a requirement breaks";
    /// A requirement holds for some values inside the plan's tolerances and breaks for others.
    /// The finding says which tolerance decides, and how tight it would have to be.
    /// Tighten that tolerance, or move the setting away from the limit.
    AtRisk = "at-risk", Error, "a requirement cannot be shown to hold at this tolerance";
    /// A requirement needs a value that neither the plan nor the standard states.
    /// A missing value never passes. State it in the block that the finding names.
    NotStated = "not-stated", Error, "a value that a requirement needs is not stated";


    // syntax

    /// A line of a block does not read as one of the clauses that may stand there.
    /// The message points at the first place that does not fit, and says what would have gone on.
    /// Nothing in the line is used; the lines around it are.
    /// Wrong: `mesh 80 200 /in`. Right: `mesh 80 to 200 /in`.
    UnreadableLine = "unreadable-line", Error, "a line of a block cannot be read";
    /// A statement does not read, and with it its block is left out.
    /// A statement starts with a word at the start of a line: `standard`, `run`, `use`, `unit`, `kind`,
    /// `step`, `add to`, `rule`, `caution`, `sequence`, or the name of a kind.
    /// If it has a block, `{` stands at the end of its line and `}` alone on the last.
    /// Wrong: `rule slow-heat` with its clauses below. Right: `rule slow-heat {`.
    UnreadableStatement = "unreadable-statement", Error, "a statement cannot be read";
    /// Something is spelled as in a programming language, by a word processor, or in everyday words,
    /// and there is one other way to write it here.
    /// The message says which, and shows the whole line put right when it reads then.
    /// Wrong: `mesh: 80-200 /in`. Right: `mesh 80 to 200 /in`.
    /// Wrong: `shall dryer.dwell >= 65 s`. Right: `shall dryer.dwell at least 65 s`.
    SpelledOtherwise = "spelled-otherwise", Error, "there is another spelling for this";
    /// A number is written in a way that could be misread.
    /// Digits, then a point and more digits if need be; no comma, no groups, a digit before the point.
    /// Wrong: `2,4 m`, `1,200 pieces`, `.5 mm`, `+3 mm`. Right: `2.4 m`, `1200 pieces`, `0.5 mm`, `3 mm`.
    /// A comma that separates two numbers is followed by a space: `step 0.1 m/min, 1 ft/min`.
    NumberMalformed = "number-malformed", Error, "a number is not written as numbers are here";
    /// A text starts with a double quote and the line ends before the closing one.
    /// A text stands on one line. A quote inside it is written `\"`.
    /// Wrong: `colour "deep red`. Right: `colour "deep red"`.
    TextNotClosed = "text-not-closed", Error, "a text has no closing quote";
    /// In a text, a backslash stands before a quote or another backslash and before nothing else.
    /// Wrong: `"C:\inks"`. Right: `"C:\\inks"`, or `"C:/inks"`.
    EscapeUnknown = "escape-unknown", Error, "a backslash stands before something it does not escape";
    /// A control character, or one that cannot be seen, stands in the line.
    /// Such characters come from other programs by copying. They could make a line look like another one,
    /// so they are refused. Delete it, or write the line again.
    CharacterNotAllowed = "character-not-allowed", Error, "a character that may stand nowhere";
    /// Brackets nest more than 64 deep, or one condition has more than 256 operators.
    /// No reader could follow it. Give parts of it names, as settings with a formula, or write several
    /// `shall` lines instead of one with many `and`.
    NestedTooDeep = "nested-too-deep", Error, "a condition or formula is too deep";
    /// A block opens with `{` and the next statement, or the end of the text, comes before its `}`.
    /// The lines up to there were read as lines of the block.
    /// Put `}` alone on a line behind the last line that belongs to it.
    BlockNotClosed = "block-not-closed", Error, "a block has no closing brace";
    /// A line inside a block opens another block. Blocks do not nest.
    /// Close the first block before the second starts, or leave the inner one out.
    BlockInBlock = "block-in-block", Error, "a block stands inside a block";
    /// A closing brace stands where no block is open.
    /// Either it is one too many, or the line that should open the block could not be read.
    BraceStray = "brace-stray", Error, "a closing brace closes nothing";
    /// `{` stands at the end of the line of its statement and `}` alone on its own; only a comment may follow.
    /// Wrong: `order { pieces 1200 }`. Right: three lines, `order {`, `pieces 1200` and `}`.
    /// A block with nothing in it may be left out: `garment is half-poly-tee`.
    BraceNotAlone = "brace-not-alone", Error, "a brace shares its line with something else";
    /// A word that has a meaning of its own stands where a name should, or starts a statement of a later edition.
    /// Words that start a statement (`rule`, `step`, `kind` and so on) are no names of kinds.
    /// Wrong: `kind step {`. Right: `kind pass {`. Words that conditions and formulas are made of (`below`, `at`, `to`
    /// and so on; the message lists them) are no names of kinds, settings, choices, records or things of a plan.
    WordReserved = "word-reserved", Error, "a word with a meaning of its own";
    /// `shall`, `should`, `may`, `when`, `for each`, `because`, `adjust` and `per` on a line of their own belong to rules.
    /// They stand in the block of a `rule` (some also in a `caution`), not in a record, a kind or on their own.
    /// Often the first word of the block is misspelt: `rulle slow-heat {` opens a record of a kind `rulle`.
    ClauseMisplaced = "clause-misplaced", Error, "a clause of a rule stands outside a rule";


    // names and files

    /// A file that is asked for is not there.
    /// Paths are written with forward slashes and are relative to the file that asks.
    FileMissing = "file-missing", Error, "a file is not there";
    /// A path names a folder where a file is wanted.
    /// Name the file itself: `"parts/inks.std"`, not `"parts"`.
    FileIsFolder = "file-is-folder", Error, "a folder stands where a file is wanted";
    /// A file is not UTF-8 text, so nothing in it was read.
    /// Save it as UTF-8; the message names the first byte that cannot be read.
    NotUtf8 = "not-utf8", Error, "a file is not UTF-8 text";
    /// A file is larger than any standard or plan can sensibly be, so it was not read.
    /// Files above 16 MiB are refused at once. Split it into several files, and `use` them.
    FileTooLarge = "file-too-large", Error, "a file is too large";
    /// A path leads out of the folder of the standard, or of the folder that is checked.
    /// A standard or plan may come from anywhere, so it may only name files below that folder.
    PathLeaves = "path-leaves", Error, "a path leads out of the folder";
    /// The system refused to read a file.
    /// The message gives the system's own words. Look at who may read the file, and whether it is a plain file.
    FileUnreadable = "file-unreadable", Error, "a file cannot be read";
    /// `use NAME` names a spec that does not ship with strikeoff.
    /// A file of the shop's own is written in quotes: `use "inks.std"`.
    UnknownSpec = "unknown-spec", Error, "no such spec ships";
    /// Files use each other in a circle. Move what both need into a third file.
    ImportCycle = "import-cycle", Error, "files use each other in a circle";
    /// One standard is made of too many files.
    /// The files beyond the bound were not read, so nothing was checked. Put several of them into one.
    TooManyFiles = "too-many-files", Error, "too many files in one standard";
    /// Nothing was found to check: no plan and no standard in what was named.
    /// Plans end in `.plan`, standards in `.std`. Name a file or a folder that holds some.
    NothingToCheck = "nothing-to-check", Error, "there is nothing to check";
    /// A `.std` file lies in the folder, but no standard uses it: its limits are not checked.
    /// Add a `use` line for it to the standard, start it with `standard` if it is one of its own, or move it out of the folder.
    FileNotUsed = "file-not-used", Warning, "a file is not used by any standard";
    /// The first statement is missing: `standard "…" edition "…"` in a standard, `run "…" against "…"` in a plan.
    /// It says what the file is, and what it is checked against. Write it as the first line.
    HeaderMissing = "header-missing", Error, "the first statement is missing";
    /// A statement stands where it has no meaning: a rule in a plan, a run in a standard, a second header.
    /// Move it to where it belongs; nothing was taken from it here.
    MisplacedStatement = "misplaced-statement", Error, "a statement stands in the wrong place";
    /// Two things of the same kind have the same name, so a reference could mean either.
    /// The first was used, and the second left out. Rename one of them, or take one out.
    DuplicateName = "duplicate-name", Error, "two things have the same name";
    /// One name has letters of two scripts, and one of them looks like a letter of the other: a Cyrillic `а` in a
    /// word that is Latin else. Nobody sees it, and it names something else than it seems to.
    /// Write the whole word in one script.
    MixedScripts = "mixed-scripts", Warning, "a name with letters of two scripts";
    /// Two names of one sort cannot be told apart when they are read: another case, another width, a letter of another
    /// script, an accent that is a character of its own. They name two things all the same.
    /// Give one of them another name.
    LooksAlike = "looks-alike", Warning, "two names that read alike";
    /// Two plans of one check, against one standard, have runs of one name, or of names that read alike.
    /// Often a plan was copied and its first line forgotten. Give each run a name of its own.
    RunTwice = "run-twice", Warning, "two runs have one name";
    /// Two plans of one check have runs of one name, and a deviation is for the run of that name:
    /// it may have been approved for one of them, and would let both pass. Give each run a name of its own.
    RunTwiceDeviation = "run-twice-deviation", Error, "a deviation is for a run of which there are two";
    /// Two standards of one check have the same name and the same edition and mean different things.
    /// A report then does not tell which of them a plan was held to. Give one of them another edition, or take it out.
    StandardTwice = "standard-twice", Warning, "two standards with one name and edition";
    /// A thing of which there are many needs a name, so that steps and reports can refer to it.
    /// Write one behind the kind: `screen base {`.
    NameMissing = "name-missing", Error, "a name is missing";
    /// A thing of which a run has one takes no name of its own: write `dryer is tunnel-a`, not `dryer tunnel-a`.
    /// To use a record of the standard, write `is` before its name; else leave the name out.
    NameNotWanted = "name-not-wanted", Error, "a name stands where none is wanted";
    /// No kind of this name is declared. Kinds are declared in the standard, or in a spec that it uses.
    UnknownKind = "unknown-kind", Error, "no such kind";
    /// The kind has no setting of this name. A misspelt setting would otherwise be a limit that nobody checks.
    UnknownField = "unknown-setting", Error, "no such setting";
    /// No record of this name is declared for the kind: no such ink, garment or tunnel.
    /// The message names the nearest one that there is. If it is new to the room, declare it in the standard.
    UnknownRecord = "unknown-record", Error, "no such record";
    /// The word is none of the choices of the setting.
    /// The choices stand where the setting is declared, behind `choice of`. A shop that needs another one declares a setting of its own.
    UnknownChoice = "unknown-choice", Error, "not one of the choices";
    /// No function of this name exists.
    /// There are `least`, `most`, `root`, `round-up`, `low`, `high`, `count`, `total`, `otherwise`, `choose`, and the figures that `strikeoff words` lists.
    UnknownFunction = "unknown-function", Error, "no such function";
    /// No type or dimension of this name exists.
    /// A type is a dimension such as `length`, `time` or `temperature`, or `share`, `count`, `text`, `yes/no`, `choice of`, `range of`, or the name of a kind.
    UnknownType = "unknown-type", Error, "no such type";
    /// The path does not lead to a value. A path starts with a kind, or with `for each`'s kind, and goes on with settings.
    UnknownPath = "unknown-path", Error, "a path leads nowhere";
    /// The kind may stand many times in a run, so a rule must say which one it means.
    /// Write `for each screen`, or use a function over all of them, such as `total(screen.x)`.
    ManyMeant = "many-meant", Error, "one of many is meant, and which is not said";
    /// Records take their values from each other in a circle.
    /// None of them can be worked out before the others. Take one of the `is` out.
    InheritanceCycle = "inheritance-cycle", Error, "records are each other's parents";
    /// A worked-out setting needs itself to be worked out.
    /// Let one of the formulas go, and have that setting stated instead.
    FormulaCycle = "formula-cycle", Error, "formulas need each other in a circle";

    // values and dimensions

    /// No unit of this name exists. Units are written as in `65 s`, `80 /in`, `24 N/cm`, `320 °F`.
    UnknownUnit = "unknown-unit", Error, "no such unit";
    /// A number stands without a unit where one is needed: 2.1 could be metres or feet a minute.
    UnitMissing = "unit-missing", Error, "a unit is missing";
    /// The unit measures something else than the setting does: seconds where a length is wanted.
    /// Look at the unit first; the message offers the likely one. Every setting says in its declaration what it measures.
    WrongDimension = "wrong-dimension", Error, "a unit of the wrong dimension";
    /// Two sides of a comparison, a sum or a difference measure different things.
    /// The message shows both sides and what each measures. Often a factor is missing: a length over a speed is a time.
    DimensionMismatch = "dimension-mismatch", Error, "different dimensions on the two sides";
    /// Two temperatures cannot be added, and a temperature cannot be multiplied: twice 20 °C is not 40 °C in any useful sense.
    /// Subtract two temperatures to get a difference, and write a difference as `10 K`, `10 Δ°C` or `10 Δ°F`.
    PointArithmetic = "temperature-arithmetic", Error, "arithmetic with a temperature point";
    /// A value of another sort is wanted: a text, a name, a number or a range.
    /// The message says what the setting takes, and shows where it is declared.
    WrongValue = "wrong-value", Error, "a value of another sort is wanted";
    /// The value lies outside what is physically possible for the setting, so it is a slip.
    /// A usual one is a unit: 270 °C written for 270 °F.
    Impossible = "not-possible", Error, "a value that cannot be";
    /// The lower end of a range lies above its upper end.
    /// Nothing could lie inside it. Write the smaller number first.
    RangeReversed = "range-reversed", Error, "a range with its ends exchanged";
    /// The two ends of a range are written in different units, so one of them may be a slip: `10 m to 4 m`
    /// is seen at once, `10 mm to 4 m` for `10 cm to 4 m` is not. Write both ends in one unit.
    RangeUnits = "range-units", Warning, "a range with its ends in different units";
    /// A dial's step that cannot be meant: wider than all that is possible, thousands of times finer, or far from
    /// the other step of the same setting. Its unit is likely a slip: `step 0.1 m` for a gap of at most 25 mm.
    StepSize = "step-size", Warning, "a step of a dial that cannot be meant";
    /// A number of things must be whole, and this one is not.
    /// There is no half stroke and no third of a screen. Write a whole number; 2.0 is one.
    NotWhole = "not-whole", Error, "a number of things that is not whole";
    /// A reading belongs to what is read off with an instrument, or is worked out and was measured as well.
    /// What is set is stated as it is set; what is given is stated as it is given.
    NotReadOff = "not-read-off", Error, "a reading of what is not read off";
    /// A reading says what was read (`value`), and may say on which day, with which instrument, of how many pieces, and
    /// what was set meanwhile (`at dryer.belt 3 m/min`). What it cannot say is told here.
    ReadingMalformed = "reading-malformed", Error, "a reading that cannot be";
    /// A measured value speaks for the day and the settings it was taken at. Say when: write `read on 2026-11-20` behind
    /// it, or a `reading` block. Until then it counts as taken at the plan's own settings.
    ReadingUndated = "reading-undated", Warning, "a measured value does not say when it was read";
    /// A reading dated after the day of the check cannot have been taken yet. It counts as not stated for what asks for a recent one.
    ReadingToCome = "reading-to-come", Warning, "a reading on a day that is still to come";
    /// The calibration of the instrument fell due before the day of the reading. It counts as not stated for what asks for a recent reading.
    InstrumentOverdue = "instrument-overdue", Warning, "an instrument past its calibration";
    /// What comes about anew with each piece, a film's peak or a pallet's heat, was read of one. That is shown of this piece;
    /// the next may differ by more than the instrument does. Measure several, and let the `±` cover instrument and pieces.
    OnePiece = "one-piece", Note, "shown on one piece";
    /// A reading says where a dial stood that what was read is not worked out from. Nothing is made of that line.
    /// Which settings a value is worked out from says `strikeoff words`, as in `strikeoff words film.peak`.
    AtWithoutBearing = "at-without-bearing", Note, "a reading names a dial that has no bearing on it";
    /// The plan's settings are not those the reading was taken at. Where one setting only makes the value rise, or only
    /// makes it fall, the reading is a bound at the new setting: at least, or at most, what was read. Else it says nothing.
    /// Measure again at the plan's settings.
    MeasureAgain = "measure-again", Warning, "a reading was taken at other settings";
    /// A tolerance that has no meaning: one below zero, a share of a temperature, or two sides written in two ways.
    /// Write `± 5 %` of the value, `± 2 mm`, or `+3 mm -1 mm`. Behind a share, percent can be read in two ways:
    /// write `40 % ± 4 points` for 36 to 44 %, or `40 % ± 4 % of it` for 38.4 to 41.6 %.
    ToleranceMalformed = "tolerance-unreadable", Error, "a tolerance that cannot be";
    /// A record says what a dial shows and what is so then, and the lines do not make a scale.
    /// Two positions or more are wanted, near both ends of what is used; more on the dial is more in truth, and by more
    /// than the values may be off. Between two positions the truth is taken to go straight; beyond the first and the last
    /// it is not known.
    /// Right: `belt shows 6 ft/min at 5.5 ft/min ± 0.1 ft/min` and `belt shows 12 ft/min at 11.2 ft/min ± 0.1 ft/min`.
    CalibrationMalformed = "calibration-unreadable", Error, "what a dial shows and what is so do not make a scale";
    /// A tolerance in another unit than its value is far finer than the value's last written digit,
    /// so its unit is likely a slip. Wrong: `25 N/cm ± 1 N/m`. Right: `25 N/cm ± 1 N/cm`.
    ToleranceUnit = "tolerance-unit", Warning, "a tolerance whose unit is likely a slip";
    /// Shares of one whole do not add up to it: fibre shares that make 95 %.
    /// A record that states some of them states all that are not zero; so does a plan.
    /// Where the shares that are stated have tolerances, those that are not may be as much as is left.
    PartsDoNotAddUp = "parts-do-not-add-up", Error, "shares do not add up";
    /// A child's limit is wider than its parent's. Tightening needs no words; loosening does.
    /// Write `loosens SETTING VALUE because "reason"`.
    LoosenedSilently = "loosened-silently", Error, "a limit is loosened without saying so";
    /// `loosens` stands before a value that is not wider than the parent's.
    /// A reader would take it for a wider limit than the parent's. Take the word and its reason out.
    LoosensNothing = "loosens-nothing", Warning, "`loosens` loosens nothing";
    /// A setting is stated twice in one block.
    /// Which of the two is meant cannot be told. Keep one of them.
    StatedTwice = "stated-twice", Error, "a setting is stated twice";
    /// A plan states another value for a given setting than the record it uses: what order, material or machine bring
    /// along is no matter of choice, and a plan would widen its own limits with it. Take the line out of the plan, or put
    /// the standard right; where a plan may say otherwise, the setting is `given unless the plan states it`.
    Overruled = "overruled", Error, "a plan overrules what is given";
    /// The standard has records of a thing, and the plan does not say which of them it is, so that what they state is
    /// not known, and rules for one of them cannot tell whether they apply.
    /// Write `is` and the name of the record; `is not listed` says that it is none of them, and that this is meant.
    WhichRecord = "which-record", Warning, "a plan does not say which record a thing is";
    /// A plan states another value than the record it uses; the plan's value was used.
    /// If the record is out of date, change it in the standard, so that the next order has it too.
    Restated = "restated", Warning, "a plan overrides a value of the standard";
    /// The standard has rules for each step of some kind, and the plan has no step: none of them ran.
    /// Write the steps in their order into `sequence { … }`; a plan that passes without them shows little.
    NoSteps = "no-steps", Warning, "a plan has no steps";
    /// A thing of the plan, a screen say, is named by no step of its sequence.
    /// Either its step was forgotten, and the rules on that step did not run, or the thing is left over.
    NotInAStep = "not-in-a-step", Warning, "a thing is used by no step";
    /// A clause may stand only once in a rule.
    /// Keep one of the two; several conditions of one rule are several `when` or `shall` lines.
    ClauseTwice = "clause-twice", Error, "a clause stands twice";
    /// A clause is missing in a rule: a rule without `shall` or `should` checks nothing.
    /// A caution without `say` says nothing. Add the clause that the message names.
    ClauseMissing = "clause-missing", Error, "a clause is missing";
    /// An example expects something of a rule that the standard does not have.
    /// Often the rule was renamed: rename it here too, so that what it tests is tested still.
    UnknownRule = "unknown-rule", Error, "no such rule";
    /// `without` and `instead of` take out a rule of a file that the standard uses. A caution, and what a law says, stay;
    /// a rule of the same file is deleted or changed where it stands.
    NotTakenOut = "not-taken-out", Error, "this cannot be taken out";
    /// A rule that comes with a file the standard uses is asked of no run, and the standard says why.
    /// There is nothing to do. Every report says it, so that nobody takes the rule for kept.
    TakenOut = "taken-out", Note, "a rule is taken out";
    /// One example expects the same outcome of the same rule and thing twice.
    /// Keep the line that says more: the setting behind `at`, the value behind `with`.
    ExpectedTwice = "expected-twice", Error, "an outcome is expected twice";
    /// A limit does not say what it rests on. Write `per "source"`, or `per practice` for common practice.
    NoSource = "no-source", Warning, "a limit without a source";
    /// A step has more settings than its kind takes, or one that no setting takes.
    /// The settings of a step stand between commas; one that is not named goes to the first free setting that takes such a value. Name it to be plain: `flash time 6 s`.
    StepSetting = "step-setting", Error, "a step has a setting that does not fit";
    /// A condition stands where a value is wanted, or a value where a condition is wanted.
    /// A condition compares: `dryer.dwell at least 60 s`. A value alone is neither true nor false.
    NotACondition = "not-a-condition", Error, "a value and a condition are mixed up";
    /// `and` and `or` stand side by side without brackets, so that the text can be read in two ways.
    /// Wrong: `a and b or c`. Right: `(a and b) or c`, or `a and (b or c)`, whichever is meant.
    AndOrMixed = "and-or-mixed", Error, "and beside or without brackets";

    // tables

    /// A table has a head and rows of as many cells: a row starts with a name, and a bar stands before every cell,
    /// also before an empty one. A table by two things starts with a head, a row without a name that names the
    /// columns; a table by one thing has none, and one cell a row.
    TableShape = "table-shape", Error, "a table whose rows do not fit each other";
    /// A table has no row, or no column, for what the run has: it states no limit for it, which is said aloud,
    /// for it may have been forgotten. Add the row, with an empty cell where no limit is meant.
    TableGap = "table-gap", Note, "a table has no row or column for a run";

    // deviations

    /// A deviation names a rule that the standard does not have, so nothing departs from anything.
    /// The message names the nearest rule that there is. Until it is right, the deviation lets nothing pass.
    DeviationFromNothing = "deviation-from-nothing", Error, "a deviation from a rule that is not there";
    /// A deviation is a permitted departure with a reason and an end: it needs `because`, `approved` and `until`.
    /// One without them lets nothing pass; every rule is checked as if it were not there.
    DeviationIncomplete = "deviation-incomplete", Error, "a deviation without a reason, an approval or an end";
    /// `up to` says how far a run may depart from a limit of the rule. It names a value beyond the limit, of the same
    /// dimension; where a rule has several such limits, it names the setting: `dryer.dwell up to 58 s`.
    /// `pieces` needs the one setting of a run that counts pieces. Until it is right, the deviation lets nothing pass.
    DeviationLimit = "deviation-limit", Error, "a deviation whose limit does not fit its rule";
    /// A date that is on no calendar, as `2026-02-30`. Write year, month and day: `2026-12-31`.
    NotADate = "not-a-date", Error, "a date that is on no calendar";
    /// A deviation is past its `until`: it lets nothing pass any more, and what it let pass is a finding again.
    /// Take it out, or have it approved anew with a later end.
    DeviationEnded = "deviation-ended", Warning, "a deviation has ended";
    /// A deviation ends within 30 days. What it lets pass will be a finding then.
    DeviationEndsSoon = "deviation-ends-soon", Note, "a deviation ends soon";
    /// A whole folder was checked, and the deviation let nothing pass in it. Take it out: what nobody needs may
    /// one day hide what nobody expects. Where it names a run, look at the name first.
    DeviationUnused = "deviation-unused", Note, "a deviation lets nothing pass";
    /// A deviation permits more than the runs it lets pass need. The message says what would do.
    DeviationWide = "deviation-wide", Note, "a deviation is wider than needed";
    /// A requirement does not hold by itself; a deviation that is in force lets the run through.
    /// The note says what it would come to without, until when it may, why, and who approved it.
    /// It counts as *holds*; a deviation never hides what another rule says.
    ByDeviation = "by-deviation", Note, "a run passes by a deviation";

    /// A setting is declared without a word on how it comes by its value: set, given, measured or worked out.
    /// It counts as given: no repair and no window turns it, and a plan may not state another value than its record.
    SortMissing = "sort-missing", Warning, "settings that do not say how they come by their value";
    /// A rule says to adjust a setting that nobody turns: it is given, read off or worked out.
    /// Name what is turned instead; a reading is taken again after that.
    AdjustNotSet = "adjust-not-set", Error, "a rule adjusts a setting that is not set";

    // findings about a run

    /// A stated value and the value worked out from the other settings do not agree.
    /// Measure again: either the watch or one of the settings is wrong.
    Disagrees = "disagrees", Error, "stated and worked-out values disagree";
    /// The settings that are stated give a worked-out value that is outside what the standard says is possible:
    /// threads so thick that no opening is left. They cannot all be true, so one of them is wrong.
    NotPossibleTogether = "not-possible-together", Error, "settings that cannot all be true";
    /// A value is stated that is worked out as well, and the two agree. One that says how far it may be off (`61 s ± 0.5 s`)
    /// counts; a bare one is compared and counts for nothing, so that no verdict hangs on a number that was rounded or guessed.
    StatedBeside = "stated-beside", Note, "a value that is stated and worked out";
    /// A requirement does not hold by itself; a `may` of the same rule lets the run through.
    /// The note names the line, so that a permission never passes unseen.
    Permitted = "permitted", Note, "a run passes by a permission";
    /// A figure cannot be worked out: a division by something that may be zero, or a model outside its range.
    /// The requirement is counted as at risk, and `--allow-risk` does not let it pass: what is not known is no known risk.
    CannotWorkOut = "cannot-work-out", Error, "a figure cannot be worked out";

    // findings about a standard by itself (`strikeoff review`)

    /// Requirements of the standard leave nothing: no run can keep all of them, whatever is set.
    /// The finding names the smallest set of requirements that clash, and what each of them leaves;
    /// without any one of them the others could be kept.
    /// Widen one of the limits, or give one of the rules a `when` that keeps them apart.
    Contradiction = "contradiction", Error, "no run can keep these requirements together";
    /// Two records cannot be used together: what one wants, a requirement forbids for the other.
    /// An ink that needs more heat than a fabric tolerates is such a pair.
    /// If that is meant, say so in a rule on the records alone, such as `shall low(screen.ink.cure) at most 300 °F`:
    /// a plan then hears of it before anything is set, and review no longer tells of it. Else widen one of the limits.
    PairRuledOut = "pair-ruled-out", Warning, "records that no run can use together";
    /// A `should` cannot be followed by any run that keeps what is required.
    /// Such advice only makes noise. Change it, or narrow down when it applies.
    VainAdvice = "vain-advice", Warning, "a recommendation that cannot be followed";
    /// The `when` of a rule can never be true in the ranges that the settings allow, so it checks nothing.
    /// Often a unit or a comparison is wrong: `above 100 %`. Put the `when` right, or take the rule out.
    DeadRule = "dead-rule", Error, "a rule that can never apply";
    /// The `when` of a rule asks for something that no record of the standard has.
    /// That is no fault where the rule came with a spec; else a word in it, or a record, is not what was meant.
    RuleUnused = "rule-unused", Note, "a rule that applies to no record";
    /// A limit lies outside what the setting can be at all, so that it never breaks.
    /// Often a unit is wrong: `at most 300 °C` where °F was meant. Tighten the limit, or take it out.
    NeverBinds = "never-binds", Warning, "a limit that can never bind";
    /// Two values would have to be equal to the last digit, and one of them is measured, worked out or has a tolerance.
    /// Every run is at risk or breaks it. Say how far apart they may be, with `at least` and `at most`.
    NeverEqual = "never-equal", Warning, "a requirement that two values are exactly equal";
    /// Whatever keeps the other requirements keeps this one too.
    /// A room that tightens a rule of a spec will see this, and may leave it. If both are its own, one can go.
    Implied = "implied", Note, "a requirement that others imply";
    /// The review could not decide a question with the work it allows itself.
    /// Nothing is claimed of what is named here, neither that it is sound nor that it is not.
    NotDecided = "not-decided", Note, "a question that could not be decided";
    /// What is left of a setting is narrower than what its dial or its measurement can tell.
    /// No run can be shown to lie inside: a probe good to ± 2.5 °C cannot verify a window of 4 °C.
    /// Widen the window, or measure better and say so behind `measured by`.
    WindowTooNarrow = "window-too-narrow", Warning, "a window too narrow to verify";
    /// A clash, or a window too narrow to verify, of which the standard itself says why it is so:
    /// a rule on the records alone, with a reason, so that a plan with them hears of it before anything is set;
    /// or a span that a record keeps because its sources disagree. There is nothing to do.
    Explained = "explained", Note, "a clash that the standard explains";
    /// For some combinations of records no requirement limits a setting that is limited for others.
    /// Decide whether the room wants a limit there. An empty place is fine where nothing can go wrong.
    NoLimit = "no-limit", Note, "combinations without a limit";
    /// Records lack something that a rule needs, so that the rule cannot be checked with them.
    /// State it in the record, or let the rule ask first: `when screen.ink.gel stated`.
    RecordLacks = "record-lacks", Note, "records lack what a rule needs";
    /// No rule reads any setting of this kind, so that nothing is checked of its things.
    /// Write a rule that speaks of it, or leave it as it is: a kind may be there for the reader.
    KindWithoutRules = "kind-without-rules", Note, "a kind that no rule speaks of";
    /// No rule reads these settings, not even by way of a formula. They are for the reader only.
    SettingUnread = "setting-unread", Note, "settings that no rule reads";
    /// A limit is loosened with a reason that says nothing. Who reads it later must be able to weigh it:
    /// which order, which trial, whose word.
    LoosenedWithoutReason = "loosened-without-reason", Warning, "a limit is loosened without a reason";
    /// A rule does not say why. People keep to what they understand, and a limit without a reason is never reviewed.
    /// Add `because "…"`.
    NoReason = "no-reason", Warning, "a rule without a reason";
    /// A text gives one quantity in two units, and the two do not agree.
    /// About one in ten published trade pages has such a slip. Find out which of the two was measured.
    PairDisagrees = "pair-disagrees", Warning, "one quantity in two units that disagree";
    /// A text says something that has been printed before and is wrong, such as a tension in N/cm².
    /// The finding says what is right.
    PublishedSlip = "published-slip", Warning, "a known slip of the trade's pages";
    /// A record states a value that the other settings of the same record contradict.
    /// One of them is wrong; measure again, or look the sheet up.
    RecordDisagrees = "record-disagrees", Warning, "a record contradicts itself";
}
