//! Reports that every view is shown with: tests and benchmarks build the same ones.

use strikeoff::diagnostic::{
    Caution, Check, Code, Counts, DeviationInfo, DeviationState, Diagnostic, Edit, Excuse, Finding,
    Move, Outcome, PlanReport, Repair, Report, RuleInfo, Severity, StandardReport, Verb,
};
use strikeoff::source::{FileId, Span, Store};

const STANDARD: &str = "\
# quay-room.std: what every run in this room keeps to
standard \"Quay Street print room\" edition \"2026-4\"

use trade

rule slow-heat-on-polyester \"polyester is heated slowly\" {
  when       garment.polyester at least 30 %
  shall      dryer.dwell at least 80 s
  shall      film.peak at most 305 °F
  because    \"fast heat drives disperse dye out of the fibre and into the white\"
  per        practice
}

rule cool-before-the-second-print {
  for each   flash
  should     flash.pallet-after at most 120 °F
}

deviation from slow-heat-on-polyester \"the long tunnel is down\" {
  up to      60 s
  because    \"the long tunnel is down\"
  approved   \"process lead, 2026-11-20\"
  until      2026-12-31
}
";

const PLAN: &str = "\
run \"2611 harbour festival tees\" against \"quay-room.std\"

order {
  pieces     1200
}

garment is half-poly-tee {
  colour     \"deep red\"
}

sequence {
  print      base, 2 strokes
  flash      6 s ± 1 s
  print      base, 2 strokes
}

dryer is tunnel-a {
  air 320 °F ± 10 °F,  belt 2.1 m/min ± 5 %
}
";

/// Where a piece of text first stands.
///
/// # Panics
/// When it does not stand there: the fixture is wrong.
pub(super) fn at(store: &Store, file: FileId, needle: &str) -> Span {
    let start = store.get(file).text().find(needle).expect(needle);
    Span::new(file, start, start + needle.len())
}

/// A report with one standard and one checked plan, which has no checks yet.
pub(super) struct Case {
    pub store: Store,
    pub report: Report,
    pub standard: FileId,
    pub plan: FileId,
}

impl Case {
    /// The plan and the standard of all cases.
    pub(super) fn new() -> Self {
        Self::with("plans/2611.plan", PLAN)
    }

    /// Another plan against the same standard.
    pub(super) fn with(name: &str, plan_text: &str) -> Self {
        let mut store = Store::new();
        let standard = store.add("quay-room.std", STANDARD);
        let plan = store.add(name, plan_text);
        let rule = |name: &str, title: Option<&str>| RuleInfo {
            name: name.into(),
            title: title.map(Into::into),
            because: title.map(|_| {
                "fast heat drives disperse dye out of the fibre and into the white".into()
            }),
            source: title.map(|_| "common practice".into()),
            span: at(&store, standard, name),
        };
        let rules = vec![
            rule("slow-heat-on-polyester", Some("polyester is heated slowly")),
            rule("cool-before-the-second-print", None),
        ];
        let report = Report {
            diagnostics: Vec::new(),
            standards: vec![StandardReport {
                file: standard,
                name: "Quay Street print room".into(),
                edition: Some("2026-4".into()),
                digest: "5d41402abc4b2a76b9719d911017c592".repeat(2),
                rules: rules.len(),
                rule_list: rules,
                deviations: Vec::new(),
            }],
            plans: vec![PlanReport {
                file: plan,
                name: "2611 harbour festival tees".into(),
                standard: Some(0),
                checked: true,
                checks: Vec::new(),
                counts: Counts::default(),
                diagnostics: Vec::new(),
                cautions: Vec::new(),
                whole: None,
                margins: None,
                lacking: None,
                work: 0,
            }],
            date: "2026-11-25".into(),
            allow_risk: false,
        };
        Self {
            store,
            report,
            standard,
            plan,
        }
    }

    /// Something said of the plan.
    pub(super) fn say(&mut self, said: Diagnostic) {
        self.report.plans[0].diagnostics.push(said);
    }

    /// A check of the plan.
    pub(super) fn check(
        &mut self,
        rule: &str,
        clause: u32,
        subject: Option<&str>,
        (verb, outcome): (Verb, Outcome),
        why: &str,
        line: &str,
    ) {
        let span = at(&self.store, self.standard, line);
        let plan = &mut self.report.plans[0];
        plan.counts.add(outcome);
        plan.checks.push(Check {
            rule: rule.into(),
            clause,
            subject: subject.map(Into::into),
            verb,
            outcome,
            why: why.into(),
            span,
        });
    }

    /// A requirement that holds and one that does not apply.
    pub(super) fn quiet(&mut self) {
        self.check(
            "slow-heat-on-polyester",
            2,
            None,
            (Verb::Shall, Outcome::Holds),
            "`film.peak` is 291 to 303 °F, at most 305 °F",
            "film.peak at most 305 °F",
        );
        self.check(
            "cool-before-the-second-print",
            1,
            None,
            (Verb::Should, Outcome::DoesNotApply),
            "the run has no second flash",
            "flash.pallet-after at most 120 °F",
        );
    }

    /// The facts of the dwell rule.
    fn dwell(outcome: Outcome) -> Finding {
        Finding {
            outcome,
            verb: Verb::Shall,
            clause: 1,
            rule: "slow-heat-on-polyester".into(),
            title: Some("polyester is heated slowly".into()),
            subject: None,
            quantity: Some("dryer.dwell".into()),
            value: Some("65.8 to 74.0 s".into()),
            limit: Some("at least 80 s".into()),
            margin: Some("14.2 s short".into()),
            decided_by: None,
            culprit: Some("dryer.belt".into()),
            because: Some(
                "fast heat drives disperse dye out of the fibre and into the white".into(),
            ),
            when_out: None,
            source: Some("common practice".into()),
            deviation: None,
        }
    }

    /// A requirement breaks: two files, facts, a repair.
    pub(super) fn breaks(&mut self) {
        let belt = at(&self.store, self.plan, "2.1 m/min ± 5 %");
        let limit = at(&self.store, self.standard, "dryer.dwell at least 80 s");
        self.check(
            "slow-heat-on-polyester",
            1,
            None,
            (Verb::Shall, Outcome::Breaks),
            "`dryer.dwell` is 65.8 to 74.0 s, at least 80 s",
            "dryer.dwell at least 80 s",
        );
        let mut said = Diagnostic::new(
            Code::Breaks,
            belt,
            "the shirt is under heat for too short a time",
            "this belt gives 65.8 to 74.0 s",
        )
        .related(limit, "at least 80 s");
        said.repairs.push(Repair {
            number: 1,
            words: "set `belt` to 1.7 m/min ± 5 %".into(),
            edits: vec![Edit {
                span: belt,
                text: "1.7 m/min ± 5 %".into(),
            }],
            moves: vec![Move {
                setting: "dryer.belt".into(),
                from: "2.1 m/min ± 5 %".into(),
                to: "1.7 m/min ± 5 %".into(),
                range: "0.1 to 1.7 m/min".into(),
                low: 0.1,
                high: 1.7,
                unit: "m/min".into(),
                takes: None,
            }],
            measure_again: vec!["film.peak".into()],
            whole: true,
        });
        said.finding = Some(Box::new(Self::dwell(Outcome::Breaks)));
        self.say(said);
    }

    /// A requirement that would break holds by a deviation.
    pub(super) fn by_deviation(&mut self) {
        let belt = at(&self.store, self.plan, "2.1 m/min ± 5 %");
        let place = at(
            &self.store,
            self.standard,
            "deviation from slow-heat-on-polyester",
        );
        self.check(
            "slow-heat-on-polyester",
            1,
            None,
            (Verb::Shall, Outcome::Holds),
            "by a deviation only, until 2026-12-31: `dryer.dwell` is 65.8 to 74.0 s",
            "dryer.dwell at least 80 s",
        );
        let limit = at(&self.store, self.standard, "dryer.dwell at least 80 s");
        let mut said = Diagnostic::new(
            Code::ByDeviation,
            belt,
            "`slow-heat-on-polyester` holds by a deviation only, until 2026-12-31",
            "passes by deviation",
        )
        .related(place, "this deviation lets it through")
        .related(limit, "this would not hold by itself");
        said.finding = Some(Box::new(Finding {
            deviation: Some(Excuse {
                number: 0,
                without: Outcome::Breaks,
                up_to: Some("up to 60 s".into()),
                until: "2026-12-31".into(),
                because: "the long tunnel is down".into(),
                approved: "process lead, 2026-11-20".into(),
                span: place,
                needed: Vec::new(),
            }),
            ..Self::dwell(Outcome::Holds)
        }));
        self.say(said);
        self.report.standards[0].deviations.push(DeviationInfo {
            rule: "slow-heat-on-polyester".into(),
            title: Some("the long tunnel is down".into()),
            run: None,
            up_to: vec!["dryer.dwell up to 60 s".into()],
            pieces: None,
            because: Some("the long tunnel is down".into()),
            approved: Some("process lead, 2026-11-20".into()),
            until: Some("2026-12-31".into()),
            days_left: Some(36),
            states: vec![DeviationState::Active],
            checks: 1,
            plans: 1,
            would_do: Vec::new(),
            span: place,
        });
    }

    /// A requirement is at risk.
    pub(super) fn at_risk(&mut self) {
        let belt = at(&self.store, self.plan, "2.1 m/min ± 5 %");
        let limit = at(&self.store, self.standard, "dryer.dwell at least 80 s");
        self.check(
            "slow-heat-on-polyester",
            1,
            None,
            (Verb::Shall, Outcome::AtRisk),
            "`dryer.dwell` is 78.1 to 84.3 s, at least 80 s",
            "dryer.dwell at least 80 s",
        );
        let mut said = Diagnostic::new(
            Code::AtRisk,
            belt,
            "the time under heat cannot be shown at this tolerance",
            "decides it",
        )
        .related(limit, "the limit");
        said.finding = Some(Box::new(Finding {
            value: Some("78.1 to 84.3 s".into()),
            margin: Some("1.9 s short at worst".into()),
            decided_by: Some("`dryer.belt` ± 5 %; ± 2 % would do".into()),
            ..Self::dwell(Outcome::AtRisk)
        }));
        self.say(said);
    }

    /// A value is not stated, about one thing, under `should`.
    pub(super) fn not_stated(&mut self) {
        let flash = at(&self.store, self.plan, "flash      6 s ± 1 s");
        let limit = at(
            &self.store,
            self.standard,
            "flash.pallet-after at most 120 °F",
        );
        self.check(
            "cool-before-the-second-print",
            1,
            Some("flash, step 2"),
            (Verb::Should, Outcome::NotStated),
            "`flash.pallet-after` is not stated",
            "flash.pallet-after at most 120 °F",
        );
        let mut said = Diagnostic::new(
            Code::NotStated,
            flash,
            "the pallet's heat after this flash is not stated",
            "",
        )
        .related(limit, "needs it")
        .help("state `pallet-after` in this step")
        .at(Severity::Warning);
        said.finding = Some(Box::new(Finding {
            verb: Verb::Should,
            clause: 1,
            rule: "cool-before-the-second-print".into(),
            title: None,
            subject: Some("flash, step 2".into()),
            quantity: Some("flash.pallet-after".into()),
            value: None,
            margin: None,
            culprit: None,
            limit: Some("at most 120 °F".into()),
            because: None,
            source: None,
            ..Self::dwell(Outcome::NotStated)
        }));
        self.say(said);
    }

    /// A caution that fits.
    pub(super) fn caution(&mut self) {
        self.report.plans[0].cautions.push(Caution {
            name: "hot-work".into(),
            words:
                "The tunnel's frame and the shirts coming out of it burn skin; gloves at the belt."
                    .into(),
            source: Some("common practice".into()),
        });
    }

    /// Another plan that could not be read: nothing was checked.
    pub(super) fn unreadable(&mut self) {
        let file = self.store.add("plans/2612.plan", "run \"2612 pier tees\" against \"quay-room.std\"\n\ndryer is tunnel-a {\n  air 320 °F,  bellt 2.1 m/min\n}\n");
        let word = at(&self.store, file, "bellt");
        self.report.plans.push(PlanReport {
            file,
            name: String::new(),
            standard: None,
            checked: false,
            checks: Vec::new(),
            counts: Counts::default(),
            diagnostics: vec![
                Diagnostic::new(
                    Code::NotStated,
                    word,
                    "a dryer has no setting `bellt`",
                    "not a setting",
                )
                .help("did you mean `belt`?"),
            ],
            cautions: Vec::new(),
            whole: None,
            margins: None,
            lacking: None,
            work: 0,
        });
    }

    /// A file that is not there: no place in any text.
    pub(super) fn no_place(&mut self) {
        let said =
            Diagnostic::without_place(Code::NotStated, "the file `plans/2613.plan` is not there")
                .note("plans are looked for from the folder that the check is run in")
                .help("correct the name");
        self.report.diagnostics.push(said);
    }
}

/// Only one file has a place.
pub(super) fn one_file() -> Case {
    let mut case = Case::new();
    case.quiet();
    let air = at(&case.store, case.plan, "320 °F ± 10 °F");
    let belt = at(&case.store, case.plan, "2.1 m/min ± 5 %");
    let order = at(&case.store, case.plan, "1200");
    case.say(
        Diagnostic::new(
            Code::NotStated,
            belt,
            "`belt` stands behind °-signs",
            "column 24",
        )
        .related(air, "column 7")
        .related(order, "line 4")
        .at(Severity::Note),
    );
    case
}

/// A finding in the plan with its limit in the standard.
pub(super) fn two_files() -> Case {
    let mut case = Case::new();
    case.breaks();
    case.quiet();
    case
}

/// Trouble without any place.
pub(super) fn no_place() -> Case {
    let mut case = Case::new();
    case.report.plans.clear();
    case.no_place();
    case
}

/// At risk.
pub(super) fn at_risk() -> Case {
    let mut case = Case::new();
    case.at_risk();
    case.quiet();
    case
}

/// Not stated.
pub(super) fn not_stated() -> Case {
    let mut case = Case::new();
    case.not_stated();
    case
}

/// Several plans, one of them unreadable, with a caution.
pub(super) fn several() -> Case {
    let mut case = two_files();
    case.not_stated();
    case.caution();
    case.unreadable();
    case.no_place();
    case
}

#[path = "hostile_case.rs"]
mod hostile_case;
#[allow(unused_imports, reason = "benchmarks build without it")]
pub(super) use hostile_case::{HOSTILE, hostile};

/// `count` findings of one plan of 100,000 lines, the last one at its end.
pub(super) fn many(count: usize) -> Case {
    let lines = 100_000;
    let mut text = String::new();
    let mut starts = Vec::with_capacity(lines);
    for line in 0..lines {
        starts.push(text.len());
        text.push_str(&format!("  belt 2.1 m/min ± 5 %  # {line}\n"));
    }
    let mut case = Case::with("plans/long.plan", &text);
    let limit = at(&case.store, case.standard, "dryer.dwell at least 80 s");
    for number in 0..count {
        let line = starts[(number + 1) * lines / count - 1];
        let span = Span::new(case.plan, line + 7, line + 16);
        case.check(
            "slow-heat-on-polyester",
            1,
            Some(&format!("dryer {number}")),
            (Verb::Shall, Outcome::Breaks),
            "`dryer.dwell` is 65.8 to 74.0 s, at least 80 s",
            "dryer.dwell at least 80 s",
        );
        let mut said = Diagnostic::new(
            Code::Breaks,
            span,
            "the shirt is under heat for too short a time",
            "this belt",
        )
        .related(limit, "at least 80 s");
        said.finding = Some(Box::new(Finding {
            subject: Some(format!("dryer {number}")),
            ..Case::dwell(Outcome::Breaks)
        }));
        case.say(said);
    }
    case
}

/// A run that passes by a deviation.
pub(super) fn by_deviation() -> Case {
    let mut case = Case::new();
    case.by_deviation();
    case
}

/// All the small ones by name.
pub(super) fn all() -> Vec<(&'static str, Case)> {
    vec![
        ("one_file", one_file()),
        ("two_files", two_files()),
        ("no_place", no_place()),
        ("at_risk", at_risk()),
        ("not_stated", not_stated()),
        ("several", several()),
        ("hostile", hostile()),
        ("by_deviation", by_deviation()),
    ]
}
