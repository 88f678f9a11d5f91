//! What is written in Markdown, for clients that show plain text alone.

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

/// The text without its marks: blocks apart by a blank line, lists with a dash
/// or a number, code indented by four, tables in columns.
pub(crate) fn plain(markdown: &str) -> String {
    let mut setting = Setting::default();
    for event in Parser::new_ext(markdown, Options::ENABLE_TABLES) {
        setting.set(event);
    }
    setting.out.truncate(setting.out.trim_end().len());
    setting.out
}

#[derive(Default)]
struct Setting {
    out: String,
    /// For each open list its next number, if it is numbered.
    lists: Vec<Option<u64>>,
    in_code: bool,
    /// The open table's rows of cells.
    rows: Vec<Vec<String>>,
    in_cell: bool,
}

impl Setting {
    fn set(&mut self, event: Event<'_>) {
        match event {
            Event::Start(tag) => self.start(&tag),
            Event::End(tag) => self.end(tag),
            Event::Text(text) if self.in_code => {
                for line in text.split_inclusive('\n') {
                    if !line.trim_end().is_empty() {
                        self.out.push_str("    ");
                    }
                    self.out.push_str(line);
                }
            }
            Event::Text(text) | Event::Code(text) | Event::Html(text) | Event::InlineHtml(text) => {
                self.write(&text);
            }
            Event::SoftBreak => self.write(" "),
            Event::HardBreak => self.write("\n"),
            Event::Rule => self.gap(),
            _ => {}
        }
    }

    fn start(&mut self, tag: &Tag<'_>) {
        match tag {
            Tag::List(first) => {
                if self.lists.is_empty() {
                    self.gap();
                }
                self.lists.push(*first);
            }
            Tag::Item => self.item(),
            Tag::CodeBlock(_) => {
                self.gap();
                self.in_code = true;
            }
            Tag::Table(_) => self.gap(),
            Tag::TableHead | Tag::TableRow => self.rows.push(Vec::new()),
            Tag::TableCell => {
                self.in_cell = true;
                if let Some(row) = self.rows.last_mut() {
                    row.push(String::new());
                }
            }
            Tag::Paragraph | Tag::Heading { .. } if self.lists.is_empty() => self.gap(),
            _ => {}
        }
    }

    fn end(&mut self, tag: TagEnd) {
        match tag {
            TagEnd::List(_) => {
                self.lists.pop();
            }
            TagEnd::CodeBlock => self.in_code = false,
            TagEnd::TableCell => self.in_cell = false,
            TagEnd::Table => self.table(),
            _ => {}
        }
    }

    /// Begins an entry of the innermost list, on a line of its own.
    fn item(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with('\n') {
            self.out.push('\n');
        }
        let depth = self.lists.len().saturating_sub(1);
        self.out.push_str(&"  ".repeat(depth));
        match self.lists.last_mut() {
            Some(Some(number)) => {
                self.out.push_str(&format!("{number}. "));
                *number += 1;
            }
            _ => self.out.push_str("- "),
        }
    }

    /// Each column as wide as its widest cell.
    fn table(&mut self) {
        let rows = std::mem::take(&mut self.rows);
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let width = |column: usize| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<_> = (0..columns).map(width).collect();
        for row in &rows {
            let cells = row.iter().zip(&widths);
            let line: String = cells
                .map(|(cell, width)| format!("{cell:width$}  "))
                .collect();
            self.out.push_str(line.trim_end());
            self.out.push('\n');
        }
    }

    fn write(&mut self, text: &str) {
        let cell = self.rows.last_mut().and_then(|row| row.last_mut());
        match cell.filter(|_| self.in_cell) {
            Some(cell) => cell.push_str(text),
            None => self.out.push_str(text),
        }
    }

    /// A blank line, unless there is one, or nothing yet.
    fn gap(&mut self) {
        if self.out.is_empty() || self.out.ends_with("\n\n") {
            return;
        }
        let more = if self.out.ends_with('\n') {
            "\n"
        } else {
            "\n\n"
        };
        self.out.push_str(more);
    }
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn marks_go_and_words_stay() {
        let markdown = "run\n---\n- volume **50 mL**\n- dose `0.05 mcg/kg/min`\n\n\
             | weight | pump flow |\n| --- | --- |\n| 40 kg | 1.5 mL/h |\n| 100 kg | 3.8 mL/h |\n\n\
             Working for 80 kg:\n\n1. 4 mg ÷ 50 mL\n1. **flow 3 mL/h**\n\n\
             ```gtt\ndrug noradrenaline\n\n  dosed in   mcg/kg/min\n```\n\n*Check\nindependently.*\n";
        assert_eq!(
            plain(markdown),
            "run\n\n- volume 50 mL\n- dose 0.05 mcg/kg/min\n\n\
             weight  pump flow\n40 kg   1.5 mL/h\n100 kg  3.8 mL/h\n\n\
             Working for 80 kg:\n\n1. 4 mg ÷ 50 mL\n2. flow 3 mL/h\n\n    \
             drug noradrenaline\n\n      dosed in   mcg/kg/min\n\nCheck independently."
        );
    }

    #[test]
    fn lists_within_lists_are_set_in() {
        assert_eq!(
            plain("- one\n  - two\n  - three\n- four\n\nfive"),
            "- one\n  - two\n  - three\n- four\n\nfive"
        );
    }
}
