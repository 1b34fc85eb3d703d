//! The window as one HTML page that loads nothing and runs nothing: the picture, whose boxes say what they are when they are
//! pointed at, and the numbers as tables.

use super::document::html_escape as escape;
use super::phrase::CLOSING;
use super::picture::window_picture;
use super::window::{
    cut_words, is_hair, notes, point_words, present_words, shares_words, space_words,
};
use crate::diagnostic::{Window, Zone};
use crate::source::Store;

const STYLE: &str = "body { font-family: Helvetica, Arial, sans-serif; margin: 1.5em; color: black; background: white; }
svg { max-width: 100%; height: auto; }
table { border-collapse: collapse; margin: 0.5em 0 1.5em 0; }
th, td { border: 1px solid #888; padding: 0.25em 0.6em; text-align: left; vertical-align: top; }
@media print { body { margin: 0; } }
";

/// The window as a page.
#[must_use]
pub fn window_page(window: &Window, store: &Store) -> String {
    let mut out = String::from(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\" />\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\" />\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n<title>",
    );
    escape(&format!("Window of {}", window.name), &mut out);
    out.push_str("</title>\n<style>\n");
    out.push_str(STYLE);
    out.push_str("</style>\n</head>\n<body>\n");
    out.push_str(&window_picture(window));
    let mut paragraphs: Vec<String> = Vec::new();
    paragraphs.extend(present_words(window));
    paragraphs.extend(window.measure_again.clone());
    for still in &window.standstill {
        if let Some(cut) = window.cuts.get(still.cut) {
            paragraphs.push(format!(
                "whatever is set here: {}; this {}",
                cut_words(cut),
                still.words
            ));
        }
    }
    paragraphs.push(format!(
        "{} of all set points looked at",
        shares_words(window)
    ));
    paragraphs.extend(notes(window));
    if let Some(nearest) = &window.nearest {
        paragraphs.push(format!("nearest: {}", point_words(window, nearest)));
    }
    if let Some(best) = &window.best {
        paragraphs.push(format!("most margin: {}", point_words(window, best)));
        paragraphs.push(space_words(window, best));
    }
    for paragraph in paragraphs {
        tagged("p", &paragraph.replace('`', ""), &mut out);
    }
    for setting in &window.settings {
        let with = if setting.others.is_empty() {
            String::new()
        } else {
            format!(", with {}", setting.others.replace('`', ""))
        };
        tagged("h2", &format!("{}{with}", setting.setting), &mut out);
        out.push_str("<table>\n<tr><th>it</th><th>from</th><th>to</th><th>on the dial</th><th>what cuts it</th></tr>\n");
        let shown = setting.stretches.iter();
        for stretch in shown.filter(|stretch| !is_hair(setting, stretch)) {
            out.push_str("<tr>");
            tagged("td", stretch.zone.words(), &mut out);
            tagged("td", &stretch.low.words, &mut out);
            tagged("td", &stretch.high.words, &mut out);
            let dial = match (&stretch.dial, stretch.zone) {
                (Some(((_, low), (_, high))), Zone::Holds) => format!("{low} to {high}"),
                _ => String::new(),
            };
            tagged("td", &dial, &mut out);
            let mut cuts: Vec<String> = Vec::new();
            let numbers = match stretch.zone {
                Zone::Holds => vec![stretch.low.cut, stretch.high.cut],
                _ => vec![stretch.by],
            };
            for number in numbers.into_iter().flatten() {
                let words = window.cuts.get(number).map(|cut| {
                    let place = store.place(cut.standard);
                    let file = store.get(cut.standard.file).name();
                    format!(
                        "{} ({file}:{})",
                        cut_words(cut).replace('`', ""),
                        place.line
                    )
                });
                cuts.extend(words.filter(|words| !cuts.contains(words)));
            }
            tagged("td", &cuts.join("; "), &mut out);
            out.push_str("</tr>\n");
        }
        out.push_str("</table>\n");
    }
    if !window.cautions.is_empty() {
        tagged("h2", "Cautions", &mut out);
        out.push_str("<ul>\n");
        for caution in &window.cautions {
            tagged(
                "li",
                &format!("{}: {}", caution.name, caution.words),
                &mut out,
            );
        }
        out.push_str("</ul>\n");
    }
    tagged("p", CLOSING, &mut out);
    let digest = window.digest.get(..12).unwrap_or(&window.digest);
    tagged(
        "p",
        &format!(
            "{}, against {}, digest {digest}, date {}",
            window.name, window.standard_name, window.date
        ),
        &mut out,
    );
    out.push_str("</body>\n</html>\n");
    out
}

fn tagged(tag: &str, words: &str, out: &mut String) {
    out.push_str(&format!("<{tag}>"));
    escape(words, out);
    out.push_str(&format!("</{tag}>\n"));
}
