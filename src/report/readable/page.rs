//! What stands on the page, in which order.

use std::collections::HashSet;

use super::records::{anchor, short};
use crate::diagnostic::{ClauseOutline, Ground, Outline, Rests, RuleOutline, Wording};
use crate::report::document::{Block, Document, Inline, code, text};
use crate::report::phrase;
use crate::source::{Span, Store};

/// Puts the page together.
pub(super) fn page(outline: &Outline, store: &Store) -> Document {
    let mut writer = Writer {
        store,
        blocks: Vec::new(),
        headed: headed(outline),
    };
    writer.head(outline);
    writer.rules(outline);
    for group in outline.groups.iter().filter(|group| group.decides) {
        writer.group(&format!("By {}", group.kind), group, outline);
    }
    // Further parts of a standard, such as the pieces printed to test it, stand before the cautions.
    for (index, chapter) in outline.chapters.iter().enumerate() {
        writer.heading(2, format!("chapter-{}", index + 1), &chapter.title);
        writer.paragraph(vec![text(&*chapter.sentence)]);
        let cell = |cell: &String| vec![text(&**cell)];
        let rows = chapter.rows.iter();
        writer.blocks.push(Block::Table {
            columns: chapter.columns.clone(),
            rows: rows.map(|row| row.iter().map(cell).collect()).collect(),
        });
    }
    if !outline.cautions.is_empty() {
        writer.heading(2, "cautions".to_owned(), "Cautions");
        for caution in &outline.cautions {
            writer.rule("caution", caution);
        }
    }
    let others = outline.groups.iter().filter(|group| !group.decides);
    for group in others {
        let title = format!("Other records: {}", group.kind);
        match short(group) {
            Some(settings) => writer.in_one_table(&title, group, &settings),
            None => writer.group(&title, group, outline),
        }
    }
    Document {
        title: outline.title.name.clone(),
        digest: outline.title.digest.clone(),
        blocks: writer.blocks,
    }
}

/// Records with a heading of their own, by kind and name.
fn headed(outline: &Outline) -> HashSet<(&str, &str)> {
    let groups = outline.groups.iter().filter(|group| short(group).is_none());
    groups
        .flat_map(|group| {
            let records = group.records.iter();
            records.map(|record| (group.kind.as_str(), record.name.as_str()))
        })
        .collect()
}

/// Writes block after block.
pub(super) struct Writer<'o> {
    store: &'o Store,
    pub(super) blocks: Vec<Block>,
    /// Records that have a heading of their own.
    headed: HashSet<(&'o str, &'o str)>,
}

impl Writer<'_> {
    pub(super) fn heading(&mut self, level: usize, anchor: String, words: &str) {
        self.blocks.push(Block::Heading {
            level,
            anchor,
            text: vec![text(words)],
        });
    }

    pub(super) fn paragraph(&mut self, words: Vec<Inline>) {
        self.blocks.push(Block::Paragraph(words));
    }

    fn head(&mut self, outline: &Outline) {
        let title = &outline.title;
        let name = if title.name.is_empty() {
            "Standard without a name"
        } else {
            &title.name
        };
        self.heading(1, "standard".to_owned(), name);
        let mut rows = vec![vec![
            vec![text("edition")],
            vec![match &title.edition {
                Some(edition) => Inline::Strong(edition.clone()),
                None => text("none stated"),
            }],
        ]];
        rows.push(vec![vec![text("digest")], vec![code(&*title.digest)]]);
        let mut files = Vec::new();
        for file in &outline.files {
            if !files.is_empty() {
                files.push(text(", "));
            }
            files.push(code(self.store.get(*file).name()));
        }
        rows.push(vec![vec![text("read from")], files]);
        for words in &title.taken_out {
            rows.push(vec![vec![text("without")], vec![text(&**words)]]);
        }
        self.blocks.push(Block::Table {
            columns: vec![String::new(), String::new()],
            rows,
        });
        self.paragraph(vec![
            text("What stands under "),
            Inline::Strong("shall".to_owned()),
            text(" must be kept; "),
            Inline::Strong("should".to_owned()),
            text(" warns; "),
            Inline::Strong("may".to_owned()),
            text(
                " permits what would not hold otherwise. A limit counts as it is written; beside it stands \
                 the same in the other system of units, rounded to four digits. The digest changes \
                 with every change of meaning.",
            ),
        ]);
        self.paragraph(vec![text(phrase::CLOSING)]);
    }

    fn rules(&mut self, outline: &Outline) {
        let (bound, free): (Vec<_>, Vec<_>) = outline
            .rules
            .iter()
            .partition(|rule| !rule.brought_in_by.is_empty());
        if !free.is_empty() {
            self.heading(2, "rules".to_owned(), "Rules for every run");
            for rule in free {
                self.rule("rule", rule);
            }
        }
        if !bound.is_empty() {
            let deciding = outline.groups.iter().filter(|group| group.decides);
            let kinds: Vec<&str> = deciding.map(|group| group.kind.as_str()).collect();
            let title = format!("Rules by {}", kinds.join(" and "));
            self.heading(2, "rules-by".to_owned(), &title);
            for rule in bound {
                self.rule("rule", rule);
            }
        }
    }

    /// A rule or a caution.
    fn rule(&mut self, sort: &str, rule: &RuleOutline) {
        self.blocks.push(Block::Together);
        let mut head = vec![code(&*rule.name)];
        if let Some(title) = &rule.title {
            head.push(text(format!(" {title}")));
        }
        self.blocks.push(Block::Heading {
            level: 3,
            anchor: format!("{sort}-{}", rule.name),
            text: head,
        });
        let mut lines = Vec::new();
        if let Some(each) = &rule.each {
            lines.push(vec![text("for each "), code(&**each)]);
        }
        for when in &rule.when {
            lines.push(worded("when", when));
        }
        for clause in &rule.clauses {
            lines.push(of_clause(clause));
        }
        if let Some(words) = &rule.say {
            lines.push(vec![text(&**words)]);
        }
        for caution in &rule.cautions {
            lines.push(vec![
                Inline::Strong("caution".to_owned()),
                text(format!(" {caution}")),
            ]);
        }
        if let Some(because) = &rule.because {
            lines.push(vec![text(format!("because {because}"))]);
        }
        if let Some(every) = &rule.read_every {
            lines.push(vec![text(format!("read every {every}"))]);
        }
        if let Some(words) = &rule.when_out {
            lines.push(vec![
                Inline::Strong("when out".to_owned()),
                text(format!(" {words}")),
            ]);
        }
        if !rule.adjust.is_empty() {
            let mut line = vec![text("turn first: ")];
            for (index, path) in rule.adjust.iter().enumerate() {
                if index > 0 {
                    line.push(text(", "));
                }
                line.push(code(&**path));
            }
            lines.push(line);
        }
        for deciding in &rule.brought_in_by {
            let mut line = vec![text(format!("with {} ", deciding.kind))];
            for (index, record) in deciding.records.iter().enumerate() {
                if index > 0 {
                    line.push(text(", "));
                }
                line.push(self.link(&deciding.kind, record));
            }
            lines.push(line);
        }
        let by_line = rule
            .clauses
            .iter()
            .all(|clause| clause.rests.on != Ground::Nothing);
        // A rule may leave the source to each of its lines.
        if rule.rests.on != Ground::Nothing || rule.clauses.is_empty() || !by_line {
            lines.push(of_rests(&rule.rests));
        }
        lines.push(vec![text("stated at "), code(self.place(rule.span))]);
        self.blocks.push(Block::List(lines));
    }

    pub(super) fn link(&self, kind: &str, record: &str) -> Inline {
        if self.headed.contains(&(kind, record)) {
            Inline::Link {
                anchor: anchor(kind, record),
                name: record.to_owned(),
            }
        } else {
            code(record)
        }
    }

    pub(super) fn place(&self, span: Span) -> String {
        let file = self.store.get(span.file);
        format!("{}:{}", file.name(), file.place(span.start as usize).line)
    }
}

/// The other system's wordings: nothing where all are alike.
pub(super) fn others(wording: &Wording) -> Vec<(&'static str, &str)> {
    let both = [("SI", &wording.si), ("inch-pound", &wording.inch_pound)];
    both.into_iter()
        .filter(|(_, words)| **words != wording.written)
        .map(|(system, words)| (system, words.as_str()))
        .collect()
}

fn worded(verb: &str, wording: &Wording) -> Vec<Inline> {
    let mut line = vec![
        Inline::Strong(verb.to_owned()),
        text(" "),
        code(&*wording.written),
    ];
    for (system, words) in others(wording) {
        line.push(text(format!("; {system}: ")));
        line.push(code(words));
    }
    line
}

fn of_clause(clause: &ClauseOutline) -> Vec<Inline> {
    let mut line = worded(clause.verb, &clause.condition);
    if clause.rests.on != Ground::Nothing {
        line.push(text("; "));
        line.extend(of_rests(&clause.rests));
    }
    line
}

fn of_rests(rests: &Rests) -> Vec<Inline> {
    let mut words = match &rests.on {
        Ground::Source(name) => format!("source: {name}"),
        Ground::Practice => "source: common practice".to_owned(),
        Ground::Nothing => "no source is stated".to_owned(),
    };
    if let Some(day) = &rests.reviewed {
        words.push_str(&format!(", reviewed {day}"));
    }
    vec![text(words)]
}
