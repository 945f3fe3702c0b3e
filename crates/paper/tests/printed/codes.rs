//! The codes, read back from what is drawn on the page.

use crate::reader::{Drawn, pages};
use crate::{brake, demo, first_day, issue};
use barcoders::sym::code128::Code128;
use paper::{Paper, changeover_sheet, run_list};
use std::collections::BTreeMap;
use units::OrderId;

/// Pixels to a point.
const FINE: f64 = 6.0;
/// Blank pixels around what is drawn.
const AROUND: f64 = 30.0;

/// What a reader of QR Codes finds among dark rectangles.
fn scanned(rects: &[Drawn]) -> Vec<String> {
    let dark: Vec<&Drawn> = rects
        .iter()
        .filter(|rect| rect.filled == Some(0.0))
        .collect();
    let least = |of: fn(&Drawn) -> f64| dark.iter().map(|r| of(r)).fold(f64::INFINITY, f64::min);
    let most = |of: fn(&Drawn) -> f64| dark.iter().map(|r| of(r)).fold(0.0, f64::max);
    let (left, low) = (least(|r| r.x), least(|r| r.y));
    let (right, high) = (most(|r| r.x + r.w), most(|r| r.y + r.h));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // pixels of a small picture
    let pixels = |points: f64| (points * FINE + AROUND).round() as usize;
    let (width, height) = (pixels(right - left) + 30, pixels(high - low) + 30);
    let mut picture = vec![255_u8; width * height];
    for rect in dark {
        for y in pixels(high - rect.y - rect.h)..pixels(high - rect.y) {
            let row = &mut picture[y * width..(y + 1) * width];
            row[pixels(rect.x - left)..pixels(rect.x + rect.w - left)].fill(0);
        }
    }
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| picture[y * width + x]);
    let grids = image.detect_grids().into_iter();
    grids.map(|grid| grid.decode().unwrap().1).collect()
}

/// What the bars of a height say, by another implementation's table of symbols.
fn bars(rects: &[Drawn], height: f64) -> Option<String> {
    let mut bars: Vec<&Drawn> = rects
        .iter()
        .filter(|rect| (rect.h - height).abs() < 1e-3)
        .collect();
    bars.sort_by(|a, b| a.x.total_cmp(&b.x));
    let module = bars.iter().map(|bar| bar.w).fold(f64::INFINITY, f64::min);
    let mut modules = Vec::new();
    for (at, bar) in bars.iter().enumerate() {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a few modules
        let count = |width: f64| (width / module).round() as usize;
        modules.extend(vec![1_u8; count(bar.w)]);
        if let Some(next) = bars.get(at + 1) {
            modules.extend(vec![0_u8; count(next.x - bar.x - bar.w)]);
        }
    }
    let symbol = |letter: char| {
        let code = Code128::new(format!("\u{0181}{letter}")).ok()?.encode();
        Some((code[11..22].to_vec(), letter))
    };
    let symbols: BTreeMap<Vec<u8>, char> = (' '..='~').filter_map(symbol).collect();
    // A start, the text, a check character of eleven modules and a stop of thirteen.
    let end = modules.len().checked_sub(24)?;
    let letters = modules.get(11..end)?.chunks(11);
    let text: Option<String> = letters.map(|chunk| symbols.get(chunk).copied()).collect();
    let text = text?;
    let whole = Code128::new(format!("\u{0181}{text}")).ok()?.encode();
    (whole == modules).then_some(text)
}

#[test]
fn the_sheets_codes_say_the_order() {
    let (shop, plan) = demo();
    for list in &plan.brakes {
        let run = &list.runs[0];
        let bytes =
            changeover_sheet(shop, plan, &list.brake, &run.name, &issue(Paper::A4)).unwrap();
        let pages = pages(&bytes);
        let codes = pages[0].figures()[0];
        assert_eq!(scanned(&codes.rects), [run.order.as_str()]);
        assert_eq!(
            bars(&codes.rects, 34.0).as_deref(),
            Some(run.order.as_str())
        );
    }
}

#[test]
fn every_row_of_a_run_list_has_its_orders_code() {
    let (shop, plan) = demo();
    let bytes = run_list(
        shop,
        plan,
        &brake("B2"),
        Some(first_day()),
        &issue(Paper::Letter),
    )
    .unwrap();
    let pages = pages(&bytes);
    let codes: Vec<String> = pages
        .iter()
        .flat_map(|page| page.figures())
        .flat_map(|mark| scanned(&mark.rects))
        .collect();
    let text = crate::reader::text(&bytes);
    let orders: Vec<&str> = plan.brakes[1]
        .runs
        .iter()
        .map(|run| run.order.as_str())
        .filter(|order| text.lines().any(|line| line == *order))
        .collect();
    assert!(!orders.is_empty());
    assert_eq!(codes, orders);
}

#[test]
fn long_ids_and_ids_beyond_ascii_are_coded_too() {
    let (shop, plan) = demo();
    let longest = "A".repeat(64);
    for (id, barred) in [
        ("Auftrag-Ü/17", false),
        ("W-2027-000123456789", true),
        (longest.as_str(), false),
        ("a.b_c+d#e:f/g", true),
    ] {
        let mut plan = plan.clone();
        let run = &mut plan.brakes[0].runs[0];
        run.order = OrderId::new(id).unwrap();
        let name = run.name.clone();
        let bytes = changeover_sheet(shop, &plan, &brake("B1"), &name, &issue(Paper::A4)).unwrap();
        let pages = pages(&bytes);
        let figures = pages[0].figures();
        assert_eq!(scanned(&figures[0].rects), [id]);
        let read = figures.iter().find_map(|mark| bars(&mark.rects, 34.0));
        assert_eq!(read.as_deref(), barred.then_some(id), "{id}");
    }
}
