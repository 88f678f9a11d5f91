//! A page in Markdown, set for the terminal.

use pulldown_cmark::{Event, HeadingLevel, Parser, Tag, TagEnd};

use super::Prose;

/// What is being set.
struct Setting<'a> {
    prose: &'a Prose,
    out: String,
    /// The paragraph so far.
    text: String,
    /// The mark of the list entry that the next paragraph begins.
    mark: Option<String>,
    /// For each open list its next number, if it is numbered.
    lists: Vec<Option<u64>>,
    in_code: bool,
}

impl Prose {
    /// Headings are bold, paragraphs wrapped, code indented by four.
    pub(crate) fn page(&self, markdown: &str) -> String {
        let mut setting = Setting {
            prose: self,
            out: String::new(),
            text: String::new(),
            mark: None,
            lists: Vec::new(),
            in_code: false,
        };
        for event in Parser::new(markdown) {
            setting.set(event);
        }
        setting.out
    }
}

impl Setting<'_> {
    fn set(&mut self, event: Event<'_>) {
        match event {
            Event::Start(tag) => self.start(&tag),
            Event::End(tag) => self.end(tag),
            Event::Text(text) if self.in_code => self.code_block(&text),
            Event::Text(text) | Event::Html(text) | Event::InlineHtml(text) => {
                self.text.push_str(&text);
            }
            Event::Code(code) => self.code(&code),
            Event::SoftBreak | Event::HardBreak => self.text.push(' '),
            Event::Rule => self.gap(),
            _ => {}
        }
    }

    fn start(&mut self, tag: &Tag<'_>) {
        match tag {
            Tag::CodeBlock(_) => {
                self.gap();
                self.in_code = true;
            }
            Tag::List(first) => {
                // A list inside an entry ends the entry's own text.
                self.paragraph();
                if self.lists.is_empty() {
                    self.gap();
                }
                self.lists.push(*first);
            }
            Tag::Item => {
                self.mark = Some(match self.lists.last_mut() {
                    Some(Some(number)) => {
                        *number += 1;
                        format!("{}. ", *number - 1)
                    }
                    _ => "- ".to_owned(),
                });
            }
            Tag::Paragraph | Tag::Heading { .. } if self.mark.is_none() => self.gap(),
            _ => {}
        }
    }

    fn end(&mut self, tag: TagEnd) {
        match tag {
            TagEnd::Heading(level) => {
                let text = std::mem::take(&mut self.text);
                self.out.push_str(&self.prose.strong(&text));
                self.out.push('\n');
                if level == HeadingLevel::H1 {
                    let line = "─".repeat(text.chars().count());
                    self.out.push_str(&self.prose.faint(&line));
                    self.out.push('\n');
                }
            }
            TagEnd::Paragraph | TagEnd::Item => self.paragraph(),
            TagEnd::CodeBlock => self.in_code = false,
            TagEnd::List(_) => {
                self.lists.pop();
            }
            _ => {}
        }
    }

    /// Ends the paragraph, if one has begun.
    fn paragraph(&mut self) {
        let text = std::mem::take(&mut self.text);
        if text.is_empty() {
            return;
        }
        let depth = self.lists.len().saturating_sub(1) * 2;
        let mark = self.mark.take().unwrap_or_default();
        let first = format!("{:depth$}{mark}", "");
        let rest = " ".repeat(first.len());
        self.out.push_str(&self.prose.hanging(&text, &first, &rest));
    }

    fn code(&mut self, code: &str) {
        let set = if self.prose.colour {
            self.prose.code(code)
        } else {
            format!("`{code}`")
        };
        self.text.push_str(&set);
    }

    fn code_block(&mut self, code: &str) {
        for line in code.lines() {
            let comment = line.trim_start().starts_with('#');
            if !line.is_empty() {
                self.out.push_str("    ");
            }
            let line = if comment {
                self.prose.faint(line)
            } else {
                line.to_owned()
            };
            self.out.push_str(&line);
            self.out.push('\n');
        }
    }

    /// A blank line, unless there is one, or nothing yet.
    fn gap(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with("\n\n") {
            self.out.push('\n');
        }
    }
}
