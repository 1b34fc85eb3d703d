//! A standard as a value that can be edited, and its text.

use std::fmt::Write as _;

use super::scale::{Id, Num, Own, SCALES};

#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Room {
    pub(super) units: Vec<Own>,
    pub(super) kinds: Vec<Kind>,
    pub(super) records: Vec<Record>,
    pub(super) rules: Vec<Rule>,
    pub(super) tables: Vec<Table>,
    pub(super) deviations: Vec<Deviation>,
    /// Instruments and the days on which their calibration falls due.
    pub(super) instruments: Vec<(String, String)>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Place {
    Records,
    One,
    Many,
    Step,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kind {
    pub(super) name: String,
    pub(super) place: Place,
    pub(super) settings: Vec<Setting>,
    pub(super) parts: Option<(Vec<String>, u32)>,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Setting {
    pub(super) name: String,
    pub(super) what: What,
    pub(super) range: Option<(Num, Num)>,
    pub(super) formula: Option<Expr>,
    /// The smallest change that its dial allows.
    pub(super) dial: Option<Num>,
    /// Whether it is read off.
    pub(super) measured: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum What {
    Measure(Id),
    Range(Id),
    Choice(Vec<String>),
    Text,
    YesNo,
    Of(String),
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Expr {
    Path(String),
    Lit(Num),
    Bin(Box<Expr>, &'static str, Box<Expr>),
    Call(String, Vec<Expr>),
    Power(Box<Expr>, u32),
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cond {
    Compare(Expr, &'static str, Expr),
    Within(Expr, Num, Num),
    /// `path within path`
    Inside(Expr, String),
    /// Path, whether it is denied, the value, and what else it might be.
    Is(String, bool, String, Vec<String>),
    OneOf(String, Vec<String>, Vec<String>),
    Stated(String),
    /// Path, and what is asked of how it is stated.
    Asked(String, String),
    And(Vec<Cond>),
    Or(Vec<Cond>),
    Not(Box<Cond>),
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Verb {
    Shall,
    Should,
    May,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Rule {
    pub(super) name: String,
    pub(super) each: Option<String>,
    pub(super) whens: Vec<Cond>,
    pub(super) clauses: Vec<(Verb, Cond)>,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    Span(Num, Num),
    AtLeast(Num),
    AtMost(Num),
    Exactly(Num),
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    pub(super) name: String,
    pub(super) each: Option<String>,
    pub(super) verb: Verb,
    pub(super) of: String,
    /// What the rows and the columns go by; no columns: one cell a row.
    pub(super) by: Vec<String>,
    pub(super) rows: Vec<String>,
    pub(super) columns: Vec<String>,
    pub(super) cells: Vec<Vec<Option<Cell>>>,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Deviation {
    pub(super) rule: String,
    pub(super) run: Option<String>,
    pub(super) up_to: Option<Num>,
    pub(super) when: Option<Cond>,
    pub(super) pieces: Option<u32>,
    pub(super) until: String,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Record {
    pub(super) kind: String,
    pub(super) name: String,
    pub(super) parent: Option<String>,
    pub(super) values: Vec<(String, Value)>,
}

/// A value of a record.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    /// A number and its tolerance as text, a space before it.
    Measure(Num, String),
    Span(Num, Num),
    AtLeast(Num),
    AtMost(Num),
    Word(String),
}

impl Value {
    pub(super) fn text(&self) -> String {
        match self {
            Self::Measure(number, tolerance) => format!("{}{tolerance}", number.text()),
            Self::Span(low, high) => format!("{} to {}", low.text(), high.text()),
            Self::AtLeast(number) => format!("at least {}", number.text()),
            Self::AtMost(number) => format!("at most {}", number.text()),
            Self::Word(word) => word.clone(),
        }
    }
}

impl Expr {
    pub(super) fn path(path: &str) -> Self {
        Self::Path(path.to_owned())
    }

    pub(super) fn text(&self) -> String {
        match self {
            Self::Path(path) => path.clone(),
            Self::Lit(number) => number.text(),
            Self::Bin(left, how, right) => {
                format!("{} {how} {}", left.operand(), right.operand())
            }
            Self::Call(name, given) => {
                let given: Vec<String> = given.iter().map(Self::text).collect();
                format!("{name}({})", given.join(", "))
            }
            Self::Power(base, by) => format!("{} ^ {by}", base.operand()),
        }
    }

    fn operand(&self) -> String {
        match self {
            Self::Bin(..) | Self::Power(..) => format!("({})", self.text()),
            _ => self.text(),
        }
    }

    pub(super) fn visit(&mut self, number: &mut dyn FnMut(&mut Num)) {
        match self {
            Self::Path(_) => {}
            Self::Lit(one) => number(one),
            Self::Bin(left, _, right) => {
                left.visit(number);
                right.visit(number);
            }
            Self::Call(_, given) => given.iter_mut().for_each(|one| one.visit(number)),
            Self::Power(base, _) => base.visit(number),
        }
    }

    pub(super) fn rename(&mut self, of: &dyn Fn(&str) -> String) {
        match self {
            Self::Path(path) => *path = of(path),
            Self::Lit(_) => {}
            Self::Bin(left, _, right) => {
                left.rename(of);
                right.rename(of);
            }
            Self::Call(_, given) => given.iter_mut().for_each(|one| one.rename(of)),
            Self::Power(base, _) => base.rename(of),
        }
    }
}

impl Cond {
    pub(super) fn text(&self) -> String {
        match self {
            Self::Compare(left, how, right) => {
                format!("{} {how} {}", left.text(), right.text())
            }
            Self::Within(of, low, high) => {
                format!("{} within {} to {}", of.text(), low.text(), high.text())
            }
            Self::Inside(of, range) => format!("{} within {range}", of.text()),
            Self::Is(path, denied, value, _) => {
                let is = if *denied { "is not" } else { "is" };
                format!("{path} {is} {value}")
            }
            Self::OneOf(path, values, _) => format!("{path} is one of {}", values.join(", ")),
            Self::Stated(path) => format!("{path} stated"),
            Self::Asked(path, how) => format!("{path} {how}"),
            Self::And(all) => Self::joined(all, " and "),
            Self::Or(all) => Self::joined(all, " or "),
            Self::Not(one) => format!("not ({})", one.text()),
        }
    }

    fn joined(all: &[Self], by: &str) -> String {
        let all: Vec<String> = all.iter().map(|one| format!("({})", one.text())).collect();
        all.join(by)
    }

    /// Every part, this one first.
    pub(super) fn each(&mut self, act: &mut dyn FnMut(&mut Self)) {
        act(self);
        match self {
            Self::And(all) | Self::Or(all) => all.iter_mut().for_each(|one| one.each(act)),
            Self::Not(one) => one.each(act),
            _ => {}
        }
    }

    pub(super) fn numbers(&mut self, act: &mut dyn FnMut(&mut Num)) {
        self.each(&mut |one| match one {
            Self::Compare(left, _, right) => {
                left.visit(act);
                right.visit(act);
            }
            Self::Within(of, low, high) => {
                of.visit(act);
                act(low);
                act(high);
            }
            Self::Inside(of, _) => of.visit(act),
            _ => {}
        });
    }

    pub(super) fn rename(&mut self, of: &dyn Fn(&str) -> String) {
        self.each(&mut |one| match one {
            Self::Compare(left, _, right) => {
                left.rename(of);
                right.rename(of);
            }
            Self::Within(one, ..) => one.rename(of),
            Self::Inside(one, range) => {
                one.rename(of);
                *range = of(range);
            }
            Self::Is(path, ..)
            | Self::OneOf(path, ..)
            | Self::Stated(path)
            | Self::Asked(path, _) => *path = of(path),
            _ => {}
        });
    }
}

impl Cell {
    fn text(&self) -> String {
        match self {
            Self::Span(low, high) => format!("{} to {}", low.text(), high.text()),
            Self::AtLeast(number) => format!("at least {}", number.text()),
            Self::AtMost(number) => format!("at most {}", number.text()),
            Self::Exactly(number) => number.text(),
        }
    }
}

impl Setting {
    fn text(&self) -> String {
        let kind = match &self.what {
            What::Measure(scale) => SCALES[*scale].kind.to_owned(),
            What::Range(scale) => format!("range of {}", SCALES[*scale].kind),
            What::Choice(options) => format!("choice of {}", options.join(", ")),
            What::Text => "text".to_owned(),
            What::YesNo => "yes/no".to_owned(),
            What::Of(kind) => kind.clone(),
        };
        let mut text = format!("  {} {kind}", self.name);
        if let Some((low, high)) = &self.range {
            let _ = write!(text, " from {} to {}", low.text(), high.text());
        }
        if let Some(formula) = &self.formula {
            let _ = write!(text, " = {}", formula.text());
        }
        let _ = write!(text, " \"{}\"", self.name);
        if self.measured {
            return text + " measured by \"a probe\" per practice\n";
        }
        match (&self.dial, &self.what, &self.formula) {
            (Some(dial), ..) => {
                let _ = write!(text, " set in steps of {}", dial.text());
            }
            (None, _, Some(_)) => {}
            (None, What::Measure(_), None) => text += " set",
            (None, _, None) => text += " given",
        }
        text + " per practice\n"
    }
}

impl Room {
    pub(super) fn kind(&self, name: &str) -> Option<&Kind> {
        self.kinds.iter().find(|kind| kind.name == name)
    }

    pub(super) fn records_of(&self, kind: &str) -> Vec<String> {
        let records = self.records.iter().filter(|record| record.kind == kind);
        records.map(|record| record.name.clone()).collect()
    }

    pub(super) fn text(&self) -> String {
        let mut text = "standard \"A made-up room\" edition \"1\"\n\n".to_owned();
        for unit in &self.units {
            let size = Num::plain(unit.size, unit.scale).text();
            let _ = writeln!(text, "unit {} = {size} \"a word of the room\"", unit.name);
        }
        for kind in &self.kinds {
            kind.write(&mut text);
        }
        if !self.instruments.is_empty() {
            text +=
                "\nkind instrument \"instrument\" {\n  due date \"due\" given per practice\n}\n";
        }
        for (name, due) in &self.instruments {
            let _ = write!(
                text,
                "\ninstrument {name} {{\n  due {due}  per practice\n}}\n"
            );
        }
        for record in &self.records {
            let _ = write!(text, "\n{} {}", record.kind, record.name);
            if let Some(parent) = &record.parent {
                let _ = write!(text, " is {parent}");
            }
            text.push_str(" {\n");
            for (setting, value) in &record.values {
                let _ = writeln!(text, "  {setting} {}  per practice", value.text());
            }
            text.push_str("}\n");
        }
        for rule in &self.rules {
            let _ = writeln!(text, "\nrule {} {{", rule.name);
            if let Some(each) = &rule.each {
                let _ = writeln!(text, "  for each {each}");
            }
            for when in &rule.whens {
                let _ = writeln!(text, "  when {}", when.text());
            }
            for (verb, clause) in &rule.clauses {
                let _ = writeln!(text, "  {} {}", verb.word(), clause.text());
            }
            text.push_str("  per practice\n}\n");
        }
        for table in &self.tables {
            table.write(&mut text);
        }
        for deviation in &self.deviations {
            deviation.write(&mut text);
        }
        text
    }

    /// All numbers of the standard, those of what is possible last.
    pub(super) fn numbers(&mut self, act: &mut dyn FnMut(&mut Num)) {
        for rule in &mut self.rules {
            rule.whens.iter_mut().for_each(|when| when.numbers(act));
            let clauses = rule.clauses.iter_mut();
            clauses.for_each(|(_, clause)| clause.numbers(act));
        }
        for table in &mut self.tables {
            for cell in table.cells.iter_mut().flatten().flatten() {
                match cell {
                    Cell::Span(low, high) => {
                        act(low);
                        act(high);
                    }
                    Cell::AtLeast(one) | Cell::AtMost(one) | Cell::Exactly(one) => act(one),
                }
            }
        }
        for deviation in &mut self.deviations {
            deviation.up_to.iter_mut().for_each(&mut *act);
            let when = deviation.when.iter_mut();
            when.for_each(|when| when.numbers(act));
        }
        for record in &mut self.records {
            for (_, value) in &mut record.values {
                match value {
                    Value::Measure(one, _) | Value::AtLeast(one) | Value::AtMost(one) => act(one),
                    Value::Span(low, high) => {
                        act(low);
                        act(high);
                    }
                    Value::Word(_) => {}
                }
            }
        }
        for setting in self.kinds.iter_mut().flat_map(|kind| &mut kind.settings) {
            if let Some(formula) = &mut setting.formula {
                formula.visit(act);
            }
            if let Some((low, high)) = &mut setting.range {
                act(low);
                act(high);
            }
        }
    }
}

impl Kind {
    fn write(&self, text: &mut String) {
        let place = match self.place {
            Place::One => ", one to a run",
            Place::Many => ", many to a run",
            Place::Records | Place::Step => "",
        };
        let word = if self.place == Place::Step {
            "step"
        } else {
            "kind"
        };
        let name = &self.name;
        let _ = writeln!(text, "\n{word} {name}{place} \"{name}\" {{");
        for setting in &self.settings {
            text.push_str(&setting.text());
        }
        if let Some((parts, whole)) = &self.parts {
            let _ = writeln!(text, "  parts {} make {whole} %", parts.join(", "));
        }
        text.push_str("}\n");
    }

    pub(super) fn setting(&self, name: &str) -> Option<&Setting> {
        self.settings.iter().find(|setting| setting.name == name)
    }
}

impl Verb {
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Shall => "shall",
            Self::Should => "should",
            Self::May => "may",
        }
    }
}

impl Table {
    fn write(&self, text: &mut String) {
        let _ = writeln!(text, "\ntable {} by {} {{", self.name, self.by.join(", "));
        if let Some(each) = &self.each {
            let _ = writeln!(text, "  for each {each}");
        }
        let _ = writeln!(text, "  {} {}", self.verb.word(), self.of);
        text.push_str("  per practice\n");
        if self.by.len() > 1 {
            let _ = writeln!(text, "  | {}", self.columns.join(" | "));
        }
        for (row, cells) in self.rows.iter().zip(&self.cells) {
            let _ = write!(text, "  {row}");
            for cell in cells {
                let cell = cell.as_ref().map(Cell::text).unwrap_or_default();
                let _ = write!(text, " | {cell}");
            }
            text.push('\n');
        }
        text.push_str("}\n");
    }
}

impl Deviation {
    fn write(&self, text: &mut String) {
        let _ = writeln!(text, "\ndeviation from {} {{", self.rule);
        if let Some(run) = &self.run {
            let _ = writeln!(text, "  run \"{run}\"");
        }
        if let Some(up_to) = &self.up_to {
            let _ = writeln!(text, "  up to {}", up_to.text());
        }
        if let Some(when) = &self.when {
            let _ = writeln!(text, "  when {}", when.text());
        }
        if let Some(pieces) = &self.pieces {
            let _ = writeln!(text, "  pieces {pieces}");
        }
        let until = &self.until;
        let _ = writeln!(
            text,
            "  because \"a trial\"\n  approved \"the lead, 2026-11-20\"\n  until {until}\n}}"
        );
    }
}
