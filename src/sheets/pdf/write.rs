//! Writes pages as PDF: fonts embedded with what is used of them, text that can be searched and copied.

use super::PdfError;
use super::face::Face;
use super::ink::{Fill, Ink, Leaf};
use crate::sheets::Heading;
use krilla::Document;
use krilla::color::luma;
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};

/// A quarter circle as a curve: the distance of its handles in parts of the radius.
const QUARTER: f32 = 0.552_285;

/// A line of the contents that a reader of the file shows beside it: words and the page from 0.
pub(super) struct Mark {
    pub(super) words: String,
    pub(super) page: usize,
}

struct Fonts {
    regular: Font,
    bold: Font,
}

/// Writes pages; the same pages under the same heading give the same bytes.
pub(super) fn write(
    title: &str,
    heading: &Heading,
    leaves: &[Leaf],
    marks: &[Mark],
) -> Result<Vec<u8>, PdfError> {
    let fonts = Fonts { regular: font(Face::Regular)?, bold: font(Face::Bold)? };
    let mut document = Document::new();
    for leaf in leaves {
        let size = PageSettings::from_wh(leaf.width, leaf.height).ok_or(PdfError::Size)?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        for ink in &leaf.ink {
            draw(ink, &fonts, &mut surface);
        }
        surface.finish();
        page.finish();
    }
    if !marks.is_empty() {
        let mut outline = Outline::new();
        for mark in marks {
            let place = XyzDestination::new(mark.page, Point::from_xy(0.0, 0.0));
            outline.push_child(OutlineNode::new(mark.words.clone(), place));
        }
        document.set_outline(outline);
    }
    document.set_metadata(metadata(title, heading));
    document.finish().map_err(|error| PdfError::Written(error.to_string()))
}

fn metadata(title: &str, heading: &Heading) -> Metadata {
    let two = |n: i8| u8::try_from(n).unwrap_or(1);
    let date = DateTime::new(u16::try_from(heading.date.year()).unwrap_or(0))
        .month(two(heading.date.month()))
        .day(two(heading.date.day()));
    let made = concat!("studbay ", env!("CARGO_PKG_VERSION"));
    let title = format!("{}: {title}, {}", heading.project, heading.revision_line());
    let metadata = Metadata::new().title(title).language("en".to_owned()).creator(made.to_owned());
    let by = heading.by.to_string();
    let metadata = if by.trim().is_empty() { metadata } else { metadata.authors(vec![by]) };
    metadata.creation_date(date)
}

fn font(face: Face) -> Result<Font, PdfError> {
    Font::new(face.bytes().into(), 0).ok_or(PdfError::Font)
}

fn black() -> krilla::paint::Paint {
    luma::Color::black().into()
}

fn draw(ink: &Ink, fonts: &Fonts, surface: &mut Surface<'_>) {
    match ink {
        Ink::Words { x, y, text, size, face } => {
            let glyphs: Vec<KrillaGlyph> = text
                .char_indices()
                .map(|(at, c)| {
                    let letter = face.letter(c);
                    let range = at..at + c.len_utf8();
                    KrillaGlyph::new(GlyphId::new(letter.glyph), letter.advance, 0.0, 0.0, 0.0, range, None)
                })
                .collect();
            let font = match face {
                Face::Regular => &fonts.regular,
                Face::Bold => &fonts.bold,
            };
            fill(surface, luma::Color::black());
            surface.draw_glyphs(Point::from_xy(*x, *y), &glyphs, font.clone(), text, *size, false);
        }
        Ink::Line { from, to, thick, dash } => {
            let mut path = PathBuilder::new();
            path.move_to(from.0, from.1);
            path.line_to(to.0, to.1);
            outline(surface, *thick, *dash);
            surface_path(surface, path);
        }
        Ink::Area { at, size, fill: how } => {
            if let Some(rect) = Rect::from_xywh(at.0, at.1, size.0, size.1) {
                let mut path = PathBuilder::new();
                path.push_rect(rect);
                shape(surface, path, *how);
            }
        }
        Ink::Disc { at, radius, fill: how } => shape(surface, circle(*at, *radius), *how),
    }
}

fn circle((x, y): (f32, f32), r: f32) -> PathBuilder {
    let k = QUARTER * r;
    let mut path = PathBuilder::new();
    path.move_to(x + r, y);
    path.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
    path.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
    path.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
    path.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
    path.close();
    path
}

fn shape(surface: &mut Surface<'_>, path: PathBuilder, how: Fill) {
    match how {
        Fill::Solid => fill(surface, luma::Color::black()),
        Fill::Blank => fill(surface, luma::Color::white()),
        Fill::Outline(thick) => {
            fill(surface, luma::Color::white());
            surface.set_stroke(Some(Stroke { paint: black(), width: thick, ..Stroke::default() }));
        }
    }
    surface_path(surface, path);
}

fn surface_path(surface: &mut Surface<'_>, path: PathBuilder) {
    if let Some(path) = path.finish() {
        let path: Path = path;
        surface.draw_path(&path);
    }
}

fn fill(surface: &mut Surface<'_>, color: luma::Color) {
    surface.set_stroke(None);
    surface.set_fill(Some(krilla::paint::Fill { paint: color.into(), ..krilla::paint::Fill::default() }));
}

fn outline(surface: &mut Surface<'_>, thick: f32, dash: Option<f32>) {
    surface.set_fill(None);
    let dash = dash.map(|length| StrokeDash { array: vec![length, length], offset: 0.0 });
    surface.set_stroke(Some(Stroke { paint: black(), width: thick, dash, ..Stroke::default() }));
}
