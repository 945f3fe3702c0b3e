//! Code 128 (ISO/IEC 15417), code set B alone: every printable character of ASCII.

/// Widths in modules of bar, space, bar, space, bar, space for each value of the standard's
/// table, as `[memory]` has them; the tests compare them with another implementation.
const WIDTHS: [&str; 106] = [
    "212222", "222122", "222221", "121223", "121322", "131222", "122213", "122312", "132212",
    "221213", "221312", "231212", "112232", "122132", "122231", "113222", "123122", "123221",
    "223211", "221132", "221231", "213212", "223112", "312131", "311222", "321122", "321221",
    "312212", "322112", "322211", "212123", "212321", "232121", "111323", "131123", "131321",
    "112313", "132113", "132311", "211313", "231113", "231311", "112133", "112331", "132131",
    "113123", "113321", "133121", "313121", "211331", "231131", "213113", "213311", "213131",
    "311123", "311321", "331121", "312113", "312311", "332111", "314111", "221411", "431111",
    "111224", "111422", "121124", "121421", "141122", "141221", "112214", "112412", "122114",
    "122411", "142112", "142211", "241211", "221114", "413111", "241112", "134111", "111242",
    "121142", "121241", "114212", "124112", "124211", "411212", "421112", "421211", "212141",
    "214121", "412121", "111143", "111341", "131141", "114113", "114311", "411113", "411311",
    "113141", "114131", "311141", "411131", "211412", "211214", "211232",
];

const STOP: &str = "2331112";
const START_B: usize = 104;

/// Blank modules that must stand on either side.
pub(crate) const QUIET: u32 = 10;

/// Widths in modules of bars and spaces in turn, a bar first; `None` for text that code set B does
/// not have, and for none.
pub(crate) fn widths(text: &str) -> Option<Vec<u32>> {
    if text.is_empty() {
        return None;
    }
    let mut values = vec![START_B];
    for letter in text.bytes() {
        if !(32..127).contains(&letter) {
            return None;
        }
        values.push(usize::from(letter - 32));
    }
    let weighted = values.iter().enumerate();
    let sum: usize = weighted.map(|(at, value)| value * at.max(1)).sum();
    values.push(sum % 103);
    let symbols = values
        .iter()
        .filter_map(|&value| WIDTHS.get(value).copied());
    let digits = symbols.chain([STOP]).flat_map(str::chars);
    Some(digits.filter_map(|digit| digit.to_digit(10)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use barcoders::sym::code128::Code128;

    fn modules(widths: &[u32]) -> Vec<u8> {
        let mut out = Vec::new();
        for (at, &width) in widths.iter().enumerate() {
            for _ in 0..width {
                out.push(u8::from(at % 2 == 0));
            }
        }
        out
    }

    #[test]
    fn every_character_is_coded_as_another_implementation_codes_it() {
        let all: String = (32u8..127).map(char::from).collect();
        let mut texts = vec![all, "W-4102".to_owned(), "A/b_1.2+3#4:5".to_owned()];
        texts.extend((32u8..127).map(|letter| char::from(letter).to_string()));
        for text in texts {
            // Its own way of asking for code set B.
            let other = Code128::new(format!("\u{0181}{text}")).unwrap().encode();
            assert_eq!(modules(&widths(&text).unwrap()), other, "{text}");
        }
    }

    #[test]
    fn every_symbol_is_eleven_modules_with_an_even_number_of_dark_ones() {
        for symbol in WIDTHS {
            let widths: Vec<u32> = symbol.chars().filter_map(|c| c.to_digit(10)).collect();
            assert_eq!(widths.iter().sum::<u32>(), 11, "{symbol}");
            assert_eq!(widths.iter().step_by(2).sum::<u32>() % 2, 0, "{symbol}");
        }
    }

    #[test]
    fn what_the_set_has_not_is_not_coded() {
        assert_eq!(widths("Ä-1"), None);
        assert_eq!(widths("a\nb"), None);
        assert_eq!(widths(""), None);
    }
}
