//! What stands on the map of a window: numbers on its edges, the set points, the room around one.

use svg::node::element::{Circle, Group, Path, Rectangle};

use super::edges::Edge;
use super::scale::apart;
use super::window::{LONGEST_LABEL, RIGHT, TOP, View, WIDTH, fine};
use super::{over_lines, shortened, text};
use crate::diagnostic::{FreedSetting, SetPoint};

impl View<'_> {
    /// A number on each edge of the region that holds, and beside the plot the rule that cuts it there.
    pub(super) fn labels(&self, mut group: Group, found: &[Edge]) -> Group {
        let right = WIDTH - RIGHT;
        let wanted: Vec<f64> = found.iter().map(|edge| self.y.at(edge.at.1)).collect();
        let gap = if self.up.is_some() { 44.0 } else { 34.0 };
        let places = apart(&wanted, gap, TOP + 8.0, self.bottom.max(TOP + 200.0));
        for (number, (edge, place)) in found.iter().zip(places).enumerate() {
            let (x, y) = (self.x.at(edge.at.0), self.y.at(edge.at.1));
            let name = format!("{}", number + 1);
            let Some(cut) = self.window.cuts.get(edge.cut) else {
                continue;
            };
            group = group
                .add(badge(x, y, &name))
                .add(badge(right + 22.0, place - 4.0, &name))
                .add(
                    text(right + 36.0, place, &shortened(&cut.rule, LONGEST_LABEL))
                        .set("font-weight", "bold"),
                );
            let subject = cut
                .subject
                .as_ref()
                .map_or_else(String::new, |subject| format!(", {subject}"));
            let wants = format!("{}{subject}", cut.wants.replace('`', ""));
            group = group.add(
                text(
                    right + 36.0,
                    place + 14.0,
                    &shortened(&wants, LONGEST_LABEL),
                )
                .set("font-size", 10.5),
            );
        }
        group
    }

    pub(super) fn points(&self, mut group: Group) -> Group {
        let middle = |at: Option<f64>| at.unwrap_or(0.5);
        if let Some(best) = &self.window.best {
            group = group.add(self.room(best));
        }
        let now: Option<Vec<f64>> = self
            .window
            .settings
            .iter()
            .map(|setting| setting.present.as_ref().map(|(at, _)| *at))
            .collect();
        if let Some(now) = now {
            let reach = |setting: Option<&FreedSetting>| {
                setting
                    .and_then(|setting| setting.reach)
                    .unwrap_or((0.35, 0.65))
            };
            let (x, y) = (self.x.at(now[0]), self.y.at(middle(now.get(1).copied())));
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
                )
                .add(over_lines(text(x + 8.0, y - 7.0, "now")).set("font-weight", "bold"));
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
            group = group
                .add(
                    Path::new()
                        .set("d", sign)
                        .set("fill", "white")
                        .set("stroke", "black")
                        .set("stroke-width", 1.8),
                )
                .add(over_lines(text(x + 10.0, y + 14.0, name)).set("font-weight", "bold"));
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
