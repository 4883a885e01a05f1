//! Sets blocks onto pages.

use super::block::{APART, Block};
use super::columns::Setting;
use super::face::{Face, LINE};
use super::form::{Form, MARGIN, Turn};
use super::ink::{Ink, Leaf, lines};
use crate::format::Text;
use crate::sheets::{Heading, cautions};

/// The sizes of the heading block, and the most lines its texts take.
const TITLE: f32 = 14.0;
const WHOSE: f32 = 10.0;
const MOST_LINES: usize = 2;
/// The size of the line at the foot.
const FOOT: f32 = 8.5;
/// Between column headings and the heading of a section.
const UNDER_HEAD: f32 = 4.0;
/// The widest mark of a page, which is held free whatever the number is.
const WIDEST_MARK: &str = "page 1000 of 1000";

/// The blocks of a sheet with what repeats on its pages.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    pub(super) title: Text,
    pub(super) setting: Setting,
    /// The column headings of its tables.
    pub(super) heads: Vec<Block>,
    pub(super) blocks: Vec<Block>,
}

/// The pages of a sheet, without heading and foot.
#[derive(Debug)]
pub(super) struct Filled {
    pub(super) title: Text,
    pub(super) turn: Turn,
    bodies: Vec<(Vec<Ink>, f32)>,
}

impl Filled {
    /// How many pages there are.
    pub(super) fn count(&self) -> usize {
        self.bodies.len()
    }
}

/// How high heading and foot are together.
pub(super) fn around(heading: &Heading, title: &Text, width: f32) -> f32 {
    heading_block(heading, title, WIDEST_MARK, width).1 + foot(width).1
}

/// Fills pages, none of the blocks split.
pub(super) fn fill(sheet: Sheet, heading: &Heading, form: Form) -> Filled {
    let (width, height) = form.inside(sheet.setting.turn);
    let room = height - around(heading, &sheet.title, width);
    fill_up_to(room, sheet)
}

/// The same on pages as high as that within heading and foot.
pub(super) fn fill_up_to(room: f32, sheet: Sheet) -> Filled {
    let mut filling =
        Filling { heads: &sheet.heads, size: sheet.setting.size, page: Page::default(), pages: Vec::new() };
    let mut rest = sheet.blocks.as_slice();
    while !rest.is_empty() {
        let chain = rest.iter().position(|block| !block.holds_next).map_or(rest.len(), |last| last + 1);
        let (held, after) = rest.split_at(chain);
        filling.take(held, room);
        rest = after;
    }
    filling.pages.push((filling.page.ink, filling.page.height));
    Filled { title: sheet.title, turn: sheet.setting.turn, bodies: filling.pages }
}

/// The pages of a sheet with heading and foot, numbered from `first` on of so many.
pub(super) fn number(filled: Filled, heading: &Heading, form: Form, first: usize, of: usize) -> Vec<Leaf> {
    let (width, height) = form.points(filled.turn);
    let inside = form.inside(filled.turn);
    let (foot, foot_height) = foot(inside.0);
    let pages = filled.bodies.into_iter().enumerate().map(|(nth, (body, _))| {
        let mark = format!("page {} of {of}", first + nth);
        let (mut ink, top) = heading_block(heading, &filled.title, &mark, inside.0);
        ink.extend(body.into_iter().map(|ink| ink.moved(0.0, top)));
        ink.extend(foot.iter().cloned().map(|ink| ink.moved(0.0, inside.1 - foot_height)));
        let ink = ink.into_iter().map(|ink| ink.moved(MARGIN, MARGIN)).collect();
        Leaf { width, height, ink }
    });
    pages.collect()
}

/// The pages of a sheet each as high as what is on it, for what is looked at on a screen.
pub(super) fn as_high_as_needed(filled: Filled, heading: &Heading, form: Form) -> Vec<Leaf> {
    let width = form.points(filled.turn).0;
    let inside = form.inside(filled.turn).0;
    let (foot, foot_height) = foot(inside);
    let pages = filled.bodies.into_iter().map(|(body, height)| {
        let (mut ink, top) = heading_block(heading, &filled.title, "", inside);
        ink.extend(body.into_iter().map(|ink| ink.moved(0.0, top)));
        ink.extend(foot.iter().cloned().map(|ink| ink.moved(0.0, top + height)));
        let ink = ink.into_iter().map(|ink| ink.moved(MARGIN, MARGIN)).collect();
        Leaf { width, height: top + height + foot_height + 2.0 * MARGIN, ink }
    });
    pages.collect()
}

fn heading_block(heading: &Heading, title: &Text, mark: &str, width: f32) -> (Vec<Ink>, f32) {
    let (mut ink, mut y) = (Vec::new(), 0.0);
    both(&Text::from(title.as_str().to_uppercase()), TITLE, Face::Bold, mark, width, &mut y, &mut ink);
    both(&heading.project, WHOSE, Face::Bold, &heading.revision_line(), width, &mut y, &mut ink);
    both(&heading.address, WHOSE, Face::Regular, &heading.made(), width, &mut y, &mut ink);
    ink.push(Ink::rule(0.0, y + 4.0, width, 1.5));
    (ink, y + 12.0)
}

/// One text at the left and one at the right of a line, or beneath each other where both do not fit.
fn both(left: &Text, size: f32, face: Face, right: &str, width: f32, y: &mut f32, ink: &mut Vec<Ink>) {
    let right = Face::Regular.within(&Face::Regular.shown(Text::from(right).as_str()), WHOSE, width);
    let right_width = Face::Regular.width(&right, WHOSE);
    // A page's number may be narrower than what is held for it, so its line must not depend on that.
    let held = right_width.max(Face::Regular.width(WIDEST_MARK, WHOSE));
    let shown = face.shown(left.as_str());
    // Both stand on one foot whatever their sizes.
    let lowered = (size - WHOSE) * super::face::FOOT;
    if face.width(&shown, size) + held + WHOSE > width {
        let mut wrapped = face.wrapped(left, size, width);
        if wrapped.len() > MOST_LINES {
            let rest = wrapped.split_off(MOST_LINES - 1).join(" ");
            wrapped.push(face.within(&rest, size, width));
        }
        let (more, height) = lines(&wrapped, 0.0, *y, size, face);
        ink.extend(more);
        *y += height;
        ink.push(Ink::words(width - right_width, *y, &right, WHOSE, Face::Regular));
        *y += WHOSE * LINE;
        return;
    }
    if !left.is_empty() {
        ink.push(Ink::words(0.0, *y, &shown, size, face));
    }
    ink.push(Ink::words(width - right_width, *y + lowered, &right, WHOSE, Face::Regular));
    *y += size * LINE;
}

fn foot(width: f32) -> (Vec<Ink>, f32) {
    let wrapped = Face::Bold.wrapped(&cautions::EVERY_PAGE.into(), FOOT, width);
    let (mut ink, height) = lines(&wrapped, 0.0, 10.0, FOOT, Face::Bold);
    ink.insert(0, Ink::rule(0.0, 6.0, width, 0.8));
    (ink, height + 10.0)
}

struct Filling<'a> {
    heads: &'a [Block],
    size: f32,
    page: Page,
    pages: Vec<(Vec<Ink>, f32)>,
}

/// A page being filled.
#[derive(Debug, Default)]
struct Page {
    ink: Vec<Ink>,
    height: f32,
    table: Option<usize>,
}

impl Filling<'_> {
    /// Puts blocks that belong together onto this page or the next.
    fn take(&mut self, held: &[Block], room: f32) {
        let fits = |page: &Page, held: &[Block]| self.height_with(page, held) <= room;
        if fits(&self.page, held) {
            self.add_all(held);
        } else if fits(&Page::default(), held) {
            self.turn_over();
            self.add_all(held);
        } else {
            // What should stay together is longer than a page: each part still stays whole.
            for block in held {
                if self.height_with(&self.page, std::slice::from_ref(block)) > room && self.page.height > 0.0
                {
                    self.turn_over();
                }
                self.add(block);
            }
        }
    }

    fn turn_over(&mut self) {
        let page = std::mem::take(&mut self.page);
        self.pages.push((page.ink, page.height));
    }

    fn add_all(&mut self, blocks: &[Block]) {
        for block in blocks {
            self.add(block);
        }
    }

    fn add(&mut self, block: &Block) {
        let before = Before::of(block, self.page.height == 0.0, self.page.table, self.heads);
        let page = &mut self.page;
        page.height += if before.gap { APART } else { 0.0 };
        let headed = before.head.is_some();
        if let Some(head) = before.head {
            page.ink.extend(head.ink.iter().cloned().map(|ink| ink.moved(0.0, page.height)));
            page.height += head.height;
        }
        if let Some(section) = before.section {
            let (words, size) = (format!("{section}, continued"), self.size + 0.5);
            page.ink.push(Ink::words(0.0, page.height + size * 0.3, &words, size, Face::Bold));
            page.height += continued(self.size);
        }
        page.height += if headed && block.apart { UNDER_HEAD } else { 0.0 };
        page.ink.extend(block.ink.iter().cloned().map(|ink| ink.moved(0.0, page.height)));
        page.height += block.height;
        page.table = block.table;
    }

    /// How high the page would be with these blocks.
    fn height_with(&self, page: &Page, blocks: &[Block]) -> f32 {
        let start = (page.height, page.table);
        let (height, _) = blocks.iter().fold(start, |(height, table), block| {
            let before = Before::of(block, height == 0.0, table, self.heads);
            let gap = if before.gap { APART } else { 0.0 };
            let head = before.head.map_or(0.0, |head| head.height);
            let section = before.section.map_or(0.0, |_| continued(self.size));
            let under = if before.head.is_some() && block.apart { UNDER_HEAD } else { 0.0 };
            (height + gap + head + section + under + block.height, block.table)
        });
        height
    }
}

/// How high the heading of a section is that goes on.
fn continued(size: f32) -> f32 {
    (size + 0.5) * (LINE + 0.5)
}

/// What comes between a block and what is before it on the page.
struct Before<'a> {
    gap: bool,
    head: Option<&'a Block>,
    section: Option<&'a str>,
}

impl<'a> Before<'a> {
    fn of(block: &'a Block, top: bool, table: Option<usize>, heads: &'a [Block]) -> Self {
        let head = block.table.filter(|_| block.table != table).and_then(|at| heads.get(at));
        Self {
            gap: !top && (block.apart || head.is_some()),
            head,
            section: block.section.as_deref().filter(|_| top && head.is_some()),
        }
    }
}
