//! The notation: text to typed stanzas with spans, and back.
