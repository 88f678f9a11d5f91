//! From `added to` to `made up to`: the two are not the same bag.

use gutta_notation::ast::{Bag, BagInto};
use gutta_notation::{Fact, Span};

use super::effect::Effects;
use super::{Action, ActionKind, ActionPlace, findings};

/// The rule that offers the same where the two volumes lie far apart.
const COUNTED_AS: &str = "mix.counted-as";

/// Makes the bag up to the volume that the drug was added to, or that it was
/// counted as; the title tells what that does to the dose.
pub(super) fn made_up(at: &ActionPlace<'_>, effects: &Effects<'_>) -> Option<Action> {
    const WORDS: &str = "added to";
    let line = at.line.filter(|line| line.whole)?;
    // The finding there has it as its fix.
    let found = findings(at.site, at.id);
    if found.iter().any(|finding| finding.rule.name == COUNTED_AS) {
        return None;
    }
    let Fact::Bag(bag) = &line.fact else {
        return None;
    };
    let Bag::Mix {
        drug,
        into:
            BagInto::AddedTo {
                volume,
                solution,
                counted_as,
            },
    } = &**bag
    else {
        return None;
    };
    let drug_end = drug.lid.as_ref().unwrap_or(&drug.amount).span.end;
    let between = at.text(Span::new(drug_end, volume.span.start));
    let words = drug_end + u32::try_from(between.find(WORDS)?).ok()?;
    let volume = at.text(counted_as.as_ref().unwrap_or(volume).span);
    let solution = at.text(solution.span);
    let edits = vec![at.replace(
        Span::new(words, line.span.end),
        format!("made up to {volume} with {solution}"),
    )];
    let mut title = format!("Make the bag up to {volume}, instead of adding to it");
    effects.tell(&mut title, &edits);
    Some(Action::new(ActionKind::Rewrite, title, edits))
}
