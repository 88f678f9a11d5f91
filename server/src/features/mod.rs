//! Each answers one question, in offsets and plain data.
