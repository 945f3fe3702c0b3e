//! Pictures: what they contain, and that they can be read.

mod common;

use common::{cases, degrees, gooseneck_tools, mm, square, state};
use proptest::prelude::*;
use shape::{Picture, ascii, pose, svg, swept};

const PICTURE: Picture<'_> = Picture {
    title: "fold 2 of 2",
    width_px: 400,
    height_px: 300,
};

#[test]
fn a_channel_in_characters() {
    let channel = square(2.0, 2.0, &[20.0, 40.0, 20.0], "++");
    let lying = pose(&channel, &state("#."), 1, degrees(180.0), mm(16.0)).unwrap();
    // 71 mm by 26 mm in 31 columns: a dot is 2.3 mm, twelve dots make six lines.
    let drawn = "
█
█
█
█
█▄
▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀
";
    let text = ascii(&lying.outline, 31);
    assert_eq!(text, &drawn[1..], "\n{text}");
}

#[test]
fn a_thin_sheet_is_an_unbroken_line() {
    // Half a metre of 1 mm sheet at 30 columns: a dot is far wider than the sheet.
    let angle = square(1.0, 1.0, &[200.0, 200.0], "+");
    let bent = pose(&angle, &state("."), 0, degrees(90.0), mm(8.0)).unwrap();
    let text = ascii(&bent.outline, 30);
    let lines: Vec<&str> = text.lines().collect();
    assert!(
        lines.len() <= 15 && lines.iter().all(|line| !line.trim().is_empty()),
        "\n{text}"
    );
    let mirrored = ascii(&bent.turned().outline, 30);
    assert_eq!(mirrored, text, "a symmetric part is drawn symmetric");
}

#[test]
fn nothing_is_drawn_in_no_columns() {
    let angle = square(1.0, 1.0, &[20.0, 20.0], "+");
    let bent = pose(&angle, &state("."), 0, degrees(90.0), mm(8.0)).unwrap();
    assert_eq!(ascii(&bent.outline, 0), "");
    assert_eq!(ascii(&bent.outline, 1), "▀\n");
}

#[test]
fn a_picture_has_up_upward_and_its_text_escaped() {
    let channel = square(2.0, 2.0, &[20.0, 40.0, 20.0], "++");
    let stroke = swept(&channel, &state("#."), 1, degrees(90.0), mm(16.0), 3).unwrap();
    let tools = gooseneck_tools();
    let picture = Picture {
        title: "<b>\"R&D\"</b>\u{7}",
        ..PICTURE
    };
    let text = svg(&stroke, Some(&tools), &picture);
    assert!(text.contains("<title>&lt;b&gt;&quot;R&amp;D&quot;&lt;/b&gt; </title>"));
    assert!(!text.contains("<b>"));
    let count = |class: &str| text.matches(&format!("<path class=\"{class}\"")).count();
    assert_eq!(count("section-ghost"), 3);
    assert_eq!(count("section-sheet"), 1);
    assert_eq!(count("section-tool"), 2);
    assert_eq!(count("section-holder"), 2);
    assert_eq!(count("section-stop"), 0);
    // The bed lies below the die: at the greater y of a picture. Its top is 60 mm down.
    assert!(text.contains("M-30 260L30 260L30 60L-30 60Z"), "{text}");
    // The view holds the punch's top and its holder, 25 mm of it, over the tip.
    let view = text
        .split("viewBox=\"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap();
    let view: Vec<f64> = view.split(' ').map(|n| n.parse().unwrap()).collect();
    let top = stroke[3].tip.y + 150.0 + 25.0;
    assert!(-view[1] > top && -view[1] < top + 30.0, "{view:?}");
    assert!(
        view[1] + view[3] > 85.0 && view[1] + view[3] < 115.0,
        "{view:?}"
    );
}

#[test]
fn an_empty_picture_is_still_one() {
    let text = svg(&[], None, &PICTURE);
    assert!(text.starts_with("<svg ") && text.ends_with("</svg>"));
    assert!(text.contains("viewBox=\"-0.5 -0.5 1 1\""), "{text}");
    assert!(!text.contains("<path"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn every_picture_keeps_to_its_size(case in cases(), columns in 1usize..100) {
        let outline = case.pose().outline;
        let text = ascii(&outline, columns);
        prop_assert!(text.lines().all(|line| line.chars().count() <= columns));
        prop_assert!(text.lines().count() <= columns.div_ceil(2));
        prop_assert!(text.contains(['█', '▀', '▄']));
        let drawing = svg(&[case.pose()], None, &PICTURE);
        prop_assert!(!drawing.contains("NaN") && !drawing.contains("inf"));
        // Every corner is written, and lies within the view.
        let corners = drawing.matches(['M', 'L']).count();
        prop_assert_eq!(corners, outline.points().len());
    }
}
