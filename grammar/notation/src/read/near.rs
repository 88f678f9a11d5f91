//! The nearest known word.

/// Words longer than this are near nothing: the comparison is quadratic.
const LONGEST: usize = 24;

/// The word of `known` nearest to `word`, if one is near enough to be meant:
/// the same but for case, or within a slip for each three letters.
pub(super) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if word.is_empty() || word.len() > LONGEST {
        return None;
    }
    let folded = word.to_lowercase();
    let mut best = None;
    for candidate in known {
        if candidate.eq_ignore_ascii_case(word) {
            return Some(candidate);
        }
        let slips = strsim::osa_distance(&folded, &candidate.to_lowercase());
        let allowed = word.chars().count().min(candidate.len()).div_ceil(3);
        if slips <= allowed
            && slips < candidate.len()
            && best.is_none_or(|(least, _)| slips < least)
        {
            best = Some((slips, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}
