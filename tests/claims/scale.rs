//! The measures that made-up standards speak of: how they are written, and which values are worth trying.

use super::dice::Dice;

/// A measure.
#[derive(Debug)]
pub(super) struct Scale {
    /// Its name in a standard.
    pub(super) kind: &'static str,
    /// Units by which it is written, with how many of the first one each is, and what is to be added to reach zero of the first.
    pub(super) units: &'static [(&'static str, f64, f64)],
    /// Usual values, in the first unit.
    pub(super) grid: &'static [f64],
    /// What is possible.
    pub(super) possible: (f64, f64),
    pub(super) whole: bool,
    /// The step of a usual dial, in the first unit.
    pub(super) dial: f64,
}

pub(super) type Id = usize;

pub(super) const TIME: Id = 0;
pub(super) const LENGTH: Id = 1;
pub(super) const SPEED: Id = 2;
pub(super) const TEMPERATURE: Id = 3;
pub(super) const SHARE: Id = 4;
pub(super) const STROKES: Id = 5;
pub(super) const PIECES: Id = 6;
pub(super) const THREADS: Id = 7;
pub(super) const THIN: Id = 8;
pub(super) const NUMBER: Id = 9;
pub(super) const TENSION: Id = 10;
pub(super) const DIFFERENCE: Id = 11;
pub(super) const STATIONS: Id = 12;

pub(super) const SCALES: &[Scale] = &[
    Scale {
        kind: "time",
        units: &[("s", 1.0, 0.0), ("min", 60.0, 0.0)],
        grid: &[10.0, 20.0, 30.0, 40.0, 60.0, 75.0, 90.0, 120.0],
        possible: (1.0, 600.0),
        whole: false,
        dial: 1.0,
    },
    Scale {
        kind: "length",
        units: &[("m", 1.0, 0.0), ("cm", 0.01, 0.0), ("ft", 0.3048, 0.0)],
        grid: &[1.0, 1.5, 2.0, 2.5, 3.0, 4.0],
        possible: (0.5, 10.0),
        whole: false,
        dial: 0.05,
    },
    Scale {
        kind: "speed",
        units: &[
            ("m/min", 1.0, 0.0),
            ("cm/s", 0.6, 0.0),
            ("ft/min", 0.3048, 0.0),
        ],
        grid: &[1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0],
        possible: (0.2, 20.0),
        whole: false,
        dial: 0.1,
    },
    Scale {
        kind: "temperature",
        units: &[("°C", 1.0, 0.0), ("°F", 5.0 / 9.0, 32.0)],
        grid: &[100.0, 110.0, 120.0, 130.0, 140.0, 150.0, 160.0, 170.0],
        possible: (20.0, 250.0),
        whole: false,
        dial: 1.0,
    },
    Scale {
        kind: "share",
        units: &[("%", 1.0, 0.0)],
        grid: &[0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0],
        possible: (0.0, 100.0),
        whole: false,
        dial: 1.0,
    },
    Scale {
        kind: "count of strokes",
        units: &[("strokes", 1.0, 0.0), ("", 1.0, 0.0)],
        grid: &[1.0, 2.0, 3.0, 4.0, 5.0],
        possible: (1.0, 12.0),
        whole: true,
        dial: 1.0,
    },
    Scale {
        kind: "pieces",
        units: &[("pieces", 1.0, 0.0)],
        grid: &[12.0, 24.0, 36.0, 60.0, 100.0, 120.0, 240.0],
        possible: (1.0, 1000.0),
        whole: true,
        dial: 1.0,
    },
    Scale {
        kind: "thread-count",
        units: &[("/cm", 1.0, 0.0), ("/in", 1.0 / 2.54, 0.0)],
        grid: &[30.0, 40.0, 43.0, 54.0, 60.0, 77.0, 90.0],
        possible: (4.0, 200.0),
        whole: false,
        dial: 1.0,
    },
    Scale {
        kind: "length",
        units: &[("µm", 1.0, 0.0), ("mm", 1000.0, 0.0), ("mil", 25.4, 0.0)],
        grid: &[20.0, 30.0, 40.0, 50.0, 64.0, 80.0, 100.0],
        possible: (5.0, 600.0),
        whole: false,
        dial: 1.0,
    },
    Scale {
        kind: "number",
        units: &[("", 1.0, 0.0)],
        grid: &[0.5, 1.0, 1.5, 2.0, 2.5, 3.0],
        possible: (0.1, 10.0),
        whole: false,
        dial: 0.1,
    },
    Scale {
        kind: "tension",
        units: &[("N/cm", 1.0, 0.0)],
        grid: &[10.0, 15.0, 20.0, 25.0, 30.0],
        possible: (5.0, 60.0),
        whole: false,
        dial: 1.0,
    },
    Scale {
        kind: "temperature-difference",
        units: &[("K", 1.0, 0.0), ("Δ°F", 5.0 / 9.0, 0.0)],
        grid: &[5.0, 10.0, 15.0, 20.0],
        possible: (0.0, 100.0),
        whole: false,
        dial: 1.0,
    },
    Scale {
        kind: "count of stations",
        units: &[("stations", 1.0, 0.0), ("", 1.0, 0.0)],
        grid: &[0.0, 1.0, 2.0, 3.0, 4.0],
        possible: (0.0, 12.0),
        whole: true,
        dial: 1.0,
    },
];

/// A unit of the shop's own.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Own {
    pub(super) name: String,
    pub(super) scale: Id,
    /// How many of the first unit of its measure.
    pub(super) size: f64,
}

/// A number as it is written.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Num {
    pub(super) digits: String,
    pub(super) unit: String,
    pub(super) scale: Id,
}

/// A decimal of at most so many places, without zeros at its end.
pub(super) fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" { "0" } else { text }.to_owned()
}

impl Num {
    /// In the first unit.
    pub(super) fn plain(value: f64, scale: Id) -> Self {
        Self {
            digits: decimal(value, 4),
            unit: SCALES[scale].units[0].0.to_owned(),
            scale,
        }
    }

    /// In any unit, one of the shop's own among them.
    pub(super) fn any(dice: &mut Dice, value: f64, scale: Id, own: &[Own]) -> Self {
        // What is counted is counted in whole ones.
        let fits = |size: f64| !SCALES[scale].whole || (value / size).fract() == 0.0;
        let fitting: Vec<&Own> = own
            .iter()
            .filter(|own| own.scale == scale && fits(own.size))
            .collect();
        if let (Some(own), true) = (dice.one(&fitting), dice.often(40)) {
            return Self {
                digits: decimal(value / own.size, 4),
                unit: own.name.clone(),
                scale,
            };
        }
        if dice.often(70) {
            return Self::plain(value, scale);
        }
        let (unit, size, shift) = dice.of(SCALES[scale].units);
        Self {
            digits: decimal(value / size + shift, 3),
            unit: unit.to_owned(),
            scale,
        }
    }

    /// Its value in the first unit.
    pub(super) fn value(&self, own: &[Own]) -> f64 {
        let digits: f64 = self.digits.parse().unwrap_or(0.0);
        if let Some(own) = own.iter().find(|own| own.name == self.unit) {
            return digits * own.size;
        }
        let units = SCALES[self.scale].units;
        let unit = units.iter().find(|unit| unit.0 == self.unit);
        let (_, size, shift) = unit.unwrap_or(&units[0]);
        (digits - shift) * size
    }

    pub(super) fn text(&self) -> String {
        if self.unit.is_empty() {
            self.digits.clone()
        } else {
            format!("{} {}", self.digits, self.unit)
        }
    }
}

/// A usual value of a measure.
pub(super) fn usual(dice: &mut Dice, scale: Id) -> f64 {
    dice.of(SCALES[scale].grid)
}
