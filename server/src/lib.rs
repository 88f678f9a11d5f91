//! The language server: what the analysis knows, in an editor's terms.
//!
//! - `disk` finds and reads a repository's files; `writing` is the one way in
//!   which any file is written;
//! - `state` holds what is open, and every repository with its findings;
//! - `features` answers one question each, in offsets and plain data, and
//!   knows nothing of the protocol;
//! - `wire` speaks the protocol: it decodes a question, asks a feature, and
//!   encodes the answer.
//!
//! Nothing clinical is computed here.

pub mod disk;
mod features;
mod state;
mod text;
mod wire;
pub mod writing;

pub use wire::{Ended, serve};
