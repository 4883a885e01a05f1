//! The help of a view, made from the table of its keys.

use super::super::app::App;
use super::super::keys;
use super::{BOLD, put};
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

/// What every screen of figures has to say with them.
const CAUTION: &str =
    "Figures are a plan, not a permit: the adopted local code and a licensed person decide.";
/// Columns of the key names.
const KEYS: u16 = 12;

/// Draws the help from its first shown line on.
pub(super) fn draw(app: &mut App, area: Rect, buffer: &mut Buffer) -> Position {
    put(buffer, area, area.y, 0, &format!("Keys in the view {}", app.view.word()), BOLD);
    let lines = Rect { y: area.y + 1, height: area.height.saturating_sub(2), ..area };
    let bound = keys::of_view(app.view).map(|binding| (binding.shown, binding.help));
    let all: Vec<_> = bound.chain(keys::KEYLESS.iter().copied()).collect();
    let height = usize::from(lines.height);
    let top = app.help.unwrap_or(0).min(all.len().saturating_sub(height));
    for ((shown, help), y) in all.iter().skip(top).zip(lines.y..lines.bottom()) {
        put(buffer, lines, y, 2, shown, BOLD);
        put(buffer, lines, y, 2 + KEYS, help, Style::new());
    }
    if top + height < all.len() {
        put(buffer, lines, lines.bottom().saturating_sub(1), 0, "v", BOLD);
    }
    put(buffer, area, area.bottom().saturating_sub(1), 0, CAUTION, Style::new());
    app.page = height.saturating_sub(1).max(1);
    app.help = Some(top);
    Position::new(area.x, area.y)
}
