//! The window as a picture: the region that holds, what cuts it, and where the settings stand.
//!
//! Black on white. What set points come to is told by hatching and by words; no colour carries anything.

use svg::Document;
use svg::node::element::{
    Circle, Definitions, Description, Group, Line, Path, Pattern, Rectangle, Title,
};

use super::edges::edges;
use super::scale::{Scale, tick_words};
use super::signs::{Taken, width as words_width};
use super::{line, over_lines, point, safe, shortened, text};
use crate::diagnostic::{Extent, FreedSetting, Window, Zone};
use crate::report::window::{
    cut_words, listed, percent, point_words, present_words, share, shares_words, space_words,
};

pub(super) const WIDTH: f64 = 980.0;
pub(super) const LEFT: f64 = 76.0;
pub(super) const RIGHT: f64 = 330.0;
pub(super) const TOP: f64 = 78.0;
const PLOT: f64 = 430.0;
/// Height of the strip that shows a single setting.
const STRIP: f64 = 90.0;
const ROW: f64 = 17.0;
/// How many times as far as the region that holds the map may reach to show where the settings stand.
const FAR: f64 = 12.0;
/// How much is shown beyond the region that holds, in parts of it.
const AROUND: f64 = 0.6;
pub(super) const LONGEST_LABEL: usize = 50;
const LONGEST_LINE: usize = 150;
/// About so many ticks.
const TICKS: f64 = 8.0;

/// A box in the two settings that are drawn.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    pub(super) x: (f64, f64),
    pub(super) y: (f64, f64),
    pub(super) zone: Zone,
    pub(super) by: Option<usize>,
}

/// The picture as an SVG document.
#[must_use]
pub fn window_picture(window: &Window) -> String {
    format!("{}\n", document(window))
}

/// What is drawn, and between which ends.
pub(super) struct View<'r> {
    pub(super) window: &'r Window,
    pub(super) across: &'r FreedSetting,
    pub(super) up: Option<&'r FreedSetting>,
    boxes: Vec<Drawn>,
    pub(super) x: Scale,
    pub(super) y: Scale,
    pub(super) x_ends: (f64, f64),
    pub(super) y_ends: (f64, f64),
    pub(super) bottom: f64,
}

fn document(window: &Window) -> Document {
    let title = safe(&format!("Window of {}", window.name));
    let (body, height) = match View::new(window) {
        Some(view) => view.draw(),
        None => (Group::new(), TOP),
    };
    Document::new()
        .set("viewBox", format!("0 0 {WIDTH} {height}"))
        .set("width", format!("{WIDTH}"))
        .set("height", format!("{height}"))
        .set("role", "img")
        .set("aria-labelledby", "title desc")
        .set("font-family", "Helvetica, Arial, sans-serif")
        .set("font-size", 12)
        .add(Title::new(title.clone()).set("id", "title"))
        .add(
            Description::new()
                .set("id", "desc")
                .add(svg::node::Text::new(described(window))),
        )
        .add(patterns())
        .add(
            Rectangle::new()
                .set("width", "100%")
                .set("height", "100%")
                .set("fill", "white"),
        )
        .add(
            text(LEFT, 28.0, &shortened(&title, 90))
                .set("font-size", 16)
                .set("font-weight", "bold"),
        )
        .add(body)
}

/// The picture in words, for those who hear it.
fn described(window: &Window) -> String {
    let mut sentences: Vec<String> = Vec::new();
    sentences.extend(present_words(window));
    sentences.push(shares_words(window));
    sentences.extend(window.measure_again.clone());
    if let Some(nearest) = &window.nearest {
        sentences.push(format!("nearest: {}", point_words(window, nearest)));
    }
    if let Some(best) = &window.best {
        sentences.push(format!("most margin: {}", point_words(window, best)));
        sentences.push(space_words(window, best));
    }
    safe(&sentences.join(". "))
}

/// The hatching of a zone.
fn hatching(zone: Zone) -> &'static str {
    match zone {
        Zone::Holds => "white",
        Zone::AtRisk => "url(#at-risk)",
        Zone::Breaks => "url(#breaks)",
        Zone::Fails => "url(#fails)",
        Zone::NotDecided => "url(#not-decided)",
    }
}

fn patterns() -> Definitions {
    let pattern = |id: &str, size: f64| {
        Pattern::new()
            .set("id", id)
            .set("width", size)
            .set("height", size)
            .set("patternUnits", "userSpaceOnUse")
            .add(
                Rectangle::new()
                    .set("width", size)
                    .set("height", size)
                    .set("fill", "white"),
            )
    };
    let stroke = |from: (f64, f64), to: (f64, f64), width: f64| {
        Line::new()
            .set("x1", from.0)
            .set("y1", from.1)
            .set("x2", to.0)
            .set("y2", to.1)
            .set("stroke", "#555555")
            .set("stroke-width", width)
    };
    Definitions::new()
        .add(
            pattern("at-risk", 9.0)
                .add(stroke((-1.0, 10.0), (10.0, -1.0), 0.8))
                .set("data-zone", "at risk"),
        )
        .add(
            pattern("breaks", 5.0)
                .add(stroke((-1.0, -1.0), (6.0, 6.0), 0.8))
                .add(stroke((-1.0, 6.0), (6.0, -1.0), 0.8)),
        )
        .add(pattern("fails", 6.0).add(stroke((0.0, 3.0), (6.0, 3.0), 0.8)))
        .add(
            pattern("not-decided", 6.0).add(
                Circle::new()
                    .set("cx", 3)
                    .set("cy", 3)
                    .set("r", 1)
                    .set("fill", "#333333"),
            ),
        )
}

impl<'r> View<'r> {
    fn new(window: &'r Window) -> Option<Self> {
        let across = window.settings.first()?;
        let up = window.settings.get(1);
        let boxes = sliced(window);
        let holding = |drawn: &&Drawn| drawn.zone == Zone::Holds;
        let ends = |of: fn(&Drawn) -> (f64, f64), setting: &FreedSetting, index: usize| {
            let mut ends = (f64::INFINITY, f64::NEG_INFINITY);
            let mut wider = |low: f64, high: f64| {
                ends = (ends.0.min(low), ends.1.max(high));
            };
            for drawn in boxes.iter().filter(holding) {
                let (low, high) = of(drawn);
                wider(low, high);
            }
            for at in [&window.best, &window.nearest].into_iter().flatten() {
                wider(at.at[index], at.at[index]);
            }
            if let Some((low, high)) = setting.reach {
                let with = (ends.0.min(low), ends.1.max(high));
                // A sliver far from where the settings stand is drawn without them.
                let fits = with.1 - with.0 <= (ends.1 - ends.0) * FAR;
                if fits || ends.0 >= ends.1 {
                    ends = with;
                }
            }
            let found = ends.0 <= ends.1 && boxes.iter().any(|d| d.zone == Zone::Holds);
            if !found || setting.extent == Extent::Asked {
                return (setting.low, setting.high);
            }
            let hair = (setting.high - setting.low) * 1e-6;
            let more = ((ends.1 - ends.0) * AROUND).max(hair);
            (
                (ends.0 - more).max(setting.low),
                (ends.1 + more).min(setting.high),
            )
        };
        let x_ends = ends(|drawn| drawn.x, across, 0);
        let y_ends = up.map_or((0.0, 1.0), |up| ends(|drawn| drawn.y, up, 1));
        let bottom = TOP + if up.is_some() { PLOT } else { STRIP };
        Some(Self {
            window,
            across,
            up,
            x: Scale::new(x_ends.0, x_ends.1, LEFT, WIDTH - RIGHT),
            y: Scale::new(y_ends.0, y_ends.1, bottom, TOP),
            boxes,
            x_ends,
            y_ends,
            bottom,
        })
    }

    fn draw(&self) -> (Group, f64) {
        let mut group = Group::new();
        for zone in [Zone::Breaks, Zone::AtRisk, Zone::Fails, Zone::NotDecided] {
            group = group.add(
                Path::new()
                    .set("d", self.outline(zone))
                    .set("fill", hatching(zone))
                    .set("data-zone", zone.words()),
            );
        }
        // Stroked first and filled after, so that only the outer edge of all boxes together is left.
        let holds = self.outline(Zone::Holds);
        group = group
            .add(
                Path::new()
                    .set("d", holds.clone())
                    .set("fill", "none")
                    .set("stroke", "black")
                    .set("stroke-width", 4),
            )
            .add(
                Path::new()
                    .set("d", holds)
                    .set("fill", "white")
                    .set("stroke", "white")
                    .set("stroke-width", 0.4)
                    .set("data-zone", "holds"),
            );
        group = self.axes(group);
        group = self.hover(group);
        let found = edges(&self.boxes, self.x_ends, self.y_ends);
        group = self.labels(group, &found);
        let mut taken = self.taken(&found);
        group = self.points(group, &mut taken);
        group = self.named_zones(group, &mut taken);
        self.key(group)
    }

    /// The part of a box that is in view, on the page.
    fn placed(&self, drawn: &Drawn) -> Option<(f64, f64, f64, f64)> {
        let (low, high) = (drawn.x.0.max(self.x_ends.0), drawn.x.1.min(self.x_ends.1));
        let (from, to) = (drawn.y.0.max(self.y_ends.0), drawn.y.1.min(self.y_ends.1));
        if low >= high || from >= to {
            return None;
        }
        let (left, right) = (self.x.at(low), self.x.at(high));
        let (top, bottom) = (self.y.at(to), self.y.at(from));
        Some((left, top, right - left, bottom - top))
    }

    fn outline(&self, zone: Zone) -> String {
        let mut data = String::new();
        for drawn in self.boxes.iter().filter(|drawn| drawn.zone == zone) {
            if let Some((x, y, width, height)) = self.placed(drawn) {
                data.push_str(&format!(
                    "M{} {}h{}v{}h-{}Z",
                    fine(x),
                    fine(y),
                    fine(width),
                    fine(height),
                    fine(width)
                ));
            }
        }
        data
    }

    /// The name of each zone in its largest box.
    fn named_zones(&self, mut group: Group, taken: &mut Taken) -> Group {
        for zone in Zone::ALL {
            let placed = self.boxes.iter().filter(|drawn| drawn.zone == zone);
            let largest = placed
                .filter_map(|drawn| self.placed(drawn))
                .max_by(|one, other| (one.2 * one.3).total_cmp(&(other.2 * other.3)));
            let Some((x, y, width, height)) = largest else {
                continue;
            };
            if width < 56.0 || height < 16.0 {
                continue;
            }
            let room = (width - words_width(zone.words())).max(0.0);
            let places: Vec<(f64, f64)> = [0.5, 0.2, 0.8, 0.05, 0.95]
                .into_iter()
                .flat_map(|down| [(0.5, down), (0.1, down), (0.9, down)])
                .map(|(along, down)| (x + room * along, y + 12.0 + (height - 16.0) * down))
                .collect();
            let (x, y) = taken.place(zone.words(), &places);
            let name = over_lines(text(x, y, zone.words())).set("font-weight", "bold");
            group = group.add(name);
        }
        group
    }

    /// Every box says what it is when it is pointed at.
    fn hover(&self, mut group: Group) -> Group {
        for drawn in &self.boxes {
            let Some((x, y, width, height)) = self.placed(drawn) else {
                continue;
            };
            let mut words = format!("{}: {}", drawn.zone.words(), said(self.across, drawn.x));
            if let Some(up) = self.up {
                words.push_str(&format!(", {}", said(up, drawn.y)));
            }
            if let Some(cut) = drawn.by.and_then(|by| self.window.cuts.get(by)) {
                words.push_str(&format!("; {}", cut_words(cut)));
            }
            group = group.add(
                Rectangle::new()
                    .set("x", fine(x))
                    .set("y", fine(y))
                    .set("width", fine(width))
                    .set("height", fine(height))
                    .set("fill", "white")
                    .set("fill-opacity", 0)
                    .add(Title::new(safe(&words))),
            );
        }
        group
    }

    fn axes(&self, mut group: Group) -> Group {
        let right = WIDTH - RIGHT;
        let corner = (LEFT, self.bottom);
        group = group
            .add(line((LEFT, TOP), corner))
            .add(line(corner, (right, self.bottom)))
            .add(line((right, TOP), (right, self.bottom)).set("stroke-width", 0.5))
            .add(line((LEFT, TOP), (right, TOP)).set("stroke-width", 0.5));
        for tick in ticks(self.across, self.x_ends) {
            let x = self.x.at(tick);
            group = group
                .add(line((x, self.bottom), (x, self.bottom + 5.0)))
                .add(text(x, self.bottom + 19.0, &tick_words(tick)).set("text-anchor", "middle"));
        }
        let middle = (LEFT + right) / 2.0;
        group = group.add(
            text(middle, self.bottom + 38.0, &axis_words(self.across)).set("text-anchor", "middle"),
        );
        let Some(up) = self.up else { return group };
        for tick in ticks(up, self.y_ends) {
            let y = self.y.at(tick);
            group = group
                .add(line((LEFT - 5.0, y), (LEFT, y)))
                .add(text(LEFT - 9.0, y + 4.0, &tick_words(tick)).set("text-anchor", "end"));
        }
        group.add(text(LEFT - 56.0, TOP - 16.0, &axis_words(up)))
    }

    /// What the signs and the hatching mean, with the numbers of the text.
    fn key(&self, mut group: Group) -> (Group, f64) {
        let mut y = self.bottom.max(TOP + 60.0) + 64.0;
        let mut x = LEFT;
        for zone in Zone::ALL {
            let words = format!("{} {}", zone.words(), percent(share(self.window, zone)));
            group = group
                .add(
                    Rectangle::new()
                        .set("x", point(x))
                        .set("y", point(y - 11.0))
                        .set("width", 30)
                        .set("height", 14)
                        .set("fill", hatching(zone))
                        .set("stroke", "black")
                        .set("stroke-width", if zone == Zone::Holds { 2.0 } else { 0.6 }),
                )
                .add(text(x + 38.0, y, &words));
            x += 172.0_f64.max(46.0 + words_width(&words));
        }
        let mut rows: Vec<String> = Vec::new();
        if let Some(words) = present_words(self.window) {
            rows.push(if self.now().is_some() {
                format!("● {words}; dashed: its tolerance")
            } else {
                format!("{words}; that is outside what is drawn")
            });
        }
        if let Some(nearest) = &self.window.nearest {
            rows.push(format!("△ nearest: {}", point_words(self.window, nearest)));
        }
        if let Some(best) = &self.window.best {
            rows.push(format!("◇ most margin: {}", point_words(self.window, best)));
            rows.push(format!("dotted: {}", space_words(self.window, best)));
        }
        rows.extend(self.window.measure_again.clone());
        if self.window.best.is_none() && self.window.empty {
            rows.push("no set point holds: this was shown for all of them".to_owned());
        }
        if !self.window.standstill.is_empty() {
            rows.push(
                "the run does not pass whatever these are set to; the map is about the other rules"
                    .to_owned(),
            );
        }
        rows.push(self.looked_at());
        for row in rows {
            y += ROW;
            let row = row.replace('`', "");
            group = group.add(text(LEFT, y + 6.0, &shortened(&row, LONGEST_LINE)));
        }
        (group, (y + 30.0).max(TOP + 260.0))
    }

    fn looked_at(&self) -> String {
        let drawn = self.window.settings.iter().take(2);
        let ranges: Vec<String> = drawn
            .map(|setting| {
                let tolerance = setting
                    .tolerance
                    .as_ref()
                    .map_or_else(String::new, |tolerance| format!(" {tolerance}"));
                format!("{} {}{tolerance}", setting.setting, setting.range)
            })
            .collect();
        let others: Vec<String> = self
            .window
            .settings
            .iter()
            .enumerate()
            .skip(2)
            .filter_map(|(index, setting)| {
                let best = self.window.best.as_ref()?;
                Some(format!("{} at {}", setting.setting, best.words[index]))
            })
            .collect();
        let with = if others.is_empty() {
            String::new()
        } else {
            format!("; drawn with {}", listed(&others))
        };
        format!("looked at: {}{with}", listed(&ranges))
    }
}

/// The boxes in the plane of the first two settings, the others at the proposed set point.
fn sliced(window: &Window) -> Vec<Drawn> {
    let middle = |index: usize| {
        let setting = &window.settings[index];
        let best = window.best.as_ref().map(|best| best.at[index]);
        best.or(setting.present.as_ref().map(|(at, _)| *at))
            .unwrap_or(0.5 * (setting.low + setting.high))
    };
    let mut found = Vec::new();
    for part in &window.boxes {
        let inside = (2..window.settings.len()).all(|index| {
            let at = middle(index);
            part.low[index] <= at && at <= part.high[index]
        });
        if !inside {
            continue;
        }
        let ends = |index: usize| {
            let low = part.low.get(index).copied().unwrap_or(0.0);
            let high = part.high.get(index).copied().unwrap_or(1.0);
            let whole = window.settings.get(index).is_some_and(|s| s.whole);
            // Whole numbers fill the space half way to the next.
            if whole {
                (low - 0.5, high + 0.5)
            } else {
                (low, high)
            }
        };
        found.push(Drawn {
            x: ends(0),
            y: ends(1),
            zone: part.zone,
            by: part.by,
        });
    }
    found
}

/// Two decimals: what would be rounded to a tenth could leave a hair between two boxes.
pub(super) fn fine(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// `dryer.belt 2.1 to 2.2 m/min`.
fn said(setting: &FreedSetting, (low, high): (f64, f64)) -> String {
    let number = |value: f64| {
        let places = if value.abs() < 10.0 { 1000.0 } else { 10.0 };
        format!("{}", (value * places).round() / places)
    };
    format!(
        "{} {} to {} {}",
        setting.setting,
        number(low),
        number(high),
        setting.unit
    )
    .trim_end()
    .to_owned()
}

fn axis_words(setting: &FreedSetting) -> String {
    let unit = if setting.unit.is_empty() {
        String::new()
    } else {
        format!(", {}", setting.unit)
    };
    format!("{}{unit}", setting.setting)
}

/// Values that the dial has; round ones where there is none.
fn ticks(setting: &FreedSetting, ends: (f64, f64)) -> Vec<f64> {
    let Some((step, _)) = setting.step else {
        return Scale::new(ends.0, ends.1, 0.0, 1.0).ticks(TICKS, false);
    };
    let wanted = (ends.1 - ends.0) / TICKS;
    let mut size = step.abs().max(1e-12);
    'found: for power in 0..12 {
        for times in [1.0, 2.0, 5.0] {
            size = step * times * 10_f64.powi(power);
            if size >= wanted {
                break 'found;
            }
        }
    }
    let first = (ends.0 / size - 1e-9).ceil();
    let last = (ends.1 / size + 1e-9).floor();
    let mut found = Vec::new();
    let mut at = first;
    while at <= last && found.len() < 100 {
        found.push(at * size);
        at += 1.0;
    }
    found
}
