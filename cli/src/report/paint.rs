//! The colours of a finding: few, and legible on a dark and on a light ground.

use std::io::Write;

use codespan_reporting::diagnostic::{LabelStyle, Severity as Shown};
use codespan_reporting::term::WriteStyle;
use codespan_reporting::term::termcolor::{Ansi, Color, ColorSpec, NoColor, WriteColor};
use gutta_checks::Severity;

use crate::prose::ink;

/// Gathers the text, coloured or not.
pub(super) struct Paint {
    out: Sink,
    in_header: bool,
}

enum Sink {
    Coloured(Ansi<Vec<u8>>),
    Plain(NoColor<Vec<u8>>),
}

/// The library's severity that stands for ours.
pub(super) const fn severity(severity: Severity) -> Shown {
    match severity {
        Severity::Error => Shown::Error,
        Severity::Warning => Shown::Warning,
        Severity::Information => Shown::Note,
        Severity::Hint => Shown::Help,
    }
}

const fn colour(severity: Shown) -> Color {
    match severity {
        Shown::Bug | Shown::Error => Color::Ansi256(ink::RED),
        Shown::Warning => Color::Ansi256(ink::AMBER),
        Shown::Note => Color::Ansi256(ink::TEAL),
        Shown::Help => Color::Ansi256(ink::GREEN),
    }
}

impl Paint {
    pub(super) fn new(coloured: bool) -> Self {
        let out = if coloured {
            Sink::Coloured(Ansi::new(Vec::new()))
        } else {
            Sink::Plain(NoColor::new(Vec::new()))
        };
        Self {
            out,
            in_header: false,
        }
    }

    pub(super) fn into_bytes(self) -> Vec<u8> {
        match self.out {
            Sink::Coloured(out) => out.into_inner(),
            Sink::Plain(out) => out.into_inner(),
        }
    }

    fn set(&mut self, spec: &ColorSpec) -> std::io::Result<()> {
        match &mut self.out {
            Sink::Coloured(out) => out.set_color(spec),
            Sink::Plain(out) => out.set_color(spec),
        }
    }

    fn faint(&mut self) -> std::io::Result<()> {
        self.set(ColorSpec::new().set_fg(Some(Color::Ansi256(ink::GREY))))
    }
}

impl Write for Paint {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        // The library has words of its own for the two lower severities.
        let said: &[u8] = match bytes {
            b"note" if self.in_header => b"information",
            b"help" if self.in_header => b"hint",
            bytes => bytes,
        };
        self.in_header = false;
        match &mut self.out {
            Sink::Coloured(out) => out.write_all(said)?,
            Sink::Plain(out) => out.write_all(said)?,
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

impl WriteStyle for Paint {
    fn set_header(&mut self, severity: Shown) -> std::io::Result<()> {
        self.in_header = true;
        self.set(
            ColorSpec::new()
                .set_fg(Some(colour(severity)))
                .set_bold(true),
        )
    }

    fn set_header_message(&mut self) -> std::io::Result<()> {
        self.set(ColorSpec::new().set_bold(true))
    }

    fn set_line_number(&mut self) -> std::io::Result<()> {
        self.faint()
    }

    fn set_note_bullet(&mut self) -> std::io::Result<()> {
        self.faint()
    }

    fn set_source_border(&mut self) -> std::io::Result<()> {
        self.faint()
    }

    fn set_label(&mut self, severity: Shown, style: LabelStyle) -> std::io::Result<()> {
        let colour = match style {
            LabelStyle::Primary => colour(severity),
            LabelStyle::Secondary => Color::Ansi256(ink::TEAL),
        };
        self.set(ColorSpec::new().set_fg(Some(colour)))
    }

    fn reset(&mut self) -> std::io::Result<()> {
        match &mut self.out {
            Sink::Coloured(out) => WriteColor::reset(out),
            Sink::Plain(out) => WriteColor::reset(out),
        }
    }
}
