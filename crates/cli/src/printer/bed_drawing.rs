//! A bed as one line of text, to scale.

use model::Station;
use units::Length;

/// Columns between the two ends of the bed.
const COLUMNS: usize = 72;

/// `|....[1=====]....[2==]......|`: the bed from left to right, a station from `[` to `]` with its
/// number, `#` for one too narrow for brackets.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the drawing
pub(crate) fn draw(bed: Length, stations: &[Station]) -> String {
    let column = |at: Length| {
        let share = (at.mm() / bed.mm()).clamp(0.0, 1.0);
        (share * 72.0).round() as usize
    };
    let mut line = vec!['.'; COLUMNS];
    let mut free_from = 0;
    for (index, station) in stations.iter().enumerate() {
        // A narrow station still gets a column of its own, to the right of the one before.
        let first = column(station.left).clamp(free_from, COLUMNS - 1);
        let end = column(station.left + station.length).clamp(first + 1, COLUMNS);
        fill(&mut line[first..end], index + 1);
        free_from = end.min(COLUMNS - 1);
    }
    let drawn: String = line.into_iter().collect();
    format!("|{drawn}|")
}

fn fill(cells: &mut [char], number: usize) {
    match cells {
        [] => {}
        [only] => *only = '#',
        [first, middle @ .., last] => {
            (*first, *last) = ('[', ']');
            middle.fill('=');
            for (cell, digit) in middle.iter_mut().zip(number.to_string().chars()) {
                *cell = digit;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::ProfileId;

    fn station(left: i64, length: i64) -> Station {
        Station {
            punch: ProfileId::new("P").unwrap(),
            die: ProfileId::new("D").unwrap(),
            v: Length::from_whole_mm(12),
            left: Length::from_whole_mm(left),
            length: Length::from_whole_mm(length),
            reversed: false,
            punch_sections: Vec::new(),
            die_sections: Vec::new(),
            closed_height: Length::from_whole_mm(200),
        }
    }

    #[test]
    fn stations_stand_to_scale() {
        let bed = Length::from_whole_mm(7_200);
        assert_eq!(draw(bed, &[]), format!("|{}|", ".".repeat(72)));
        let drawn = draw(
            bed,
            &[station(0, 500), station(600, 100), station(6_700, 500)],
        );
        let expected = format!("|[1==].#{}[3==]|", ".".repeat(60));
        assert_eq!(drawn, expected);
    }

    #[test]
    fn many_narrow_stations_stay_on_the_drawing() {
        let bed = Length::from_whole_mm(1_000);
        let narrow: Vec<Station> = (0..100).map(|index| station(index * 10, 5)).collect();
        assert_eq!(draw(bed, &narrow).chars().count(), 74);
    }
}
