//! The table of slips, in DEVELOPERS.md.

use std::fs;
use std::path::Path;

/// One kind of slip.
pub(crate) struct Row {
    pub(crate) told: &'static str,
    pub(crate) made: usize,
    pub(crate) caught: usize,
    /// Of those made, how many take a dose out of what is stated as usual.
    pub(crate) leaving: usize,
    pub(crate) leaving_caught: usize,
}

impl Row {
    pub(crate) const fn new(told: &'static str) -> Self {
        Self {
            told,
            made: 0,
            caught: 0,
            leaving: 0,
            leaving_caught: 0,
        }
    }

    pub(crate) fn count(&mut self, caught: bool, leaves: bool) {
        self.made += 1;
        self.caught += usize::from(caught);
        self.leaving += usize::from(leaves);
        self.leaving_caught += usize::from(leaves && caught);
    }
}

/// In Markdown.
pub(crate) fn table(rows: &[Row], orders: usize) -> String {
    let mut text = format!(
        "{orders} right orders, no false alarm.\n\n| slip | made | caught | | beyond the usual, caught |\n| --- | ---: | ---: | ---: | ---: |\n"
    );
    for row in rows {
        let share = row.caught * 1_000 / row.made.max(1);
        let leaving = if row.leaving > 0 {
            format!("{} of {}", row.leaving_caught, row.leaving)
        } else {
            String::new()
        };
        text.push_str(&format!(
            "| {} | {} | {} | {}.{} % | {leaving} |\n",
            row.told,
            row.made,
            row.caught,
            share / 10,
            share % 10
        ));
    }
    text
}

const BEGIN: &str = "<!-- slips -->\n";
const END: &str = "<!-- /slips -->\n";

/// DEVELOPERS.md holds this very table; `GUTTA_DRAW=1` writes it there.
pub(crate) fn assert_current(table: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../DEVELOPERS.md");
    let text = fs::read_to_string(&path).expect("DEVELOPERS.md");
    let (before, rest) = text.split_once(BEGIN).expect("the table's place");
    let (held, after) = rest.split_once(END).expect("the table's end");
    if std::env::var_os("GUTTA_DRAW").is_some() {
        fs::write(&path, format!("{before}{BEGIN}{table}{END}{after}")).expect("written");
        return;
    }
    assert_eq!(held, table, "draw it again with GUTTA_DRAW=1");
}
