//! What stands on the map of a window: numbers on its edges, the set points, the space around one.

use svg::node::element::{Circle, Group, Path, Rectangle};

use super::edges::Edge;
use super::scale::apart;
use super::window::{LEFT, LONGEST_LABEL, RIGHT, TOP, View, WIDTH, fine};
use super::{over_lines, shortened, text};
use crate::diagnostic::{FreedSetting, SetPoint};

/// The longest rule name, and line of what it wants, that fit beside the plot.
const LONGEST_NAME: usize = 38;
/// About the width of a bold letter.
const LETTER: f64 = 6.9;

/// What is written on already, as left, top, right and bottom.
#[derive(Debug, Default)]
pub(super) struct Taken(Vec<[f64; 4]>);

impl Taken {
    pub(super) fn sign(&mut self, (x, y): (f64, f64), half: f64) {
        self.0.push([x - half, y - half, x + half, y + half]);
    }

    /// The first of these places at which words fit, given as the left end of their line; the first where none does.
    pub(super) fn place(&mut self, words: &str, places: &[(f64, f64)]) -> (f64, f64) {
        let area = |&(x, y): &(f64, f64)| [x, y - 11.0, x + width(words), y + 4.0];
        let meets = |one: &[f64; 4], other: &[f64; 4]| {
            one[0] < other[2] && other[0] < one[2] && one[1] < other[3] && other[1] < one[3]
        };
        let free = |place: &&(f64, f64)| !self.0.iter().any(|known| meets(known, &area(place)));
        let found = places.iter().find(free).or(places.first());
        let found = found.copied().unwrap_or_default();
        self.0.push(area(&found));
        found
    }
}

/// About how wide bold words are.
pub(super) fn width(words: &str) -> f64 {
    LETTER * words.chars().count() as f64
}

/// Words in at most two lines.
fn lines(words: &str) -> Vec<String> {
    if words.chars().count() <= LONGEST_LABEL {
        return vec![words.to_owned()];
    }
    let fits = |at: &usize| words[..*at].chars().count() <= LONGEST_LABEL;
    let spaces = words.match_indices(' ').map(|(at, _)| at);
    match spaces.take_while(fits).last() {
        Some(at) => vec![
            words[..at].to_owned(),
            shortened(words[at..].trim_start(), LONGEST_LABEL),
        ],
        None => vec![shortened(words, LONGEST_LABEL)],
    }
}

impl View<'_> {
    /// Where a number stands on an edge; beside the set points where there is a strip only.
    fn on_edge(&self, edge: &Edge) -> (f64, f64) {
        let up = if self.up.is_some() { edge.at.1 } else { 0.88 };
        (self.x.at(edge.at.0), self.y.at(up))
    }

    /// All signs that nothing may be written on.
    pub(super) fn taken(&self, found: &[Edge]) -> Taken {
        let mut taken = Taken::default();
        for edge in found {
            taken.sign(self.on_edge(edge), 9.0);
        }
        for point in [&self.window.nearest, &self.window.best]
            .into_iter()
            .flatten()
        {
            let up = self.y.at(point.at.get(1).copied().unwrap_or(0.5));
            taken.sign((self.x.at(point.at[0]), up), 8.0);
        }
        if let Some(now) = self.now() {
            taken.sign(now, 5.0);
        }
        taken
    }

    /// What the plan states, on the page, where that is drawn.
    pub(super) fn now(&self) -> Option<(f64, f64)> {
        let all = self.window.settings.iter();
        let now: Vec<f64> = all
            .map(|setting| setting.present.as_ref().map(|(at, _)| *at))
            .collect::<Option<_>>()?;
        let (across, up) = (*now.first()?, now.get(1).copied().unwrap_or(0.5));
        let inside = |at: f64, ends: (f64, f64)| ends.0 <= at && at <= ends.1;
        let drawn = inside(across, self.x_ends) && inside(up, self.y_ends);
        drawn.then(|| (self.x.at(across), self.y.at(up)))
    }

    /// The name of a set point beside it, where it is free.
    fn named(&self, group: Group, name: &str, (x, y): (f64, f64), taken: &mut Taken) -> Group {
        let left = x - 10.0 - width(name);
        let places = [
            (x + 10.0, y + 14.0),
            (x + 8.0, y - 7.0),
            (left, y + 14.0),
            (left, y - 7.0),
            (x + 10.0, y + 30.0),
            (x + 10.0, y - 23.0),
            (left, y + 30.0),
            (left, y - 23.0),
        ];
        let inside = |place: &&(f64, f64)| place.0 > LEFT && place.0 + width(name) < WIDTH - RIGHT;
        let places: Vec<(f64, f64)> = places.iter().filter(inside).copied().collect();
        let (x, y) = taken.place(name, &places);
        group.add(over_lines(text(x, y, name)).set("font-weight", "bold"))
    }

    /// A number on each edge of the region that holds, and beside the plot the rule that cuts it there.
    pub(super) fn labels(&self, mut group: Group, found: &[Edge]) -> Group {
        let right = WIDTH - RIGHT;
        let wanted: Vec<f64> = found.iter().map(|edge| self.y.at(edge.at.1)).collect();
        let places = apart(&wanted, 46.0, TOP + 8.0, self.bottom.max(TOP + 200.0));
        for (number, (edge, place)) in found.iter().zip(places).enumerate() {
            let (x, y) = self.on_edge(edge);
            let name = format!("{}", number + 1);
            let Some(cut) = self.window.cuts.get(edge.cut) else {
                continue;
            };
            group = group
                .add(badge(x, y, &name))
                .add(badge(right + 22.0, place - 4.0, &name))
                .add(
                    text(right + 36.0, place, &shortened(&cut.rule, LONGEST_NAME))
                        .set("font-weight", "bold"),
                );
            let subject = cut
                .subject
                .as_ref()
                .map_or_else(String::new, |subject| format!(", {subject}"));
            let wants = format!("{}{subject}", cut.wants.replace('`', ""));
            for (line, words) in lines(&wants).iter().enumerate() {
                let y = place + 14.0 + 12.0 * line as f64;
                group = group.add(text(right + 36.0, y, words).set("font-size", 10.5));
            }
        }
        group
    }

    pub(super) fn points(&self, mut group: Group, taken: &mut Taken) -> Group {
        let middle = |at: Option<f64>| at.unwrap_or(0.5);
        if let Some(best) = &self.window.best {
            group = group.add(self.room(best));
        }
        if let Some((x, y)) = self.now() {
            let reach = |setting: Option<&FreedSetting>| {
                setting
                    .and_then(|setting| setting.reach)
                    .unwrap_or((0.35, 0.65))
            };
            let (low, high) = reach(Some(self.across));
            let (from, to) = reach(self.up);
            let (left, right) = (self.x.at(low), self.x.at(high));
            let (top, bottom) = (self.y.at(to), self.y.at(from));
            group = group
                .add(
                    Rectangle::new()
                        .set("x", fine(left))
                        .set("y", fine(top))
                        .set("width", fine(right - left))
                        .set("height", fine(bottom - top))
                        .set("fill", "none")
                        .set("stroke", "black")
                        .set("stroke-width", 1.4)
                        .set("stroke-dasharray", "5 3"),
                )
                .add(
                    Circle::new()
                        .set("cx", fine(x))
                        .set("cy", fine(y))
                        .set("r", 4.5)
                        .set("fill", "black"),
                );
            group = self.named(group, "now", (x, y), taken);
        }
        for (point, name) in [
            (&self.window.nearest, "nearest"),
            (&self.window.best, "most margin"),
        ] {
            let Some(point) = point else { continue };
            let (x, y) = (
                self.x.at(point.at[0]),
                self.y.at(middle(point.at.get(1).copied())),
            );
            let sign = if name == "nearest" {
                format!("M{0} {1}l6 10h-12Z", fine(x), fine(y - 6.0))
            } else {
                format!("M{0} {1}l6 6l-6 6l-6 -6Z", fine(x), fine(y - 6.0))
            };
            group = group.add(
                Path::new()
                    .set("d", sign)
                    .set("fill", "white")
                    .set("stroke", "black")
                    .set("stroke-width", 1.8),
            );
            group = self.named(group, name, (x, y), taken);
        }
        group
    }

    /// The box around a set point in which everything holds.
    fn room(&self, point: &SetPoint) -> Rectangle {
        let ((low, _), (high, _)) = &point.around[0];
        let (from, to) = point
            .around
            .get(1)
            .map_or((0.2, 0.8), |((low, _), (high, _))| (*low, *high));
        let (left, right) = (self.x.at(*low), self.x.at(*high));
        let (top, bottom) = (self.y.at(to), self.y.at(from));
        Rectangle::new()
            .set("x", fine(left))
            .set("y", fine(top))
            .set("width", fine(right - left))
            .set("height", fine(bottom - top))
            .set("fill", "none")
            .set("stroke", "black")
            .set("stroke-width", 1.2)
            .set("stroke-dasharray", "1 3")
    }
}

/// A number in a circle.
fn badge(x: f64, y: f64, name: &str) -> Group {
    Group::new()
        .add(
            Circle::new()
                .set("cx", fine(x))
                .set("cy", fine(y))
                .set("r", 8)
                .set("fill", "white")
                .set("stroke", "black")
                .set("stroke-width", 1.4),
        )
        .add(
            text(x, y + 3.8, name)
                .set("text-anchor", "middle")
                .set("font-size", 10.5)
                .set("font-weight", "bold"),
        )
}
