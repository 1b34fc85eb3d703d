//! The mouths of a tunnel and the borders between its zones, where settings run over a stretch of belt rather than jump.
//!
//! Air, heat transfer and radiation go from their value before a border to that behind it by a straight ramp, centred on
//! the border; outside the tunnel there is the room's still air. The water vapour of the air jumps at the border: it counts
//! either way, and little. A ramp is told by its 10 to 90 % width; all of it is a quarter longer.
//!
//! How wide the ramps are is rarely known. A wider one cools what lies on the hotter side of a border and warms what lies on
//! the cooler side, so the width is taken apart: with the least `inside` and the greatest `outside` every setting is at
//! every place at least what any width between gives, and the other way round. Each zone has its own, which scale with the
//! time in it as the belt slows down.

use super::Zone;

/// Heat transfer of still room air at each face, W/(m²·K): free convection and radiation (8 to 12 in textbooks, from
/// memory).
const ROOM_TRANSFER: f64 = 8.0;
/// Water vapour in the air of a room, Pa: about 40 % humidity at 22 °C.
pub(super) const ROOM_VAPOUR: f64 = 1000.0;
/// All of a straight ramp over its 10 to 90 % width.
const WHOLE: f64 = 1.25;
/// Stretches of one value that stand for one half of a ramp.
const STRETCHES: usize = 4;

/// How wide the ramps at the ends of a zone are.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Edges {
    /// 10 to 90 % width of a ramp where the zone is on the hotter side of the border, told as time on the belt, s.
    pub inside: f64,
    /// The same where it is on the cooler side, and outside the tunnel.
    pub outside: f64,
}

/// A stretch of the belt with constant settings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeltStretch {
    /// What a print meets there.
    pub zone: Zone,
    /// Which of the tunnel's zones it belongs to; the ramp before the entrance to the first, that behind the exit to the
    /// last.
    pub of: usize,
    /// Whether its settings hardly differ from those before.
    pub ramp: bool,
}

impl Edges {
    /// Whether the settings jump.
    #[must_use]
    pub fn are_sharp(&self) -> bool {
        self.inside <= 0.0 && self.outside <= 0.0
    }

    /// How far the wider of the two ramps comes from its border, s.
    #[must_use]
    pub fn reach(&self) -> f64 {
        0.5 * WHOLE * self.inside.max(self.outside).max(0.0)
    }
}

/// How settings go from zone to zone, one behind the other, with the room before and behind.
struct Course<'c> {
    /// Where the borders lie, s after the entrance.
    borders: &'c [f64],
    /// Of each zone.
    edges: &'c [Edges],
}

impl Course<'_> {
    /// The edges of the zone before a border, or behind it; outside the tunnel those of the nearest.
    fn beside(&self, border: usize, behind: bool) -> Edges {
        let zone = border.saturating_sub(usize::from(!behind));
        let zone = zone.min(self.edges.len().saturating_sub(1));
        self.edges.get(zone).copied().unwrap_or_default()
    }

    /// A setting at a time, from its value in the room, in each zone, and in the room again.
    fn at(&self, time: f64, values: &[f64]) -> f64 {
        let mut value = values[0];
        for (index, (pair, border)) in values.windows(2).zip(self.borders).enumerate() {
            let (rise, from) = (pair[1] - pair[0], time - border);
            let behind = from > 0.0;
            let edges = self.beside(index, behind);
            let width = if (rise > 0.0) == behind {
                edges.inside
            } else {
                edges.outside
            };
            let share = if width > 0.0 {
                (0.5 + from / (WHOLE * width)).clamp(0.0, 1.0)
            } else {
                f64::from(u8::from(behind))
            };
            value += rise * share;
        }
        value
    }
}

/// The belt from before the entrance to behind the exit, in stretches of constant settings; `room` is the air there, K.
///
/// `along` are further edges whose ramps cut the belt as well: two that are cut alike can be held against each other stretch
/// by stretch.
#[must_use]
pub fn stretches(
    zones: &[Zone],
    edges: &[Edges],
    room: f64,
    along: Option<&[Edges]>,
) -> Vec<BeltStretch> {
    let all: Vec<&[Edges]> = std::iter::once(edges).chain(along).collect();
    if all.iter().all(|edges| edges.iter().all(Edges::are_sharp)) {
        let each = zones.iter().enumerate();
        return each
            .map(|(of, &zone)| BeltStretch {
                zone,
                of,
                ramp: false,
            })
            .collect();
    }
    let Some((first, last)) = zones.first().zip(zones.last()) else {
        return Vec::new();
    };
    let mut borders = vec![0.0];
    for zone in zones {
        borders.push(borders[borders.len() - 1] + zone.time);
    }
    let tail = |at: fn(&[Edges]) -> Option<&Edges>| {
        let reaches = all.iter().filter_map(|edges| at(edges)).map(Edges::reach);
        reaches.fold(0.0, f64::max)
    };
    let end = borders[zones.len()];
    let (from, to) = (-tail(<[Edges]>::first), end + tail(<[Edges]>::last));
    let mut cuts = vec![from, to];
    for (index, border) in borders.iter().enumerate() {
        cuts.push(*border);
        for edges in &all {
            let course = Course {
                borders: &borders,
                edges,
            };
            for (behind, way) in [(false, -1.0), (true, 1.0)] {
                let beside = course.beside(index, behind);
                for width in [beside.inside, beside.outside] {
                    let half = 0.5 * WHOLE * width.max(0.0);
                    for step in 1..=STRETCHES {
                        cuts.push(border + way * half * step as f64 / STRETCHES as f64);
                    }
                }
            }
        }
    }
    cuts.retain(|cut| (from..=to).contains(cut));
    cuts.sort_by(f64::total_cmp);
    // What only rounding keeps apart is one cut.
    cuts.dedup_by(|one, other| *one - *other <= 1.0e-9 * (to - from));
    let course = Course {
        borders: &borders,
        edges,
    };
    let outside = Zone::room(0.0, ROOM_TRANSFER, room, 0.0);
    let run = |time: f64, of: fn(&Zone) -> f64| {
        let inside = zones.iter().map(of);
        let values: Vec<f64> = std::iter::once(of(&outside))
            .chain(inside)
            .chain([of(&outside)])
            .collect();
        // Where wide ramps overlap, their sum may pass what there is of it anywhere, by rounding at least.
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        course.at(time, &values).clamp(least, most)
    };
    let mut found: Vec<BeltStretch> = Vec::with_capacity(cuts.len());
    for pair in cuts.windows(2) {
        let (time, middle) = (pair[1] - pair[0], 0.5 * (pair[0] + pair[1]));
        let behind = borders.partition_point(|border| *border <= middle);
        let of = behind.saturating_sub(1).min(zones.len() - 1);
        let (nearest, outside) = match behind {
            0 => (first, true),
            behind if behind > zones.len() => (last, true),
            behind => (&zones[behind - 1], false),
        };
        let zone = Zone {
            time,
            transfer: run(middle, |zone| zone.transfer),
            air: run(middle, |zone| zone.air),
            transfer_below: run(middle, |zone| zone.transfer_below),
            air_below: run(middle, |zone| zone.air_below),
            flux: run(middle, |zone| zone.flux),
            panel_factor: run(middle, |zone| zone.panel_factor),
            panel: run(middle, |zone| zone.panel),
            panel_factor_below: run(middle, |zone| zone.panel_factor_below),
            panel_below: run(middle, |zone| zone.panel_below),
            vapour: if outside { ROOM_VAPOUR } else { nearest.vapour },
            ..*nearest
        };
        // Two that are held against each other have the same cuts.
        let before = found.last_mut().filter(|before| {
            if along.is_some() {
                return false;
            }
            let same = Zone {
                time: zone.time,
                ..before.zone
            };
            before.of == of && same == zone
        });
        if let Some(before) = before {
            before.zone.time += time;
            continue;
        }
        found.push(BeltStretch {
            zone,
            of,
            ramp: !found.is_empty(),
        });
    }
    found
}
