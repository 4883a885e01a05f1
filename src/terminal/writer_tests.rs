use ratatui::layout::Rect;
use ratatui::style::{Color, Style};

use super::*;

#[path = "writer_random.rs"]
mod random;

/// A line that takes so many bytes at a time.
#[derive(Debug, Default)]
struct Line {
    bytes: Vec<u8>,
    room: Option<usize>,
}

impl Write for Line {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let count = self.room.unwrap_or(usize::MAX).min(bytes.len());
        if count == 0 {
            return Err(ErrorKind::WouldBlock.into());
        }
        self.room = self.room.map(|room| room - count);
        self.bytes.extend_from_slice(&bytes[..count]);
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn caps_of(term: &str) -> Capabilities {
    Capabilities::detect(&|name| match name {
        "TERM" => Some(term.to_owned()),
        "LANG" => Some("C.UTF-8".to_owned()),
        _ => None,
    })
}

fn screen(term: &str, width: u16, height: u16) -> Screen<Line> {
    let size = Size::new(width, height);
    Screen::new(Line::default(), size, caps_of(term), Vec::new())
}

fn emulator(width: u16, height: u16) -> vt100::Parser {
    vt100::Parser::new(height.try_into().unwrap(), width.try_into().unwrap(), 0)
}

fn list(first: usize, selected: usize) -> Buffer {
    let mut buffer = Buffer::empty(Rect::new(0, 0, 80, 24));
    buffer.set_string(0, 0, "Cables", Style::new().bold());
    for y in 1..21_u16 {
        let item = first + usize::from(y) - 1;
        let mark = if item == selected { '>' } else { ' ' };
        buffer.set_string(0, y, format!("{mark} {}", text(item)), Style::new());
    }
    buffer.set_string(0, 23, "q quit", Style::new().reversed());
    buffer
}

fn text(item: usize) -> String {
    format!("C{item:03}  kitchen {item}  {} ft", item * 37 % 101)
}

/// Bytes the second of two frames takes.
fn bytes_between(term: &str, frames: &[(Buffer, Position)]) -> Vec<u8> {
    let mut screen = screen(term, 80, 24);
    let mut last = Vec::new();
    for (buffer, cursor) in frames {
        screen.out.bytes.clear();
        screen.present(buffer, Some(*cursor)).unwrap();
        last.clone_from(&screen.out.bytes);
    }
    last
}

#[test]
fn an_unchanged_frame_writes_nothing() {
    let frame = (list(0, 3), Position::new(0, 4));
    let bytes = bytes_between("xterm", &[frame.clone(), frame]);
    assert_eq!(bytes, b"");
}

#[test]
fn a_marker_moves_in_a_few_bytes() {
    for (from, to) in [(3, 4), (4, 3)] {
        for term in ["xterm", "linux", "vt100"] {
            let frame = |at: u16| (list(0, usize::from(at)), Position::new(0, at + 1));
            let bytes = bytes_between(term, &[frame(from), frame(to)]);
            assert!(bytes.len() <= 16, "{term}: {}", bytes.escape_ascii());
        }
    }
}

#[test]
fn a_list_scrolls_for_its_new_row() {
    for term in ["xterm", "linux", "vt100", "screen"] {
        let down =
            bytes_between(term, &[(list(0, 19), Position::new(0, 20)), (list(1, 20), Position::new(0, 20))]);
        let most = text(20).len() + 2 + 30;
        assert!(down.len() <= most, "{term}: {}", down.escape_ascii());
        let up = bytes_between(term, &[(list(1, 1), Position::new(0, 1)), (list(0, 0), Position::new(0, 1))]);
        let most = text(0).len() + 2 + 30;
        assert!(up.len() <= most, "{term}: {}", up.escape_ascii());
    }
}

#[test]
fn a_busy_line_gets_the_newest_frame_only() {
    let mut screen = screen("xterm", 80, 24);
    screen.out.room = Some(10);
    let cursor = Some(Position::new(0, 1));
    screen.present(&list(0, 0), cursor).unwrap();
    assert!(screen.is_pending());
    let first = screen.pending.len();
    for selected in 1..20 {
        screen.present(&list(0, selected), cursor).unwrap();
        assert_eq!(screen.pending.len(), first, "frames are merged");
    }
    screen.out.room = None;
    screen.resume_output().unwrap();
    assert!(!screen.is_pending() && !screen.stale);
    let mut parser = emulator(80, 24);
    parser.process(&screen.out.bytes);
    assert!(parser.screen().contents().contains("> C019"));
    assert!(!parser.screen().contents().contains("> C018"));
}

#[test]
fn frames_of_a_held_key_are_merged() {
    let mut screen = screen("xterm", 80, 24).paced();
    let cursor = Some(Position::new(0, 1));
    for first in (0..200).step_by(20) {
        screen.present(&list(first, first), cursor).unwrap();
    }
    let until = screen.waits().until.unwrap();
    assert!(!screen.is_pending());
    std::thread::sleep(until.saturating_duration_since(Instant::now()));
    screen.resume_output().unwrap();
    assert_eq!(screen.waits(), OutputWaits::default());
    let mut parser = emulator(80, 24);
    parser.process(&screen.out.bytes);
    assert!(parser.screen().contents().contains("> C180"));
    assert!(screen.out.bytes.len() < 3000, "two frames, not ten");
}

#[test]
fn a_repaint_draws_over_without_clearing() {
    for term in ["xterm", "screen"] {
        let mut screen = screen(term, 80, 24);
        let cursor = Some(Position::new(0, 1));
        screen.present(&list(0, 0), cursor).unwrap();
        screen.out.bytes = b"\x1b[5;9H\x1b[41mgarbage\x1b[2;5r".to_vec();
        let first = screen.out.bytes.len();
        screen.repaint();
        screen.present(&list(0, 0), cursor).unwrap();
        let bytes = &screen.out.bytes[first..];
        assert!(!bytes.windows(4).any(|part| part == b"\x1b[2J"));
        assert!(!bytes.windows(3).any(|part| part == b"\x1b[J"), "{}", bytes.escape_ascii());
        let mut parser = emulator(80, 24);
        parser.process(&screen.out.bytes);
        let text = parser.screen().contents();
        assert!(!text.contains("garbage") && text.contains("> C000"));
    }
}

#[test]
fn without_colour_the_other_attributes_stay() {
    let caps = Capabilities { colour: super::super::caps::Colour::None, ..caps_of("xterm") };
    let size = Size::new(20, 1);
    let mut screen = Screen::new(Line::default(), size, caps, Vec::new());
    let mut buffer = Buffer::empty(Rect::new(0, 0, 20, 1));
    let style = Style::new().fg(Color::Red).bg(Color::Blue).bold().reversed();
    buffer.set_string(0, 0, "due", style);
    screen.present(&buffer, None).unwrap();
    let sent = String::from_utf8(screen.out.bytes).unwrap();
    assert!(sent.contains("\x1b[1;7mdue"), "{sent:?}");
}

/// What the second of two one-word frames sends.
fn sent_after(first: (u16, &str, Style), second: (u16, &str, Style)) -> String {
    let mut screen = screen("xterm", 20, 3);
    for (x, text, style) in [first, second] {
        screen.out.bytes.clear();
        let mut buffer = Buffer::empty(Rect::new(0, 0, 20, 3));
        buffer.set_string(x, 1, text, style);
        buffer.set_string(0, 2, "end", Style::new());
        screen.present(&buffer, None).unwrap();
    }
    String::from_utf8(screen.out.bytes).unwrap()
}

#[test]
fn nothing_is_relative_where_terminals_disagree() {
    let plain = Style::new();
    let mut screen = screen("xterm", 20, 2);
    let mut buffer = Buffer::empty(Rect::new(0, 0, 20, 2));
    buffer.set_string(18, 0, "ab", plain);
    screen.present(&buffer, Some(Position::new(18, 0))).unwrap();
    let sent = String::from_utf8(screen.out.bytes).unwrap();
    assert!(sent.ends_with("ab\x1b[;19H"), "after the last column: {sent:?}");
    let emoji = sent_after((0, "a", plain), (0, "🔧x", plain));
    assert_eq!(emoji, "\r\x1bM  \r🔧\r\x1b[2Cx");
}

#[test]
fn moved_rows_leave_plain_ones() {
    let mut screen = screen("xterm", 80, 24);
    let cursor = Some(Position::new(0, 20));
    for (first, selected) in [(0, 19), (1, 20)] {
        screen.out.bytes.clear();
        screen.present(&list(first, selected), cursor).unwrap();
    }
    // The key bar left the pen reversed; some terminals fill with the pen's background.
    let sent = String::from_utf8(screen.out.bytes).unwrap();
    assert!(sent.starts_with("\x1b[m\x1b[2;21r\x1b[S\x1b[r"), "{sent:?}");
}

#[test]
fn sizes_of_nothing_survive() {
    for (width, height) in [(0, 0), (1, 1), (0, 5), (5, 0), (2, 1)] {
        let mut screen = screen("xterm", width, height);
        let buffer = list(0, 0);
        screen.present(&buffer, Some(Position::new(70, 20))).unwrap();
        screen.clear_region(ClearType::AfterCursor).unwrap();
        screen.resize(Size::new(3, 3));
        screen.present(&buffer, Some(Position::new(70, 20))).unwrap();
    }
}
