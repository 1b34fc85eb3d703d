//! The window as text: each freed setting by itself, then all of them together.

use std::io::{self, Write};

use super::Style;
use super::fold::{beside, fold, heading};
use super::phrase::CLOSING;
use crate::diagnostic::{Cut, Extent, FreedSetting, Outcome, SetPoint, Window, Zone, ZoneStretch};
use crate::source::{Span, Store, visible};

/// Column in which what is said of a setting begins.
const COLUMN: usize = 16;
/// A stretch that is not decided and narrower than this part of a dial step, or of the range, is the width of a line.
const HAIR: f64 = 0.1;
const HAIR_OF_RANGE: f64 = 5e-4;

/// Writes the window as text.
///
/// # Errors
/// Whatever `out` fails with.
pub fn window(
    window: &Window,
    store: &Store,
    style: &Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut out = io::BufWriter::with_capacity(1 << 16, out);
    let page = Page {
        window,
        store,
        width: style.width.clamp(40, 1000),
        colour: style.colour,
    };
    page.write(&mut out)?;
    out.flush()
}

struct Page<'r> {
    window: &'r Window,
    store: &'r Store,
    width: usize,
    colour: bool,
}

impl Page<'_> {
    fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let window = self.window;
        let edition = window.edition.as_deref().map_or_else(
            || "no edition stated".to_owned(),
            |edition| format!("edition {}", visible(edition)),
        );
        let heading = format!(
            "{}: {}, against {} ({}, {edition})",
            visible(self.store.get(window.file).name()),
            visible(&window.name),
            visible(self.store.get(window.standard).name()),
            visible(&window.standard_name),
        );
        self.heading(&heading, out)?;
        self.standstill(out)?;
        self.present(out)?;
        if let Some(again) = &window.measure_again {
            out.write_all(fold(&visible(again), self.width, "", "  ").as_bytes())?;
            writeln!(out)?;
        }
        for setting in &window.settings {
            self.setting(setting, out)?;
        }
        self.together(out)?;
        self.cautions(out)?;
        out.write_all(fold(CLOSING, self.width, "", "").as_bytes())?;
        writeln!(out)?;
        for words in &window.taken_out {
            out.write_all(fold(&visible(words), self.width, "", "  ").as_bytes())?;
        }
        let digest = window.digest.get(..12).unwrap_or(&window.digest);
        writeln!(out, "digest {digest}, date {}", window.date)
    }

    fn heading(&self, words: &str, out: &mut dyn Write) -> io::Result<()> {
        heading(words, self.width, self.colour, out)
    }

    fn line(&self, name: &str, text: &str, out: &mut dyn Write) -> io::Result<()> {
        beside(name, text, self.width, COLUMN, out)
    }

    fn place(&self, span: Span) -> String {
        let place = self.store.place(span);
        format!("{}:{}", self.store.get(span.file).name(), place.line)
    }

    fn cut(&self, cut: &Cut) -> String {
        let deviation = if cut.deviation.is_some() {
            ", as a deviation permits"
        } else {
            ""
        };
        format!(
            "{}{deviation} ({})",
            cut_words(cut),
            self.place(cut.standard)
        )
    }

    fn numbered(&self, number: usize) -> Option<&Cut> {
        self.window.cuts.get(number)
    }

    fn standstill(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.window.standstill.is_empty() {
            return Ok(());
        }
        let names: Vec<String> = self.named();
        let line = format!(
            "the run does not pass whatever {} set to; what follows is about the other rules",
            if names.len() == 1 {
                format!("{} is", names[0])
            } else {
                format!("{} are", listed(&names))
            }
        );
        out.write_all(fold(&visible(&line), self.width, "", "  ").as_bytes())?;
        for still in &self.window.standstill {
            let Some(cut) = self.numbered(still.cut) else {
                continue;
            };
            let line = format!("{}; this {}", self.cut(cut), still.words);
            out.write_all(fold(&visible(&line), self.width, "  ", "    ").as_bytes())?;
        }
        writeln!(out)
    }

    fn named(&self) -> Vec<String> {
        let settings = self.window.settings.iter();
        settings
            .map(|setting| format!("`{}`", setting.setting))
            .collect()
    }

    fn present(&self, out: &mut dyn Write) -> io::Result<()> {
        let Some(line) = present_words(self.window) else {
            return Ok(());
        };
        out.write_all(fold(&visible(&line), self.width, "", "  ").as_bytes())?;
        writeln!(out)
    }

    fn setting(&self, setting: &FreedSetting, out: &mut dyn Write) -> io::Result<()> {
        let title = match &setting.sentence {
            Some(sentence) => format!("{}: {sentence}", setting.setting),
            None => setting.setting.clone(),
        };
        let title = fold(&visible(&title), self.width, "", "  ");
        if self.colour {
            writeln!(out, "\u{1b}[1m{}\u{1b}[0m", title.trim_end())?;
        } else {
            out.write_all(title.as_bytes())?;
        }
        let why = setting.extent.words();
        let tolerance = setting.tolerance.as_ref().map_or_else(
            || ", taken as exact".to_owned(),
            |tolerance| format!(", {tolerance} wherever it is set"),
        );
        let looked = format!("{}, {why}{tolerance}", setting.range);
        self.line("looked at", &looked, out)?;
        if !setting.others.is_empty() {
            self.line("with", &setting.others, out)?;
        }
        if setting.stretches.is_empty() {
            self.line(
                "alone",
                "not looked at, as another freed setting has no value yet",
                out,
            )?;
        }
        let shown: Vec<&ZoneStretch> = setting
            .stretches
            .iter()
            .filter(|stretch| !is_hair(setting, stretch))
            .collect();
        for (index, stretch) in shown.iter().enumerate() {
            let before = index.checked_sub(1).and_then(|before| shown.get(before));
            let after = shown.get(index + 1);
            self.stretch(setting, stretch, before.copied(), after.copied(), out)?;
        }
        let any = shown.iter().any(|stretch| stretch.zone == Zone::Holds);
        if !any && !shown.is_empty() {
            let words = if shown.iter().any(|stretch| stretch.zone == Zone::NotDecided) {
                "none was found"
            } else {
                "nowhere"
            };
            self.line("holds", words, out)?;
        }
        writeln!(out)
    }

    fn stretch(
        &self,
        setting: &FreedSetting,
        stretch: &ZoneStretch,
        before: Option<&ZoneStretch>,
        after: Option<&ZoneStretch>,
        out: &mut dyn Write,
    ) -> io::Result<()> {
        let (low, high) = (&stretch.low, &stretch.high);
        let suffix = format!(" {}", setting.unit);
        let joined = |low: &str, high: &str| {
            if low == high {
                return high.to_owned();
            }
            format!("{} to {high}", low.strip_suffix(&suffix).unwrap_or(low))
        };
        let ends = joined(&low.words, &high.words);
        let text = match (&stretch.dial, stretch.zone) {
            (Some(((_, from), (_, to))), Zone::Holds) => {
                let dial = joined(from, to);
                if dial == ends {
                    dial
                } else {
                    format!("{dial} on the dial; {ends}")
                }
            }
            (None, Zone::Holds) if setting.step.is_some() => {
                format!("{ends}, between two steps of the dial")
            }
            _ => ends,
        };
        let mut text = text;
        if stretch.zone != Zone::Holds
            && let Some(cut) = stretch.by.and_then(|number| self.numbered(number))
        {
            text = format!("{text}, by `{}`", cut.rule);
            if let Some(why) = &stretch.why {
                text = format!("{text}: {why}");
            }
        }
        self.line(stretch.zone.words(), &text, out)?;
        if stretch.zone != Zone::Holds {
            return Ok(());
        }
        for (end, beside, name) in [(low, before, "lower end"), (high, after, "upper end")] {
            let text = match (beside, end.cut.and_then(|number| self.numbered(number))) {
                (None, _) => "the end of what was looked at".to_owned(),
                (Some(beside), Some(cut)) => {
                    let open = if end.within {
                        ""
                    } else {
                        "; the end itself is not in it"
                    };
                    let _ = beside;
                    format!("{}{open}", self.cut(cut))
                }
                (Some(_), None) => "not closed in on further".to_owned(),
            };
            let indent = " ".repeat(COLUMN);
            let first = format!("{indent}{name}: ");
            let text = fold(&visible(&text), self.width, &first, &format!("{indent}  "));
            out.write_all(text.as_bytes())?;
        }
        Ok(())
    }

    fn together(&self, out: &mut dyn Write) -> io::Result<()> {
        let window = self.window;
        let several = window.settings.len() > 1;
        if several {
            let names = listed(&self.named());
            let title = fold(&visible(&format!("{names} together")), self.width, "", "  ");
            if self.colour {
                writeln!(out, "\u{1b}[1m{}\u{1b}[0m", title.trim_end())?;
            } else {
                out.write_all(title.as_bytes())?;
            }
            self.shares(out)?;
        }
        if let Some(nearest) = &window.nearest {
            self.set_point("nearest", nearest, false, out)?;
        }
        if let Some(best) = &window.best {
            self.set_point("most margin", best, true, out)?;
        }
        if window.best.is_none() {
            let all = |setting: &FreedSetting| setting.extent == Extent::Possible;
            let words = if window.until_read {
                "by the readings as they are none is shown to hold; what is at risk may hold once they are taken there"
            } else if window.empty && window.settings.iter().all(all) {
                "no set point holds: this was shown for all of them"
            } else if window.empty {
                "no set point that was looked at holds: this was shown for all of them"
            } else if window.only_as_set() {
                "as it is set now it holds; of no other set point was that shown"
            } else if window.boxes.iter().any(|part| part.zone == Zone::Holds) {
                "no set point on the dials was found that holds"
            } else if window.shares.not_decided <= window.shares.sampled * 1.000_1 {
                "none was found that holds; it cannot be shown of all of them, as some figures are sampled"
            } else {
                "none was found that holds; what is not decided may hold one, and a larger `--budget` looks closer"
            };
            self.line("set point", words, out)?;
            let clash: Vec<&Cut> = window
                .clash
                .iter()
                .filter_map(|number| self.numbered(*number))
                .collect();
            for (index, cut) in clash.iter().enumerate() {
                let name = match (index, clash.len()) {
                    (0, 1) => "by",
                    (0, _) if window.empty && !window.until_read => "these clash",
                    (0, _) => "in the way",
                    _ => "",
                };
                self.line(name, &self.cut(cut), out)?;
            }
        }
        writeln!(out)
    }

    fn shares(&self, out: &mut dyn Write) -> io::Result<()> {
        let text = format!("{} of all set points looked at", shares_words(self.window));
        self.line("shares", &text, out)?;
        for words in notes(self.window) {
            let indent = " ".repeat(COLUMN);
            out.write_all(fold(&words, self.width, &indent, &format!("{indent}  ")).as_bytes())?;
        }
        Ok(())
    }

    fn set_point(
        &self,
        name: &str,
        point: &SetPoint,
        with_box: bool,
        out: &mut dyn Write,
    ) -> io::Result<()> {
        self.line(name, &point_words(self.window, point), out)?;
        let indent = " ".repeat(COLUMN);
        let mut more = |words: String| {
            let text = fold(
                &visible(&words),
                self.width,
                &indent,
                &format!("{indent}  "),
            );
            out.write_all(text.as_bytes())
        };
        if with_box {
            more(space_words(self.window, point))?;
        }
        let passes = self.window.standstill.is_empty();
        let counts = Outcome::ALL
            .map(|outcome| format!("{} {}", outcome.word(), point.counts.of(outcome)))
            .join(", ");
        let how = if passes {
            "checked as a plan, it passes"
        } else {
            "checked as a plan, it does not pass, for what is said at the top"
        };
        more(format!("{how}: {counts}"))?;
        for warning in &point.warnings {
            more(format!("warning: {warning}"))?;
        }
        Ok(())
    }

    fn cautions(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.window.cautions.is_empty() {
            return Ok(());
        }
        self.heading("cautions", out)?;
        for caution in &self.window.cautions {
            let mut words = visible(&caution.words).into_owned();
            if let Some(source) = &caution.source {
                words.push_str(&format!(" (source: {})", visible(source)));
            }
            let first = format!("  {}: ", visible(&caution.name));
            out.write_all(fold(&words, self.width, &first, "    ").as_bytes())?;
        }
        writeln!(out)
    }
}

/// Whether a stretch is no more than the width of an edge.
pub(super) fn is_hair(setting: &FreedSetting, stretch: &ZoneStretch) -> bool {
    if stretch.zone != Zone::NotDecided {
        return false;
    }
    let width = stretch.high.at - stretch.low.at;
    let dial = setting.step.as_ref().map_or(0.0, |(step, _)| step * HAIR);
    width <= dial.max((setting.high - setting.low).abs() * HAIR_OF_RANGE)
}

/// `as set now, …: holds`; nothing where not all is set.
pub(super) fn present_words(window: &Window) -> Option<String> {
    let present = window.present.as_ref()?;
    let set: Vec<String> = window
        .settings
        .iter()
        .filter_map(|setting| {
            let (_, words) = setting.present.as_ref()?;
            Some(format!("`{}` {words}", setting.setting))
        })
        .collect();
    let mut rules: Vec<String> = Vec::new();
    for number in &present.failing {
        let rule = window
            .cuts
            .get(*number)
            .map(|cut| format!("`{}`", cut.rule));
        rules.extend(rule.filter(|rule| !rules.contains(rule)));
    }
    let by = if rules.is_empty() {
        String::new()
    } else {
        format!(" by {}", listed(&rules))
    };
    let zone = present.zone.words();
    Some(format!("as set now, {}: {zone}{by}", listed(&set)))
}

/// The values of a set point.
pub(super) fn point_words(window: &Window, point: &SetPoint) -> String {
    let values: Vec<String> = window
        .settings
        .iter()
        .zip(&point.words)
        .map(|(setting, words)| format!("`{}` {words}", setting.setting))
        .collect();
    listed(&values)
}

/// The box around a set point.
pub(super) fn space_words(window: &Window, point: &SetPoint) -> String {
    let ends: Vec<String> = window
        .settings
        .iter()
        .zip(&point.around)
        .map(|(setting, ((_, low), (_, high)))| {
            let suffix = format!(" {}", setting.unit);
            let low = low.strip_suffix(&suffix).unwrap_or(low);
            if high.strip_suffix(&suffix).unwrap_or(high) == low {
                return format!("`{}` {high}", setting.setting);
            }
            format!("`{}` {low} to {high}", setting.setting)
        })
        .collect();
    let any = if ends.len() > 1 {
        ", in any combination"
    } else {
        ""
    };
    format!("space around it: {}{any}", listed(&ends))
}

/// How much of what was looked at comes to what.
pub(super) fn shares_words(window: &Window) -> String {
    let text: Vec<String> = Zone::ALL
        .iter()
        .filter(|zone| **zone != Zone::Fails || window.shares.fails > 0.0)
        .map(|zone| format!("{} {}", zone.words(), percent(share(window, *zone))))
        .collect();
    text.join(", ")
}

/// What is meant by the shares, where that needs a word.
pub(super) fn notes(window: &Window) -> Vec<String> {
    let mut found = Vec::new();
    if window.shares.fails > 0.0 {
        let words = "does not hold: it is at risk or breaks, which of the two was not worked out";
        found.push(words.to_owned());
    }
    if window.shares.sampled > 0.001 {
        found.push(format!(
            "not decided: in {} the figures are only sampled, so a check shows nothing there and a larger `--budget` \
             changes nothing; `strikeoff check` says what decides",
            percent(window.shares.sampled)
        ));
    }
    found
}

/// The share of one zone.
pub(super) fn share(window: &Window, zone: Zone) -> f64 {
    match zone {
        Zone::Holds => window.shares.holds,
        Zone::AtRisk => window.shares.at_risk,
        Zone::Breaks => window.shares.breaks,
        Zone::Fails => window.shares.fails,
        Zone::NotDecided => window.shares.not_decided,
    }
}

/// What a demand is called: the rule, what it wants, and of what.
pub(super) fn cut_words(cut: &Cut) -> String {
    let subject = cut
        .subject
        .as_ref()
        .map_or_else(String::new, |subject| format!(" for {subject}"));
    format!("`{}` wants {}{subject}", cut.rule, cut.wants)
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// A share in percent; one that is not nothing is never written so.
pub(super) fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent <= 0.0 {
        return "0 %".to_owned();
    }
    if percent < 0.1 {
        return "under 0.1 %".to_owned();
    }
    if percent > 99.9 && share < 1.0 - 1e-12 {
        return "over 99.9 %".to_owned();
    }
    let text = format!("{percent:.1}");
    format!("{} %", text.strip_suffix(".0").unwrap_or(&text))
}
