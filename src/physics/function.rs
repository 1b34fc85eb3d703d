//! What the language needs to know of a figure before it calls it.

/// In which direction a rise of the input moves the result, the others fixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Never down.
    Rises,
    /// Never up.
    Falls,
    /// Not monotone, or not proven: both ends and points between are tried.
    Mixed,
    /// Never down as long as the film warms and stays cooler than what heats it, which each run shows; else mixed.
    RisesWhileHeating,
    /// Never up as long as the film warms and stays cooler than what heats it, which each run shows; else mixed.
    FallsWhileHeating,
}

/// One input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameter {
    /// Its name, kebab case.
    pub name: &'static str,
    /// Name of its dimension (`length`, `temperature`, `share`), as the language spells it.
    pub dimension: &'static str,
    /// Smallest value the model is valid for, in SI base units (a temperature in kelvin, a share as a fraction).
    pub low: f64,
    /// Largest.
    pub high: f64,
    /// What a rise does to the result.
    pub direction: Direction,
}

/// How far the number may be from the model's true value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Accuracy {
    /// A few units in the last place (closed forms).
    Rounding,
    /// At most this much, in SI base units of the result (a numerical solver).
    Absolute(f64),
    /// At most this share of the result.
    Relative(f64),
}

/// Why there is no number: which input lies outside the model's validity, or what cannot be.
#[derive(Debug, Clone, PartialEq)]
pub enum Outside {
    /// The input with this index lies outside its range.
    Parameter(usize),
    /// The inputs are each possible, but not together; a clause in plain words.
    Together(&'static str),
    /// The asked-for event never happens (the ink never gels); a clause in plain words.
    Never(&'static str),
}

/// A figure the language can call.
#[derive(Debug, Clone, Copy)]
pub struct Function {
    /// Its name, kebab case.
    pub name: &'static str,
    /// Its inputs, in order.
    pub parameters: &'static [Parameter],
    /// Name of the result's dimension.
    pub result: &'static str,
    /// The formula, for the reader.
    pub formula: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
    /// How exact `evaluate` is.
    pub accuracy: Accuracy,
    /// The figure at one point, everything in SI base units; one number for each parameter.
    pub evaluate: fn(&[f64]) -> Result<f64, Outside>,
}

/// Whether there is one number for each parameter, each inside its range.
pub(super) fn inside(parameters: &[Parameter], x: &[f64]) -> Result<(), Outside> {
    if x.len() != parameters.len() {
        return Err(Outside::Together("each parameter needs one number"));
    }
    match x
        .iter()
        .zip(parameters)
        .position(|(x, p)| !(p.low..=p.high).contains(x))
    {
        Some(index) => Err(Outside::Parameter(index)),
        None => Ok(()),
    }
}

/// What each file contributes.
const GROUPS: &[&[Function]] = &[
    super::thermal::ROWS,
    super::flash::ROWS,
    super::pallet::ROWS,
    super::dose::ROWS,
    super::dye::ROWS,
    super::detail::ROWS,
    super::ink::ROWS,
    super::instrument::ROWS,
    super::load::ROWS,
    super::mesh::ROWS,
    super::moisture::ROWS,
    super::off_contact::ROWS,
    super::opacity::ROWS,
    super::order::ROWS,
    super::pace::ROWS,
    super::panel::ROWS,
    super::plies::ROWS,
    super::stencil::ROWS,
];

const COUNT: usize = {
    let (mut count, mut group) = (0, 0);
    while group < GROUPS.len() {
        count += GROUPS[group].len();
        group += 1;
    }
    count
};

static ALL: [Function; COUNT] = {
    let mut all = [GROUPS[0][0]; COUNT];
    let (mut next, mut group) = (0, 0);
    while group < GROUPS.len() {
        let mut row = 0;
        while row < GROUPS[group].len() {
            all[next] = GROUPS[group][row];
            next += 1;
            row += 1;
        }
        group += 1;
    }
    all
};

/// All figures the language can call.
#[must_use]
pub fn functions() -> &'static [Function] {
    &ALL
}
