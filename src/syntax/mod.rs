//! Text to tree. Any text gives a tree; what cannot be read stays in it as a broken piece.

pub mod tree;
/// stub
pub struct Parsed<'t> { /// t
 pub tree: tree::Tree<'t>, /// p
 pub problems: Vec<crate::diagnostic::Diagnostic> }
/// stub
pub fn parse<'t>(file: crate::source::FileId, _text: &'t str) -> Parsed<'t> { Parsed { tree: tree::Tree { file, items: vec![] }, problems: vec![] } }
/// stub
pub fn diagnostic(_p: &crate::diagnostic::Diagnostic) -> crate::diagnostic::Diagnostic { _p.clone() }
