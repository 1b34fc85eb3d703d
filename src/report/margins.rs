//! Margins for people: a block a setting, the nearest limit first.

use super::fold::fold;
use crate::diagnostic::{Capability, Drift, DriftEnd, Margin, Margins};
use crate::source::{Store, visible};

/// The margins of one plan.
pub(super) fn margins(margins: &Margins, store: &Store, width: usize) -> String {
    let mut text = String::new();
    if margins.rows.is_empty() {
        text.push_str("  margins: the plan states no number\n");
        return text;
    }
    text.push_str(&fold(
        "margins: how far each setting may drift, its tolerance with it, before something that holds stops holding",
        width,
        "  ",
        "    ",
    ));
    let (told, rest): (Vec<&Margin>, Vec<&Margin>) = margins
        .rows
        .iter()
        .partition(|margin| margin.read && !margin.shared);
    for margin in told {
        let head = format!("`{}` ({})", visible(&margin.setting), visible(&margin.value));
        text.push_str(&fold(&head, width, "    ", "      "));
        for (name, drift) in [("down", &margin.down), ("up", &margin.up)] {
            let line = match drift {
                Some(drift) => told_of(drift, store),
                None => "not worked out with the work that `--budget` allows".to_owned(),
            };
            let first = format!("      {name:4}  ");
            text.push_str(&fold(&line, width, &first, &" ".repeat(12)));
        }
        if let Some(capability) = &margin.capability {
            text.push_str(&fold(&capability_words(capability), width, "      ", "        "));
        }
    }
    let names = |shared: bool| {
        let of = rest.iter().filter(|margin| margin.shared == shared);
        let names: Vec<String> = of
            .map(|margin| format!("`{}`", visible(&margin.setting)))
            .collect();
        names.join(", ")
    };
    for (words, shared) in [
        ("cannot drift alone, as they are shares of one whole", true),
        ("no rule that applies or could apply reads", false),
    ] {
        let names = names(shared);
        if !names.is_empty() {
            text.push_str(&fold(&format!("{words}: {names}"), width, "    ", "      "));
        }
    }
    if margins.rows.iter().any(|margin| margin.capability.is_some()) {
        text.push_str(&fold(
            "Cp and Cpk take a process shown to be stable and scatter that is normally distributed; else they are called Pp and Ppk (ISO 22514)",
            width,
            "    ",
            "      ",
        ));
    }
    text
}

fn told_of(drift: &Drift, store: &Store) -> String {
    let words = visible(&drift.words);
    match &drift.end {
        DriftEnd::Rule {
            rule,
            subject,
            place,
        } => {
            let file = store.get(place.file);
            let line = file.place(place.start as usize).line;
            let about = subject
                .as_ref()
                .map(|subject| format!(" for {}", visible(subject)))
                .unwrap_or_default();
            format!(
                "{words}, then `{}`{about} ({}:{line})",
                visible(rule),
                visible(file.name())
            )
        }
        DriftEnd::Possible => format!("{words}, as far as is possible"),
        DriftEnd::Looked => format!("{words} and more; further was not looked"),
    }
}

fn capability_words(capability: &Capability) -> String {
    let mut words = format!("sd {}:", visible(&capability.deviation));
    let number = |value: f64| format!("{value:.2}");
    match (capability.cp, capability.cpk) {
        (Some(cp), Some(cpk)) => {
            words.push_str(&format!(" Cp {}, Cpk {} between the limits of the rules", number(cp), number(cpk)));
        }
        (None, Some(cpk)) => {
            words.push_str(&format!(" Cpk {} to the one limit of the rules", number(cpk)));
        }
        _ => words.push_str(" no rule limits it, so it has no Cp and no Cpk"),
    }
    if let Some(own) = capability.of_tolerance {
        words.push_str(&format!("; its own tolerance is a Cp of {}", number(own)));
    }
    words
}
