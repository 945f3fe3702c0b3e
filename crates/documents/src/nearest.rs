//! The nearest known name to one that is not known.

/// Picks the known name a mistyped one most likely means; none when nothing is near.
pub(crate) fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const LONGEST: usize = 40;
    if name.chars().count() > LONGEST {
        return None;
    }
    let name = name.to_lowercase();
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let allowed = (candidate.len() / 3).max(1);
        let contained = candidate.len() > 3
            && (name.contains(candidate) || (name.len() > 3 && candidate.contains(&name)));
        let away = if contained {
            1
        } else {
            distance(&name, &candidate.to_lowercase())
        };
        if away <= allowed && best.is_none_or(|(least, _)| away < least) {
            best = Some((away, candidate));
        }
    }
    best.map(|(_, name)| name)
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
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
    }
}
