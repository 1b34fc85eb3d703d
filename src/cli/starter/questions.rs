//! What `new` asks: read from `specs/starter/answers.txt`, so that no word of the trade is in the code.

/// A question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Its name, which is also the flag's.
    pub name: &'static str,
    /// What is asked.
    pub sentence: &'static str,
    /// The answer when none is given.
    pub default: &'static str,
    /// How it is answered.
    pub answer: Answer,
}

/// How a question is answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// With a text, which goes between quotes.
    Text,
    /// With a value, which is written as it is.
    Value,
    /// With one of these.
    Choice(Vec<Choice>),
}

/// One of several answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Its name.
    pub name: &'static str,
    /// A sentence about it.
    pub sentence: &'static str,
    /// The parts it puts into the texts: name and text.
    pub parts: Vec<(&'static str, &'static str)>,
}

/// A part that is found by trying.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trial {
    /// The part.
    pub part: &'static str,
    /// What is tried, the likeliest first.
    pub texts: Vec<&'static str>,
}

/// All questions and trials.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Questions {
    /// What is asked, in order.
    pub asked: Vec<Question>,
    /// What is tried.
    pub trials: Vec<Trial>,
}

/// The questions that ship.
#[must_use]
pub fn questions() -> Questions {
    read(include_str!("../../../specs/starter/answers.txt"))
}

/// Reads the questions. A line that is none of the forms is passed over; a test looks for such lines.
fn read(text: &'static str) -> Questions {
    let mut found = Questions::default();
    for line in text.lines().map(str::trim) {
        let _ = one(line, &mut found);
    }
    found
}

/// Reads one line; `None` when it is not of any form.
fn one(line: &'static str, found: &mut Questions) -> Option<()> {
    if line.is_empty() || line.starts_with('#') {
        return Some(());
    }
    let (word, rest) = line.split_once(' ')?;
    match word {
        "ask" => {
            let (head, default) = rest.split_once(" = ")?;
            let (head, sentence) = quoted(head)?;
            let (name, form) = head.split_once(' ')?;
            let answer = match form.trim() {
                "text" => Answer::Text,
                "value" => Answer::Value,
                _ => return None,
            };
            found.asked.push(Question {
                name,
                sentence,
                default: default.trim(),
                answer,
            });
        }
        "choose" => {
            let (head, default) = rest.split_once(" = ")?;
            let (name, sentence) = quoted(head)?;
            found.asked.push(Question {
                name,
                sentence,
                default: default.trim(),
                answer: Answer::Choice(Vec::new()),
            });
        }
        "option" => {
            let (name, sentence) = quoted(rest)?;
            last(found)?.push(Choice {
                name,
                sentence,
                parts: Vec::new(),
            });
        }
        "try" => {
            let (part, texts) = rest.split_once(" = ")?;
            found.trials.push(Trial {
                part: part.trim(),
                texts: texts.split(" | ").map(str::trim).collect(),
            });
        }
        part => {
            let (_, text) = rest.split_once("= ")?;
            last(found)?.last_mut()?.parts.push((part, text.trim()));
        }
    }
    Some(())
}

/// The choices of the question read last.
fn last(found: &mut Questions) -> Option<&mut Vec<Choice>> {
    match &mut found.asked.last_mut()?.answer {
        Answer::Choice(choices) => Some(choices),
        Answer::Text | Answer::Value => None,
    }
}

/// A name and the sentence behind it in double quotes.
fn quoted(text: &'static str) -> Option<(&'static str, &'static str)> {
    let (name, rest) = text.split_once('"')?;
    Some((name.trim(), rest.strip_suffix('"')?))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

    use super::{Answer, Questions, one, questions};

    #[test]
    fn every_line_that_ships_is_read() {
        let mut found = Questions::default();
        for line in include_str!("../../../specs/starter/answers.txt").lines() {
            assert_eq!(one(line.trim(), &mut found), Some(()), "{line}");
        }
        assert_eq!(found, questions());
    }

    #[test]
    fn every_default_is_a_choice() {
        let found = questions();
        assert!(found.asked.len() >= 5 && found.trials.len() >= 2);
        for question in &found.asked {
            if let Answer::Choice(choices) = &question.answer {
                let known = choices.iter().any(|choice| choice.name == question.default);
                assert!(known, "{}", question.name);
            }
        }
    }

    #[test]
    fn other_lines_are_refused() {
        for line in [
            "ask a text \"b\"",
            "ask a number \"b\" = 1",
            "option a \"b\"",
            "c = d",
            "choose a b = c",
            "try",
        ] {
            assert_eq!(one(line, &mut Questions::default()), None, "{line}");
        }
    }
}
