//! The words of a comparison, for whoever lays them out for people.

use gutta_checks::words::{self, counted};
use gutta_quantity::{Exact, Quantity, Rounding, Style, units};

use crate::compare::{Change, Comparison, Effect, Fate, Greatest, Site, Subject, Turn};

/// What there is to tell.
pub struct Compared {
    /// The state before, as it was asked for.
    pub before: String,
    /// The state after.
    pub after: String,
    /// What changed.
    pub comparison: Comparison,
    /// How numbers are written.
    pub style: Style,
    /// Whether every value is told by itself, with a row a patient.
    pub rows: bool,
}

impl Compared {
    /// That nothing changed, in one line.
    #[must_use]
    pub fn unchanged(&self) -> Option<String> {
        let orders = counted(self.comparison.orders_after, "order");
        self.comparison
            .is_same()
            .then(|| format!("No change in meaning, in {orders} and in everything that they use."))
    }

    /// How many orders changed, and what the mark stands for.
    #[must_use]
    pub fn summary(&self) -> String {
        use gutta_notation::StanzaKind::Order;
        let all = &self.comparison;
        let orders = all
            .subjects
            .iter()
            .filter(|subject| subject.kind == Some(Order));
        let (mut new, mut gone, mut renamed, mut changed) = (0, 0, 0, 0);
        for subject in orders {
            *match subject.fate {
                Fate::Added => &mut new,
                Fate::Removed => &mut gone,
                Fate::Renamed { .. } => &mut renamed,
                Fate::Changed => &mut changed,
            } += 1;
        }
        let parts = [
            (changed, "changed"),
            (new, "new"),
            (gone, "removed"),
            (renamed, "renamed"),
            (all.orders_same, "unchanged"),
        ];
        let parts = parts.into_iter().filter(|(count, _)| *count > 0);
        let parts: Vec<_> = parts
            .map(|(count, word)| format!("{count} {word}"))
            .collect();
        let percent = Quantity::new(&all.threshold * &Exact::int(100), units::PERCENT);
        format!(
            "Orders: {}. Marked `!`: changes of more than {}, or that cannot be measured.",
            parts.join(", "),
            self.style.quantity(&percent)
        )
    }

    /// `× 2.5`; enough figures to be told from 1.
    #[must_use]
    pub fn ratio(&self, ratio: &Exact) -> String {
        for figures in 3..12 {
            let told = self
                .style
                .decimal_significant(ratio, figures, Rounding::HalfUp);
            if told != "1" || *ratio == Exact::ONE {
                return format!("\u{d7} {told}");
            }
        }
        "\u{d7} almost 1".to_owned()
    }

    /// `× 2 for every patient`, `up to × 2.5, at 150 kg`.
    fn greatest(&self, change: &Change) -> Option<String> {
        let Greatest { ratio, at, certain } = change.greatest.as_ref()?;
        let way = if *ratio < Exact::ONE { "down" } else { "up" };
        let ratio = self.ratio(ratio);
        let many = change.rows.len() > 1;
        // Where not every place was looked at, it may go further.
        let certain = if *certain { "" } else { " or further" };
        Some(match at {
            None if many => format!("{ratio}{certain} for every patient"),
            None => format!("{ratio}{certain}"),
            Some(at) => format!("{way} to {ratio}{certain}, at {at}"),
        })
    }

    /// Whether each row's ratio says more than the greatest alone.
    #[must_use]
    pub fn ratios_differ(change: &Change) -> bool {
        let at = change.greatest.as_ref().map(|greatest| &greatest.at);
        at.is_none_or(Option::is_some)
    }

    /// What the change does, in a few words: `widened, × 2 for every patient`.
    #[must_use]
    pub fn bearing(&self, change: &Change) -> String {
        let turn = match (change.turn, change.derived) {
            (Turn::Added, true) => Some("none before"),
            (Turn::Added, false) => Some("new"),
            (Turn::Removed, true) => Some("none now"),
            (Turn::Removed, false) => Some("removed"),
            (Turn::Changed, _) => None,
        };
        let effect = match change.effect {
            Effect::Widened => Some("widened"),
            Effect::Narrowed => Some("narrowed"),
            Effect::Neither => None,
        };
        let parts = [
            turn.map(ToOwned::to_owned),
            effect.map(ToOwned::to_owned),
            self.greatest(change),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// `order`, `drug`, `settings`.
#[must_use]
pub fn kind(subject: &Subject) -> &'static str {
    subject.kind.map_or("settings", words::kind)
}

/// What became of it: ` is new`; nothing where it only changed.
#[must_use]
pub fn fate(subject: &Subject) -> String {
    match &subject.fate {
        Fate::Added => "new".to_owned(),
        Fate::Removed => "removed".to_owned(),
        Fate::Renamed { from } => format!("renamed, from {from}"),
        Fate::Changed => String::new(),
    }
}

/// Where it stands, and where it stood if that is another file.
#[must_use]
pub fn place(subject: &Subject) -> String {
    let at = |site: &Site| format!("{}:{}", site.file, site.line);
    match (&subject.before, &subject.after) {
        (Some(before), Some(after)) if before.file != after.file => {
            format!("{}, before in {}", at(after), before.file)
        }
        (_, Some(site)) | (Some(site), None) => at(site),
        (None, None) => String::new(),
    }
}

/// How many orders are named that lean on something.
const NAMED: usize = 6;

/// The orders that lean on it, the first few by name.
#[must_use]
pub fn leaned_on(subject: &Subject) -> Option<String> {
    let all = &subject.used_by;
    let named = all.iter().take(NAMED).map(|name| name.as_str());
    let named = named.collect::<Vec<_>>().join(", ");
    match all.len().saturating_sub(NAMED) {
        _ if all.is_empty() => None,
        0 => Some(named),
        more => Some(format!("{named} and {}", counted(more, "more order"))),
    }
}

/// One of a change's rows in a few words, where its rows are not told: `as 4 mg
/// → 8 mg at 40 kg`.
#[must_use]
pub fn instance(change: &Change) -> Option<String> {
    let row = change.rows.first()?;
    let at = row.at.as_ref()?;
    let values = match (&row.before, &row.after) {
        (Some(before), Some(after)) => format!("{} \u{2192} {}", before.text, after.text),
        (Some(one), None) | (None, Some(one)) => one.text.clone(),
        (None, None) => return None,
    };
    Some(format!("{values} at {at}"))
}

/// What changed, with its phase.
#[must_use]
pub fn what(change: &Change) -> String {
    match &change.phase {
        Some(phase) => format!("{}, phase {phase}", change.what),
        None => change.what.clone(),
    }
}
