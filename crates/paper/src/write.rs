//! A document as PDF (ISO 32000): fonts cut down and embedded, text that can be searched, tags.
//!
//! No date, no random id: the same document gives the same bytes.

use crate::PaperError;
use crate::doc::{Area, Doc, Kid, Op, Page, Pen, Type};
use crate::face::{Faces, Weight};
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::collections::BTreeMap;
use subsetter::GlyphRemapper;
use ttf_parser::Face;

/// How hard to compress, 0 to 10.
const LEVEL: u8 = 7;

const IDENTITY: SystemInfo<'static> = SystemInfo {
    registry: Str(b"Adobe"),
    ordering: Str(b"Identity"),
    supplement: 0,
};

/// Numbers of the objects, given out in order.
struct Refs {
    next: i32,
}

impl Refs {
    fn take(&mut self) -> Ref {
        let id = Ref::new(self.next);
        self.next += 1;
        id
    }

    fn take_many(&mut self, count: usize) -> Vec<Ref> {
        (0..count).map(|_| self.take()).collect()
    }
}

/// The glyphs of a face that are used.
struct Used {
    weight: Weight,
    glyphs: GlyphRemapper,
    /// New glyph, and what it shows.
    shows: BTreeMap<u16, char>,
    /// New glyph, and its old number.
    was: BTreeMap<u16, u16>,
}

impl Used {
    fn new(weight: Weight) -> Used {
        Used {
            weight,
            glyphs: GlyphRemapper::new(),
            shows: BTreeMap::new(),
            was: BTreeMap::new(),
        }
    }

    fn name(&self) -> Name<'static> {
        match self.weight {
            Weight::Plain => Name(b"F1"),
            Weight::Bold => Name(b"F2"),
        }
    }

    /// A text's glyphs as they are numbered in the subset, two bytes each.
    fn coded(&mut self, faces: &Faces, text: &str) -> Vec<u8> {
        let mut out = Vec::with_capacity(text.len() * 2);
        for letter in text.chars() {
            let (old, shown) = faces.glyph(self.weight, letter);
            let new = self.glyphs.remap(old);
            self.shows.entry(new).or_insert(shown);
            self.was.entry(new).or_insert(old);
            out.extend(new.to_be_bytes());
        }
        out
    }
}

/// The bytes of a document.
pub(crate) fn written(doc: &Doc) -> Result<Vec<u8>, PaperError> {
    let mut refs = Refs { next: 1 };
    let (catalog, tree, info, parents) = (refs.take(), refs.take(), refs.take(), refs.take());
    let pages = refs.take_many(doc.pages.len());
    let contents = refs.take_many(doc.pages.len());
    let nodes = refs.take_many(doc.nodes.len());
    let structure = refs.take();
    let mut used = Weight::BOTH.map(Used::new);
    let fonts = Weight::BOTH.map(|_| refs.take());

    let mut pdf = Pdf::new();
    pdf.set_version(1, 7);
    let streams: Vec<Vec<u8>> = doc
        .pages
        .iter()
        .map(|page| content(doc, page, &mut used))
        .collect();

    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    root.lang(TextStr("en"));
    root.viewer_preferences().display_doc_title(true);
    root.mark_info().marked(true);
    root.pair(Name(b"StructTreeRoot"), structure);
    root.finish();
    pdf.document_info(info)
        .title(TextStr(&doc.title))
        .producer(TextStr("brakewright"));
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(pages.iter().copied()).count(count);

    for (at, (&page, &stream)) in pages.iter().zip(&contents).enumerate() {
        let mut object = pdf.page(page);
        object.parent(tree);
        object.media_box(Rect::new(0.0, 0.0, pt(doc.size.0), pt(doc.size.1)));
        object.contents(stream);
        object.struct_parents(i32::try_from(at).unwrap_or(i32::MAX));
        let mut resources = object.resources();
        let mut names = resources.fonts();
        for (used, &font) in used.iter().zip(&fonts) {
            names.pair(used.name(), font);
        }
    }
    for (&id, bytes) in contents.iter().zip(&streams) {
        let packed = compress_to_vec_zlib(bytes, LEVEL);
        pdf.stream(id, &packed).filter(Filter::FlateDecode);
    }
    tags(&mut pdf, doc, &nodes, &pages, (structure, parents));
    for (used, font) in used.iter().zip(fonts) {
        embed(&mut pdf, doc, used, font, &mut refs)?;
    }
    Ok(pdf.finish())
}

/// The tree of what is what.
fn tags(pdf: &mut Pdf, doc: &Doc, nodes: &[Ref], pages: &[Ref], (structure, parents): (Ref, Ref)) {
    let mut root = pdf
        .indirect(structure)
        .start::<pdf_writer::writers::StructTreeRoot<'_>>();
    root.pair(Name(b"ParentTree"), parents);
    if let Some(&first) = nodes.first() {
        root.child(first);
    }
    root.parent_tree_next_key(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    root.finish();
    for (node, &id) in doc.nodes.iter().zip(nodes) {
        let mut element = pdf.struct_element(id);
        element.kind(node.role);
        let parent = node.parent.and_then(|parent| nodes.get(parent));
        element.parent(parent.copied().unwrap_or(structure));
        if let Some(alt) = &node.alt {
            element.alt(TextStr(alt));
        }
        if node.role == pdf_writer::types::StructRole::TH {
            element
                .attributes()
                .push()
                .table()
                .scope(pdf_writer::types::TableHeaderScope::Column);
        }
        let own = node.kids.iter().find_map(|kid| match kid {
            Kid::Mark { page, .. } => Some(*page),
            Kid::Node(_) => None,
        });
        if let Some(&page) = own.and_then(|page| pages.get(page)) {
            element.page(page);
        }
        let mut kids = element.children();
        for kid in &node.kids {
            match *kid {
                Kid::Node(node) => {
                    if let Some(&node) = nodes.get(node) {
                        kids.struct_element(node);
                    }
                }
                Kid::Mark { page, mark } if Some(page) == own => {
                    kids.marked_content_id(mark);
                }
                Kid::Mark { page, mark } => {
                    if let Some(&page) = pages.get(page) {
                        kids.marked_content_ref().page(page).marked_content_id(mark);
                    }
                }
            }
        }
    }
    let mut numbers = pdf.indirect(parents).dict();
    let mut list = numbers.insert(Name(b"Nums")).array();
    for (at, page) in doc.pages.iter().enumerate() {
        list.item(i32::try_from(at).unwrap_or(i32::MAX));
        let owners = page.marks.iter().filter_map(|&node| nodes.get(node));
        list.push().array().items(owners.copied());
    }
}

/// A page's operations as a content stream.
fn content(doc: &Doc, page: &Page, used: &mut [Used; 2]) -> Vec<u8> {
    let mut out = Content::new();
    let height = doc.size.1;
    for op in &page.ops {
        match op {
            Op::Begin { role, mark } => {
                let mut marked = out.begin_marked_content_with_properties(role.to_name());
                marked.properties().identify(*mark);
            }
            Op::Artifact => {
                out.begin_marked_content(Name(b"Artifact"));
            }
            Op::End => {
                out.end_marked_content();
            }
            Op::Text { x, y, style, text } => {
                show(&mut out, doc, used, (*x, height - y), *style, text);
            }
            Op::Rect { area, fill, pen } => {
                paint(&mut out, *fill, *pen, |out| rect(out, *area, height));
            }
            Op::Path {
                points,
                closed,
                fill,
                pen,
            } => paint(&mut out, *fill, *pen, |out| {
                for (at, &(x, y)) in points.iter().enumerate() {
                    let (x, y) = (pt(x), pt(height - y));
                    if at == 0 {
                        out.move_to(x, y);
                    } else {
                        out.line_to(x, y);
                    }
                }
                if *closed {
                    out.close_path();
                }
            }),
            Op::Clip(area) => {
                out.save_state();
                rect(&mut out, *area, height);
                out.clip_nonzero().end_path();
            }
            Op::Unclip => {
                out.restore_state();
            }
        }
    }
    out.finish().into_vec()
}

fn show(
    out: &mut Content,
    doc: &Doc,
    used: &mut [Used; 2],
    (x, y): (f64, f64),
    style: Type,
    text: &str,
) {
    let [plain, bold] = used;
    let used = match style.weight {
        Weight::Plain => plain,
        Weight::Bold => bold,
    };
    let coded = used.coded(&doc.faces, text);
    out.set_fill_gray(pt(style.gray));
    out.begin_text();
    out.set_font(used.name(), pt(style.size));
    out.next_line(pt(x), pt(y));
    out.show(Str(&coded));
    out.end_text();
}

fn rect(out: &mut Content, area: Area, height: f64) {
    out.rect(
        pt(area.x),
        pt(height - area.bottom()),
        pt(area.w),
        pt(area.h),
    );
}

/// Fills and strokes what `trace` traces; paper shows where neither is asked for.
fn paint(out: &mut Content, fill: Option<f64>, pen: Option<Pen>, trace: impl FnOnce(&mut Content)) {
    if let Some(gray) = fill {
        out.set_fill_gray(pt(gray));
    }
    if let Some(pen) = pen {
        out.set_stroke_gray(pt(pen.gray));
        out.set_line_width(pt(pen.width));
        let dash = pen.dash.map(|(dash, gap)| [pt(dash), pt(gap)]);
        out.set_dash_pattern(dash.into_iter().flatten(), 0.0);
    }
    trace(out);
    match (fill, pen) {
        (Some(_), Some(_)) => out.fill_nonzero_and_stroke(),
        (Some(_), None) => out.fill_nonzero(),
        (None, Some(_)) => out.stroke(),
        (None, None) => out.end_path(),
    };
}

/// Points as PDF has them.
#[allow(clippy::cast_possible_truncation)] // a page is some hundred points; micrometres remain
fn pt(value: f64) -> f32 {
    value as f32
}

/// The used glyphs of a face as a font of the file.
fn embed(
    pdf: &mut Pdf,
    doc: &Doc,
    used: &Used,
    font: Ref,
    refs: &mut Refs,
) -> Result<(), PaperError> {
    let [descendant, descriptor, cmap, file] = [(); 4].map(|()| refs.take());
    let face = doc.faces.of(used.weight);
    let subset = subsetter::subset(used.weight.bytes(), 0, &used.glyphs)
        .map_err(|error| PaperError::Font(error.to_string()))?;
    let family = match used.weight {
        Weight::Plain => "DejaVuSansCondensed",
        Weight::Bold => "DejaVuSansCondensed-Bold",
    };
    let name = format!("{}+{family}", prefix(&used.was));
    let base = Name(name.as_bytes());

    pdf.type0_font(font)
        .base_font(base)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(descendant)
        .to_unicode(cmap);
    let mut cid = pdf.cid_font(descendant);
    cid.subtype(CidFontType::Type2);
    cid.base_font(base);
    cid.system_info(IDENTITY);
    cid.font_descriptor(descriptor);
    cid.default_width(0.0);
    cid.cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = cid.widths();
    for (&new, &old) in &used.was {
        widths.consecutive(new, [pt(doc.faces.advance(used.weight, old))]);
    }
    widths.finish();
    cid.finish();

    describe(pdf, face, used.weight, base, (descriptor, file));
    let mut unicode = UnicodeCmap::new(Name(b"Shown"), IDENTITY);
    for (&glyph, &shown) in &used.shows {
        unicode.pair(glyph, shown);
    }
    let unicode = compress_to_vec_zlib(unicode.finish().as_slice(), LEVEL);
    pdf.cmap(cmap, &unicode).filter(Filter::FlateDecode);
    let packed = compress_to_vec_zlib(&subset, LEVEL);
    let mut stream = pdf.stream(file, &packed);
    stream.filter(Filter::FlateDecode);
    stream.pair(
        Name(b"Length1"),
        i32::try_from(subset.len()).unwrap_or(i32::MAX),
    );
    Ok(())
}

/// What a reader must know of a face beside its outlines.
fn describe(
    pdf: &mut Pdf,
    face: &Face<'_>,
    weight: Weight,
    base: Name<'_>,
    (descriptor, file): (Ref, Ref),
) {
    let thousandths = |units: i16| f32::from(units) * 1_000.0 / f32::from(face.units_per_em());
    let around = face.global_bounding_box();
    let bold = weight == Weight::Bold;
    pdf.font_descriptor(descriptor)
        .name(base)
        .flags(FontFlags::SYMBOLIC)
        .bbox(Rect::new(
            thousandths(around.x_min),
            thousandths(around.y_min),
            thousandths(around.x_max),
            thousandths(around.y_max),
        ))
        .italic_angle(0.0)
        .ascent(thousandths(face.ascender()))
        .descent(thousandths(face.descender()))
        .cap_height(thousandths(
            face.capital_height().unwrap_or(face.ascender()),
        ))
        .stem_v(if bold { 140.0 } else { 80.0 })
        .font_file2(file);
}

/// Six letters that differ where the glyphs do, as the standard asks of a subset's name.
fn prefix(glyphs: &BTreeMap<u16, u16>) -> String {
    let bytes = glyphs.values().flat_map(|glyph| glyph.to_be_bytes());
    let mut rest = crate::mark::fnv(bytes);
    let mut out = String::new();
    for _ in 0..6 {
        let letter = u8::try_from(rest % 26).unwrap_or(0);
        out.push(char::from(b'A' + letter));
        rest /= 26;
    }
    out
}
