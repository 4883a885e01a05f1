//! Sets blocks onto pages.

use super::block::{Block, Head};
use super::{Heading, Paper, cautions};
use crate::format::Text;

/// The most lines a title or an address takes.
const MOST_TITLE_LINES: usize = 2;

/// Sets blocks onto pages with heading and foot.
pub(super) fn set(heading: &Heading, title: &Text, heads: &[Head], blocks: &[Block], paper: Paper) -> String {
    let foot = Text::from(cautions::EVERY_PAGE).wrapped(paper.width);
    // The count of pages is not known yet, and changes no line count as long as it is held to be this wide.
    let top = heading_block(heading, title, "page 1000 of 1000", paper.width).len();
    let room = paper.lines.map(|lines| lines.saturating_sub(top + foot.len() + 1));
    let bodies = fill(blocks, heads, room);
    let count = bodies.len();
    let mut out = String::new();
    for (nth, mut body) in bodies.into_iter().enumerate() {
        if nth > 0 {
            out.push('\u{c}');
        }
        if let Some(room) = room.filter(|_| nth + 1 < count) {
            // The foot stands at the foot; beneath the last page nothing needs room.
            body.resize(room.max(body.len()), String::new());
        }
        let mark = format!("page {} of {}", paper.first + nth, paper.of.unwrap_or(count));
        for line in heading_block(heading, title, &mark, paper.width).iter().chain(&body) {
            out.push_str(line);
            out.push('\n');
        }
        out.push('\n');
        for line in &foot {
            out.push_str(line);
            out.push('\n');
        }
    }
    out
}

fn heading_block(heading: &Heading, title: &Text, page: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    both(&Text::from(title.as_str().to_uppercase()), page, width, &mut lines);
    both(&heading.project, &heading.revision_line(), width, &mut lines);
    both(&heading.address, &heading.made(), width, &mut lines);
    lines.push("=".repeat(width));
    lines
}

/// One text at the left and one at the right of a line, or beneath each other where both do not fit.
fn both(left: &Text, right: &str, width: usize, lines: &mut Vec<String>) {
    let right = Text::from(right);
    // A page's number may take fewer columns than was held for it, so its line must not depend on that.
    let reserved = right.width().max("page 1000 of 1000".len());
    if left.width() + reserved + 2 <= width {
        let gap = width - left.width() - right.width();
        lines.push(format!("{left}{}{right}", " ".repeat(gap)).trim_end().to_owned());
        return;
    }
    let mut wrapped = if left.is_empty() { Vec::new() } else { left.wrapped(width) };
    if wrapped.len() > MOST_TITLE_LINES {
        let rest = wrapped.split_off(MOST_TITLE_LINES - 1).join(" ");
        wrapped.push(Text::from(rest).within(width).into_owned());
    }
    lines.extend(wrapped);
    let right = right.within(width);
    let right_width = Text::from(right.as_ref()).width();
    lines.push(format!("{}{right}", " ".repeat(width - right_width)));
}

/// Fills pages of so many lines with blocks, none of them split.
fn fill(blocks: &[Block], heads: &[Head], room: Option<usize>) -> Vec<Vec<String>> {
    let mut pages = Vec::new();
    let mut page = Page::default();
    let mut rest = blocks;
    while !rest.is_empty() {
        let chain = rest.iter().position(|block| !block.holds_next).map_or(rest.len(), |last| last + 1);
        let (held, after) = rest.split_at(chain);
        let fits =
            |page: &Page, held: &[Block]| room.is_none_or(|room| page.height_with(held, heads) <= room);
        if fits(&page, held) {
            page.add_all(held, heads);
        } else if fits(&Page::default(), held) {
            pages.push(std::mem::take(&mut page).lines);
            page.add_all(held, heads);
        } else {
            // What should stay together is longer than a page: each part still stays whole.
            for block in held {
                if !fits(&page, std::slice::from_ref(block)) && !page.lines.is_empty() {
                    pages.push(std::mem::take(&mut page).lines);
                }
                page.add(block, heads);
            }
        }
        rest = after;
    }
    pages.push(page.lines);
    pages
}

/// A page being filled.
#[derive(Debug, Clone, Default)]
struct Page {
    lines: Vec<String>,
    table: Option<usize>,
}

impl Page {
    fn add_all(&mut self, blocks: &[Block], heads: &[Head]) {
        for block in blocks {
            self.add(block, heads);
        }
    }

    fn add(&mut self, block: &Block, heads: &[Head]) {
        let top = self.lines.is_empty();
        let before = Before::of(block, top, self.table, heads);
        self.lines.extend(before.gap.then(String::new));
        self.lines.extend(before.head.iter().cloned());
        self.lines.extend(before.section.map(|section| format!("== {section}, continued")));
        self.table = block.table;
        self.lines.extend(block.lines.iter().cloned());
    }

    /// How long the page would be with these blocks.
    fn height_with(&self, blocks: &[Block], heads: &[Head]) -> usize {
        let start = (self.lines.len(), self.table);
        let (height, _) = blocks.iter().fold(start, |(height, table), block| {
            let before = Before::of(block, height == 0, table, heads);
            let extra = usize::from(before.gap) + before.head.len() + usize::from(before.section.is_some());
            (height + extra + block.lines.len(), block.table)
        });
        height
    }
}

/// What comes between a block and what is before it on the page.
struct Before<'a> {
    gap: bool,
    head: &'a [String],
    section: Option<&'a str>,
}

impl<'a> Before<'a> {
    fn of(block: &'a Block, top: bool, table: Option<usize>, heads: &'a [Head]) -> Self {
        let head = block.table.filter(|_| block.table != table).and_then(|at| heads.get(at));
        Self {
            gap: !top && (block.apart || head.is_some()),
            head: head.map_or(&[], Vec::as_slice),
            section: block.section.as_deref().filter(|_| top && head.is_some()),
        }
    }
}
