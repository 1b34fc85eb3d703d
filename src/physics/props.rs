//! Properties of water, steam and moist cotton that the heat figures need.
//!
//! SI units, temperatures in kelvin. Nothing here panics; arguments outside the tables are held
//! at the table's end, so that a solver's trial step stays finite.

/// Stefan-Boltzmann constant, W/(m²·K⁴) (exact since the SI of 2019).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// Molar gas constant, J/(mol·K).
pub const GAS: f64 = 8.314_462_618;
/// 0 °C in kelvin.
pub const ZERO_CELSIUS: f64 = 273.15;
/// Standard atmosphere, Pa.
pub const ATMOSPHERE: f64 = 101_325.0;
/// Specific heat of liquid water, J/(kg·K).
pub const WATER_HEAT: f64 = 4186.0;

/// Specific heat of air, J/(kg·K).
const AIR_HEAT: f64 = 1009.0;
/// Lewis number of water vapour in air to the power 2/3.
const LEWIS: f64 = 0.90;
/// Molar mass of water over that of dry air.
const MASS_RATIO: f64 = 18.015 / 28.965;
/// Largest vapour share at a surface: boiling is a very large but finite sink.
const VAPOUR_CAP: f64 = 0.99;
/// Henderson isotherm of cotton: moisture scale.
const ISOTHERM_SCALE: f64 = 0.0727;
/// Henderson isotherm of cotton: exponent.
const ISOTHERM_POWER: f64 = 1.544;
/// Regain of the cotton the isotherm was set to, at 65 % relative humidity.
const COTTON_REGAIN: f64 = 0.075;
/// Differential heat of sorption at zero moisture, J/kg of water.
const SORPTION_HEAT: f64 = 1.25e6;
/// Heat given by dry cotton on wetting, J/kg of fibre.
const WETTING_HEAT: f64 = 46.0e3;

/// Coefficients n₁ … n₁₀ of the saturation line, IAPWS-IF97 region 4.
const SATURATION: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Saturation pressure of water, Pa, at temperature `t`, K.
///
/// Formula: IAPWS-IF97, region 4, p = 1 MPa · (2C / (−B + √(B² − 4AC)))⁴. Valid from 0.01 to 370 °C and
/// held at the ends beyond. Rises with `t`. Error of the formula below 0.03 %.
#[must_use]
pub fn saturation_pressure(t: f64) -> f64 {
    saturation(t).0
}

/// Saturation pressure and its slope, Pa and Pa/K.
#[inline(always)]
pub(crate) fn saturation(t: f64) -> (f64, f64) {
    let n = &SATURATION;
    let held = t.clamp(0.01 + ZERO_CELSIUS, 370.0 + ZERO_CELSIUS);
    let away = 1.0 / (held - n[9]);
    let theta = held + n[8] * away;
    let a = theta * theta + n[0] * theta + n[1];
    let b = n[2] * theta * theta + n[3] * theta + n[4];
    let c = n[5] * theta * theta + n[6] * theta + n[7];
    let root = (b * b - 4.0 * a * c).sqrt();
    let below = root - b;
    let ratio = 2.0 * c / below;
    let square = ratio * ratio;
    let pressure = 1.0e6 * square * square;
    let slope = {
        let d_theta = 1.0 - n[8] * away * away;
        let d_a = (2.0 * theta + n[0]) * d_theta;
        let d_b = (2.0 * n[2] * theta + n[3]) * d_theta;
        let d_c = (2.0 * n[5] * theta + n[6]) * d_theta;
        let d_below = (b * d_b - 2.0 * (d_a * c + a * d_c)) / root - d_b;
        4.0 * pressure * (d_c / c - d_below / below)
    };
    (pressure, if held == t { slope } else { 0.0 })
}

/// Slope of [`latent_heat`], J/(kg·K).
pub(crate) const LATENT_SLOPE: f64 = -2430.0;

/// Heat of evaporation of free water, J/kg, at temperature `t`, K: 2.5009 MJ/kg − 2430 J/(kg·K) · (t − 0 °C).
///
/// A straight line through steam-table values, within 0.3 % from 10 to 120 °C. Falls with `t`.
#[must_use]
pub fn latent_heat(t: f64) -> f64 {
    2.5009e6 + LATENT_SLOPE * (t - ZERO_CELSIUS)
}

/// How a fibre holds water: the cotton isotherm, scaled to the fibre's own regain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sorption {
    scale: f64,
    decay: f64,
}

impl Sorption {
    /// The isotherm of a fibre (or mix) with this regain at 65 % relative humidity, kg of water per kg of dry fibre.
    #[must_use]
    pub fn of_regain(regain: f64) -> Self {
        let share = regain / COTTON_REGAIN;
        Self {
            scale: ISOTHERM_SCALE * share,
            decay: WETTING_HEAT / SORPTION_HEAT * share,
        }
    }

    /// Water activity over fibre that holds `moisture` kg of water per kg: 1 − exp(−(X/Xₘ)^1.544).
    ///
    /// Henderson's form, set to 2.7, 4.7, 7.5 and 9.9 % at 20, 40, 65 and 80 % relative humidity (the usual
    /// cotton isotherm, from memory; 7 to 8 % at 65 %: Morton and Hearle). Rises with `moisture`.
    #[must_use]
    pub fn activity(&self, moisture: f64) -> f64 {
        self.activity_and_slope(moisture).0
    }

    /// Activity and its slope over moisture.
    pub(crate) fn activity_and_slope(&self, moisture: f64) -> (f64, f64) {
        let moisture = moisture.max(0.0);
        let share = moisture / self.scale;
        // Dry fibre is held at a share whose power is nothing.
        let power = libm::exp(ISOTHERM_POWER * logarithm(share.max(1.0e-100)));
        let dryness = libm::exp(-power);
        let slope = if moisture > 0.0 {
            dryness * ISOTHERM_POWER * power / moisture
        } else {
            0.0
        };
        (1.0 - dryness, slope)
    }

    /// Heat of sorption above the heat of evaporation, J/kg of water: 1.25 MJ/kg · exp(−X/X₀).
    ///
    /// 1250 J/g at zero moisture and 46 J/g of dry cotton in all: Morton and Hearle, Physical Properties of
    /// Textile Fibres, table 8.1. Falls with `moisture`.
    #[must_use]
    pub fn heat(&self, moisture: f64) -> f64 {
        SORPTION_HEAT * libm::exp(-moisture.max(0.0) / self.decay)
    }

    /// Slope of [`Sorption::heat`] over moisture, given the heat itself.
    pub(crate) fn heat_slope(&self, heat: f64) -> f64 {
        -heat / self.decay
    }
}

/// Flow of vapour from a wet surface and its slopes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Evaporation {
    /// kg/(m²·s).
    pub(crate) rate: f64,
    /// By the surface's temperature.
    pub(crate) by_temperature: f64,
    /// By the surface's water activity.
    pub(crate) by_activity: f64,
}

/// Evaporation from a surface, kg/(m²·s); below zero where vapour condenses.
///
/// ṁ = h/(cₚ·Le^⅔) · (M_w/M_a) · ln((P − p_v)/(P − a·p_sat(t))), the Chilton-Colburn analogy with Stefan flow
/// (Bird, Stewart and Lightfoot; Incropera). `transfer` is h in W/(m²·K), `activity` a between 0 and 1, `t` in K,
/// `vapour` the partial pressure p_v in Pa. Rises with `activity` and `t`, falls with `vapour`.
#[must_use]
pub fn evaporation(transfer: f64, activity: f64, t: f64, vapour: f64) -> f64 {
    let share = (activity * saturation_pressure(t) / ATMOSPHERE).min(VAPOUR_CAP);
    let air = (vapour / ATMOSPHERE).min(VAPOUR_CAP);
    mass_transfer(transfer) * libm::log((1.0 - air) / (1.0 - share))
}

fn mass_transfer(transfer: f64) -> f64 {
    transfer / (AIR_HEAT * LEWIS) * MASS_RATIO
}

/// How many times the air's vapour pressure the saturation pressure must be for a dry surface to stay dry: the other way
/// round, the activity below which the air's vapour fades out.
pub(crate) const TAKEN_UP: f64 = 50.0;

/// A surface of one water activity in one air: what its evaporation has in common at every temperature.
///
/// As [`evaporation`], but the air's vapour fades out as the surface falls below an activity of 2 %, so that a dry surface
/// takes no water up; with slopes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wet {
    factor: f64,
    activity: f64,
    /// ln(1 − the air's vapour share).
    air: f64,
    /// What the fading vapour adds to the slope by activity.
    fading: f64,
}

impl Wet {
    pub(crate) fn new(transfer: f64, activity: f64, vapour: f64) -> Self {
        let fade = (TAKEN_UP * activity).min(1.0);
        let full = (vapour / ATMOSPHERE).min(VAPOUR_CAP);
        let factor = mass_transfer(transfer);
        Self {
            factor,
            activity,
            air: logarithm(1.0 - full * fade),
            fading: if fade < 1.0 {
                factor * TAKEN_UP * full / (1.0 - full * fade)
            } else {
                0.0
            },
        }
    }

    /// The flow at temperature `t`, K; its slopes only when `SLOPES`.
    ///
    /// No branches: a loop over many temperatures takes several at a time.
    #[inline(always)]
    pub(crate) fn evaporation<const SLOPES: bool>(&self, t: f64) -> Evaporation {
        let (pressure, slope) = saturation(t);
        let wet = self.activity * pressure / ATMOSPHERE;
        let share = wet.min(VAPOUR_CAP);
        let (mut by_temperature, mut by_activity) = (0.0, 0.0);
        if SLOPES {
            let steep = self.factor / (ATMOSPHERE * (1.0 - share));
            let steep = if wet < VAPOUR_CAP { steep } else { 0.0 };
            by_temperature = steep * self.activity * slope;
            by_activity = steep * pressure - self.fading;
        }
        Evaporation {
            rate: self.factor * (self.air - logarithm(1.0 - share)),
            by_temperature,
            by_activity,
        }
    }
}

/// Natural logarithm of a number from 0.01 to 1, or any other above the smallest normal one.
///
/// The usual reduction to m·2ᵏ with m near 1 and ln m = 2 artanh((m − 1)/(m + 1)) by its minimax polynomial (fdlibm),
/// less than an ulp off. It asks nothing, so that a loop over many takes several at a time.
#[inline(always)]
fn logarithm(x: f64) -> f64 {
    /// The bits of √½ a little below 1, and of 1023 in the exponent's place.
    const ROOT_HALF: u64 = 0x3FE6_A09E_0000_0000;
    const BIAS: u64 = 1023 << 52;
    /// 2⁵²: with an integer in its low bits it is that much larger.
    const SHIFTER: f64 = 4_503_599_627_370_496.0;
    const P: [f64; 7] = [
        6.666_666_666_666_735e-1,
        3.999_999_999_940_942e-1,
        2.857_142_874_366_239e-1,
        2.222_219_843_214_978_4e-1,
        1.818_357_216_161_805e-1,
        1.531_383_769_920_937_3e-1,
        1.479_819_860_511_658_6e-1,
    ];
    const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
    const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    let bits = x.to_bits();
    let biased = bits.wrapping_sub(ROOT_HALF).wrapping_add(BIAS) >> 52;
    let k = f64::from_bits(biased | SHIFTER.to_bits()) - (SHIFTER + 1023.0);
    let m = f64::from_bits(bits.wrapping_sub(biased << 52).wrapping_add(BIAS));
    let f = m - 1.0;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let even = w * (P[1] + w * (P[3] + w * P[5]));
    let odd = z * (P[0] + w * (P[2] + w * (P[4] + w * P[6])));
    let half = 0.5 * f * f;
    k * LN2_HIGH - ((half - (s * (half + (even + odd)) + k * LN2_LOW)) - f)
}

/// The flow from one surface, with slopes.
pub(crate) fn evaporation_with_slopes(
    transfer: f64,
    activity: f64,
    t: f64,
    vapour: f64,
) -> Evaporation {
    Wet::new(transfer, activity, vapour).evaporation::<true>(t)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The branch-free logarithm against the library's, over all it is asked for and far beyond.
    #[test]
    fn logarithm_is_the_library_s() {
        for n in 0..=100_000_i32 {
            for x in [
                0.01 + 0.99e-5 * f64::from(n),
                libm::exp(f64::from(n - 50_000) * 0.014),
            ] {
                let (got, wanted) = (logarithm(x), libm::log(x));
                assert!(
                    (got - wanted).abs() <= 2.0 * f64::EPSILON * wanted.abs(),
                    "ln {x} is {wanted}, got {got}"
                );
            }
        }
        assert_eq!(logarithm(1.0), 0.0);
    }
}
