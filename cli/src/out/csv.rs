//! Tables for other programs (RFC 4180).

use csv::WriterBuilder;
use gutta_notation::visible_line;

use crate::failure::Failure;

/// What stands in a cell.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Cell<'a> {
    /// A number, a unit, a word of ours: as it is.
    Own(&'a str),
    /// What others wrote: on one line, and no formula. A spreadsheet that
    /// meets `=`, `+`, `-` or `@` first carries out what follows; a quote
    /// before it makes it a text.
    Theirs(&'a str),
}

/// A table that grows by rows.
pub(crate) struct Table(csv::Writer<Vec<u8>>);

impl Table {
    /// Below these heads.
    pub(crate) fn of(heads: &[&str]) -> Result<Self, Failure> {
        let mut table = Self(WriterBuilder::new().from_writer(Vec::new()));
        table.0.write_record(heads).map_err(|error| wrong(&error))?;
        Ok(table)
    }

    /// One row more.
    pub(crate) fn row(&mut self, cells: &[Cell<'_>]) -> Result<(), Failure> {
        let cells = cells.iter().map(|cell| cell.written());
        self.0
            .write_record(cells.collect::<Vec<_>>())
            .map_err(|error| wrong(&error))
    }

    pub(super) fn finish(self) -> Result<String, Failure> {
        let bytes = self.0.into_inner().map_err(|error| wrong(&error))?;
        String::from_utf8(bytes).map_err(|error| wrong(&error))
    }
}

impl Cell<'_> {
    fn written(&self) -> String {
        match self {
            Self::Own(text) => (*text).to_owned(),
            Self::Theirs(text) => {
                let line = visible_line(text);
                let formula = [
                    '=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
                ];
                let quote = if line.trim_start().starts_with(formula) {
                    "'"
                } else {
                    ""
                };
                format!("{quote}{line}")
            }
        }
    }
}

fn wrong(error: &impl std::fmt::Display) -> Failure {
    Failure::new(format!("cannot write CSV: {error}"))
}

#[cfg(test)]
mod tests {
    use super::Cell::{Own, Theirs};
    use super::Table;

    #[test]
    fn what_others_wrote_is_no_formula_and_a_number_stays_one() {
        let mut table = Table::of(&["a", "b", "c"]).expect("a table");
        let rows = [
            [Own("-1.5"), Theirs("-1.5"), Theirs("=1+1")],
            [Theirs("@x"), Theirs("\t+x"), Theirs("\r=x")],
            [Theirs("a\nb"), Theirs("a-b"), Theirs("\u{202e}=x\"")],
        ];
        for row in rows {
            table.row(&row).expect("a row");
        }
        assert_eq!(
            table.finish().expect("text"),
            "a,b,c\n-1.5,'-1.5,'=1+1\n'@x,' +x,<U+000D>=x\na<U+000A>b,a-b,\"<U+202E>=x\"\"\"\n"
        );
    }
}
