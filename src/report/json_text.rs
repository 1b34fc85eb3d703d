//! JSON text that is safe to print: hidden characters are written as `\u` escapes.
//!
//! The value a reader gets is exactly the text of the file; only its spelling differs.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter};

use crate::source::visible;

/// Writes a value, indented, with a line end.
pub(super) fn write(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    let safe = Safe(PrettyFormatter::new());
    let mut writer = serde_json::Serializer::with_formatter(&mut *out, safe);
    value.serialize(&mut writer)?;
    writeln!(out)
}

/// The indented form with hidden characters escaped.
struct Safe(PrettyFormatter<'static>);

impl Formatter for Safe {
    fn begin_array<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.begin_array(out)
    }

    fn end_array<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_array(out)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, out: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(out, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_array_value(out)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.begin_object(out)
    }

    fn end_object<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_object(out)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, out: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(out, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.begin_object_value(out)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_object_value(out)
    }

    fn write_string_fragment<W: ?Sized + Write>(
        &mut self,
        out: &mut W,
        text: &str,
    ) -> io::Result<()> {
        if let std::borrow::Cow::Borrowed(text) = visible(text) {
            return CompactFormatter.write_string_fragment(out, text);
        }
        let mut piece = [0; 4];
        for character in text.chars() {
            let piece = character.encode_utf8(&mut piece);
            if let std::borrow::Cow::Borrowed(piece) = visible(piece) {
                out.write_all(piece.as_bytes())?;
            } else {
                // JSON escapes are UTF-16 (RFC 8259, section 7).
                for unit in character.encode_utf16(&mut [0; 2]) {
                    write!(out, "\\u{unit:04x}")?;
                }
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

    use super::write;

    #[test]
    fn hidden_characters_are_escaped_and_read_back() {
        let text = "a\u{9b}31m\u{202e}\u{e0041}\u{1b}\"é";
        let mut out = Vec::new();
        write(&text, &mut out).unwrap();
        let out = String::from_utf8(out).unwrap();
        assert_eq!(out, "\"a\\u009b31m\\u202e\\udb40\\udc41\\u001b\\\"é\"\n");
        assert_eq!(serde_json::from_str::<String>(&out).unwrap(), text);
    }
}
