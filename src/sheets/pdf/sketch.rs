//! Pictures on paper: real lines and letters where a screen has characters, from the same picture.

use super::block::Block;
use super::columns::Setting;
use super::face::{Face, LINE};
use super::form::{Form, Turn};
use super::ink::{Fill, Ink};
use super::page::Sheet;
use crate::format::{self, Text};
use crate::schedule::canvas::Stroke;
use crate::schedule::picture::{Gauge, Picture, Piece, Spot, Written};
use crate::schedule::{Load, Weight};

/// How thick the kinds of line are.
const THIN: f32 = 0.7;
const THICK: f32 = 1.7;
const WALL: f32 = 1.4;
/// The dashes of what nobody measured, and of the floor between two levels.
const DASH: f32 = 2.5;
/// From one line of a picture to the next, and the width of a column, in parts of the size of its letters.
const PITCH: f32 = 1.55;
const COLUMN: f32 = 0.5;
/// The size of the letters under a picture.
pub(super) const SIGNS: f32 = 9.0;
/// A sample of a line in the explanation of signs.
const SAMPLE: f32 = 20.0;

/// A sign with what it means.
#[derive(Debug, Clone, PartialEq)]
pub enum Sign {
    /// A line of that kind.
    Line(Stroke),
    /// Something drawn within ten points, from its left top corner.
    Drawn(Vec<Ink>),
    /// Nothing but words.
    Words,
}

/// How a stroke is drawn: thickness and dashes.
pub(super) const fn pen(stroke: Stroke) -> (f32, Option<f32>) {
    match stroke {
        Stroke::Single => (THIN, None),
        Stroke::Double => (THICK, None),
        Stroke::Wall => (WALL, None),
        Stroke::Dotted => (THIN, Some(DASH)),
    }
}

/// A line from place to place.
pub(super) const fn line(from: (f32, f32), to: (f32, f32), stroke: Stroke) -> Ink {
    let (thick, dash) = pen(stroke);
    Ink::Line { from, to, thick, dash }
}

/// Explains signs in as many columns as fit, each sign before its words.
pub(super) fn explained(signs: &[(Sign, Text)], width: f32) -> Block {
    let mut block = Block::words(&"SIGNS".into(), SIGNS, Face::Bold, width);
    let before = SAMPLE + 6.0;
    let widest =
        signs.iter().map(|(_, words)| Face::Regular.width(words.as_str(), SIGNS)).fold(0.0, f32::max);
    let column = (before + widest + 14.0).min(width);
    let (mut x, mut y) = (0.0, block.height + 1.0);
    for (sign, words) in signs {
        if x > 0.0 && x + column > width {
            (x, y) = (0.0, y + SIGNS * 1.35);
        }
        let middle = y + SIGNS * LINE / 2.0;
        match sign {
            Sign::Line(stroke) => block.ink.push(line((x, middle), (x + SAMPLE, middle), *stroke)),
            Sign::Drawn(ink) => {
                block
                    .ink
                    .extend(ink.iter().cloned().map(|ink| ink.moved(x + SAMPLE / 2.0 - 5.0, middle - 5.0)));
            }
            Sign::Words => {}
        }
        let indent = if *sign == Sign::Words { 0.0 } else { before };
        let words = Face::Regular.within(&Face::Regular.shown(words.as_str()), SIGNS, width - indent - x);
        block.ink.push(Ink::words(x + indent, y, &words, SIGNS, Face::Regular));
        x += column;
    }
    block.height = y + SIGNS * 1.35;
    block.apart = true;
    block
}

/// A picture whose lines are rows of a sheet: its first line repeats on each page, and nothing is split.
pub(super) fn rows(title: &Text, picture: &Picture, form: Form, holds: &dyn Fn(u16) -> bool) -> Sheet {
    let turn = form.turn.unwrap_or(Turn::Landscape);
    let width = form.inside(turn).0;
    let cell = width / f32::from(picture.width.max(1));
    let size = cell / COLUMN;
    let mut bands: Vec<Block> = (0..picture.height).map(|y| band(y, picture, cell, size, holds(y))).collect();
    let head = if bands.is_empty() { Block::default() } else { bands.remove(0) };
    Sheet { title: title.clone(), setting: Setting { turn, size }, heads: vec![head], blocks: bands }
}

/// One line of a picture, with the parts of upright lines that pass through it.
fn band(y: u16, picture: &Picture, cell: f32, size: f32, holds_next: bool) -> Block {
    let height = size * PITCH;
    let middle = height / 2.0;
    let across = |x: u16| (f32::from(x) + 0.5) * cell;
    let mut ink = Vec::new();
    for Piece { stroke, from, to } in &picture.pieces {
        let (top, bottom) = (from.y.min(to.y), from.y.max(to.y));
        if top > y || bottom < y {
            continue;
        }
        if *stroke == Stroke::Dotted {
            ink.push(line((across(from.x), 0.0), (across(from.x), height), *stroke));
        } else if top == bottom {
            let (left, right) = (from.x.min(to.x), from.x.max(to.x));
            ink.push(line((across(left), middle), (across(right), middle), *stroke));
        } else if !worded(picture, from.x, y) {
            let begin = if top < y { 0.0 } else { middle };
            let end = if bottom > y { height } else { middle };
            ink.push(line((across(from.x), begin), (across(from.x), end), *stroke));
        }
    }
    let top = middle - size * LINE / 2.0;
    for Written { at, cells, text, weight } in picture.written.iter().filter(|written| written.at.y == y) {
        let face = if *weight == Weight::Bad { Face::Bold } else { Face::Regular };
        let room = f32::from(*cells) * cell + cell * 0.6;
        let shown = face.shown(text.as_str());
        // Words that are wider than their columns become smaller rather than run into what follows.
        let fitted = size.min(size * room / face.width(&shown, size).max(0.01));
        let lowered = (size - fitted) * super::face::FOOT;
        ink.push(Ink::words(f32::from(at.x) * cell, top + lowered, &shown, fitted, face));
    }
    for Gauge { at, cells, percent, target } in picture.gauges.iter().filter(|gauge| gauge.at.y == y) {
        let room = f32::from(*cells) * cell;
        let words = format!("{}{}", format::percent(*percent), Load::of(*percent, *target).sign());
        ink.extend(gauge((f32::from(at.x) * cell, top), room, size, (*percent, *target), &words));
    }
    Block { ink, height, table: Some(0), holds_next, ..Block::default() }
}

/// Whether words stand in a cell, beneath which lines do not show.
fn worded(picture: &Picture, x: u16, y: u16) -> bool {
    let covers = |at: Spot, cells: u16| at.y == y && (at.x..at.x.saturating_add(cells)).contains(&x);
    picture.written.iter().any(|written| covers(written.at, written.cells))
        || picture.gauges.iter().any(|gauge| covers(gauge.at, gauge.cells))
}

/// A load in percent as a bar with its target across it and its figure in words beside it, in so much room.
pub(super) fn gauge(
    (x, top): (f32, f32),
    room: f32,
    size: f32,
    (percent, target): (Option<f64>, f64),
    words: &str,
) -> Vec<Ink> {
    let load = Load::of(percent, target);
    let face = if load == Load::Over { Face::Bold } else { Face::Regular };
    let figure = format::percent(percent);
    // All bars of a column have one scale, and their figures stand beneath each other.
    let beside = Face::Bold.width("100.0 % ! OVER", size).max(face.width(words, size)) + size * 0.6;
    let inner = room - beside;
    let mut ink = Vec::new();
    if inner > size * 2.0 {
        let (height, y) = (size * 0.75, top + size * 0.25);
        let share = |percent: f64| share_of(percent) * inner;
        let filled = format::known(percent).map_or(0.0, share);
        ink.push(Ink::Area { at: (x, y), size: (inner, height), fill: Fill::Outline(0.6) });
        if filled > 0.0 {
            ink.push(Ink::Area { at: (x, y), size: (filled, height), fill: Fill::Solid });
        }
        if target < 100.0 {
            let at = x + share(target);
            let (from, to) = ((at, y - size * 0.2), (at, y + height + size * 0.2));
            ink.push(Ink::Line { from, to, thick: 1.2, dash: None });
        }
    }
    let figures = face.width("100.0 %", size);
    let inset = if load == Load::Over { 0.0 } else { (figures - face.width(&figure, size)).max(0.0) };
    // Where there is no room for a bar the figure stands alone.
    let last = x + room - face.width(words, size);
    let start = (x + inner + size * 0.6 + inset).min(last).max(x);
    ink.push(Ink::words(start, top, words, size, face));
    ink
}

/// A load as a part of the whole bar.
#[expect(clippy::cast_possible_truncation, reason = "between 0 and 1")]
fn share_of(percent: f64) -> f32 {
    (percent.clamp(0.0, 100.0) / 100.0) as f32
}
