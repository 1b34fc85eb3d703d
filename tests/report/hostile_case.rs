//! A report in which every text that comes from a file is hostile.

use strikeoff::diagnostic::{
    Capability, Caution, Code, Diagnostic, Drift, DriftEnd, Edit, Finding, Margin, Margins, Move,
    Outcome, Repair, Verb, WholeRun,
};
use strikeoff::source::Span;

use super::{Case, at};

/// Every text is out to do harm.
pub(crate) const HOSTILE: &str =
    "\u{1b}[31m<script>]]>&\u{202e}\u{0}\u{7}\u{9b}2J\u{ffff}\u{e0041}\n\r\t𝄞\"\\";

/// Every text of the report is [`HOSTILE`], and the line is 50 kB long.
pub(crate) fn hostile() -> Case {
    let line = format!(
        "{}{HOSTILE} belt {HOSTILE}{}\n",
        "é".repeat(25_000),
        "x".repeat(25_000)
    );
    let line = line.replace('\n', "\u{b}") + "\n";
    let mut case = Case::with(&format!("plans/{HOSTILE} 100% #1.plan"), &line);
    let text = || Some(HOSTILE.to_owned());
    case.check(
        "slow-heat-on-polyester",
        1,
        None,
        (Verb::Shall, Outcome::Breaks),
        HOSTILE,
        "dryer.dwell at least 80 s",
    );
    let span = at(&case.store, case.plan, "belt");
    let mut said = Diagnostic::new(Code::Breaks, span, HOSTILE, HOSTILE)
        .related(at(&case.store, case.standard, "305 °F"), HOSTILE)
        .note(HOSTILE)
        .help(HOSTILE);
    let repair = Repair {
        number: 1,
        words: HOSTILE.into(),
        edits: vec![Edit {
            span,
            text: HOSTILE.into(),
        }],
        moves: vec![Move {
            setting: HOSTILE.into(),
            from: HOSTILE.into(),
            to: HOSTILE.into(),
            range: HOSTILE.into(),
            low: 0.0,
            high: 1.0,
            unit: HOSTILE.into(),
            takes: Some(HOSTILE.into()),
        }],
        measure_again: vec![HOSTILE.into()],
        whole: false,
    };
    said.repairs.push(repair.clone());
    said.finding = Some(Box::new(Finding {
        outcome: Outcome::Breaks,
        verb: Verb::Shall,
        clause: 1,
        rule: HOSTILE.into(),
        title: text(),
        subject: text(),
        quantity: text(),
        value: text(),
        limit: text(),
        margin: text(),
        decided_by: text(),
        culprit: text(),
        because: text(),
        when_out: text(),
        source: text(),
        deviation: None,
    }));
    case.say(said);
    case.say(Diagnostic::new(
        Code::NotStated,
        Span::new(case.plan, 9_999_999, 9_999_999),
        HOSTILE,
        HOSTILE,
    ));
    case.report.date = HOSTILE.into();
    let plan = &mut case.report.plans[0];
    plan.name = HOSTILE.into();
    plan.whole = Some(WholeRun {
        repair: Some(repair),
        said: text(),
    });
    plan.margins = Some(Margins {
        rows: vec![Margin {
            setting: HOSTILE.into(),
            value: HOSTILE.into(),
            unit: HOSTILE.into(),
            place: span,
            read: true,
            shared: false,
            down: Some(Drift {
                size: 1.0,
                words: HOSTILE.into(),
                end: DriftEnd::Rule {
                    rule: HOSTILE.into(),
                    subject: text(),
                    place: at(&case.store, case.standard, "305 °F"),
                },
            }),
            up: None,
            nearness: Some(0.1),
            capability: Some(Capability {
                deviation: HOSTILE.into(),
                cp: None,
                cpk: Some(1.0),
                of_tolerance: None,
            }),
        }],
        holding: 1,
        not_counted: 1,
    });
    plan.cautions.push(Caution {
        name: HOSTILE.into(),
        words: HOSTILE.into(),
        source: text(),
    });
    let standard = &mut case.report.standards[0];
    standard.name = HOSTILE.into();
    standard.edition = text();
    standard.digest = HOSTILE.into();
    standard.rule_list[0].name = HOSTILE.into();
    standard.rule_list[0].title = text();
    case
}
