//! The riser and the plan on the screen: heading, picture, legend.

use super::super::app::App;
use super::{BOLD, put};
use crate::format::Text;
use crate::schedule::Weight;
use crate::schedule::picture::{Anchor, Shape, Symbol};
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::{Modifier, Style};

/// Lines of the body from which on the legend has one line, and from which on several.
const WITH_LEGEND: u16 = 12;
const WITH_MORE: u16 = 28;
const MORE: usize = 4;

/// Draws the picture of the current view, and gives the place of the thing under the cursor.
pub(super) fn draw(app: &mut App, area: Rect, buffer: &mut Buffer) -> Option<Position> {
    let view = app.view;
    let (design, pictures) = (&app.design, &mut app.pictures);
    put(buffer, area, area.y, 0, &pictures.title(design, view), BOLD);
    let legend_lines: u16 = match area.height {
        ..WITH_LEGEND => 0,
        WITH_LEGEND..WITH_MORE => 1,
        _ => u16::try_from(MORE).unwrap_or(1),
    };
    let height = area.height.saturating_sub(1 + legend_lines);
    pictures.draw(design, view, area.width, height);
    let (left, top) = (area.x, area.y + 1);
    for y in 0..height {
        for x in 0..area.width {
            let Some(mark) = pictures.shown.mark(x, y) else { continue };
            let style = style_of(mark.weight);
            match &mark.symbol {
                Symbol::Blank | Symbol::Covered => {}
                Symbol::Char(c) => {
                    let mut bytes = [0; 4];
                    buffer.set_string(left + x, top + y, c.encode_utf8(&mut bytes), style);
                }
                Symbol::Cluster(text) => buffer.set_string(left + x, top + y, text, style),
            }
        }
    }
    legend(&pictures.shown.legend, Rect { y: top + height, height: legend_lines, ..area }, buffer);
    let here = pictures.here.as_ref().and_then(|here| pictures.shown.anchor_of(here))?;
    emphasize(here, left, top, buffer);
    let spot = here.shape.spot();
    Some(Position::new(left + spot.x, top + spot.y))
}

const fn style_of(weight: Weight) -> Style {
    match weight {
        Weight::Plain => Style::new(),
        Weight::Caution => BOLD,
        Weight::Bad => BOLD.add_modifier(Modifier::REVERSED),
    }
}

/// The thing under the cursor stands out: its words underlined, its line bold along the whole way.
fn emphasize(anchor: &Anchor, left: u16, top: u16, buffer: &mut Buffer) {
    match &anchor.shape {
        Shape::Words { at, width } => {
            let area = Rect { x: left + at.x, y: top + at.y, width: *width, height: 1 };
            buffer.set_style(area.intersection(buffer.area), BOLD.add_modifier(Modifier::UNDERLINED));
        }
        Shape::Line(pieces) => {
            for (a, b) in pieces {
                let area = Rect {
                    x: left + a.x.min(b.x),
                    y: top + a.y.min(b.y),
                    width: a.x.abs_diff(b.x) + 1,
                    height: a.y.abs_diff(b.y) + 1,
                };
                buffer.set_style(area.intersection(buffer.area), BOLD);
            }
        }
    }
}

/// As many of the signs with their meanings as there is room for, each whole.
fn legend(entries: &[Text], area: Rect, buffer: &mut Buffer) {
    let (mut x, mut y) = (0, area.y);
    for entry in entries {
        let width = u16::try_from(entry.width()).unwrap_or(u16::MAX);
        if x > 0 && x + width > area.width {
            (x, y) = (0, y + 1);
        }
        if y >= area.bottom() {
            break;
        }
        put(buffer, area, y, x, entry.as_str(), Style::new());
        x = x.saturating_add(width).saturating_add(3);
    }
}
