//! The picture of a working as SVG: black on white, told apart by dashes and words rather than by colour.

mod edges;
mod scale;
mod signs;
mod window;

use svg::Document;
use svg::node::element::{Description, Group, Line, Path, Rectangle, Text, Title};

use crate::diagnostic::{Curve, Level, Mark, Panel, Picture, Side};
use crate::source::visible;
use scale::{Scale, apart, tick_words};
pub use window::window_picture;

/// Width of the page, and the margins of a panel.
const WIDTH: f64 = 890.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 262.0;
const TOP: f64 = 64.0;
const PLOT: f64 = 300.0;
const NOTE: f64 = 16.0;
const HEAD: f64 = 40.0;
/// Longest text in the margin and at the top.
const LONGEST_LABEL: usize = 46;
const LONGEST_TITLE: usize = 80;
const LONGEST_NOTE: usize = 130;
/// The tolerances, and the edge of their band.
const BAND: &str = "#d8d8d8";
const BAND_EDGE: &str = "#777777";
/// Dashes of the curves.
const DASHES: [&str; 3] = ["", "7 4", "2 3"];

/// The picture as an SVG document.
#[must_use]
pub fn picture(picture: &Picture) -> String {
    let mut top = HEAD;
    let mut page = Group::new();
    for panel in &picture.panels {
        page = page.add(draw(panel, top));
        top += height(panel);
    }
    if picture.left_out > 0 {
        let words = format!(
            "{} further panels are not drawn; name the figures to see them",
            picture.left_out
        );
        page = page.add(text(LEFT, top + 4.0, &words).set("font-size", 12));
        top += 24.0;
    }
    let title = safe(&picture.title);
    let document = Document::new()
        .set("viewBox", format!("0 0 {WIDTH} {top}"))
        .set("width", format!("{WIDTH}"))
        .set("height", format!("{top}"))
        .set("role", "img")
        .set("aria-labelledby", "title desc")
        .set("font-family", "Helvetica, Arial, sans-serif")
        .add(Title::new(format!("Heat in {title}")).set("id", "title"))
        .add(
            Description::new()
                .set("id", "desc")
                .add(svg::node::Text::new(described(picture))),
        )
        .add(
            Rectangle::new()
                .set("width", "100%")
                .set("height", "100%")
                .set("fill", "white"),
        )
        .add(
            text(LEFT, 26.0, &shortened(&title, LONGEST_TITLE))
                .set("font-size", 16)
                .set("font-weight", "bold"),
        )
        .add(page);
    format!("{document}\n")
}

fn height(panel: &Panel) -> f64 {
    TOP + PLOT + 60.0 + NOTE * (1 + panel.notes.len()) as f64 + 30.0
}

/// What a text from a file looks like in the picture: nothing hidden, nothing XML cannot hold.
fn safe(words: &str) -> String {
    visible(words)
        .replace(['\u{fffe}', '\u{ffff}'], "\u{fffd}")
        .replace('\t', " ")
}

fn shortened(words: &str, longest: usize) -> String {
    if words.chars().count() <= longest {
        return words.to_owned();
    }
    let kept: String = words.chars().take(longest.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// One decimal: a tenth of a point is finer than any printer.
fn point(value: f64) -> String {
    tick_words((value * 10.0).round() / 10.0)
}

fn text(x: f64, y: f64, words: &str) -> Text {
    Text::new(safe(words)).set("x", point(x)).set("y", point(y))
}

/// A text that stays readable over lines.
fn over_lines(text: Text) -> Text {
    text.set("paint-order", "stroke")
        .set("stroke", "white")
        .set("stroke-width", 4)
        .set("stroke-linejoin", "round")
        .set("fill", "black")
}

fn line(from: (f64, f64), to: (f64, f64)) -> Line {
    Line::new()
        .set("x1", point(from.0))
        .set("y1", point(from.1))
        .set("x2", point(to.0))
        .set("y2", point(to.1))
        .set("stroke", "black")
}

fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut data = String::new();
    for (x, y) in points {
        data.push(if data.is_empty() { 'M' } else { 'L' });
        data.push_str(&format!("{} {}", point(x), point(y)));
    }
    data
}

/// The scales of a panel.
struct Plot {
    across: Scale,
    up: Scale,
    top: f64,
    bottom: f64,
    right: f64,
}

impl Plot {
    fn new(panel: &Panel, top: f64) -> Self {
        let mut across = (f64::INFINITY, f64::NEG_INFINITY);
        let mut up = across;
        let wider = |ends: &mut (f64, f64), value: f64| {
            if value.is_finite() {
                *ends = (ends.0.min(value), ends.1.max(value));
            }
        };
        for curve in &panel.curves {
            for (x, y) in &curve.points {
                wider(&mut across, *x);
                wider(&mut up, *y);
            }
            for (_, low, high) in &curve.band {
                wider(&mut up, *low);
                wider(&mut up, *high);
            }
        }
        for limit in &panel.limits {
            wider(&mut up, limit.at);
        }
        let air = ((up.1 - up.0) * 0.06).max(1.0);
        let (bottom, right) = (top + PLOT, WIDTH - RIGHT);
        Self {
            across: Scale::new(across.0, across.1, LEFT, right),
            up: Scale::new(up.0 - air, up.1 + air, bottom, top),
            top,
            bottom,
            right,
        }
    }
}

fn draw(panel: &Panel, top: f64) -> Group {
    let plot = Plot::new(panel, top + TOP);
    let heading = format!("{} ({})", panel.title, panel.setting);
    let mut group = Group::new().set("font-size", 12).add(
        text(LEFT, top + 16.0, &shortened(&heading, LONGEST_TITLE))
            .set("font-size", 14)
            .set("font-weight", "bold"),
    );
    for curve in &panel.curves {
        group = group.add(band(curve, &plot));
    }
    group = axes(group, panel, &plot);
    group = limits(group, &panel.limits, &plot);
    group = marks(group, &panel.marks, &plot);
    for (index, curve) in panel.curves.iter().enumerate() {
        let dash = DASHES[index % DASHES.len()];
        let data = path(
            curve
                .points
                .iter()
                .map(|(x, y)| (plot.across.at(*x), plot.up.at(*y))),
        );
        let mut drawn = Path::new()
            .set("d", data)
            .set("fill", "none")
            .set("stroke", "black")
            .set("stroke-width", if index == 0 { 2.2 } else { 1.6 });
        if !dash.is_empty() {
            drawn = drawn.set("stroke-dasharray", dash);
        }
        group = group.add(drawn);
    }
    keys(group, panel, &plot)
}

/// The rows below a panel: what the lines and the band are, and the notes.
fn keys(mut group: Group, panel: &Panel, plot: &Plot) -> Group {
    let mut y = plot.bottom + 60.0;
    let mut x = LEFT;
    for (index, curve) in panel.curves.iter().enumerate() {
        let sample = stroke(line((x, y - 4.0), (x + 34.0, y - 4.0)), index);
        group = group
            .add(sample)
            .add(text(x + 42.0, y, &curve.name).set("font-size", 11));
        x += 220.0;
    }
    y += NOTE;
    group = group
        .add(
            Rectangle::new()
                .set("x", point(LEFT))
                .set("y", point(y - 9.0))
                .set("width", 34)
                .set("height", 10)
                .set("fill", BAND)
                .set("stroke", BAND_EDGE)
                .set("stroke-width", 0.6),
        )
        .add(text(LEFT + 42.0, y, &panel.band).set("font-size", 11));
    for note in &panel.notes {
        y += NOTE;
        group =
            group.add(text(LEFT + 42.0, y, &shortened(note, LONGEST_NOTE)).set("font-size", 11));
    }
    group
}

/// The stroke of the curve with this number: told apart by dashes.
fn stroke(drawn: Line, index: usize) -> Line {
    let drawn = drawn.set("stroke-width", if index == 0 { 2.2 } else { 1.6 });
    match DASHES[index % DASHES.len()] {
        "" => drawn,
        dash => drawn.set("stroke-dasharray", dash),
    }
}

fn band(curve: &Curve, plot: &Plot) -> Path {
    let high = curve
        .band
        .iter()
        .map(|(x, _, high)| (plot.across.at(*x), plot.up.at(*high)));
    let low = curve
        .band
        .iter()
        .rev()
        .map(|(x, low, _)| (plot.across.at(*x), plot.up.at(*low)));
    let mut data = path(high.chain(low));
    if !data.is_empty() {
        data.push('Z');
    }
    Path::new()
        .set("d", data)
        .set("fill", BAND)
        .set("stroke", BAND_EDGE)
        .set("stroke-width", 0.6)
}

fn axes(mut group: Group, panel: &Panel, plot: &Plot) -> Group {
    let corner = (LEFT, plot.bottom);
    group = group
        .add(line((LEFT, plot.top), corner))
        .add(line(corner, (plot.right, plot.bottom)));
    for tick in plot.up.ticks(6.0, false) {
        let y = plot.up.at(tick);
        group = group
            .add(line((LEFT - 5.0, y), (LEFT, y)))
            .add(
                line((LEFT, y), (plot.right, y))
                    .set("stroke", "#dddddd")
                    .set("stroke-width", 0.5),
            )
            .add(text(LEFT - 9.0, y + 4.0, &tick_words(tick)).set("text-anchor", "end"));
    }
    let whole = panel.marks.iter().all(|mark| !mark.strong);
    for tick in plot.across.ticks(9.0, whole) {
        let x = plot.across.at(tick);
        group = group
            .add(line((x, plot.bottom), (x, plot.bottom + 5.0)))
            .add(text(x, plot.bottom + 19.0, &tick_words(tick)).set("text-anchor", "middle"));
    }
    let middle = (LEFT + plot.right) / 2.0;
    group
        .add(text(middle, plot.bottom + 38.0, &panel.across).set("text-anchor", "middle"))
        .add(text(LEFT - 48.0, plot.top - 14.0, &panel.up))
}

fn limits(mut group: Group, limits: &[Level], plot: &Plot) -> Group {
    let wanted: Vec<f64> = limits.iter().map(|limit| plot.up.at(limit.at)).collect();
    let places = apart(&wanted, 29.0, plot.top - 8.0, plot.bottom);
    for ((limit, y), place) in limits.iter().zip(&wanted).zip(places) {
        let dash = match limit.side {
            Side::Below => "12 4",
            Side::Above => "12 4 2 4",
            Side::Watched => "2 4",
        };
        group = group
            .add(
                line((LEFT, *y), (plot.right, *y))
                    .set("stroke-width", 1.2)
                    .set("stroke-dasharray", dash),
            )
            .add(
                line((plot.right + 1.0, *y), (plot.right + 14.0, place - 2.0))
                    .set("stroke-width", 0.6),
            )
            .add(
                text(
                    plot.right + 18.0,
                    place,
                    &shortened(&level_words(limit), LONGEST_LABEL),
                )
                .set("font-weight", "bold"),
            )
            .add(
                text(
                    plot.right + 18.0,
                    place + 13.0,
                    &shortened(&limit.asked_by.join(", "), LONGEST_LABEL),
                )
                .set("font-size", 10),
            );
    }
    group
}

fn level_words(level: &Level) -> String {
    match level.side {
        Side::Below => format!("at most {}", level.value),
        Side::Above => format!("at least {}", level.value),
        Side::Watched => format!("level {}", level.value),
    }
}

fn marks(mut group: Group, marks: &[Mark], plot: &Plot) -> Group {
    let mut above = plot.top - 6.0;
    for mark in marks {
        let x = plot.across.at(mark.at);
        if let Some((from, to)) = mark.span {
            for end in [from, to] {
                let x = plot.across.at(end);
                group = group.add(
                    line((x, plot.top), (x, plot.bottom))
                        .set("stroke-width", 0.7)
                        .set("stroke-dasharray", "1 3"),
                );
            }
        }
        let width = if mark.strong { 1.4 } else { 0.8 };
        group = group.add(line((x, above + 2.0), (x, plot.bottom)).set("stroke-width", width));
        // A label that would leave the plot is written to the left of its line.
        let left = x > (LEFT + plot.right) / 2.0;
        let (at, anchor) = if left {
            (x - 5.0, "end")
        } else {
            (x + 5.0, "start")
        };
        group = group.add(over_lines(
            text(at, above, &mark.words).set("text-anchor", anchor),
        ));
        above -= 15.0;
    }
    group
}

/// The picture in words, for those who hear it.
fn described(picture: &Picture) -> String {
    let mut sentences = Vec::new();
    for panel in &picture.panels {
        sentences.push(format!("{} ({}).", panel.title, panel.setting));
        for curve in &panel.curves {
            let highest = curve
                .points
                .iter()
                .copied()
                .max_by(|one, other| one.1.total_cmp(&other.1));
            if let (Some(start), Some(top)) = (curve.points.first(), highest) {
                sentences.push(format!(
                    "{}: from {:.0} to at most {:.0} at {:.0}; {} over {}.",
                    curve.name, start.1, top.1, top.0, panel.up, panel.across
                ));
            }
        }
        for limit in &panel.limits {
            sentences.push(format!(
                "Limit: {}, asked by {}.",
                level_words(limit),
                limit.asked_by.join(", ")
            ));
        }
        for mark in &panel.marks {
            sentences.push(format!("Mark: {}.", mark.words));
        }
        sentences.push(format!("Band: {}.", panel.band));
        sentences.extend(panel.notes.iter().map(|note| format!("{note}.")));
    }
    safe(&sentences.join(" "))
}
