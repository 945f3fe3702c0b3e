//! The nearest known name to one that is not known.

/// Picks the known name a mistyped one most likely means; none when nothing is near.
pub(crate) fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    nearest_few(name, known, 1).first().copied()
}

/// The known names a mistyped one may mean, nearest first, at most so many.
pub(crate) fn nearest_few<'a>(
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
    most: usize,
) -> Vec<&'a str> {
    const LONGEST: usize = 40;
    if name.chars().count() > LONGEST {
        return Vec::new();
    }
    let name = name.to_lowercase();
    let far = |candidate: &'a str| Some((away(&name, &candidate.to_lowercase())?, candidate));
    let mut near: Vec<(usize, &str)> = known.into_iter().filter_map(far).collect();
    near.sort_by_key(|(away, _)| *away);
    near.into_iter().take(most).map(|(_, name)| name).collect()
}

/// How far apart two names are, in half letters; nothing when they are too far apart.
fn away(name: &str, candidate: &str) -> Option<usize> {
    let contained = candidate.len() > 3
        && (name.contains(candidate) || (name.len() > 3 && candidate.contains(name)));
    if contained {
        return Some(1);
    }
    let letters = distance(name, candidate);
    let allowed = (candidate.len() / 3).max(1);
    (letters <= allowed).then_some(2 * letters)
}

/// `; did you mean "…"?` as an action, or a plain one.
pub(crate) fn suggestion<'a>(
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
    otherwise: &str,
) -> String {
    match nearest(name, known) {
        Some(near) => format!("did you mean {near:?}?"),
        None => otherwise.to_owned(),
    }
}

/// Single-character insertions, deletions and replacements from one text to the other.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        let mut next = vec![left];
        for (to, above) in b.iter().zip(row.iter().skip(1)) {
            let replaced = diagonal + usize::from(from != *to);
            left = replaced.min(left + 1).min(above + 1);
            diagonal = *above;
            next.push(left);
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_find_their_name() {
        let known = ["throat", "stroke", "bed", "between_frames"];
        assert_eq!(nearest("throut", known), Some("throat"));
        assert_eq!(nearest("strokes", known), Some("stroke"));
        assert_eq!(nearest("between_frames_mm", known), Some("between_frames"));
        assert_eq!(nearest("colour", known), None);
        assert_eq!(nearest("s355j2", ["S235JR", "S355"]), Some("S355"));
        assert_eq!(
            nearest_few("s355jr", ["S235JR", "S355", "A36"], 2),
            ["S355", "S235JR"]
        );
        assert_eq!(
            nearest_few("stroke", ["strokes", "strike", "bed"], 3),
            ["strokes", "strike"]
        );
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
    }
}
