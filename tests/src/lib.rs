//! Tests from end to end and against the outside.
