//! What a run comes to: the three exit codes, and the line or lines that say
//! why a run could not be.

use std::fmt::Display;

use gutta_protocol::nearest;

/// A run that could be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Nothing of the severity asked about: exit code 0.
    Clean,
    /// There is something: exit code 1.
    Found,
}

impl Outcome {
    /// [`Outcome::Found`] if `found`.
    pub(crate) fn found(found: bool) -> Self {
        if found { Self::Found } else { Self::Clean }
    }
}

/// A run that could not be: exit code 2, and why, a line for each reason.
#[derive(Debug)]
pub(crate) struct Failure(Vec<String>);

impl Failure {
    /// Why, without a full stop.
    pub(crate) fn new(why: impl Into<String>) -> Self {
        Self(vec![why.into()])
    }

    /// Several reasons, each without a full stop.
    pub(crate) const fn several(why: Vec<String>) -> Self {
        Self(why)
    }

    /// Both.
    pub(crate) fn and(mut self, other: Self) -> Self {
        self.0.extend(other.0);
        self
    }

    /// What could not be done, and what the system says.
    pub(crate) fn system(what: impl Display, error: &std::io::Error) -> Self {
        let why = gutta_server::disk::plainly(error);
        Self::new(format!("{what}: {why}"))
    }

    /// A name that nothing of this kind has, with the nearest that are there.
    pub(crate) fn unknown<'n>(
        kind: &str,
        name: &str,
        there: impl IntoIterator<Item = &'n str>,
    ) -> Self {
        let near = nearest(name, there);
        let meant = match near.as_slice() {
            [] => String::new(),
            near => format!("; did you mean {}?", near.join(" or ")),
        };
        Self::new(format!("there is no {kind} `{name}` here{meant}"))
    }

    /// Why, a line for each reason.
    pub(crate) fn lines(&self) -> impl Iterator<Item = String> {
        self.0.iter().map(|why| format!("gutta: {}", one_line(why)))
    }
}

/// The text with every run of blanks and line ends made one blank.
pub(crate) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
