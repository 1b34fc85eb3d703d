//! What the terminal can show.

use std::io::{self, ErrorKind, IsTerminal as _, Write};

use super::args::Colour;

/// Whoever reads the output, and may have had enough of it (`strikeoff check orders | head`). That is no
/// failure, and no verdict either: the rest is not written, and the exit code is what it would have been.
pub(super) struct Reader<W> {
    out: W,
    gone: bool,
}

impl<W> Reader<W> {
    pub(super) fn new(out: W) -> Self {
        Self { out, gone: false }
    }

    fn unless_gone<T>(&mut self, done: io::Result<T>, rest: T) -> io::Result<T> {
        match done {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.gone = true;
                Ok(rest)
            }
            done => done,
        }
    }
}

impl<W: Write> Write for Reader<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.gone {
            return Ok(bytes.len());
        }
        let done = self.out.write(bytes);
        self.unless_gone(done, bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.gone {
            return Ok(());
        }
        let done = self.out.flush();
        self.unless_gone(done, ())
    }
}

/// Narrowest and widest report.
const NARROWEST: usize = 40;
const WIDEST: usize = 120;

/// The width reports are written in: that of the terminal, else of `COLUMNS`, else 100.
pub(super) fn width() -> usize {
    let columns = std::env::var("COLUMNS")
        .ok()
        .and_then(|text| text.parse().ok());
    let terminal = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    terminal.or(columns).unwrap_or(100).clamp(NARROWEST, WIDEST)
}

/// Whether to colour what goes to standard output.
pub(super) fn colour(wanted: Colour) -> bool {
    match wanted {
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto => {
            let stdout = std::io::stdout();
            stdout.is_terminal()
                && anstream::AutoStream::choice(&stdout) != anstream::ColorChoice::Never
        }
    }
}
