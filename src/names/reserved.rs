//! Words that a condition, a formula or a rule needs for itself, so that nothing may be called by them.

use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::tree::Word;

/// All of them, in the order of the alphabet: one list for whatever has a name.
const RESERVED: &[&str] = &[
    "above", "adjust", "and", "at", "be", "because", "below", "from", "is", "loosens", "may",
    "not", "or", "per", "shall", "should", "stated", "to", "when", "within",
];

/// What to say of a name that is one of them. It would be read where it is declared, and not where it is used.
pub(super) fn reserved(what: &str, name: Word<'_>) -> Option<Diagnostic> {
    if !RESERVED.contains(&name.text) {
        return None;
    }
    let list: Vec<String> = RESERVED.iter().map(|word| format!("`{word}`")).collect();
    Some(
        Diagnostic::new(
            Code::WordReserved,
            name.span,
            format!(
                "`{}` is a reserved word, so no {what} can be called that",
                name.text
            ),
            "a word of the language",
        )
        .help(format!(
            "choose another name, such as `the-{}`; the reserved words are {}",
            name.text,
            list.join(", ")
        )),
    )
}

#[cfg(test)]
mod tests {
    use super::RESERVED;

    /// The words between quotes in a rule of the grammar that are one word each.
    fn words_of(rule: &str) -> Vec<String> {
        let grammar = include_str!("../../grammar/strikeoff.pest");
        let head = format!("\n{rule} ");
        // A rule that is not found has no words, which the test does not accept.
        let body = grammar.split_once(&head).map_or("", |(_, rest)| rest);
        let body = body.split_once(" ~ boundary").map_or("", |(body, _)| body);
        let mut words = Vec::new();
        for part in body.split('|') {
            // `for each` and `add to` are two words, and stop no name.
            if !part.contains("~ ws1 ~") {
                words.extend(part.split('"').skip(1).step_by(2).map(str::to_owned));
            }
        }
        words
    }

    #[test]
    fn are_those_of_the_grammar() {
        let mut all = Vec::new();
        for rule in ["reserved_in_expression", "reserved_as_value", "rule_word"] {
            let words = words_of(rule);
            assert!(words.len() > 4, "{rule}: {words:?}");
            all.extend(words);
        }
        all.sort();
        all.dedup();
        assert_eq!(all, RESERVED);
    }
}
