//! What a quantity measures: exponents over base dimensions, and names for the common ones.

/// Exponents over the base dimensions, and whether it is a point on a scale.
///
/// A temperature is a *point*: two of them cannot be added. The difference of two is another
/// dimension with the same exponents. Only a plain temperature can be a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Dimension {
    exponents: [i8; BASES],
    point: bool,
}

const BASES: usize = 10;

/// Base dimensions in the order of the exponents, in words.
const BASE_WORDS: [&str; BASES] = [
    "length",
    "mass",
    "time",
    "temperature",
    "amount",
    "pieces",
    "money",
    "hardness A",
    "hardness D",
    "angle",
];

/// A named dimension: kebab-case name, dimension, a sentence for the reader.
type Named = (&'static str, Dimension, &'static str);

impl Dimension {
    /// A plain number; a share has this dimension too.
    pub const NUMBER: Dimension = Dimension {
        exponents: [0; BASES],
        point: false,
    };
    /// Length.
    pub const LENGTH: Dimension = Dimension::base(0);
    /// Mass.
    pub const MASS: Dimension = Dimension::base(1);
    /// Time.
    pub const TIME: Dimension = Dimension::base(2);
    /// A difference of temperatures.
    pub const TEMPERATURE_DIFFERENCE: Dimension = Dimension::base(3);
    /// A temperature: a point on the scale.
    pub const TEMPERATURE: Dimension = Dimension {
        point: true,
        ..Dimension::TEMPERATURE_DIFFERENCE
    };
    /// Amount of substance.
    pub const AMOUNT: Dimension = Dimension::base(4);
    /// Printed pieces.
    pub const PIECES: Dimension = Dimension::base(5);
    /// Money, in the shop's own currency.
    pub const MONEY: Dimension = Dimension::base(6);
    /// Hardness on the Shore A scale.
    pub const HARDNESS_A: Dimension = Dimension::base(7);
    /// Hardness on the Shore D scale.
    pub const HARDNESS_D: Dimension = Dimension::base(8);
    /// Plane angle, in degrees.
    pub const ANGLE: Dimension = Dimension::base(9);
    /// Length squared.
    pub const AREA: Dimension = Dimension::LENGTH.times(Dimension::LENGTH);
    /// Length cubed.
    pub const VOLUME: Dimension = Dimension::AREA.times(Dimension::LENGTH);
    /// Mass per volume.
    pub const DENSITY: Dimension = Dimension::MASS.per(Dimension::VOLUME);
    /// Mass per area.
    pub const AREAL_MASS: Dimension = Dimension::MASS.per(Dimension::AREA);
    /// Threads per length.
    pub const THREAD_COUNT: Dimension = Dimension::NUMBER.per(Dimension::LENGTH);
    /// Length per time.
    pub const SPEED: Dimension = Dimension::LENGTH.per(Dimension::TIME);
    /// Mass times acceleration.
    pub const FORCE: Dimension = Dimension::MASS.times(Dimension::SPEED).per(Dimension::TIME);
    /// Force per length.
    pub const TENSION: Dimension = Dimension::FORCE.per(Dimension::LENGTH);
    /// Force per area.
    pub const PRESSURE: Dimension = Dimension::FORCE.per(Dimension::AREA);
    /// Force times length.
    pub const ENERGY: Dimension = Dimension::FORCE.times(Dimension::LENGTH);
    /// Energy per time.
    pub const POWER: Dimension = Dimension::ENERGY.per(Dimension::TIME);
    /// Mass per time.
    pub const MASS_FLOW: Dimension = Dimension::MASS.per(Dimension::TIME);
    /// Energy per temperature difference.
    pub const HEAT_CAPACITY: Dimension = Dimension::ENERGY.per(Dimension::TEMPERATURE_DIFFERENCE);
    /// Power per temperature difference.
    pub const HEAT_LOSS: Dimension = Dimension::POWER.per(Dimension::TEMPERATURE_DIFFERENCE);
    /// Power per area.
    pub const HEAT_FLUX: Dimension = Dimension::POWER.per(Dimension::AREA);
    /// Heat flux per temperature difference.
    pub const HEAT_TRANSFER: Dimension =
        Dimension::HEAT_FLUX.per(Dimension::TEMPERATURE_DIFFERENCE);
    /// Power per length and temperature difference.
    pub const CONDUCTIVITY: Dimension = Dimension::HEAT_TRANSFER.times(Dimension::LENGTH);
    /// Energy per mass.
    pub const SPECIFIC_ENERGY: Dimension = Dimension::ENERGY.per(Dimension::MASS);
    /// Energy per mass and temperature difference.
    pub const SPECIFIC_HEAT: Dimension =
        Dimension::SPECIFIC_ENERGY.per(Dimension::TEMPERATURE_DIFFERENCE);
    /// Energy per area and temperature difference.
    pub const AREAL_HEAT_CAPACITY: Dimension = Dimension::ENERGY
        .per(Dimension::AREA)
        .per(Dimension::TEMPERATURE_DIFFERENCE);
    /// The inverse of heat transfer.
    pub const THERMAL_RESISTANCE: Dimension = Dimension::NUMBER.per(Dimension::HEAT_TRANSFER);
    /// Energy per amount.
    pub const MOLAR_ENERGY: Dimension = Dimension::ENERGY.per(Dimension::AMOUNT);
    /// Pieces per time.
    pub const PIECE_RATE: Dimension = Dimension::PIECES.per(Dimension::TIME);
    /// Mass per piece.
    pub const PIECE_MASS: Dimension = Dimension::MASS.per(Dimension::PIECES);
    /// Money per mass.
    pub const PRICE_PER_MASS: Dimension = Dimension::MONEY.per(Dimension::MASS);
    /// Money per volume.
    pub const PRICE_PER_VOLUME: Dimension = Dimension::MONEY.per(Dimension::VOLUME);
    /// Money per piece.
    pub const PRICE_PER_PIECE: Dimension = Dimension::MONEY.per(Dimension::PIECES);
    /// Pressure times time.
    pub const VISCOSITY: Dimension = Dimension::PRESSURE.times(Dimension::TIME);
    /// Times per time.
    pub const FREQUENCY: Dimension = Dimension::NUMBER.per(Dimension::TIME);
    /// Temperature difference per time.
    pub const HEATING_RATE: Dimension = Dimension::TEMPERATURE_DIFFERENCE.per(Dimension::TIME);

    const fn base(index: usize) -> Dimension {
        let mut exponents = [0; BASES];
        exponents[index] = 1;
        Dimension {
            exponents,
            point: false,
        }
    }

    /// For the constants above, whose exponents are small.
    const fn combine(self, other: Dimension, sign: i8) -> Dimension {
        let mut exponents = self.exponents;
        let mut index = 0;
        while index < BASES {
            exponents[index] += sign * other.exponents[index];
            index += 1;
        }
        Dimension {
            exponents,
            point: false,
        }
    }

    const fn times(self, other: Dimension) -> Dimension {
        self.combine(other, 1)
    }

    const fn per(self, other: Dimension) -> Dimension {
        self.combine(other, -1)
    }

    /// The dimension with this kebab-case name.
    #[must_use]
    pub fn named(name: &str) -> Option<Dimension> {
        let (_, dimension, _) = NAMES.iter().find(|row| row.0 == name)?;
        Some(*dimension)
    }

    /// All named dimensions: name, dimension, a sentence. Where two share their exponents the one
    /// preferred when people read comes first.
    #[must_use]
    pub fn names() -> &'static [(&'static str, Dimension, &'static str)] {
        NAMES
    }

    /// Whether it is a point on a scale rather than a size.
    #[must_use]
    pub fn is_point(&self) -> bool {
        self.point
    }

    /// Whether it is a plain number.
    #[must_use]
    pub fn is_number(&self) -> bool {
        *self == Dimension::NUMBER
    }

    /// The dimension of the difference of two: itself, unless it is a point.
    #[must_use]
    pub fn difference(&self) -> Dimension {
        Dimension {
            point: false,
            ..*self
        }
    }

    /// The exponents, in the order length, mass, time, temperature, amount, pieces, money,
    /// hardness A, hardness D, angle.
    #[must_use]
    pub fn exponents(&self) -> [i8; 10] {
        self.exponents
    }

    /// Applies `change` to pairs of exponents; none for a point, or where one gets out of hand.
    fn pairwise(&self, other: &Dimension, change: fn(i8, i8) -> Option<i8>) -> Option<Dimension> {
        if self.point || other.point {
            return None;
        }
        let mut exponents = self.exponents;
        for (mine, theirs) in exponents.iter_mut().zip(other.exponents) {
            *mine = change(*mine, theirs)?;
        }
        Some(Dimension {
            exponents,
            point: false,
        })
    }

    /// Of a product; none if either is a point.
    #[must_use]
    pub fn multiply(&self, other: &Dimension) -> Option<Dimension> {
        self.pairwise(other, i8::checked_add)
    }

    /// Of a quotient; none if either is a point.
    #[must_use]
    pub fn divide(&self, other: &Dimension) -> Option<Dimension> {
        self.pairwise(other, i8::checked_sub)
    }

    /// Of a whole power; none for a point, or an exponent beyond 127.
    #[must_use]
    pub fn powi(&self, power: i32) -> Option<Dimension> {
        if self.point {
            return None;
        }
        let mut exponents = self.exponents;
        for exponent in &mut exponents {
            *exponent = i8::try_from(i32::from(*exponent).checked_mul(power)?).ok()?;
        }
        Some(Dimension {
            exponents,
            point: false,
        })
    }

    /// Of a square root; none for a point, or if an exponent is odd.
    #[must_use]
    pub fn root(&self) -> Option<Dimension> {
        if self.point || self.exponents.iter().any(|exponent| exponent % 2 != 0) {
            return None;
        }
        Some(Dimension {
            exponents: self.exponents.map(|exponent| exponent / 2),
            point: false,
        })
    }

    /// The preferred name, if it is a common dimension.
    #[must_use]
    pub fn name(&self) -> Option<&'static str> {
        let (name, _, _) = NAMES.iter().find(|row| row.1 == *self)?;
        Some(name)
    }

    /// For people: "a speed (length per time)", "length per time squared", "a number".
    #[must_use]
    pub fn describe(&self) -> String {
        let made_of = self.made_of();
        let Some(name) = self.name() else {
            return made_of;
        };
        match *self {
            Self::HARDNESS_A => return "a Shore A hardness".to_owned(),
            Self::HARDNESS_D => return "a Shore D hardness".to_owned(),
            _ => {}
        }
        let words = name.replace('-', " ");
        let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) {
            "an"
        } else {
            "a"
        };
        let base = self
            .exponents
            .iter()
            .map(|e| e.unsigned_abs())
            .fold(0_u8, u8::saturating_add);
        if words == "pieces" || words == "money" {
            words
        } else if base <= 1 && self.exponents.iter().all(|exponent| *exponent >= 0) {
            format!("{article} {words}")
        } else {
            format!("{article} {words} ({made_of})")
        }
    }

    /// "length per time squared".
    fn made_of(&self) -> String {
        let word = |index: usize, exponent: i8| {
            let base = BASE_WORDS[index];
            match exponent.unsigned_abs() {
                1 => base.to_owned(),
                2 => format!("{base} squared"),
                3 => format!("{base} cubed"),
                power => format!("{base} to the power {power}"),
            }
        };
        let side = |sign: i8| {
            self.exponents
                .iter()
                .enumerate()
                .filter(move |(_, exponent)| exponent.signum() == sign)
                .map(|(index, exponent)| word(index, *exponent))
        };
        let mut text = side(1).collect::<Vec<_>>().join(" times ");
        for below in side(-1) {
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str("per ");
            text.push_str(&below);
        }
        if text.is_empty() {
            text.push_str("a number");
        }
        text
    }
}

/// Where two share their exponents the preferred name comes first.
static NAMES: &[Named] = &[
    ("number", Dimension::NUMBER, "a plain number"),
    (
        "share",
        Dimension::NUMBER,
        "a part of a whole, written with %",
    ),
    ("length", Dimension::LENGTH, "a length, width or thickness"),
    (
        "areal-volume",
        Dimension::LENGTH,
        "volume per area, such as ink laid on a print",
    ),
    ("area", Dimension::AREA, "a surface"),
    ("volume", Dimension::VOLUME, "a volume"),
    ("time", Dimension::TIME, "a span of time"),
    (
        "temperature",
        Dimension::TEMPERATURE,
        "a temperature, a point on the scale",
    ),
    (
        "temperature-difference",
        Dimension::TEMPERATURE_DIFFERENCE,
        "how far two temperatures are apart",
    ),
    ("mass", Dimension::MASS, "a mass"),
    ("density", Dimension::DENSITY, "mass per volume"),
    (
        "areal-mass",
        Dimension::AREAL_MASS,
        "mass per area, such as the weight of a fabric",
    ),
    (
        "thread-count",
        Dimension::THREAD_COUNT,
        "threads per length",
    ),
    ("speed", Dimension::SPEED, "length per time"),
    ("force", Dimension::FORCE, "a force"),
    (
        "tension",
        Dimension::TENSION,
        "force per length, such as the pull of a mesh",
    ),
    ("areal-energy", Dimension::TENSION, "energy per area"),
    ("pressure", Dimension::PRESSURE, "force per area"),
    ("energy", Dimension::ENERGY, "work or heat"),
    ("power", Dimension::POWER, "energy per time"),
    ("mass-flow", Dimension::MASS_FLOW, "mass per time"),
    (
        "heat-capacity",
        Dimension::HEAT_CAPACITY,
        "energy per temperature difference",
    ),
    (
        "heat-loss",
        Dimension::HEAT_LOSS,
        "power per temperature difference",
    ),
    ("heat-flux", Dimension::HEAT_FLUX, "power per area"),
    (
        "heat-transfer",
        Dimension::HEAT_TRANSFER,
        "power per area and temperature difference",
    ),
    (
        "conductivity",
        Dimension::CONDUCTIVITY,
        "how well a material conducts heat: power per length and temperature difference",
    ),
    (
        "specific-energy",
        Dimension::SPECIFIC_ENERGY,
        "energy per mass",
    ),
    (
        "specific-heat",
        Dimension::SPECIFIC_HEAT,
        "energy per mass and temperature difference",
    ),
    (
        "areal-heat-capacity",
        Dimension::AREAL_HEAT_CAPACITY,
        "energy per area and temperature difference",
    ),
    (
        "thermal-resistance",
        Dimension::THERMAL_RESISTANCE,
        "area and temperature difference per power",
    ),
    ("amount", Dimension::AMOUNT, "an amount of substance"),
    (
        "molar-energy",
        Dimension::MOLAR_ENERGY,
        "energy per amount of substance",
    ),
    ("pieces", Dimension::PIECES, "a number of printed pieces"),
    ("piece-rate", Dimension::PIECE_RATE, "pieces per time"),
    ("piece-mass", Dimension::PIECE_MASS, "mass per piece"),
    ("money", Dimension::MONEY, "an amount of money"),
    (
        "price-per-volume",
        Dimension::PRICE_PER_VOLUME,
        "money per volume",
    ),
    (
        "price-per-mass",
        Dimension::PRICE_PER_MASS,
        "money per mass",
    ),
    (
        "price-per-piece",
        Dimension::PRICE_PER_PIECE,
        "money per piece",
    ),
    (
        "hardness-a",
        Dimension::HARDNESS_A,
        "hardness on the Shore A scale",
    ),
    (
        "hardness-d",
        Dimension::HARDNESS_D,
        "hardness on the Shore D scale",
    ),
    ("angle", Dimension::ANGLE, "an angle between two lines"),
    (
        "viscosity",
        Dimension::VISCOSITY,
        "how thick a liquid is: pressure times time",
    ),
    ("frequency", Dimension::FREQUENCY, "how often in a time"),
    (
        "heating-rate",
        Dimension::HEATING_RATE,
        "temperature difference per time",
    ),
];
