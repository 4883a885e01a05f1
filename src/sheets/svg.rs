//! Pictures as SVG, for documents and screens: the same ink as on paper, one page beneath the other.
//!
//! Letters are named by their font with common ones to fall back on, and held to the width that was reckoned with.

use super::pdf::Face;
use super::pdf::ink::{Fill, Ink, Leaf};
use crate::format::place;
use std::fmt::Write;

/// Between two pages.
const GAP: f32 = 12.0;
const FONT: &str = "'DejaVu Sans Condensed', 'Arial Narrow', 'Liberation Sans Narrow', sans-serif";

/// Writes pages into one picture.
pub fn write(title: &str, leaves: &[Leaf]) -> String {
    let width = leaves.iter().map(|leaf| leaf.width).fold(0.0, f32::max);
    let height = leaves.iter().map(|leaf| leaf.height + GAP).sum::<f32>() - GAP;
    let [width, height] = [width, height.max(0.0)].map(place);
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}pt\" \
         height=\"{height}pt\" viewBox=\"0 0 {width} {height}\" font-family=\"{FONT}\">\n<title>{}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n",
        escaped(title)
    );
    let mut top = 0.0;
    for leaf in leaves {
        for ink in &leaf.ink {
            // Writing to a String cannot fail.
            let _ = writeln!(out, "{}", drawn(&ink.clone().moved(0.0, top)));
        }
        top += leaf.height + GAP;
    }
    out.push_str("</svg>\n");
    out
}

fn drawn(ink: &Ink) -> String {
    match ink {
        Ink::Words { x, y, text, size, face } => {
            let weight = if *face == Face::Bold { " font-weight=\"bold\"" } else { "" };
            let length = place(face.width(text, *size));
            let [x, y, size] = [*x, *y, *size].map(place);
            format!(
                "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" textLength=\"{length}\" \
                 lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\"{weight}>{}</text>",
                escaped(text)
            )
        }
        Ink::Line { from, to, thick, dash } => {
            let dash =
                dash.map(place).map_or_else(String::new, |dash| format!(" stroke-dasharray=\"{dash}\""));
            let [x1, y1, x2, y2, thick] = [from.0, from.1, to.0, to.1, *thick].map(place);
            format!(
                "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" stroke=\"black\" stroke-width=\"{thick}\"{dash}/>"
            )
        }
        Ink::Area { at, size, fill } => {
            let [x, y, width, height] = [at.0, at.1, size.0, size.1].map(place);
            format!("<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"{}/>", filled(*fill))
        }
        Ink::Disc { at, radius, fill } => {
            let [x, y, radius] = [at.0, at.1, *radius].map(place);
            format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\"{}/>", filled(*fill))
        }
    }
}

fn filled(fill: Fill) -> String {
    match fill {
        Fill::Solid => " fill=\"black\"".into(),
        Fill::Blank => " fill=\"white\"".into(),
        Fill::Outline(thick) => format!(" fill=\"white\" stroke=\"black\" stroke-width=\"{}\"", place(thick)),
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
