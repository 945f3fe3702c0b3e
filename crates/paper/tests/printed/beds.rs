//! The beds are drawn to the scale they state.

use crate::reader::{Drawn, pages};
use crate::{demo, issue};
use documents::words::bed_before;
use model::{Run, Station};
use paper::{Paper, changeover_sheet};

const MM_PER_POINT: f64 = 25.4 / 72.0;
/// As drawn in whole micrometres of the bed at the usual scales, with room for a float's rounding.
const NEAR_MM: f64 = 0.01;

/// The scale stated: the number behind `Scale 1 : `.
fn scale_of(text: &str) -> f64 {
    let rest = &text[text.find("Scale 1 : ").unwrap() + 10..];
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().unwrap()
}

/// Left end, width and stations as drawn, in millimetres of the bed.
fn measured(rects: &[Drawn], scale: f64) -> (f64, Vec<(f64, f64)>) {
    let beam = rects
        .iter()
        .find(|rect| rect.filled == Some(0.0) && (rect.h - 2.5).abs() < 1e-3)
        .unwrap();
    let to_mm = |points: f64| points * MM_PER_POINT * scale;
    let stations = rects.iter().filter(|rect| rect.stroked);
    let stations = stations.map(|rect| (to_mm(rect.x - beam.x), to_mm(rect.w)));
    (to_mm(beam.w), stations.collect())
}

fn assert_drawn(rects: &[Drawn], scale: f64, bed_mm: f64, stations: &[Station]) {
    let (bed, drawn) = measured(rects, scale);
    assert!((bed - bed_mm).abs() < NEAR_MM, "{bed} for {bed_mm}");
    assert_eq!(drawn.len(), stations.len());
    for (station, (left, length)) in stations.iter().zip(drawn) {
        assert!(
            (left - station.left.mm()).abs() < NEAR_MM,
            "{left} for {}",
            station.left
        );
        assert!(
            (length - station.length.mm()).abs() < NEAR_MM,
            "{length} for {}",
            station.length
        );
    }
}

#[test]
fn points_times_the_stated_scale_are_the_plans_millimetres() {
    let (shop, plan) = demo();
    let mut several = 0;
    for list in &plan.brakes {
        let brake = shop.brake(&list.brake).unwrap();
        let changed = |run: &&Run| !run.changeover.steps.is_empty();
        for run in list.runs.iter().filter(changed).take(6) {
            for size in [Paper::A4, Paper::Letter] {
                let bytes =
                    changeover_sheet(shop, plan, &list.brake, &run.name, &issue(size)).unwrap();
                let pages = pages(&bytes);
                let text: Vec<String> = pages.iter().map(|page| page.text()).collect();
                let scale = scale_of(&text.join("\n"));
                // The codes come first, then the bed before and the bed after.
                let figures: Vec<_> = pages.iter().flat_map(|page| page.figures()).collect();
                let beds: Vec<_> = figures
                    .iter()
                    .filter(|mark| mark.texts.iter().any(|text| text.text.starts_with("Bed ")))
                    .collect();
                assert_eq!(beds.len(), 2);
                let before = bed_before(run);
                assert_drawn(&beds[0].rects, scale, brake.bed.mm(), &before);
                assert_drawn(&beds[1].rects, scale, brake.bed.mm(), &run.bed);
                several += usize::from(before.len() > 1 || run.bed.len() > 1);
            }
        }
    }
    assert!(several > 0, "no bed with several stations was looked at");
}
