//! Random sessions against an emulator.

use proptest::prelude::*;
use ratatui::style::{Color, Modifier, Style};

use super::*;
use crate::terminal::grid::{BOLD, DIM, ITALIC, REVERSE, UNDERLINE};
use crate::terminal::scroll::{self, Shift};

/// One step of a random session.
#[derive(Debug, Clone)]
enum Step {
    Put(u16, u16, String, Style),
    Fill(u16, u16, u16, String, Style),
    Clear(u16),
    Scroll(u16, u16, bool),
    Cursor(Option<(u16, u16)>),
    Repaint,
    Show,
}

const WIDTH: u16 = 12;
const HEIGHT: u16 = 7;

fn any_style() -> impl Strategy<Value = Style> {
    let colour = prop_oneof![
        3 => Just(Color::Reset),
        1 => Just(Color::Red),
        1 => Just(Color::LightBlue),
        1 => Just(Color::Gray),
    ];
    let modifiers = prop_oneof![
        3 => Just(Modifier::empty()),
        1 => any::<u16>().prop_map(|bits| Modifier::from_bits_truncate(bits)
            & (Modifier::BOLD | Modifier::DIM | Modifier::REVERSED | Modifier::UNDERLINED | Modifier::ITALIC)),
    ];
    (colour.clone(), colour, modifiers)
        .prop_map(|(fg, bg, modifier)| Style::new().fg(fg).bg(bg).add_modifier(modifier))
}

fn any_symbol() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => Just(" ".to_owned()),
        4 => "[a-c]",
        1 => Just("│".to_owned()),
        2 => Just("漢".to_owned()),
        1 => Just("👩‍👧".to_owned()),
        1 => Just("e\u{301}".to_owned()),
        1 => Just("❤\u{fe0f}".to_owned()),
        1 => Just("\u{1b}".to_owned()),
    ]
}

fn any_step() -> impl Strategy<Value = Step> {
    let (x, y) = (0..WIDTH, 0..HEIGHT);
    prop_oneof![
        6 => (x.clone(), y.clone(), any_symbol(), any_style()).prop_map(|(x, y, s, t)| Step::Put(x, y, s, t)),
        4 => (x.clone(), y.clone(), 1..WIDTH, any_symbol(), any_style())
            .prop_map(|(x, y, n, s, t)| Step::Fill(x, y, n, s, t)),
        1 => y.clone().prop_map(Step::Clear),
        3 => (y.clone(), y.clone(), any::<bool>()).prop_map(|(a, b, up)| Step::Scroll(a, b, up)),
        2 => proptest::option::of((x, y)).prop_map(Step::Cursor),
        1 => Just(Step::Repaint),
        4 => Just(Step::Show),
    ]
}

fn edit(screen: &mut Screen<Line>, step: &Step) {
    let mut put = |x: u16, y: u16, symbol: &str, style: Style| {
        let mut cell = BufferCell::default();
        cell.set_symbol(symbol).set_style(style);
        screen.want.put(x, y, &cell, &screen.caps);
    };
    match step {
        Step::Put(x, y, symbol, style) => put(*x, *y, symbol, *style),
        Step::Fill(x, y, count, symbol, style) => {
            for x in *x..x + count {
                put(x, *y, symbol, *style);
            }
        }
        Step::Clear(y) => {
            for x in 0..WIDTH {
                put(x, *y, " ", Style::new());
            }
        }
        Step::Scroll(a, b, up) => {
            let shift = Shift {
                top: usize::from(*a.min(b)),
                bottom: usize::from(*a.max(b)),
                by: if *up { 1 } else { -1 },
            };
            scroll::apply(&mut screen.want, shift);
        }
        Step::Cursor(cursor) => {
            screen.cursor_visible = cursor.is_some();
            if let Some((x, y)) = cursor {
                screen.cursor = Position::new(*x, *y);
            }
        }
        Step::Repaint => screen.repaint(),
        Step::Show => {}
    }
}

/// What a cell looks like: ink does not show on a blank.
fn look(text: &str, fg: u8, bg: u8, bits: u8) -> (String, u8, u8, u8) {
    if text == " " && bits & (REVERSE | UNDERLINE) == 0 {
        (text.to_owned(), 0, bg, 0)
    } else {
        (text.to_owned(), fg, bg, bits)
    }
}

fn wanted(cell: &Cell) -> (String, u8, u8, u8) {
    let text = String::from_utf8(cell.text().to_vec()).unwrap();
    look(&text, cell.pen.fg, cell.pen.bg, cell.pen.bits)
}

fn parsed(cell: &vt100::Cell) -> (String, u8, u8, u8) {
    let colour = |colour| match colour {
        vt100::Color::Default => 0,
        vt100::Color::Idx(index) => index + 1,
        vt100::Color::Rgb(..) => 255,
    };
    let bits = [
        (cell.bold(), BOLD),
        (cell.dim(), DIM),
        (cell.italic(), ITALIC),
        (cell.underline(), UNDERLINE),
        (cell.inverse(), REVERSE),
    ];
    let bits = bits.iter().filter(|(on, _)| *on).map(|(_, bit)| bit).sum();
    let text = if cell.has_contents() { cell.contents() } else { " " };
    look(text, colour(cell.fgcolor()), colour(cell.bgcolor()), bits)
}

fn same(screen: &Screen<Line>, parser: &vt100::Parser) -> Result<(), TestCaseError> {
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let want = screen.want.row(usize::from(y))[usize::from(x)];
            if want.is_right_half() {
                continue;
            }
            let cell = parser.screen().cell(y, x).unwrap();
            prop_assert_eq!(parsed(cell), wanted(&want), "row {} column {}", y, x);
        }
    }
    prop_assert_eq!(parser.screen().hide_cursor(), screen.caps.hide_cursor && !screen.cursor_visible);
    if screen.cursor_visible {
        let at = (screen.cursor.y, screen.cursor.x);
        prop_assert_eq!(parser.screen().cursor_position(), at);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the frames, the terminal shows the last one.
    #[test]
    fn the_terminal_shows_the_frame(
        steps in proptest::collection::vec(any_step(), 1..60),
        term in prop_oneof![Just("xterm"), Just("linux"), Just("vt100"), Just("screen"), Just("vt220")],
    ) {
        let mut screen = screen(term, WIDTH, HEIGHT);
        let mut parser = emulator(WIDTH, HEIGHT);
        for step in &steps {
            edit(&mut screen, step);
            if matches!(step, Step::Show) {
                screen.flush().unwrap();
                parser.process(&std::mem::take(&mut screen.out.bytes));
                same(&screen, &parser)?;
            }
        }
    }
}
