//! Places in the text.

use std::fmt;

/// A stretch of bytes. Inside a stanza it counts from the stanza's first byte,
/// so that a stanza moved by an edit above it stays what it was.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The first byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

/// Under `{:-?}` it tells no place: whatever holds spans can be compared by
/// what it says alone.
impl fmt::Debug for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if f.sign_minus() {
            return f.write_str("Span");
        }
        f.debug_struct("Span")
            .field("start", &self.start)
            .field("end", &self.end)
            .finish()
    }
}

impl Span {
    /// From `start` up to, not including, `end`.
    #[must_use]
    pub const fn new(start: u32, end: u32) -> Self {
        Self { start, end }
    }

    /// The same stretch, `offset` bytes further on.
    #[must_use]
    pub const fn shifted(self, offset: u32) -> Self {
        Self {
            start: self.start.saturating_add(offset),
            end: self.end.saturating_add(offset),
        }
    }

    /// The least stretch that holds both.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self {
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }

    /// Whether it holds no byte.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.start >= self.end
    }

    /// The text at this stretch, or nothing where it is out of bounds.
    #[must_use]
    pub fn text(self, source: &str) -> &str {
        source
            .get(self.start as usize..self.end as usize)
            .unwrap_or("")
    }
}

/// A value and where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// `value`, standing at `span`.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }
}
