//! A rule's page, in its fixed parts.

/// A page: what `gutta explain`, the editor's hover and the tests read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page<'a> {
    /// The rule's name, from the first heading.
    pub title: &'a str,
    /// What the rule finds, in one sentence.
    pub summary: &'a str,
    /// The parts, in order.
    pub sections: Vec<Section<'a>>,
}

/// One part of a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section<'a> {
    /// Its heading.
    pub heading: &'a str,
    /// Its text, in Markdown.
    pub body: &'a str,
}

impl<'a> Page<'a> {
    /// Takes a page apart. Never fails: what a page lacks is empty.
    #[must_use]
    pub fn of(text: &'a str) -> Self {
        let mut marks = Vec::new();
        let mut at = 0;
        let mut in_code = false;
        for line in text.split_inclusive('\n') {
            if line.starts_with("```") {
                in_code = !in_code;
            } else if !in_code && line.starts_with("## ") {
                marks.push((at, at + line.len()));
            }
            at += line.len();
        }
        let intro = &text[..marks.first().map_or(text.len(), |mark| mark.0)];
        let (title, summary) = intro.split_once('\n').unwrap_or((intro, ""));
        let sections = marks
            .iter()
            .enumerate()
            .map(|(index, &(start, body))| Section {
                heading: text[start..body].trim_start_matches("## ").trim(),
                body: text[body..marks.get(index + 1).map_or(text.len(), |next| next.0)].trim(),
            })
            .collect();
        Self {
            title: title.trim_start_matches("# ").trim(),
            summary: summary.trim(),
            sections,
        }
    }

    /// The text under a heading; empty where the page has none.
    #[must_use]
    pub fn section(&self, heading: &str) -> &'a str {
        self.sections
            .iter()
            .find(|section| section.heading == heading)
            .map_or("", |section| section.body)
    }

    /// The first example under a heading, without its fences.
    #[must_use]
    pub fn example(&self, heading: &str) -> Option<&'a str> {
        let (_, rest) = self.section(heading).split_once("```gtt\n")?;
        rest.split_once("```").map(|(example, _)| example)
    }
}

#[cfg(test)]
mod tests {
    use super::Page;
    use crate::rules;

    /// The headings that every page has, in this order.
    const HEADINGS: [&str; 7] = [
        "What it finds",
        "Why it matters",
        "Bad",
        "Good",
        "Fixed",
        "Quick fix",
        "Source",
    ];

    #[test]
    fn every_page_has_the_fixed_headings() {
        for rule in rules() {
            let page = Page::of(rule.page);
            let headings: Vec<_> = page.sections.iter().map(|part| part.heading).collect();
            assert_eq!(page.title, rule.name);
            assert_eq!(headings, HEADINGS, "{}", rule.name);
            assert!(!page.summary.is_empty(), "{}", rule.name);
            assert_eq!(page.summary, rule.sentence(), "a summary is one line");
            for heading in ["Bad", "Good", "Fixed"] {
                assert!(page.example(heading).is_some(), "{} {heading}", rule.name);
            }
            for part in &page.sections {
                assert!(!part.body.is_empty(), "{} {}", rule.name, part.heading);
            }
        }
    }

    #[test]
    fn a_heading_in_an_example_is_no_heading() {
        let page =
            Page::of("# a.b\n\nOne line.\n\n## Bad\n```gtt\n## not one\n```\n\n## Good\nx\n");
        assert_eq!(page.title, "a.b");
        assert_eq!(page.summary, "One line.");
        assert_eq!(page.example("Bad"), Some("## not one\n"));
        assert_eq!(page.section("Good"), "x");
        assert_eq!(page.section("Fixed"), "");
    }
}
