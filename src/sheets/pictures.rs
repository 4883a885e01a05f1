//! The riser and the plans on paper and for programs.
//!
//! Paper gets ASCII, which every printer and every editor shows as it is meant.

use super::pdf::{Content, Sign};
use super::since::MARK;
use super::{Others, Paper, text::Drawing};
use crate::design::Design;
use crate::format::Text;
use crate::schedule::canvas::{LineSet, Stroke};
use crate::schedule::picture::Picture;
use crate::schedule::plan::{Plan, Viewport};
use crate::schedule::riser::{Detail, Riser};
use serde::Serialize;

/// Lines of a page that are kept free of a plan, for what stands above and beneath it.
const AROUND: usize = 14;
/// Lines of a plan on paper without end, and the fewest that a plan is drawn in.
const ENDLESS: usize = 60;
const LEAST: usize = 16;
/// Columns and lines of the pictures in a document.
const DOCUMENT: Paper = Paper::of_document();

/// The document of a picture sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Pictures {
    /// The pictures: one riser, or a plan of each level.
    pub pictures: Vec<Drawn>,
}

/// A picture in [`Pictures`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Drawn {
    /// What it shows.
    pub title: String,
    /// Its lines.
    pub lines: Vec<String>,
    /// What its signs mean.
    pub legend: Vec<String>,
    /// The things in it.
    pub things: Vec<DrawnThing>,
    /// Things of the level that have no place, so that they could not be drawn.
    pub without_place: Vec<String>,
}

/// A thing in [`Drawn`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DrawnThing {
    /// What kind of thing.
    pub kind: &'static str,
    /// Which one.
    pub id: String,
    /// Its column, from 0.
    pub column: u16,
    /// Its line, from 0.
    pub line: u16,
}

/// A picture with its title and what could not be drawn in it.
struct Made {
    title: String,
    picture: Picture,
    without_place: Vec<String>,
}

fn riser(design: &Design, width: u16, others: Option<&Others>) -> Vec<Made> {
    let riser = Riser::new(design, Detail::Loops);
    let height = u16::try_from(riser.height() + 1).unwrap_or(u16::MAX);
    let mut picture = riser.draw(design, 0, width, height, LineSet::Ascii);
    mark(&mut picture, others);
    vec![Made { title: "Riser".into(), picture, without_place: Vec::new() }]
}

fn plans(design: &Design, width: u16, height: u16, others: Option<&Others>) -> Vec<Made> {
    let unit = design.job.project.units;
    (0..design.job.levels.len())
        .map(|level| {
            let plan = Plan::new(design, level);
            let view = Viewport::fit(&plan, unit, width, height).trimmed(&plan);
            let mut picture = plan.draw(view, unit, LineSet::Ascii);
            mark(&mut picture, others);
            Made {
                title: format!("Plan of {}", plan.title()),
                picture,
                without_place: plan.unplaced().iter().map(ToString::to_string).collect(),
            }
        })
        .collect()
}

fn size(paper: Paper) -> (u16, u16) {
    let height = paper.lines().map_or(ENDLESS, |lines| lines.saturating_sub(AROUND).max(LEAST));
    (u16::try_from(paper.width()).unwrap_or(u16::MAX), u16::try_from(height).unwrap_or(u16::MAX))
}

/// Marks what is other in a picture.
fn mark(picture: &mut Picture, others: Option<&Others>) {
    if let Some(others) = others {
        picture.star(&others.things);
    }
}

/// What a mark means, and everything that is other, since not all of it is in a picture.
fn other_words(others: &Others) -> Text {
    let ids: Vec<&str> = others.things.iter().map(|subject| subject.id.as_str()).collect();
    Text::from(if ids.is_empty() {
        format!("Nothing is other {}.", others.words)
    } else {
        format!("'{MARK}': other {}. Other in all: {}", others.words, ids.join(", "))
    })
}

fn on_paper(made: Vec<Made>, together: bool, others: Option<&Others>, paper: Paper) -> Vec<Drawing> {
    let width = paper.width().saturating_sub(2);
    let said = others.map(|others| other_words(others).wrapped(width).into_iter().map(Text::from));
    let said: Vec<Text> = said.into_iter().flatten().collect();
    let mut drawings = drawings(made, together);
    if let Some(last) = drawings.last_mut() {
        last.notes.extend(said);
    }
    drawings
}

fn drawings(made: Vec<Made>, together: bool) -> Vec<Drawing> {
    let drawing = |made: Made| {
        let mut notes = made.picture.legend.clone();
        if !made.without_place.is_empty() {
            notes.push(Text::from(format!("Not drawn, without a place: {}", made.without_place.join(", "))));
        }
        Drawing { title: made.title.into(), lines: made.picture.lines(), notes, together }
    };
    made.into_iter().map(drawing).collect()
}

/// The riser for paper; it may run over pages.
pub fn riser_drawings(design: &Design, paper: Paper, others: Option<&Others>) -> Vec<Drawing> {
    on_paper(riser(design, size(paper).0, others), false, others, paper)
}

/// Columns of a riser that is drawn: on paper that lies on its side its letters are of about ten points.
const DRAWN: u16 = 144;

/// The riser, to be drawn.
pub fn riser_content(design: &Design, others: Option<&Others>) -> Content {
    let riser = Riser::new(design, Detail::Loops);
    let height = u16::try_from(riser.height() + 1).unwrap_or(u16::MAX);
    let mut signs: Vec<(Sign, Text)> = vec![
        (Sign::Line(Stroke::Double), "home run or onward feed".into()),
        (Sign::Line(Stroke::Single), "loop or link".into()),
        (Sign::Words, "bar and percent: load of the output's limit, at full level".into()),
        (Sign::Words, "! !! see the findings".into()),
        (Sign::Words, "? not known".into()),
    ];
    if design.job.levels.len() > 1 {
        let words = "between the levels: a box stands on the level named above it";
        signs.push((Sign::Line(Stroke::Dotted), words.into()));
    }
    let mut picture = riser.draw(design, 0, DRAWN, height, LineSet::Ascii);
    mark(&mut picture, others);
    picture.legend = others.map(other_words).into_iter().collect();
    Content::Rows {
        title: "Riser".into(),
        picture,
        leads: (0..riser.height()).map(|line| riser.leads(line)).collect(),
        signs,
    }
}

/// The plan of each level, to be drawn.
pub fn plan_content(design: &Design, others: Option<&Others>) -> Content {
    let levels = 0..design.job.levels.len();
    let last = levels.end.saturating_sub(1);
    let plan = |level: usize| {
        let mut plan = Plan::new(design, level);
        if let Some(others) = others {
            let said = (level == last).then(|| other_words(others));
            plan.star(&others.things, said);
        }
        plan
    };
    Content::Plans(levels.map(plan).collect())
}

/// The plan of each level for paper, each on one page.
pub fn plan_drawings(design: &Design, paper: Paper, others: Option<&Others>) -> Vec<Drawing> {
    let (width, height) = size(paper);
    on_paper(plans(design, width, height, others), true, others, paper)
}

fn document(made: Vec<Made>) -> Pictures {
    let drawn = |made: Made| Drawn {
        title: made.title,
        lines: made.picture.lines(),
        legend: made.picture.legend.iter().map(ToString::to_string).collect(),
        things: made
            .picture
            .anchors
            .iter()
            .map(|anchor| DrawnThing {
                kind: anchor.subject.kind.word(),
                id: anchor.subject.id.clone(),
                column: anchor.shape.spot().x,
                line: anchor.shape.spot().y,
            })
            .collect(),
        without_place: made.without_place,
    };
    Pictures { pictures: made.into_iter().map(drawn).collect() }
}

/// The riser for programs.
pub fn riser_document(design: &Design) -> Pictures {
    document(riser(design, size(DOCUMENT).0, None))
}

/// The plans for programs.
pub fn plan_document(design: &Design) -> Pictures {
    let (width, height) = size(DOCUMENT);
    document(plans(design, width, height, None))
}
