//! Sections and tools as a picture.

use crate::outline::Bounds;
use crate::{Outline, Pose, ToolSection};
use std::fmt::Write;

/// How a picture is to be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picture<'a> {
    /// What it shows, for those who cannot see it.
    pub title: &'a str,
    /// Its width on the page, in CSS pixels.
    pub width_px: u32,
    /// Its height on the page, in CSS pixels.
    pub height_px: u32,
}

/// Blank space around what is shown, as a share of its larger side.
const MARGIN: f64 = 0.06;

/// How much of ram and bed is shown beyond the tools, in mm: enough to see that they are there.
const HOLDERS_MM: f64 = 25.0;

/// Shapes have classes, so that a page may restyle them; the default is legible in black and white
/// and on a dark page.
const STYLE: &str = "\
.section-sheet{fill:#d9822b;stroke:#5a3206;stroke-width:.3}\
.section-ghost{fill:none;stroke:#d9822b;stroke-width:.3;stroke-opacity:.55}\
.section-tool{fill:#8a9399;fill-opacity:.55;stroke:#3c4347;stroke-width:.3}\
.section-holder{fill:#8a9399;fill-opacity:.25;stroke:#3c4347;stroke-width:.3;stroke-dasharray:2 1}\
.section-stop{fill:#2f6f9f;fill-opacity:.6;stroke:#173a54;stroke-width:.3}";

/// Draws the poses, the last one filled and those before it in outline, with the tools as they
/// stand at the last pose.
///
/// One self-contained `svg` element. Its `viewBox` is in mm with y downward as SVG has it, so the
/// brake's up is up; text is escaped. Ram and bed are cut off where the picture ends.
#[must_use]
pub fn svg(poses: &[Pose], tools: Option<&ToolSection>, picture: &Picture<'_>) -> String {
    let lift = poses.last().map_or(0.0, |pose| pose.tip.y);
    let placed = tools.map(|tools| Placed::new(tools, lift));
    let view = view(poses, placed.as_ref());
    let title = escaped(picture.title);
    let mut out = String::new();
    // Writing to a String cannot fail, so the results are of no interest.
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{}\" height=\"{}\" \
         viewBox=\"{} {} {} {}\"><title>{title}</title><style>{STYLE}</style>",
        picture.width_px,
        picture.height_px,
        number(view.low.x),
        number(-view.high.y),
        number(view.width()),
        number(view.height()),
    );
    if let Some(placed) = &placed {
        placed.draw(&mut out);
    }
    if let Some((last, before)) = poses.split_last() {
        for ghost in before {
            path(&mut out, "section-ghost", &ghost.outline);
        }
        path(&mut out, "section-sheet", &last.outline);
    }
    out.push_str("</svg>");
    out
}

/// The tools where they stand at one pose.
struct Placed {
    punch: Outline,
    ram: Outline,
    die: Outline,
    bed: Outline,
    gauge: Option<Outline>,
}

impl Placed {
    fn new(tools: &ToolSection, lift: f64) -> Placed {
        Placed {
            punch: tools.punch.translated(0.0, lift),
            ram: tools.ram.translated(0.0, lift),
            die: tools.die.clone(),
            bed: tools.bed.clone(),
            gauge: tools.gauge.clone(),
        }
    }

    fn draw(&self, out: &mut String) {
        path(out, "section-holder", &self.ram);
        path(out, "section-holder", &self.bed);
        path(out, "section-tool", &self.punch);
        path(out, "section-tool", &self.die);
        if let Some(gauge) = &self.gauge {
            path(out, "section-stop", gauge);
        }
    }

    /// Around punch and die, and a little of what holds them.
    fn bounds(&self) -> Bounds {
        let mut bounds = self.punch.bounds().with(self.die.bounds());
        bounds.low.y -= HOLDERS_MM.min(self.bed.bounds().height());
        bounds.high.y += HOLDERS_MM.min(self.ram.bounds().height());
        bounds
    }
}

/// The rectangle shown, never without width or height.
fn view(poses: &[Pose], placed: Option<&Placed>) -> Bounds {
    let sheets = poses.iter().map(|pose| pose.outline.bounds());
    let all = sheets.chain(placed.map(Placed::bounds));
    let mut bounds = all.reduce(Bounds::with).unwrap_or(Bounds {
        low: crate::Point::default(),
        high: crate::Point::default(),
    });
    let margin = (bounds.width().max(bounds.height()) * MARGIN).max(0.5);
    bounds.low.x -= margin;
    bounds.low.y -= margin;
    bounds.high.x += margin;
    bounds.high.y += margin;
    bounds
}

fn path(out: &mut String, class: &str, outline: &Outline) {
    let _ = write!(out, "<path class=\"{class}\" d=\"");
    for (index, point) in outline.points().iter().enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        let _ = write!(out, "{letter}{} {}", number(point.x), number(-point.y));
    }
    out.push_str("Z\"/>");
}

/// A coordinate with micrometres, as short as it can be, and never a negative zero.
fn number(mm: f64) -> String {
    let text = format!("{mm:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0" } else { short }.to_owned()
}

/// Text that may stand between tags.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // Control characters have no place in XML, whichever way they are written.
            control if control.is_control() => out.push(' '),
            plain => out.push(plain),
        }
    }
    out
}
