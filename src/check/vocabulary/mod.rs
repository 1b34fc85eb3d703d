//! What can be written against a standard, in words: all of it, or what one name means.

mod lists;
mod settings;

use crate::diagnostic::{Vocabulary, WordChapter, WordEntry};
use crate::names::{did_you_mean, nearest};
use crate::source::{Span, Store};
use crate::types::{KindId, PlaceInRun, RecordId, RuleForm, Standard};

use settings::{of_setting, setting_words};

/// Why there is no page for a name: what to say of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSuchWord {
    /// A sentence on what to try.
    pub help: String,
}

/// The vocabulary of a standard: an overview, or all that is known of one name. `title` is what the standard is
/// called in the overview.
///
/// # Errors
/// What to try, where nothing has the name.
pub fn vocabulary(
    store: &Store,
    standard: &Standard,
    title: &str,
    name: Option<&str>,
) -> Result<Vocabulary, NoSuchWord> {
    let page = Page { store, standard };
    match name {
        None => Ok(page.overview(title)),
        Some(name) => page.of(name),
    }
}

struct Page<'a> {
    store: &'a Store,
    standard: &'a Standard,
}

impl Page<'_> {
    fn overview(&self, title: &str) -> Vocabulary {
        let standard = self.standard;
        let mut kinds = Vec::new();
        for (id, kind) in standard.numbered_kinds() {
            let count = |number: usize, one: &str| {
                let many = if number == 1 { "" } else { "s" };
                format!("{number} {one}{many}")
            };
            let mut words = place_words(kind.place).to_owned();
            if let Some(sentence) = &kind.sentence {
                words = format!("{sentence}; {words}");
            }
            let records = standard.records_of(id).count();
            words = format!("{words}; {}", count(kind.fields.len(), "setting"));
            if records > 0 {
                words = format!("{words}, {}", count(records, "record"));
            }
            kinds.push(entry(&kind.name, words));
        }
        let mut chapters = vec![chapter("kinds", kinds)];
        let mut rules = Vec::new();
        for rule in &standard.rules {
            let sort = match rule.form {
                RuleForm::Rule if rule.table.is_some() => "table",
                RuleForm::Rule => "rule",
                RuleForm::Caution(_) => "caution",
            };
            let title = rule.title.as_deref().unwrap_or("no title");
            rules.push(entry(&rule.name, format!("{sort}: {title}")));
        }
        chapters.push(chapter("rules, tables and cautions", rules));
        chapters.push(chapter("functions", lists::functions()));
        chapters.push(chapter("units", lists::units()));
        Vocabulary {
            title: title.to_owned(),
            chapters: chapters
                .into_iter()
                .filter(|chapter| !chapter.entries.is_empty())
                .collect(),
            next: vec![
                "`strikeoff words KIND` lists the settings and records of a kind".to_owned(),
                "`strikeoff words KIND.SETTING`, a record, a rule, a function or a unit says all of it"
                    .to_owned(),
            ],
        }
    }

    fn of(&self, name: &str) -> Result<Vocabulary, NoSuchWord> {
        let standard = self.standard;
        let mut chapters = Vec::new();
        let mut next = Vec::new();
        if let Some(&kind) = standard.kind_names.get(name) {
            self.of_kind(kind, &mut chapters, &mut next);
        }
        match name.rsplit_once('.') {
            Some((path, setting)) => {
                let kinds = self.kinds_at(path);
                for kind in &kinds {
                    if let Some(&field) = standard.kind(*kind).field_names.get(setting) {
                        chapters.push(of_setting(self.store, standard, *kind, field));
                    }
                }
                if let ([kind], true) = (kinds.as_slice(), chapters.is_empty()) {
                    return Err(self.no_setting(*kind, setting));
                }
            }
            None => {
                for (kind, field, of) in standard.numbered_fields() {
                    if of.name == name {
                        chapters.push(of_setting(self.store, standard, kind, field));
                    }
                }
            }
        }
        for (id, record) in standard.numbered_records() {
            if record.name == name {
                chapters.push(self.of_record(id));
            }
        }
        for rule in &standard.rules {
            if rule.name == name {
                chapters.push(WordChapter {
                    heading: format!("`{name}`, as it is written"),
                    entries: Vec::new(),
                    lines: self.block_at(rule.span),
                });
            }
        }
        chapters.extend(lists::function(name));
        chapters.extend(lists::unit(name));
        chapters.extend(lists::dimension(name));
        if chapters.is_empty() {
            return Err(self.unknown(name));
        }
        Ok(Vocabulary {
            title: name.to_owned(),
            chapters,
            next,
        })
    }

    /// The kinds that a path without its last word may lead to: `screen.ink` to the kind of an ink.
    fn kinds_at(&self, path: &str) -> Vec<KindId> {
        let mut parts = path.split('.');
        let first = parts.next().unwrap_or_default();
        let mut at: Vec<KindId> = self
            .standard
            .kind_names
            .get(first)
            .copied()
            .into_iter()
            .collect();
        for part in parts {
            at = at
                .into_iter()
                .filter_map(|kind| settings::leads_to(self.standard, kind, part))
                .collect();
        }
        at
    }

    fn of_kind(&self, id: KindId, chapters: &mut Vec<WordChapter>, next: &mut Vec<String>) {
        let kind = self.standard.kind(id);
        let settings = kind.numbered_fields();
        let settings =
            settings.map(|(_, field)| entry(&field.name, setting_words(self.standard, field)));
        let sentence = kind.sentence.as_ref();
        let sentence = sentence.map_or_else(String::new, |words| format!(", {words}"));
        chapters.push(chapter(
            &format!(
                "settings of `{}`{sentence} ({})",
                kind.name,
                place_words(kind.place)
            ),
            settings.collect(),
        ));
        let records: Vec<WordEntry> = self
            .standard
            .records_of(id)
            .map(|(_, record)| {
                let parent = record
                    .parent
                    .map(|parent| &self.standard.record(parent).name);
                let words = match (parent, &record.title) {
                    (Some(parent), Some(title)) => format!("{title}; a {parent}"),
                    (Some(parent), None) => format!("a {parent}"),
                    (None, Some(title)) => title.clone(),
                    (None, None) => "no title".to_owned(),
                };
                entry(&record.name, words)
            })
            .collect();
        if !records.is_empty() {
            chapters.push(chapter(&format!("records of `{}`", kind.name), records));
        }
        if let Some(field) = kind.fields.first() {
            next.push(format!(
                "`strikeoff words {}.{}` says all of a setting",
                kind.name, field.name
            ));
        }
    }

    /// What a record states, its own and what it takes over.
    fn of_record(&self, id: RecordId) -> WordChapter {
        let record = self.standard.record(id);
        let kind = self.standard.kind(record.kind);
        let mut entries = Vec::new();
        for (field, of) in kind.numbered_fields() {
            let mut above = self.standard.ancestry(id);
            let found = above.find_map(|at| {
                let of = self.standard.record(at);
                let stated = of.values.get(field.index())?.as_ref()?;
                Some((at, of, stated))
            });
            if let Some((at, by, stated)) = found {
                let mut words = self.text(stated.span);
                if at != id {
                    words = format!("{words}, as `{}`", by.name);
                }
                entries.push(entry(&of.name, words));
            }
        }
        let parent = record
            .parent
            .map(|parent| &self.standard.record(parent).name);
        let parent = parent.map_or_else(String::new, |parent| format!(" is {parent}"));
        chapter(&format!("`{} {}{parent}`", kind.name, record.name), entries)
    }

    fn text(&self, span: Span) -> String {
        let text = self.store.get(span.file).text();
        let words = text.get(span.start as usize..span.end as usize);
        let words = words.unwrap_or_default().split_whitespace();
        words.collect::<Vec<_>>().join(" ")
    }

    /// The whole lines of a statement, from the one it is named on to the end of its block.
    fn block_at(&self, span: Span) -> String {
        let text = self.store.get(span.file).text();
        let start = text
            .get(..span.start as usize)
            .and_then(|before| before.rfind('\n'));
        let rest = text.get(start.map_or(0, |at| at + 1)..).unwrap_or_default();
        let mut lines = Vec::new();
        for line in rest.lines() {
            lines.push(line);
            if line.starts_with('}') {
                break;
            }
        }
        lines.join("\n")
    }

    fn no_setting(&self, kind: KindId, setting: &str) -> NoSuchWord {
        let kind = self.standard.kind(kind);
        let known = kind.fields.iter().map(|field| field.name.as_str());
        let near = did_you_mean(setting, known).map(|help| format!("; {help}"));
        NoSuchWord {
            help: format!(
                "`{0}` has no setting `{setting}`{1}; `strikeoff words {0}` lists them",
                kind.name,
                near.unwrap_or_default()
            ),
        }
    }

    fn unknown(&self, name: &str) -> NoSuchWord {
        let standard = self.standard;
        let kinds = standard.kinds.iter().map(|kind| kind.name.as_str());
        let settings = standard
            .numbered_fields()
            .map(|(.., field)| field.name.as_str());
        let records = standard.records.iter().map(|record| record.name.as_str());
        let rules = standard.rules.iter().map(|rule| rule.name.as_str());
        let mut known: Vec<&str> = kinds.chain(settings).chain(records).chain(rules).collect();
        for function in lists::function_names() {
            known.push(function);
        }
        let near = nearest(name, known);
        NoSuchWord {
            help: match near {
                Some(near) => format!("nothing is called `{name}`; did you mean `{near}`?"),
                None => {
                    format!("nothing is called `{name}`; `strikeoff words` lists what there is")
                }
            },
        }
    }
}

fn place_words(place: PlaceInRun) -> &'static str {
    match place {
        PlaceInRun::One => "one to a run",
        PlaceInRun::Many => "many to a run, each with a name",
        PlaceInRun::Record => "records only: a plan names one",
        PlaceInRun::Step => "a step of the sequence",
    }
}

fn entry(name: &str, words: impl Into<String>) -> WordEntry {
    WordEntry {
        name: name.to_owned(),
        words: words.into(),
    }
}

fn chapter(heading: &str, entries: Vec<WordEntry>) -> WordChapter {
    WordChapter {
        heading: heading.to_owned(),
        entries,
        lines: String::new(),
    }
}
