//! Draws the part of a plan that a viewport shows.

use super::super::Weight;
use super::super::canvas::{Canvas, LineSet, Stroke, Window};
use super::super::picture::{Picture, Shape, Spot};
use super::scale::{GUTTER, RULER};
use super::{MANY, Plan, RoomArea, Thing, ThingKind, Viewport};
use crate::format::Text;
use crate::job::Subject;
use crate::units::{Length, LengthUnit};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The least columns between two figures of a ruler.
const RULER_GAP: i64 = 8;

impl Plan {
    /// Draws what a viewport shows of the plan.
    ///
    /// Every thing with a place in the viewport is an anchor, also where several share a cell; so is every cable whose
    /// route passes, and every room.
    pub fn draw(&self, view: Viewport, unit: LengthUnit, set: LineSet) -> Picture {
        let (width, height) = view.inner();
        let mut canvas = Canvas::new(Window { left: view.left, top: view.top, width, height }, set);
        let mut used = BTreeSet::new();
        self.borders(view, &mut canvas, &mut used);
        self.draw_routes(view, &mut canvas, &mut used);
        let groups = self.groups(view, &canvas);
        signs_on(&groups, set, &mut canvas, &mut used);
        labels(&groups, &mut canvas);
        for room in &self.rooms {
            name_room(room, view, &mut canvas);
        }
        let map = canvas.finish();
        let mut picture = frame(&map, view, unit);
        picture.legend = self.legend(&used, set);
        picture
    }

    fn borders(&self, view: Viewport, canvas: &mut Canvas, used: &mut BTreeSet<Sign>) {
        // Measured walls last, since they stand over what is only guessed.
        for measured in [false, true] {
            for room in self.rooms.iter().filter(|room| room.measured == measured) {
                let (left_top, right_bottom) = corners(room, view);
                let stroke = if measured { Stroke::Wall } else { Stroke::Dotted };
                canvas.border(left_top, right_bottom, stroke);
                used.insert(if measured { Sign::Wall } else { Sign::NotMeasured });
            }
        }
    }

    fn draw_routes(&self, view: Viewport, canvas: &mut Canvas, used: &mut BTreeSet<Sign>) {
        let mut pieces: BTreeMap<usize, Vec<(Spot, Spot)>> = BTreeMap::new();
        for route in &self.routes {
            let place = |(x, y): (i64, i64)| (view.scale.column(x), view.scale.line(y));
            let (from, to) = (place(route.from), place(route.to));
            let shown = if route.from.1 == route.to.1 {
                canvas.across(from.1, from.0, to.0, route.stroke)
            } else {
                canvas.down(from.0, from.1, to.1, route.stroke)
            };
            if let Some(piece) = shown {
                pieces.entry(route.cable).or_default().push(piece);
                used.insert(if route.stroke == Stroke::Double { Sign::Feed } else { Sign::Loop });
            }
        }
        for (cable, pieces) in pieces {
            canvas.anchor(self.cables[cable].clone(), Shape::Line(pieces));
        }
    }

    /// The things in the viewport by the cell they fall into, cells in the order of their first thing.
    fn groups(&self, view: Viewport, canvas: &Canvas) -> Vec<((i64, i64), Vec<&Thing>)> {
        let mut at: HashMap<(i64, i64), usize> = HashMap::new();
        let mut groups: Vec<((i64, i64), Vec<&Thing>)> = Vec::new();
        for thing in &self.things {
            let cell = (view.scale.column(thing.x), view.scale.line(thing.y));
            if canvas.spot(cell.0, cell.1).is_none() {
                continue;
            }
            let slot = *at.entry(cell).or_insert_with(|| {
                groups.push((cell, Vec::new()));
                groups.len() - 1
            });
            groups[slot].1.push(thing);
        }
        groups
    }

    fn legend(&self, used: &BTreeSet<Sign>, set: LineSet) -> Vec<Text> {
        let mut legend: Vec<Text> = Vec::new();
        for sign in used {
            let what = match *sign {
                Sign::Panel => "panel".to_owned(),
                Sign::WallBox => "wall box".into(),
                Sign::Type(at) => match self.types.get(at) {
                    Some((name, count)) => format!("{name} ({count})"),
                    None => "fixture of another type".into(),
                },
                Sign::Open => "fixture still open".into(),
                Sign::Empty => "box without fixture".into(),
                Sign::Rise => "goes up a level".into(),
                Sign::Count(_) => continue,
                Sign::Feed => "home run or onward feed".into(),
                Sign::Loop => "loop or link".into(),
                Sign::Wall => "wall".into(),
                Sign::NotMeasured => "not measured: round what is placed in a room".into(),
            };
            legend.push(Text::from(format!("{} {what}", sign.shown(set))));
        }
        if used.iter().any(|sign| matches!(sign, Sign::Count(_))) {
            legend.push("2-9 * so many at one place".into());
        }
        if self.things.iter().any(|thing| thing.kind == (ThingKind::WallBox { from_below: true })) {
            legend.push("v after a box: fed from below".into());
        }
        if self.things.iter().any(|thing| thing.weight > Weight::Plain) {
            legend.push("! !! see the findings".into());
        }
        legend
    }
}

/// Draws the signs of things, each of which is an anchor.
fn signs_on(
    groups: &[((i64, i64), Vec<&Thing>)],
    set: LineSet,
    canvas: &mut Canvas,
    used: &mut BTreeSet<Sign>,
) {
    for ((x, y), things) in groups {
        let sign = sign_of(things);
        used.insert(sign);
        let weight = things.iter().map(|thing| thing.weight).max().unwrap_or_default();
        let text = Text::from(sign.shown(set).to_string());
        let Some(shape) = canvas.words(*x, *y, &text, weight) else { continue };
        for thing in things {
            canvas.anchor(thing.subject.clone(), shape.clone());
        }
    }
}

/// Writes the ids of things beside them where there is room, those of panels and wall boxes first.
fn labels(groups: &[((i64, i64), Vec<&Thing>)], canvas: &mut Canvas) {
    let rank = |things: &[&Thing]| things.iter().map(|thing| thing.kind).min();
    let first = |kind| matches!(kind, ThingKind::Panel | ThingKind::WallBox { .. });
    for leading in [true, false] {
        for ((x, y), things) in groups.iter().filter(|(_, t)| rank(t).is_some_and(first) == leading) {
            let Some(main) = things.iter().min_by_key(|thing| thing.kind) else { continue };
            let mark = match main.weight {
                Weight::Plain => "",
                other => other.sign().trim(),
            };
            let below = matches!(main.kind, ThingKind::WallBox { from_below: true });
            let text = Text::from(format!("{}{}{mark}", main.subject.id, if below { "v" } else { "" }));
            let wide = i64::try_from(text.width()).unwrap_or(1);
            // Apart from its sign if it can be, else above or beneath it, else close to it.
            let apart = [(x + 2, *y), (x - wide - 1, *y), (*x, y + 1), (*x, y - 1)];
            let close = [(x - wide + 1, y + 1), (x - wide + 1, y - 1), (x + 1, *y), (x - wide, *y)];
            let places = [apart, close].concat();
            let shown = canvas.label(&places, &text, main.weight);
            if shown.is_none() && main.weight > Weight::Plain {
                // Without room for its name a thing still shows that something is wrong with it.
                canvas.words(*x, *y, &Text::from("!"), main.weight);
            }
        }
    }
}

/// The signs a plan is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Sign {
    Panel,
    WallBox,
    Type(usize),
    Open,
    Empty,
    Rise,
    Count(usize),
    Feed,
    Loop,
    Wall,
    NotMeasured,
}

impl Sign {
    fn shown(self, set: LineSet) -> char {
        let by_set = |ascii, cp437| if set == LineSet::Ascii { ascii } else { cp437 };
        match self {
            Self::Panel => 'P',
            Self::WallBox => by_set('B', '■'),
            Self::Type(at) => super::letter(at),
            Self::Open => '?',
            Self::Empty => 'o',
            Self::Rise => '^',
            Self::Count(count) => {
                u32::try_from(count).ok().and_then(|n| char::from_digit(n, 10)).unwrap_or(MANY)
            }
            Self::Feed => by_set('=', '═'),
            Self::Loop => by_set('-', '─'),
            Self::Wall => by_set('#', '▒'),
            Self::NotMeasured => by_set('.', '·'),
        }
    }
}

/// The sign of what falls into one cell: a panel or wall box before all else.
fn sign_of(things: &[&Thing]) -> Sign {
    let Some(main) = things.iter().map(|thing| thing.kind).min() else { return Sign::Empty };
    match main {
        ThingKind::Panel => Sign::Panel,
        ThingKind::WallBox { .. } => Sign::WallBox,
        ThingKind::Rise => Sign::Rise,
        _ if things.iter().filter(|thing| thing.kind != ThingKind::Rise).count() > 1 => {
            Sign::Count(things.iter().filter(|thing| thing.kind != ThingKind::Rise).count())
        }
        ThingKind::Fixture(at) => Sign::Type(at),
        ThingKind::Open => Sign::Open,
        ThingKind::Empty => Sign::Empty,
    }
}

/// The corners of a room's border: measured walls where they stand, a guess one cell round what is inside.
fn corners(room: &RoomArea, view: Viewport) -> ((i64, i64), (i64, i64)) {
    let wide = i64::from(!room.measured);
    let left_top = (view.scale.column(room.low.0) - wide, view.scale.line(room.high.1) - wide);
    let right_bottom = (view.scale.column(room.high.0) + wide, view.scale.line(room.low.1) + wide);
    (left_top, right_bottom)
}

/// Writes the name of a room where there is room for it, as near to its middle as can be, and names its place.
fn name_room(room: &RoomArea, view: Viewport, canvas: &mut Canvas) {
    let ((left, top), (right, bottom)) = corners(room, view);
    let (columns, lines) = view.inner();
    let (last_column, last_line) = (view.left + i64::from(columns) - 1, view.top + i64::from(lines) - 1);
    // Inside the border, and on the border itself where that is all there is.
    let (first_x, last_x) = ((left + 1).max(view.left), (right - 1).min(last_column));
    let (first_y, last_y) = ((top + 1).max(view.top), (bottom - 1).min(last_line));
    let subject = |shape, canvas: &mut Canvas| canvas.anchor(room.subject.clone(), shape);
    if first_x <= last_x && first_y <= last_y {
        let middle = first_y.midpoint(last_y);
        let mut by_line: Vec<i64> = (first_y..=last_y).collect();
        by_line.sort_by_key(|y| (y - middle).abs());
        for words in &room.words {
            let text = Text::from(words);
            let Ok(wide) = i64::try_from(text.width()) else { continue };
            if wide > last_x - first_x + 1 {
                continue;
            }
            for &y in &by_line {
                if let Some(x) = room_in_line(canvas, y, first_x, last_x, wide)
                    && let Some(shape) = canvas.words(x, y, &text, Weight::Plain)
                {
                    subject(shape, canvas);
                    return;
                }
            }
        }
    }
    // No room for its name: a corner of its border stands for it.
    let corner = [(left, top), (right, top), (left, bottom), (right, bottom)];
    if let Some(at) = corner.iter().find_map(|&(x, y)| canvas.spot(x, y)) {
        subject(Shape::Words { at, width: 1 }, canvas);
    }
}

/// The column nearest to the middle of a line from which so many cells are free, with one on each side.
fn room_in_line(canvas: &Canvas, y: i64, first: i64, last: i64, wide: i64) -> Option<i64> {
    let middle = (first + last + 1 - wide).div_euclid(2);
    let span = usize::try_from(wide).ok()?;
    let free = |x: i64| {
        x >= first
            && x + wide - 1 <= last
            && canvas.is_free(x, y, span, true)
            && (x == first || canvas.is_free(x - 1, y, 1, true))
            && (x + wide > last || canvas.is_free(x + wide, y, 1, true))
    };
    (0..=(last - first)).flat_map(|step| [middle - step, middle + step]).find(|&x| free(x))
}

/// The plan with rulers at its left and beneath it, and its scale.
fn frame(map: &Picture, view: Viewport, unit: LengthUnit) -> Picture {
    if !view.framed() {
        return map.clone();
    }
    let mut canvas =
        Canvas::new(Window { left: 0, top: 0, width: view.width, height: view.height }, LineSet::Ascii);
    let (columns, lines) = view.inner();
    let step = ruler_step(view, unit);
    let whole = |ticks: i64| Text::from(figure(ticks, unit));
    let beneath = i64::from(lines);
    for x in multiples(view.scale.x(view.left), view.scale.x(view.left + i64::from(columns)), step) {
        let at = view.scale.column(x) - view.left + i64::from(GUTTER);
        if at < i64::from(view.width) && at >= i64::from(GUTTER) {
            let text = whole(x);
            canvas.words(at, beneath, &"|".into(), Weight::Plain);
            canvas.words(at + 1, beneath, &text, Weight::Plain);
        }
    }
    for y in multiples(view.scale.y(view.top + i64::from(lines)), view.scale.y(view.top), step) {
        let at = view.scale.line(y) - view.top;
        if (0..i64::from(lines)).contains(&at) {
            let text = whole(y);
            let wide = i64::try_from(text.width()).unwrap_or(0);
            canvas.words((i64::from(GUTTER) - 1 - wide).max(0), at, &text, Weight::Plain);
            canvas.words(i64::from(GUTTER) - 1, at, &"-".into(), Weight::Plain);
        }
    }
    let name = match unit {
        LengthUnit::Feet => "ft",
        LengthUnit::Metres => "m",
    };
    let scale =
        format!("{name} from the corner of the house: x across, y up the plan; {}", view.scale.shown(unit));
    canvas.words(0, i64::from(view.height - RULER) + 1, &scale.into(), Weight::Plain);
    let mut picture = canvas.finish();
    picture.inset(map, GUTTER, 0);
    picture
}

/// The multiples of a step between two places, which the size of the picture bounds.
fn multiples(from: i64, to: i64, step: i64) -> impl Iterator<Item = i64> {
    let first = from.div_euclid(step).saturating_add(i64::from(from.rem_euclid(step) != 0));
    (0..1000).map(move |n| first.saturating_add(n).saturating_mul(step)).take_while(move |x| *x <= to)
}

/// How far apart the figures of the rulers are.
fn ruler_step(view: Viewport, unit: LengthUnit) -> i64 {
    let one = Length::parse("1", Some(unit)).map_or(1, Length::ticks);
    let least = view.scale.ticks().saturating_mul(RULER_GAP);
    let steps = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 50_000];
    let fits = steps.iter().map(|step| step * one).find(|step| *step >= least);
    fits.unwrap_or_else(|| least.max(1))
}

/// A place on a ruler: whole feet or metres, behind the corner of the house with a sign.
fn figure(ticks: i64, unit: LengthUnit) -> String {
    let one = Length::parse("1", Some(unit)).map_or(1, Length::ticks);
    (ticks / one).to_string()
}

/// For a view that lists what has no place.
impl Plan {
    /// What the level holds that can't be drawn, in words; nothing if all has a place.
    pub fn unplaced_words(&self) -> Option<Text> {
        let ids: Vec<&str> = self.unplaced.iter().map(|subject: &Subject| subject.id.as_str()).collect();
        (!ids.is_empty()).then(|| Text::from(format!("{} without a place: {}", ids.len(), ids.join(", "))))
    }
}
