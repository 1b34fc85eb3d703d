//! The file format: cases, inputs with units and their defaults.

use super::unit;
use serde_json::{Map, Value};
use std::path::{Path, PathBuf};
use strikeoff::physics::Outside;

/// Why a case gives no answer.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Fault {
    /// The case, or what the figures say to it.
    Wrong(String),
    /// The case reads a log that is not there.
    NoLog(String),
}

impl From<Outside> for Fault {
    fn from(outside: Outside) -> Self {
        Self::Wrong(format!("the figure answers {outside:?}"))
    }
}

pub(crate) fn wrong<T>(why: impl Into<String>) -> Result<T, Fault> {
    Err(Fault::Wrong(why.into()))
}

#[derive(Debug, Clone, Copy)]
pub(crate) enum Tolerance {
    Abs(f64),
    Rel(f64),
    /// For words.
    None,
}

/// One case.
pub(crate) struct Case<'v> {
    pub(crate) model: String,
    pub(crate) task: String,
    inputs: &'v Map<String, Value>,
    pub(crate) expected: &'v Map<String, Value>,
    tolerance: &'v Value,
}

/// The cases of a file: under `cases`, or the file itself is the list.
pub(crate) fn cases_in(file: &Value) -> Option<&Vec<Value>> {
    file.as_array().or_else(|| file.get("cases")?.as_array())
}

/// How an infinite number reads once [`parse`] has made the file JSON.
const NEVER: &str = "never";

/// A case file. Some writers put a bare `Infinity` for a time that never comes, which is no JSON.
pub(crate) fn parse(text: &str) -> Result<Value, serde_json::Error> {
    let never = format!(": \"{NEVER}\"");
    serde_json::from_str(&text.replace(": Infinity", &never))
}

/// What never happens takes for ever.
pub(crate) fn or_never(time: Result<f64, Outside>) -> Result<f64, Fault> {
    match time {
        Err(Outside::Never(_)) => Ok(f64::INFINITY),
        other => Ok(other?),
    }
}

/// A number: bare, or under `value`.
pub(crate) fn number(value: &Value) -> Result<f64, Fault> {
    let inner = value.get("value").unwrap_or(value);
    let never = || (inner == NEVER).then_some(f64::INFINITY);
    match inner.as_f64().or_else(never) {
        Some(number) => Ok(number),
        None => wrong(format!("`{inner}` is no number")),
    }
}

pub(crate) fn numbers(value: &Value) -> Result<Vec<f64>, Fault> {
    match value.get("value").unwrap_or(value).as_array() {
        Some(list) => list.iter().map(number).collect(),
        None => wrong(format!("`{value}` is no list of numbers")),
    }
}

/// The unit beside a number.
pub(crate) fn unit_of(value: &Value) -> Option<&str> {
    value.get("unit").and_then(Value::as_str)
}

/// Readings of a log in s and K, from lists `t` in s and `T` in degC.
pub(crate) fn readings(value: &Value) -> Result<Vec<(f64, f64)>, Fault> {
    let (times, temperatures) = (numbers(&value["t"])?, numbers(&value["T"])?);
    if times.len() != temperatures.len() {
        return wrong("a log needs as many temperatures as times");
    }
    let to_kelvin = unit::temperature("degC", 0.0).unwrap_or(f64::NAN);
    Ok(times
        .into_iter()
        .zip(temperatures)
        .map(|(t, y)| (t, y + to_kelvin))
        .collect())
}

impl<'v> Case<'v> {
    pub(crate) fn read(value: &'v Value) -> Result<Self, Fault> {
        let word = |key: &str| match value[key].as_str() {
            Some(word) => Ok(word.to_owned()),
            None => wrong(format!("the case has no `{key}`")),
        };
        let map = |key: &str| match value[key].as_object() {
            Some(map) => Ok(map),
            None => wrong(format!("the case has no `{key}`")),
        };
        Ok(Self {
            model: word("model")?,
            task: word("task")?,
            inputs: map("inputs")?,
            expected: map("expected")?,
            tolerance: &value["tolerance"],
        })
    }

    /// All inputs, as they are written.
    pub(crate) fn all_inputs(&self) -> Value {
        Value::Object(self.inputs.clone())
    }

    pub(crate) fn unknown_task<T>(&self) -> Result<T, Fault> {
        wrong(format!(
            "model `{}` has no task `{}` here",
            self.model, self.task
        ))
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.inputs.get(key).is_some_and(|v| !v.is_null())
    }

    pub(crate) fn raw(&self, key: &str) -> Result<&'v Value, Fault> {
        match self.inputs.get(key) {
            Some(value) => Ok(value),
            None => wrong(format!("the case has no input `{key}`")),
        }
    }

    /// The number as it is written, whatever its unit.
    pub(crate) fn as_given(&self, key: &str) -> Result<f64, Fault> {
        number(self.raw(key)?)
    }

    /// An amount or a difference in SI base units; `default` is the unit of a bare number.
    pub(crate) fn si(&self, key: &str, default: &str) -> Result<f64, Fault> {
        amount(self.raw(key)?, default)
    }

    /// As [`Case::si`], with a value where the case has none.
    pub(crate) fn si_or(&self, key: &str, default: &str, other: f64) -> Result<f64, Fault> {
        if self.has(key) {
            self.si(key, default)
        } else {
            Ok(other)
        }
    }

    /// A temperature in kelvin; a bare number is in degC.
    pub(crate) fn kelvin(&self, key: &str) -> Result<f64, Fault> {
        let value = self.raw(key)?;
        let name = unit_of(value).unwrap_or("degC");
        match unit::temperature(name, number(value)?) {
            Some(kelvin) => Ok(kelvin),
            None => wrong(format!(
                "`{key}` is a temperature in the unknown unit `{name}`"
            )),
        }
    }

    pub(crate) fn log(&self, key: &str) -> Result<Vec<(f64, f64)>, Fault> {
        readings(self.raw(key)?)
    }

    /// The tolerance of one expected number: under its key, or one for all.
    pub(crate) fn tolerance(&self, key: &str) -> Result<Tolerance, Fault> {
        let own = self.tolerance.get(key).unwrap_or(self.tolerance);
        if let Some(abs) = own.get("abs") {
            return Ok(Tolerance::Abs(number(abs)?));
        }
        if let Some(rel) = own.get("rel") {
            return Ok(Tolerance::Rel(number(rel)?));
        }
        Ok(Tolerance::None)
    }
}

/// An amount in SI base units.
pub(crate) fn amount(value: &Value, default: &str) -> Result<f64, Fault> {
    let name = unit_of(value).unwrap_or(default);
    match unit::factor(name) {
        Some(factor) => Ok(number(value)? * factor),
        None => wrong(format!("the unit `{name}` is not known here")),
    }
}

/// Where a case may find its log.
pub(crate) struct Places(Vec<PathBuf>);

impl Places {
    /// Beside the case file or one folder up, in the named folder or one folder up, and in the working directory.
    pub(crate) fn around(file: &Path, named: Option<&Path>) -> Self {
        let mut places = Vec::new();
        for folder in [file.parent(), named].into_iter().flatten() {
            places.push(folder.to_path_buf());
            places.extend(folder.parent().map(Path::to_path_buf));
        }
        places.push(PathBuf::from("."));
        Self(places)
    }

    /// The text of a log.
    pub(crate) fn read(&self, name: &str) -> Result<String, Fault> {
        for place in &self.0 {
            if let Ok(text) = std::fs::read_to_string(place.join(name)) {
                return Ok(text);
            }
        }
        Err(Fault::NoLog(format!(
            "the log `{name}` is not in the folder of the cases, nor in the one STRIKEOFF_CASES names"
        )))
    }
}
