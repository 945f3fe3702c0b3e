//! A document as it is drawn: pages of operations, and the tree that says what each is.
//!
//! Coordinates are points from the page's upper left corner, y downward.

use crate::PaperError;
use crate::face::{Faces, Weight, harmless};
use pdf_writer::types::StructRole;

/// Text's size, face and darkness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Type {
    /// Points.
    pub(crate) size: f64,
    /// Face.
    pub(crate) weight: Weight,
    /// 0 is black, 1 white.
    pub(crate) gray: f64,
}

impl Type {
    /// Black running text.
    pub(crate) const fn plain(size: f64) -> Type {
        Type {
            size,
            weight: Weight::Plain,
            gray: 0.0,
        }
    }

    /// Black bold text.
    pub(crate) const fn bold(size: f64) -> Type {
        Type {
            size,
            weight: Weight::Bold,
            gray: 0.0,
        }
    }

    /// From one line of it to the next.
    pub(crate) fn line(self) -> f64 {
        self.size * 1.24
    }

    /// From the top of its line down to where its letters stand.
    pub(crate) fn ascent(self) -> f64 {
        self.size * 0.96
    }
}

/// How a border is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pen {
    /// Points.
    pub(crate) width: f64,
    /// 0 is black.
    pub(crate) gray: f64,
    /// Dash and gap in points; none for a whole line.
    pub(crate) dash: Option<(f64, f64)>,
}

impl Pen {
    /// A whole black line.
    pub(crate) const fn of(width: f64) -> Pen {
        Pen {
            width,
            gray: 0.0,
            dash: None,
        }
    }

    /// The same in grey.
    pub(crate) const fn gray(self, gray: f64) -> Pen {
        Pen { gray, ..self }
    }

    /// The same in dashes.
    pub(crate) const fn dashed(self, dash: f64, gap: f64) -> Pen {
        Pen {
            dash: Some((dash, gap)),
            ..self
        }
    }
}

/// A rectangle: left, top, width, height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) w: f64,
    pub(crate) h: f64,
}

impl Area {
    pub(crate) const fn new(x: f64, y: f64, w: f64, h: f64) -> Area {
        Area { x, y, w, h }
    }

    pub(crate) fn right(self) -> f64 {
        self.x + self.w
    }

    pub(crate) fn bottom(self) -> f64 {
        self.y + self.h
    }
}

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Op {
    /// What follows belongs to a node, as this mark of the page.
    Begin { role: StructRole, mark: i32 },
    /// What follows is furniture of the page.
    Artifact,
    /// Ends either.
    End,
    /// A line of text standing on `y`.
    Text {
        x: f64,
        y: f64,
        style: Type,
        text: String,
    },
    /// A rectangle.
    Rect {
        area: Area,
        fill: Option<f64>,
        pen: Option<Pen>,
    },
    /// Corners joined by lines.
    Path {
        points: Vec<(f64, f64)>,
        closed: bool,
        fill: Option<f64>,
        pen: Option<Pen>,
    },
    /// Nothing outside of this shows until [`Op::Unclip`].
    Clip(Area),
    /// Ends a clip.
    Unclip,
}

/// A node of the tree.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) role: StructRole,
    pub(crate) parent: Option<usize>,
    /// What it shows, for those who cannot see it.
    pub(crate) alt: Option<String>,
    pub(crate) kids: Vec<Kid>,
}

/// What a node holds.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Kid {
    Node(usize),
    Mark { page: usize, mark: i32 },
}

/// A page.
#[derive(Clone, Debug, Default)]
pub(crate) struct Page {
    pub(crate) ops: Vec<Op>,
    /// The node of each mark.
    pub(crate) marks: Vec<usize>,
}

/// Pages, and what is on them.
pub(crate) struct Doc {
    pub(crate) faces: Faces,
    /// Width and height of every page, points.
    pub(crate) size: (f64, f64),
    pub(crate) pages: Vec<Page>,
    pub(crate) nodes: Vec<Node>,
    pub(crate) title: String,
}

impl Doc {
    /// An empty document; its first node is the root.
    pub(crate) fn new(size: (f64, f64), title: &str) -> Result<Doc, PaperError> {
        Ok(Doc {
            faces: Faces::new()?,
            size,
            pages: Vec::new(),
            nodes: vec![Node {
                role: StructRole::Document,
                parent: None,
                alt: None,
                kids: Vec::new(),
            }],
            title: harmless(title),
        })
    }

    /// A new node under another.
    pub(crate) fn node(&mut self, role: StructRole, parent: usize) -> usize {
        let id = self.nodes.len();
        self.nodes.push(Node {
            role,
            parent: Some(parent),
            alt: None,
            kids: Vec::new(),
        });
        if let Some(parent) = self.nodes.get_mut(parent) {
            parent.kids.push(Kid::Node(id));
        }
        id
    }

    /// A drawing, with what it shows in words.
    pub(crate) fn figure(&mut self, parent: usize, alt: &str) -> usize {
        let id = self.node(StructRole::Figure, parent);
        if let Some(node) = self.nodes.get_mut(id) {
            node.alt = Some(harmless(alt));
        }
        id
    }

    /// Draws something that belongs to a node, on the last page.
    pub(crate) fn marked(&mut self, node: usize, draw: impl FnOnce(&mut Doc)) {
        let page = self.pages.len().saturating_sub(1);
        let Some((role, last)) = self
            .nodes
            .get(node)
            .map(|node| node.role)
            .zip(self.pages.last_mut())
        else {
            return;
        };
        let mark = i32::try_from(last.marks.len()).unwrap_or(i32::MAX);
        last.marks.push(node);
        if let Some(node) = self.nodes.get_mut(node) {
            node.kids.push(Kid::Mark { page, mark });
        }
        self.op(Op::Begin { role, mark });
        draw(self);
        self.op(Op::End);
    }

    /// Draws furniture on the last page.
    pub(crate) fn artifact(&mut self, draw: impl FnOnce(&mut Doc)) {
        self.op(Op::Artifact);
        draw(self);
        self.op(Op::End);
    }

    pub(crate) fn op(&mut self, op: Op) {
        if let Some(page) = self.pages.last_mut() {
            page.ops.push(op);
        }
    }

    /// A line of text under `top`.
    pub(crate) fn text(&mut self, x: f64, top: f64, style: Type, text: &str) {
        let text = harmless(text);
        if !text.trim().is_empty() {
            let y = top + style.ascent();
            self.op(Op::Text { x, y, style, text });
        }
    }

    /// The same with its right end at `right`.
    pub(crate) fn text_to(&mut self, right: f64, top: f64, style: Type, text: &str) {
        let x = right - self.width(text, style);
        self.text(x, top, style, text);
    }

    /// The same with its middle at `middle`.
    pub(crate) fn text_at(&mut self, middle: f64, top: f64, style: Type, text: &str) {
        let x = middle - self.width(text, style) / 2.0;
        self.text(x, top, style, text);
    }

    pub(crate) fn rect(&mut self, area: Area, fill: Option<f64>, pen: Option<Pen>) {
        self.op(Op::Rect { area, fill, pen });
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), pen: Pen) {
        self.op(Op::Path {
            points: vec![from, to],
            closed: false,
            fill: None,
            pen: Some(pen),
        });
    }

    /// Width of a text in points.
    pub(crate) fn width(&self, text: &str, style: Type) -> f64 {
        self.faces.width(&harmless(text), style.size, style.weight)
    }
}
