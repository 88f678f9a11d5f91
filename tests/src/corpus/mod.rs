//! A large mixed corpus: every order and set of the invented hospital over and
//! over, each time under other names and with other numbers, generated orders
//! between them, and slips in some. The same seed gives the same corpus.

mod vary;

use std::collections::BTreeSet;
use std::ops::Range;

use crate::generated;
use crate::hospital::{self, Page, Stanza};
use crate::right::Right;
use crate::seed::Seed;
use crate::slips;

/// Who keeps the copies.
const WARDS: &[&str] = &[
    "alder", "bittern", "cedar", "curlew", "dunlin", "elder", "fern", "heron", "juniper",
    "kestrel", "lapwing", "maple", "nettle", "osprey", "plover", "quince", "rowan", "sedge",
    "thistle", "wren",
];

/// Generated orders that stand beside each folder of the hospital, a copy.
const MORE: usize = 7;

/// Makes the corpus.
pub struct Corpus {
    /// What all orders lean on, as it is in the hospital.
    reference: Vec<(String, String)>,
    /// What has orders: by folder, each page below those that it uses.
    folders: Vec<Vec<Page>>,
    areas: Vec<vary::Area>,
    orders: BTreeSet<String>,
    members: BTreeSet<String>,
    wrong: usize,
    seed: Seed,
    place: usize,
}

/// A file of the corpus.
pub struct File {
    /// From the root.
    pub path: String,
    uses: String,
    /// Its orders and sets.
    pub made: Vec<Made>,
}

/// An order or a set of the corpus.
pub struct Made {
    /// Its name.
    pub name: String,
    /// All of it, with the comments above.
    pub text: String,
    /// Whether it is an order.
    pub is_order: bool,
    /// Whether a slip was made in it.
    pub slipped: bool,
}

impl File {
    /// The text of the file.
    pub fn text(&self) -> String {
        let mut text = self.uses.clone();
        for made in &self.made {
            text.push('\n');
            text.push_str(&made.text);
        }
        text
    }

    /// How many orders it holds.
    pub fn orders(&self) -> usize {
        self.made.iter().filter(|made| made.is_order).count()
    }
}

impl Corpus {
    /// A corpus in which `wrong` of a hundred orders and sets hold a slip.
    ///
    /// # Panics
    ///
    /// Where the examples cannot be read.
    pub fn new(seed: u64, wrong: usize) -> Self {
        let files = hospital::files();
        let mut folders: Vec<Vec<Page>> = Vec::new();
        let (mut areas, mut orders, mut members) = (Vec::new(), BTreeSet::new(), BTreeSet::new());
        for mut page in hospital::pages(&files) {
            areas.extend(page.stanzas.iter().filter_map(vary::Area::of));
            page.stanzas
                .retain(|stanza| ["order", "set"].contains(&stanza.keyword()));
            for stanza in &page.stanzas {
                if stanza.keyword() == "order" {
                    orders.insert(stanza.name().to_owned());
                } else {
                    members.extend(stanza.lines.iter().flat_map(|line| included(line)));
                }
            }
            if page.stanzas.is_empty() {
                continue;
            }
            match folders.last_mut() {
                Some(folder) if folder[0].folder() == page.folder() => folder.push(page),
                _ => folders.push(vec![page]),
            }
        }
        for folder in &mut folders {
            // A set stands below what it includes, wherever the corpus ends.
            folder.sort_by_key(|page| page.uses.iter().any(|line| !line.contains('/')));
        }
        let of_reference = |(path, _): &(String, String)| path.starts_with("reference/");
        Self {
            reference: files.into_iter().filter(of_reference).collect(),
            folders,
            areas,
            orders,
            members,
            wrong,
            seed: Seed(seed),
            place: 0,
        }
    }

    /// What all orders lean on: paths from the root, and texts.
    pub fn reference(&self) -> &[(String, String)] {
        &self.reference
    }

    /// Files in folders beside the reference, of so many orders or a few more;
    /// each holds as many copies of a file of the hospital.
    pub fn files(mut self, orders: usize, copies: usize) -> impl Iterator<Item = File> {
        let mut left = orders;
        let files = (0..).flat_map(move |group| self.ward(group, copies));
        files.take_while(move |file| {
            let more = left > 0;
            left = left.saturating_sub(file.orders());
            more
        })
    }

    /// One file beside the reference, of about so many lines.
    pub fn one_file(self, path: &str, lines: usize) -> File {
        let uses = self.reference.iter();
        let uses: String = uses.map(|(path, _)| format!("use \"{path}\"\n")).collect();
        let mut left = lines.saturating_sub(uses.lines().count());
        let made = self.files(usize::MAX, 1).flat_map(|file| file.made);
        let fits = |made: &Made| {
            // With the empty line above it.
            let fits = left > 0;
            left = left.saturating_sub(made.text.lines().count() + 1);
            fits
        };
        File {
            path: path.to_owned(),
            uses,
            made: made.take_while(fits).collect(),
        }
    }

    /// The whole hospital once more, in a ward's own folder.
    fn ward(&mut self, group: usize, copies: usize) -> Vec<File> {
        let ward = WARDS[group % WARDS.len()];
        let root = format!("{ward}-{}", group / WARDS.len() + 1);
        let copies = group * copies..(group + 1) * copies;
        let mut order: Vec<_> = (0..self.folders.len()).collect();
        for last in (1..order.len()).rev() {
            order.swap(last, self.seed.below(last + 1));
        }
        let up = |uses: &str| uses.replace("\"../", "\"../../");
        let folders = std::mem::take(&mut self.folders);
        let mut files = Vec::new();
        for place in order {
            for page in &folders[place] {
                let uses = page.uses.iter().map(|line| format!("{}\n", up(line)));
                files.push(File {
                    path: format!("{root}/{}", page.path),
                    uses: uses.collect(),
                    made: self.copies_of(page, ward, copies.clone()),
                });
            }
            files.push(File {
                path: format!("{root}/{}/more.gtt", folders[place][0].folder()),
                uses: up(generated::USES),
                made: self.more(ward, copies.len() * MORE),
            });
        }
        self.folders = folders;
        files
    }

    fn copies_of(&mut self, page: &Page, ward: &str, copies: Range<usize>) -> Vec<Made> {
        let mut made = Vec::new();
        for copy in copies {
            let suffix = format!("-{ward}-{}", copy + 1);
            for stanza in &page.stanzas {
                made.push(if stanza.keyword() == "order" {
                    self.order(page, stanza, &suffix)
                } else {
                    self.set(stanza, &suffix)
                });
            }
        }
        made
    }

    fn order(&mut self, page: &Page, stanza: &Stanza, suffix: &str) -> Made {
        let mut varied = stanza.clone();
        // What a set brings together keeps the numbers that the set allows for.
        if !self.members.contains(stanza.name()) {
            vary::numbers(&mut varied.lines, &self.areas, &mut self.seed);
        }
        vary::words(&mut varied.lines, &mut self.seed);
        varied.lines[0] = titled(&varied, suffix);
        let lead = varied.lead.join("\n");
        self.finished(Right::of(page, &varied), &lead)
    }

    /// The set with the copies of what it includes; a slip misspells one of them.
    fn set(&mut self, stanza: &Stanza, suffix: &str) -> Made {
        let mut lines = vec![titled(stanza, suffix)];
        let mut slip = self.is_wrong();
        let slipped = slip;
        for line in &stanza.lines[1..] {
            let mut line = line.clone();
            for name in included(&line) {
                let mut renamed = format!("{name}{suffix}");
                if line.trim_start().starts_with("include") && std::mem::take(&mut slip) {
                    renamed.remove(self.seed.below(name.len()));
                }
                if self.orders.contains(&name) {
                    line = renamed_in(&line, &name, &renamed);
                }
            }
            lines.push(line);
        }
        vary::words(&mut lines, &mut self.seed);
        Made {
            name: format!("{}{suffix}", stanza.name()),
            text: text(&stanza.lead.join("\n"), &lines),
            is_order: false,
            slipped,
        }
    }

    /// So many generated orders.
    fn more(&mut self, ward: &str, count: usize) -> Vec<Made> {
        let mut made = Vec::with_capacity(count);
        while made.len() < count {
            self.place += 1;
            let Some(mut order) = generated::order(&mut self.seed, self.place) else {
                continue;
            };
            order.name = format!("{}-{ward}-more-{}", order.drug(), self.place);
            order.lines[0] = format!("order {} \"Number {} of {ward}\"", order.name, self.place);
            order.lines.extend(order.expectation());
            order.lines.push("  review by 2027-01-01".to_owned());
            vary::words(&mut order.lines, &mut self.seed);
            made.push(self.finished(order, ""));
        }
        made
    }

    /// The order as text, some with a slip.
    fn finished(&mut self, order: Right, lead: &str) -> Made {
        let slips = if self.is_wrong() {
            slips::all(&order, &mut self.seed)
        } else {
            Vec::new()
        };
        let mut kinds: Vec<_> = slips.iter().map(|slip| slip.kind).collect();
        kinds.dedup();
        let slipped = !kinds.is_empty();
        let lines = if slipped {
            let kind = *self.seed.one(&kinds);
            let of_kind: Vec<_> = slips.iter().filter(|slip| slip.kind == kind).collect();
            &self.seed.one(&of_kind).lines
        } else {
            &order.lines
        };
        Made {
            text: text(lead, lines),
            name: order.name,
            is_order: true,
            slipped,
        }
    }

    fn is_wrong(&mut self) -> bool {
        self.seed.below(100) < self.wrong
    }
}

fn text(lead: &str, lines: &[String]) -> String {
    let gap = if lead.is_empty() { "" } else { "\n" };
    format!("{lead}{gap}{}\n", lines.join("\n"))
}

/// The header under another name, with a title that says whose it is.
fn titled(stanza: &Stanza, suffix: &str) -> String {
    let name = stanza.name();
    let header = stanza.lines[0].replacen(name, &format!("{name}{suffix}"), 1);
    match header.strip_suffix('"') {
        Some(open) => format!("{open}, {}\"", suffix[1..].replace('-', " ")),
        None => header,
    }
}

/// The names in an `include` or a `line` of a set.
fn included(line: &str) -> Vec<String> {
    let names = match line.trim_start().split_once(' ') {
        Some(("include", names)) => names,
        Some(("line", rest)) => rest.split_once(':').map_or("", |(_, names)| names),
        _ => "",
    };
    let names = names.split(',').map(str::trim);
    let names = names.filter(|name| !name.is_empty());
    names.map(str::to_owned).collect()
}

/// The line with another name in place of this one.
fn renamed_in(line: &str, name: &str, other: &str) -> String {
    let words = line.split(' ').map(|word| {
        let bare = word.trim_end_matches(',');
        let rest = &word[bare.len()..];
        if bare == name {
            format!("{other}{rest}")
        } else {
            word.to_owned()
        }
    });
    words.collect::<Vec<_>>().join(" ")
}
