//! What the terminal can show.

use std::io::IsTerminal as _;

use super::args::Colour;

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
