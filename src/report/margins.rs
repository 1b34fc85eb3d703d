//! Margins for people: a block a setting, the nearest limit first.

use super::fold::fold;
use crate::diagnostic::{Capability, Drift, DriftEnd, Margin, Margins};
use crate::source::{Store, visible};

const NOT_WORKED_OUT: &str = "not worked out with the work that `--budget` allows";

/// Which settings are told of together.
type Group<'g> = &'g dyn Fn(&Margin) -> bool;

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
    if margins.not_counted > 0 {
        let what = match margins.not_counted {
            1 => "1 requirement does not hold already, and is not counted".to_owned(),
            count => format!("{count} requirements do not hold already, and are not counted"),
        };
        text.push_str(&fold(&what, width, "    ", "      "));
    }
    let (told, rest): (Vec<&Margin>, Vec<&Margin>) = margins
        .rows
        .iter()
        .partition(|margin| margin.read && !margin.shared && !is_free(margin));
    if let Some(nearest) = told.first().and_then(|margin| nearest(margin)) {
        text.push_str(&fold(&nearest, width, "    ", "      "));
    }
    for margin in told {
        let head = format!(
            "`{}` ({})",
            visible(&margin.setting),
            visible(&margin.value)
        );
        text.push_str(&fold(&head, width, "    ", "      "));
        for (name, drift) in [("down", &margin.down), ("up", &margin.up)] {
            let line = match drift {
                Some(drift) => told_of(drift, store),
                None => NOT_WORKED_OUT.to_owned(),
            };
            let first = format!("      {name:4}  ");
            text.push_str(&fold(&line, width, &first, &" ".repeat(12)));
        }
        if let Some(capability) = &margin.capability {
            text.push_str(&fold(
                &capability_words(capability),
                width,
                "      ",
                "        ",
            ));
        }
    }
    let names = |is_in: Group<'_>| {
        let of = rest.iter().filter(|margin| is_in(margin));
        let names: Vec<String> = of
            .map(|margin| format!("`{}`", visible(&margin.setting)))
            .collect();
        names.join(", ")
    };
    let groups: [(&str, Group<'_>); 3] = [
        ("may be anything that is possible", &is_free),
        ("cannot drift alone, as shares of one whole", &|margin| {
            margin.shared
        }),
        ("no rule reads", &|margin| !margin.read),
    ];
    for (words, is_in) in groups {
        let names = names(is_in);
        if !names.is_empty() {
            text.push_str(&fold(&format!("{words}: {names}"), width, "    ", "      "));
        }
    }
    if margins
        .rows
        .iter()
        .any(|margin| margin.capability.is_some())
    {
        text.push_str(&fold(
            "Cp and Cpk take a process shown to be stable and scatter that is normally distributed; else they are called Pp and Ppk (ISO 22514)",
            width,
            "    ",
            "      ",
        ));
    }
    text
}

/// Whether no rule ends its drift to either side, as far as is possible.
fn is_free(margin: &Margin) -> bool {
    let free = |drift: &Option<Drift>| {
        let drift = drift.as_ref();
        drift.is_some_and(|drift| drift.end == DriftEnd::Possible)
    };
    margin.capability.is_none() && free(&margin.down) && free(&margin.up)
}

/// The rule that is nearest, and for which setting.
fn nearest(margin: &Margin) -> Option<String> {
    let cut = |drift: &Option<Drift>| match drift {
        Some(Drift {
            size,
            end: DriftEnd::Rule { rule, .. },
            ..
        }) => Some((*size, rule.clone())),
        _ => None,
    };
    let both = [cut(&margin.down), cut(&margin.up)];
    let (_, rule) = both
        .into_iter()
        .flatten()
        .min_by(|one, other| one.0.total_cmp(&other.0))?;
    Some(format!(
        "nearest: `{}`, by `{}`",
        visible(&rule),
        visible(&margin.setting)
    ))
}

/// One setting on a line of its own.
pub(super) fn line(margin: &Margin, store: &Store) -> String {
    let name = visible(&margin.setting);
    let value = visible(&margin.value);
    if !margin.read {
        return format!("`{name}` ({value}): no rule reads it");
    }
    if margin.shared {
        return format!("`{name}` ({value}): cannot drift alone, as a share of a whole");
    }
    let side = |drift: &Option<Drift>| match drift {
        Some(drift) => told_of(drift, store),
        None => NOT_WORKED_OUT.to_owned(),
    };
    let (down, up) = (side(&margin.down), side(&margin.up));
    let mut words = format!("`{name}` ({value}): down {down}; up {up}");
    if let Some(capability) = &margin.capability {
        words.push_str("; ");
        words.push_str(&capability_words(capability));
    }
    words
}

fn told_of(drift: &Drift, store: &Store) -> String {
    let words = if drift.size > 0.0 {
        visible(&drift.words)
    } else {
        "no room".into()
    };
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
            words.push_str(&format!(
                " Cp {}, Cpk {} between the limits of the rules",
                number(cp),
                number(cpk)
            ));
        }
        (None, Some(cpk)) => {
            words.push_str(&format!(
                " Cpk {} to the one limit of the rules",
                number(cpk)
            ));
        }
        _ => words.push_str(" no rule limits it, so it has no Cp and no Cpk"),
    }
    if let Some(own) = capability.of_tolerance {
        words.push_str(&format!("; its own tolerance is a Cp of {}", number(own)));
    }
    words
}
