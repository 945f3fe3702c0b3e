//! The cross section after each bend between its tools, where it is known.

use crate::doc::{Area, Op, Pen, Type};
use crate::flow::Flow;
use shape::{Bounds, Outline, Point};
use study::RunSection;

/// Drawings in a row.
const ACROSS: usize = 4;
/// Height of a drawing.
const HEIGHT: f64 = 98.0;
const BETWEEN: f64 = 8.0;
/// Blank inside a drawing's frame.
const INSIDE: f64 = 5.0;
/// Said beside the drawings.
const SEEN: &str = "Seen from the brake's left end, the gauge to the right; tools in grey. All at one \
                    scale.";

/// What the caption of a drawing says.
pub(crate) struct Captioned<'a> {
    pub(crate) section: &'a RunSection,
    pub(crate) caption: String,
    pub(crate) alt: String,
}

/// Draws them all at one scale, four in a row.
pub(crate) fn drawn(flow: &mut Flow, sections: &[Captioned<'_>]) {
    let small = Type::plain(9.5);
    flow.paragraph(SEEN, small, 0.0);
    flow.gap(3.0);
    let width = (flow.width() - BETWEEN * 3.0) / 4.0;
    let views: Vec<Bounds> = sections.iter().map(|one| view(one.section)).collect();
    let fits = views.iter().map(|view| {
        let across = (width - 2.0 * INSIDE) / view.width().max(1.0);
        across.min((HEIGHT - 2.0 * INSIDE) / view.height().max(1.0))
    });
    let k = fits.fold(f64::INFINITY, f64::min);
    let caption = Type::bold(10.0);
    for row in sections.chunks(ACROSS) {
        flow.need(HEIGHT + caption.line() + 6.0);
        let mut x = flow.left();
        for one in row {
            let node = flow.doc.figure(flow.group, &one.alt);
            let y = flow.y;
            let area = Area::new(x, y + caption.line(), width, HEIGHT);
            flow.doc.marked(node, |doc| {
                for line in crate::wrap::at_most(doc, &one.caption, caption, width, 1) {
                    doc.text(x, y, caption, &line);
                }
                let placed = Placed::new(one.section, area, k);
                doc.op(Op::Clip(area));
                for op in placed.ops() {
                    doc.op(op);
                }
                doc.op(Op::Unclip);
                doc.rect(area, None, Some(Pen::of(0.6)));
            });
            x += width + BETWEEN;
        }
        flow.y += HEIGHT + caption.line() + 6.0;
    }
}

/// The sheet, and enough of the tools to see where it lies, in mm.
fn view(section: &RunSection) -> Bounds {
    let sheet = section.finished.outline.bounds();
    let die = section.tools.die.bounds();
    let half = die.low.x.abs().max(die.high.x.abs()).min(40.0);
    sheet.with(Bounds {
        low: Point::new(-half, -18.0),
        high: Point::new(half, 20.0),
    })
}

struct Placed<'a> {
    section: &'a RunSection,
    k: f64,
    /// Paper coordinates of the bend line at the die's shoulders.
    origin: (f64, f64),
}

impl<'a> Placed<'a> {
    fn new(section: &'a RunSection, area: Area, k: f64) -> Placed<'a> {
        let view = view(section);
        let middle = (view.low.x + view.high.x) / 2.0;
        let level = (view.low.y + view.high.y) / 2.0;
        Placed {
            section,
            k,
            origin: (
                area.x + area.w / 2.0 - middle * k,
                area.y + area.h / 2.0 + level * k,
            ),
        }
    }

    fn path(&self, outline: &Outline, fill: Option<f64>, pen: Pen) -> Op {
        let points = outline.points().iter().map(|point| {
            (
                self.origin.0 + point.x * self.k,
                self.origin.1 - point.y * self.k,
            )
        });
        Op::Path {
            points: points.collect(),
            closed: true,
            fill,
            pen: Some(pen),
        }
    }

    fn ops(&self) -> Vec<Op> {
        let tools = &self.section.tools;
        let lift = self.section.finished.tip.y;
        let holder = Pen::of(0.4).gray(0.5).dashed(2.0, 1.5);
        let tool = Pen::of(0.5).gray(0.35);
        let mut out = vec![
            self.path(&tools.ram.translated(0.0, lift), Some(0.95), holder),
            self.path(&tools.bed, Some(0.95), holder),
            self.path(&tools.punch.translated(0.0, lift), Some(0.86), tool),
            self.path(&tools.die, Some(0.86), tool),
        ];
        if let Some(gauge) = &tools.gauge {
            out.push(self.path(gauge, Some(0.7), Pen::of(0.6)));
        }
        // Thin sheet at a small scale would vanish without its border.
        out.push(self.path(&self.section.finished.outline, Some(0.0), Pen::of(0.7)));
        out
    }
}
