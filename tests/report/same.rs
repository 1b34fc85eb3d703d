//! What holds for every view: the same bytes each time, nothing hidden, identities that last.

use super::fixture::{self, Case};
use super::{shown, style};
use strikeoff::diagnostic::Code;
use strikeoff::report::{Format, Identities, Style, explain, identity, list};

const FORMATS: [Format; 5] = [
    Format::People,
    Format::Log,
    Format::Json,
    Format::Sarif,
    Format::Junit,
];

#[test]
fn the_same_report_gives_the_same_bytes() {
    for (name, case) in fixture::all() {
        for format in FORMATS {
            let first = shown(&case, format, &style());
            assert_eq!(first, shown(&case, format, &style()), "{name} {format:?}");
            assert!(first.ends_with('\n'), "{name} {format:?}");
        }
    }
}

#[test]
fn no_view_writes_what_acts_on_a_terminal() {
    for plain in [false, true] {
        for format in FORMATS {
            let text = shown(&fixture::hostile(), format, &Style { plain, ..style() });
            for (number, line) in text.lines().enumerate() {
                assert_eq!(
                    strikeoff::source::visible(line),
                    line,
                    "{format:?}, line {}",
                    number + 1
                );
            }
        }
    }
}

#[test]
fn a_long_line_is_not_poured_out() {
    for plain in [false, true] {
        for format in FORMATS {
            let text = shown(&fixture::hostile(), format, &Style { plain, ..style() });
            let longest = text.lines().map(|line| line.chars().count()).max().unwrap();
            assert!(longest < 2_500, "{format:?}: {longest}");
        }
    }
}

#[test]
fn any_width_will_do() {
    for width in [0, 1, 20, 79, 5_000, usize::MAX] {
        for (_, case) in fixture::all() {
            for plain in [false, true] {
                shown(
                    &case,
                    Format::People,
                    &Style {
                        width,
                        plain,
                        ..style()
                    },
                );
            }
        }
        assert!(list(width).contains("not-stated"));
        for &code in Code::ALL {
            assert!(explain(code, width).starts_with(code.slug()));
        }
    }
}

#[test]
fn places_that_fit_no_file_do_no_harm() {
    use strikeoff::diagnostic::Diagnostic;
    use strikeoff::source::{FileId, Span};
    let mut case = Case::new();
    let nowhere = Span::new(FileId(77), 5, 9);
    case.say(
        Diagnostic::new(Code::Breaks, nowhere, "nowhere", "here").related(
            Span {
                end: 1,
                start: 4,
                ..nowhere
            },
            "backwards",
        ),
    );
    case.say(Diagnostic::new(
        Code::Breaks,
        Span::new(case.plan, 0, usize::MAX),
        "everywhere",
        "all of it",
    ));
    for format in FORMATS {
        for plain in [false, true] {
            assert!(shown(&case, format, &Style { plain, ..style() }).contains("nowhere"));
        }
    }
}

#[test]
fn identity_does_not_hang_on_lines() {
    let case = fixture::two_files();
    let mut moved = Case::with(
        "plans/2611.plan",
        &format!("# a new first line\n{}", case.store.get(case.plan).text()),
    );
    moved.breaks();
    let of = |case: &Case| {
        let plan = &case.report.plans[0];
        identity(&plan.diagnostics[0], Some(plan), Some(1), &case.store)
    };
    assert_eq!(of(&case), of(&moved));
    moved.report.plans[0].diagnostics[0]
        .finding
        .as_mut()
        .unwrap()
        .value = Some("66 s".into());
    assert_ne!(of(&case), of(&moved));
}

#[test]
fn repeats_are_kept_apart() {
    let case = fixture::no_place();
    let mut identities = Identities::default();
    let said = &case.report.diagnostics[0];
    let first = identities.next(said, None, None, &case.store);
    assert_eq!(
        identities.next(said, None, None, &case.store),
        format!("{first}-2")
    );
}

#[test]
fn a_code_is_explained() {
    insta::assert_snapshot!("explain", explain(Code::AtRisk, 60));
    // The list grows with every code: its shape is what is held here.
    assert_eq!(list(200).lines().count(), Code::ALL.len());
    assert!(
        list(40)
            .lines()
            .all(|line| line.chars().count() <= 40 || !line.trim().contains("  "))
    );
}
