//! A second reader of formulas with numbers put in: the text that is shown is worked out again.
//!
//! `2.44 m / (2.6 m/min ± 4 %)`: numbers with units and tolerances, brackets, `+ - * / ^`.

use strikeoff::interval::Bounds;
use strikeoff::units::{Exact, Unit};

/// What a text comes to, in SI base units.
pub(crate) fn work_out(text: &str) -> Bounds {
    let mut reader = Reader {
        words: words(text),
        at: 0,
    };
    let found = reader.sum();
    assert_eq!(reader.at, reader.words.len(), "`{text}` is read to its end");
    found
}

/// Words and brackets; a unit's own brackets stay in it.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for piece in text.split(' ') {
        let inner = piece.trim_start_matches('(');
        words.extend(std::iter::repeat_n(
            "(".to_owned(),
            piece.len() - inner.len(),
        ));
        let mut body = inner;
        let mut closing = 0;
        while body.ends_with(')') && body.matches(')').count() > body.matches('(').count() {
            body = &body[..body.len() - 1];
            closing += 1;
        }
        words.push(body.to_owned());
        words.extend(std::iter::repeat_n(")".to_owned(), closing));
    }
    words
}

struct Reader {
    words: Vec<String>,
    at: usize,
}

impl Reader {
    fn peek(&self) -> &str {
        self.words.get(self.at).map_or("", String::as_str)
    }

    fn take(&mut self) -> String {
        self.at += 1;
        self.words[self.at - 1].clone()
    }

    fn sum(&mut self) -> Bounds {
        let mut value = self.product();
        while matches!(self.peek(), "+" | "-") {
            let minus = self.take() == "-";
            let next = self.product();
            value = if minus {
                value.sub(next)
            } else {
                value.add(next)
            };
        }
        value
    }

    fn product(&mut self) -> Bounds {
        let mut value = self.power();
        while matches!(self.peek(), "*" | "/") {
            let over = self.take() == "/";
            let next = self.power();
            value = if over {
                value.div(next).unwrap()
            } else {
                value.mul(next)
            };
        }
        value
    }

    fn power(&mut self) -> Bounds {
        let value = self.atom();
        if self.peek() == "^" {
            self.take();
            return value.powi(self.take().parse().unwrap()).unwrap();
        }
        value
    }

    fn atom(&mut self) -> Bounds {
        if self.peek() == "(" {
            self.take();
            let value = self.sum();
            assert_eq!(self.take(), ")");
            return value;
        }
        let number = Exact::parse_decimal(&self.take()).unwrap();
        if self.peek() == "to" {
            self.take();
            let high = Exact::parse_decimal(&self.take()).unwrap();
            let unit = self.unit();
            let (low, high) = (unit.to_base(&number), unit.to_base(&high));
            return Bounds::new(low.outward().0, high.outward().1);
        }
        let unit = self.unit();
        let base = unit.to_base(&number);
        let mut bounds = Bounds::new(base.outward().0, base.outward().1);
        if self.peek() == "±" {
            self.take();
            let size = Exact::parse_decimal(&self.take()).unwrap();
            let percent = self.peek() == "%" && unit != Unit::percent();
            let size = if percent {
                self.take();
                base.abs().mul(&size).mul(&Exact::ratio(1, 100))
            } else {
                self.unit().as_difference().to_base(&size)
            };
            bounds = Bounds::new(base.sub(&size).outward().0, base.add(&size).outward().1);
        }
        bounds
    }

    /// The unit that stands next, if one does; a noun counts as none.
    fn unit(&mut self) -> Unit {
        if matches!(self.peek(), "" | "+" | "-" | "*" | "/" | "^" | ")" | "±") {
            return Unit::bare();
        }
        let word = self.take();
        if word == "%" {
            return Unit::percent();
        }
        Unit::parse(&word).unwrap_or_else(|_| Unit::bare())
    }
}
