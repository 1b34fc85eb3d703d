//! What must hold for any text: the parser never panics or hangs, the tree rebuilds the text, and
//! what is broken leaves its intact neighbours alone.
//!
//! `STRIKEOFF_LONG=1000000 cargo test --test all syntax_random::` runs so many texts instead of a few hundred.

use std::num::NonZeroUsize;
use std::process::Command;

use crate::outline::{assert_sound, outline};
use proptest::prelude::*;
use strikeoff::source::FileId;
use strikeoff::syntax::tree::{ExprNode, Line, RuleClauseNode, StatementNode};
use strikeoff::syntax::{ProblemNode, parse};

/// Pieces that the grammar knows, and pieces that it does not.
const TOKENS: &[&str] = &[
    "standard",
    "run",
    "use",
    "unit",
    "kind",
    "step",
    "add to",
    "rule",
    "caution",
    "sequence",
    "record",
    "is",
    "is not",
    "is one of",
    "at least",
    "at most",
    "to",
    "not",
    "and",
    "or",
    "stated",
    "within",
    "per",
    "practice",
    "because",
    "shall",
    "should",
    "may",
    "when",
    "for each",
    "adjust",
    "say",
    "parts",
    "make",
    "loosens",
    "choice of",
    "count of",
    "from",
    "table",
    "edition",
    "against",
    "a",
    "b-c",
    "a.b",
    "f(",
    "(",
    ")",
    "{",
    "{\n",
    "\n}",
    "}\n",
    "}",
    "\n",
    "\n",
    "\n\n",
    "\r\n",
    "\r",
    " ",
    " ",
    " ",
    "  ",
    "\t",
    "# note",
    "\"text\"",
    "\"",
    "\\",
    "\\\"",
    "1",
    "-2.5",
    "3 mm",
    "80 to 200 /in",
    "5 %",
    "±",
    "+-",
    "+1 s",
    "-1 s",
    "+",
    "-",
    "*",
    "/",
    "^",
    "=",
    ",",
    ".",
    "°F",
    "W/(m²·K)",
    "µ",
    "Δ°C",
    "é",
    "日本",
    "\u{feff}",
    "\u{200b}",
    "\u{7}",
    "\u{85}",
    "\u{1}",
    "😀",
    "|",
    ":",
    "'",
    "“",
    "-",
    "--",
    "//",
    ">=",
    "2,4",
    "1_000",
    "..",
];

const SAMPLES: &[&str] = &[
    include_str!("cases/trees/room.std"),
    include_str!("cases/trees/trade.std"),
    include_str!("cases/trees/harbour.plan"),
    include_str!("cases/trees/expressions.std"),
    include_str!("cases/trees/broken-lines.std"),
    include_str!("cases/trees/broken-slips.std"),
    include_str!("cases/trees/broken-blocks.std"),
];

fn config() -> ProptestConfig {
    let cases = std::env::var("STRIKEOFF_LONG").ok();
    let cases = cases.and_then(|cases| cases.parse().ok()).unwrap_or(300);
    ProptestConfig {
        cases,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

fn soup(size: usize) -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(TOKENS), 0..size).prop_map(|tokens| tokens.concat())
}

/// Cuts, doubles, swaps in or puts in a piece somewhere; offsets are moved to whole characters.
fn mutated(text: &str, changes: &[(usize, usize, usize)]) -> String {
    let mut text = text.to_owned();
    for &(at, size, token) in changes {
        let mut start = at % (text.len() + 1);
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = (start + size % 12).min(text.len());
        while !text.is_char_boundary(end) {
            end += 1;
        }
        let piece = TOKENS.get(token).copied().unwrap_or("");
        text.replace_range(start..end, piece);
    }
    text
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn token_soup_is_sound(text in soup(60)) {
        assert_sound(&text);
    }

    #[test]
    fn mutations_are_sound(
        sample in prop::sample::select(SAMPLES),
        changes in prop::collection::vec((any::<usize>(), any::<usize>(), 0..TOKENS.len() * 2), 1..6),
    ) {
        assert_sound(&mutated(sample, &changes));
    }

    #[test]
    fn any_characters_are_sound(text in any::<String>()) {
        assert_sound(&text);
    }

    /// A statement after a blank line survives whatever stands before it, unless that is a block
    /// that was left open and swallows it; and then it says so.
    #[test]
    fn intact_neighbours_survive(before in soup(25), after in soup(25)) {
        let intact = "rule intact \"title\" {\n  when       a.b at least 3 mm\n  shall      c is d\n}";
        let text = format!("{before}\n\n{intact}\n\n{after}");
        let parsed = parse(FileId(0), &text);
        let alone = outline(&parse(FileId(0), intact).tree);
        let all = outline(&parsed.tree);
        // Brackets of the header's own kind may not swallow a line that starts a statement.
        prop_assert!(all.contains(alone.trim_end()), "{text}\n---\n{all}");
    }

    /// One broken line costs one line.
    #[test]
    fn a_broken_line_costs_one_line(junk in soup(8)) {
        let junk = junk.replace(['{', '}', '\n'], "");
        let text = format!("ink a {{\n  mesh 80 /in\n  {junk}\n  flash 3 s\n}}\nuse trade\n");
        let parsed = parse(FileId(0), &text);
        let all = outline(&parsed.tree);
        for kept in ["  mesh: 80</in>\n", "  flash: 3<s>\n}\n", "use spec trade"] {
            prop_assert!(all.contains(kept), "lost {kept}");
        }
        prop_assert!(parsed.problems.len() <= 1);
    }
}

/// Steps of the grammar that one reading of a text may take for each of its bytes.
const STEPS_A_BYTE: usize = 500;

/// Set where a test runs in a process of its own.
const ALONE: &str = "STRIKEOFF_STEPS_ALONE";

/// Runs a test in a process of its own: pest counts its steps against one limit for all threads.
fn alone(test: &str) {
    let run = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", test, "--nocapture"])
        .env(ALONE, "1")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&run.stdout) + String::from_utf8_lossy(&run.stderr);
    assert!(run.status.success() && said.contains("1 passed"), "{said}");
}

/// Whether each reading stays below so many steps a byte: what is read is the same as without a limit.
fn steps_stay_few(text: &str) {
    pest::set_call_limit(None);
    let free = parse(FileId(0), text);
    pest::set_call_limit(NonZeroUsize::new(STEPS_A_BYTE * text.len()));
    let limited = parse(FileId(0), text);
    assert!(
        free.problems == limited.problems && free.tree.items.len() == limited.tree.items.len(),
        "{} bytes of {:?}",
        text.len(),
        text.chars().take(20).collect::<String>()
    );
}

/// Exponential work would not fit: 40 openers would take billions of steps.
#[test]
fn nested_openers_do_not_multiply_the_work() {
    if std::env::var_os(ALONE).is_none() {
        return alone("syntax_random::nested_openers_do_not_multiply_the_work");
    }
    for opener in ["(", "f(", "not (", "-(", "a is one of (", "(a + "] {
        let text = format!("rule r {{\n  shall {}\n}}\n", opener.repeat(40));
        steps_stay_few(&text);
        let parsed = parse(FileId(0), &text);
        assert_eq!(parsed.problems.len(), 1, "{opener}");
    }
}

#[test]
fn a_hundred_thousand_brackets_are_one_problem() {
    for opener in ["(", "f("] {
        let line = opener.repeat(100_000);
        let text =
            format!("rule r {{\n  shall a is b\n  shall {line}\n  shall c is d\n}}\n{line}\n");
        let parsed = parse(FileId(0), &text);
        let nodes: Vec<_> = parsed
            .problems
            .iter()
            .map(|problem| &problem.node)
            .collect();
        assert_eq!(nodes, [&ProblemNode::NestedTooDeep; 2]);
        let Line::Good(rule, _) = &parsed.tree.items[0] else {
            panic!("the rule is read");
        };
        let StatementNode::Rule(rule) = &rule.node else {
            panic!("it is a rule");
        };
        let good = |line: &&Line<'_, _>| matches!(line, Line::Good(..));
        assert_eq!(rule.block.lines.iter().filter(good).count(), 2);
    }
}

#[test]
fn long_rows_of_operators_are_one_problem() {
    for piece in ["not ", "- ", "a and ", "a ^ ", "a + ", "a is b is "] {
        let text = format!("rule r {{\n  shall {}a\n}}\n", piece.repeat(20_000));
        let parsed = parse(FileId(0), &text);
        let nodes: Vec<_> = parsed
            .problems
            .iter()
            .map(|problem| &problem.node)
            .collect();
        assert_eq!(nodes, [&ProblemNode::NestedTooDeep], "{piece}");
        let Line::Good(rule, _) = &parsed.tree.items[0] else {
            panic!("the rule is read");
        };
        let StatementNode::Rule(rule) = &rule.node else {
            panic!("it is a rule");
        };
        let Line::Good(clause, _) = &rule.block.lines[0] else {
            panic!("the clause is read");
        };
        let RuleClauseNode::Require { condition, .. } = &clause.node else {
            panic!("it is a requirement");
        };
        assert_eq!(condition.node, ExprNode::TooDeep);
    }
}

/// Ten times the text takes about ten times the steps, whatever it is full of.
#[test]
fn work_grows_with_the_text_and_no_faster() {
    if std::env::var_os(ALONE).is_none() {
        return alone("syntax_random::work_grows_with_the_text_and_no_faster");
    }
    for piece in [
        "\"",
        "{",
        "}",
        "{\n",
        "}\n",
        "\n",
        " ",
        "a ",
        "a {\n",
        "ink a {\n",
        "  x {\n",
        "rule r\n  x\n",
        "1,",
        "\\",
        "\"\\",
        "use x y\n\n",
        "rule x\n\n\n# c\n",
        "a.",
        "=",
        "(\n",
        "'",
        "“",
        "1-",
        "is ",
    ] {
        for count in [1_000, 10_000] {
            steps_stay_few(&piece.repeat(count));
        }
    }
}

#[test]
fn every_prefix_and_every_line_end_is_sound() {
    for sample in SAMPLES {
        for (at, _) in sample.char_indices().step_by(3) {
            assert_sound(&sample[..at]);
        }
        let tree = |text: &str| outline(&parse(FileId(0), text).tree);
        if parse(FileId(0), sample).problems.is_empty() {
            assert_eq!(tree(&sample.replace('\n', "\r\n")), tree(sample));
            assert_eq!(tree(&format!("\u{feff}{sample}")), tree(sample));
            assert_eq!(tree(sample.trim_end()), tree(sample));
        }
    }
}
