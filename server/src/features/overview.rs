//! All that is derived from the order under the cursor.

use gutta_notation::StanzaKind;
use gutta_views::overview::Overview;

use super::TOO_LONG;
use crate::state::{AnswerPart, Site, parse_weight};

/// Of the order or specimen that holds the byte; `None` where none does.
pub(crate) fn overview(site: Site<'_>, offset: u32) -> Option<Overview> {
    let id = site.stanza_at(offset)?;
    let kind = site.workspace.stanza(id).kind;
    if !matches!(kind, StanzaKind::Order | StanzaKind::Specimen) {
        return None;
    }
    let chosen = site.settings.hints.weight.as_deref().and_then(parse_weight);
    let (workspace, library) = (site.workspace, site.library());
    let work = || Overview::of(workspace, library, id, chosen.as_ref());
    let told = site.refused.within(id, AnswerPart::View, work);
    Some(told.unwrap_or_else(|_| Overview::without(workspace, id, TOO_LONG.to_owned())))
}

#[cfg(test)]
mod tests {
    use crate::features::harness::Fixture;

    const DRUGS: &str = "drug ketamine\n  supplied   200 mg in 20 mL\n";

    fn title(marked: &str) -> Option<String> {
        let fixture = Fixture::of(&format!("{DRUGS}\n{marked}"));
        super::overview(fixture.site(), fixture.cursors[0]).map(|overview| overview.title)
    }

    #[test]
    fn it_is_of_the_order_that_holds_the_cursor() {
        assert_eq!(
            title("order a \"One\"\n  no|te \"n\"\norder b\n").as_deref(),
            Some("One")
        );
        assert_eq!(
            title("order a \"One\"\n  note \"n\"\norder b|\n").as_deref(),
            Some("b")
        );
        assert_eq!(title("set c|\n  include a\norder a\n"), None);
    }
}
