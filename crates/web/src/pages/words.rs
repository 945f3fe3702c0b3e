//! Numbers and things in the shop's words.

use units::Seconds;

/// A place in a drawing, to a tenth.
pub(crate) fn n(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0")
        .map_or_else(|| text.clone(), str::to_owned)
}

/// `1 run`, `3 runs`.
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// Whole minutes, rounded up: a setter told 3 minutes should not need 3 and a half.
pub(crate) fn minutes(work: Seconds) -> i64 {
    work.0.saturating_add(59).div_euclid(60)
}

/// `+12`, `0`, `−3`.
pub(crate) fn signed(number: i64) -> String {
    match number {
        0 => "0".to_owned(),
        more if more > 0 => format!("+{more}"),
        less => format!("\u{2212}{}", less.unsigned_abs()),
    }
}

/// `2 h 05 min later`, `12 min earlier`, `as before`.
pub(crate) fn shifted(by: Seconds) -> String {
    match by.0 {
        0 => "as before".to_owned(),
        later if later > 0 => format!("{by} later"),
        earlier => format!("{} earlier", Seconds(-earlier)),
    }
}

/// An objective in changeover minutes; it counts sixtieths of a changeover second.
pub(crate) fn cost(objective: i64) -> i64 {
    objective.saturating_add(1_800).div_euclid(3_600)
}

/// At most `room` letters, the last one `…` when some are missing; nothing when fewer than 3 fit.
pub(crate) fn clipped(text: &str, room: usize) -> String {
    if text.chars().count() <= room {
        return text.to_owned();
    }
    if room < 3 {
        return String::new();
    }
    let kept: String = text.chars().take(room - 1).collect();
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_say_which_way() {
        assert_eq!((signed(3).as_str(), signed(0).as_str()), ("+3", "0"));
        assert_eq!(signed(-3), "−3");
        assert_eq!(shifted(Seconds(-720)), "12 min earlier");
        assert_eq!(shifted(Seconds(7_500)), "2 h 05 min later");
        assert_eq!((minutes(Seconds(181)), cost(3_600 * 12)), (4, 12));
    }

    #[test]
    fn long_names_are_clipped_and_too_narrow_a_place_stays_empty() {
        assert_eq!(clipped("BR-101", 6), "BR-101");
        assert_eq!(clipped("BR-101 bracket", 8), "BR-101…");
        assert_eq!(clipped("BR-101", 2), "");
    }
}
