//! Text to tree. Any text gives a tree; what cannot be read stays in it as a broken piece.

pub mod tree;
