//! How a figure came about, in words: the formula, the numbers in it, and where each comes from, down to the inputs.
//!
//! It takes what the study itself took down and computes nothing. Figures are named `kind/id/key`, by the keys of the
//! JSON sheets: `fixture/F3/drop_percent`, `run/HR1/source_watts`, `panel/P1/heat_watts`.

mod finding;

pub use finding::names as of_findings;

use crate::design::Design;
use crate::format::{self, Quantity, Text};
use crate::job::{Id, Kind, Subject};
use crate::network::{Basis, CableLength, Lengths};
use crate::study::Study;
use crate::units::Length;
use crate::working::{Input, Node, Number, Operation, Origin, Recorder, Tape, Traced};
use std::collections::{HashSet, VecDeque};

/// Columns of the text.
const WIDTH: usize = 80;

/// A figure that there is no working for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoFigure {
    /// Nothing of that name is ever computed.
    #[error("there is no figure '{name}'; {hint}")]
    Unnamed {
        /// The name.
        name: String,
        /// What was probably meant.
        hint: String,
    },
    /// It is unknown in this job.
    #[error("'{name}' is unknown: {why}")]
    Unknown {
        /// The name.
        name: String,
        /// Why.
        why: String,
    },
}

/// The workings of every figure of a design.
#[derive(Debug, Clone)]
pub struct Workings<'a> {
    design: &'a Design,
    tape: Tape,
}

impl<'a> Workings<'a> {
    /// Studies a design once more and takes down how each figure came about.
    pub fn new(design: &'a Design) -> Self {
        let mut tape = Tape::default();
        let study = Study::recorded(&design.job, &design.index, &design.network, &mut tape);
        let place = (&design.job, &design.index, &design.network);
        crate::study::record_limits(place, &study, &mut tape);
        lengths(design, &mut tape);
        finding::record(design, &mut tape);
        Self { design, tape }
    }

    /// What was taken down.
    pub fn tape(&self) -> &Tape {
        &self.tape
    }

    /// The names of the figures of one thing, in order; a home run's cable has those of its run too.
    pub fn of(&self, subject: &Subject) -> Vec<&str> {
        let mut starts = vec![format!("{}/{}/", subject.kind.key(), subject.id)];
        if subject.kind == Kind::Cable {
            starts.push(format!("run/{}/", subject.id));
        }
        self.tape
            .names()
            .into_iter()
            .filter(|name| starts.iter().any(|start| name.starts_with(start)))
            .collect()
    }

    /// How the figures of one thing came about.
    pub fn about(&self, subject: &Subject) -> String {
        // What is wrong is asked for first.
        let wrong = |name: &&str| {
            let key = name.rsplit('/').next().unwrap_or_default();
            self.design.findings.iter().any(|f| f.code == key && f.subject == *subject)
        };
        let mut names = self.of(subject);
        names.sort_by_key(|name| !wrong(name));
        // Figures that came about alike, as a length that is the estimated one, are told once.
        let mut told: Vec<(String, String)> = Vec::new();
        for name in names {
            let Ok(text) = self.explain(name) else { continue };
            let how = text.strip_prefix(name).unwrap_or(&text);
            match told.iter_mut().find(|(_, other)| other == how) {
                Some((names, _)) => {
                    names.extend([", ", name.rsplit('/').next().unwrap_or_default()]);
                }
                None => told.push((name.to_owned(), how.to_owned())),
            }
        }
        told.into_iter().map(|(names, how)| names + &how).collect::<Vec<_>>().join("\n")
    }

    /// How a figure came about, step by step down to the inputs, in lines of 80 columns.
    ///
    /// # Errors
    /// [`NoFigure`] when nothing of that name is computed, or it is unknown in this job.
    pub fn explain(&self, name: &str) -> Result<String, NoFigure> {
        let Some((unit, traced)) = self.tape.get(name) else { return Err(self.missing(name)) };
        let mut text = String::new();
        let mut seen = HashSet::from([(name.to_owned(), traced.value().to_bits())]);
        let mut open = VecDeque::from([(name.to_owned(), *unit, traced)]);
        while let Some((name, unit, traced)) = open.pop_front() {
            let mut step = Step::default();
            step.visit(traced);
            // The figures it follows from are those with the same choice, which need not be their own worst.
            let with = if text.is_empty() { self.tape.with(&name) } else { None };
            if !text.is_empty() {
                text.push('\n');
            }
            figure(&mut text, &name, unit, traced, &step, with);
            for (name, below) in step.figures {
                let below = below.or_else(|| self.tape.get(&name).map(|(unit, traced)| (*unit, traced)));
                let Some((unit, traced)) = below else { continue };
                if seen.insert((name.clone(), traced.value().to_bits())) {
                    open.push_back((name, unit, traced));
                }
            }
        }
        Ok(text)
    }

    fn missing(&self, name: &str) -> NoFigure {
        let unnamed = |hint: String| NoFigure::Unnamed { name: name.to_owned(), hint };
        let mut parts = name.split('/');
        let (Some(kind), Some(id), Some(key), None) =
            (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return unnamed("write kind/id/key, like fixture/F3/drop_percent".into());
        };
        let near = |word: &str| format!("did you mean '{word}'?");
        let names = self.tape.names();
        let start = format!("{kind}/{id}/");
        let mut keys: Vec<&str> = names.iter().filter_map(|name| name.strip_prefix(&start)).collect();
        if let Some(best) = keys.iter().find(|known| known.eq_ignore_ascii_case(key)) {
            return unnamed(near(&format!("{start}{best}")));
        }
        keys.sort_unstable();
        let known_elsewhere = names.iter().any(|name| {
            let mut parts = name.split('/');
            parts.next() == Some(kind) && parts.nth(1) == Some(key)
        });
        let there = ["run", "fixture", "cable", "output", "panel", "supply", "room"].contains(&kind);
        if (known_elsewhere || keys.is_empty()) && there && self.is_there(kind, id) {
            let why = "what it follows from can't be computed; 'studbay check' says why".to_owned();
            return NoFigure::Unknown { name: name.to_owned(), why };
        }
        if keys.is_empty() {
            return unnamed(format!("nothing is computed of {kind} '{id}'"));
        }
        unnamed(format!("of it there are {}", keys.join(", ")))
    }

    fn is_there(&self, kind: &str, id: &str) -> bool {
        let design = self.design;
        if kind == "output" {
            return design.study.outputs.iter().any(|output| output.output.to_string() == id);
        }
        let kind = match kind {
            "run" | "cable" => Kind::Cable,
            "fixture" => Kind::Fixture,
            "panel" => Kind::Panel,
            "supply" => Kind::Supply,
            _ => Kind::Room,
        };
        Id::new(id).is_ok_and(|id| design.index.spot(kind, &id).is_some())
    }
}

/// How figures of a design came about, one after another; without a name, the names there are.
///
/// # Errors
/// [`NoFigure`] of the first that there is no working for.
pub fn explain(design: &Design, names: &[String]) -> Result<String, NoFigure> {
    let workings = Workings::new(design);
    if names.is_empty() {
        return Ok(workings.tape.names().join("\n") + "\n");
    }
    let texts: Result<Vec<String>, NoFigure> = names.iter().map(|name| workings.explain(name)).collect();
    Ok(texts?.join("\n"))
}

/// Takes down the length of every cable.
fn lengths(design: &Design, tape: &mut Tape) {
    let job = &design.job;
    let lengths = Lengths::new(job, &design.index);
    let mut put = |id: &Id, key: &str, length: Option<CableLength>| {
        let Some(CableLength { length, basis }) = length else { return };
        let origin = match basis {
            Basis::Pulled => Origin::Job(format!("cable/{id}, pulled: the difference of its foot marks")),
            Basis::Measured => Origin::Job(format!("cable/{id}, measured, make-up included")),
            Basis::Estimated => Origin::Estimate(format!(
                "{id}: across, along, up and down between its places, {} % more for the way round things \
                 (routing_allowance_percent), {} at each end and {} in each ceiling box for make-up, rounded up once \
                 (makeup_cable_end, makeup_ceiling_box)",
                job.settings.routing_allowance_percent,
                job.settings.makeup_cable_end,
                job.settings.makeup_ceiling_box,
            )),
        };
        let feet = Traced::input(length.feet(), || Input::new("length", Quantity::Feet, origin));
        tape.figure(|| format!("cable/{id}/{key}"), Quantity::Feet, feet);
    };
    let mut all = |id: &Id, length, estimated, measured: Option<Length>| {
        put(id, "length_ft", length);
        put(id, "estimated_ft", estimated);
        put(id, "measured_ft", measured.map(|length| CableLength { length, basis: Basis::Measured }));
        put(id, "pulled_ft", length.filter(|length| length.basis == Basis::Pulled));
    };
    for wall_box in &job.boxes {
        for feed in &wall_box.feeds {
            all(
                &feed.id,
                lengths.feed(wall_box, feed),
                lengths.estimated_feed(wall_box, feed),
                feed.measured,
            );
        }
        for wired in wall_box.controls.iter().flat_map(|control| &control.loops) {
            let estimated = lengths.estimated_loop(wall_box, wired).whole;
            all(&wired.id, lengths.wired_loop(wall_box, wired).whole, estimated, wired.measured);
        }
    }
    for link in job.groups.iter().flat_map(|group| &group.links) {
        all(&link.id, lengths.link(link), lengths.estimated_link(link), link.measured);
    }
}

/// What one step of a working needs.
#[derive(Debug, Default)]
struct Step<'a> {
    /// Other figures, by name, in the order they are met, with how they came about where that is at hand.
    figures: Vec<(String, Option<(Quantity, &'a Traced)>)>,
    /// Inputs with where they come from, in the same order.
    inputs: Vec<(String, String)>,
}

impl<'a> Step<'a> {
    fn visit(&mut self, traced: &'a Traced) {
        match traced.node() {
            Node::Input(input) if input.origin == Origin::Figure => self.add_figure(&input.label, None),
            Node::Input(input) if input.origin == Origin::Formula => {}
            Node::Input(input) => {
                let entry = (
                    format!("{} = {}", input.label, number(traced.value(), input.unit)),
                    input.origin.words(),
                );
                if !self.inputs.contains(&entry) {
                    self.inputs.push(entry);
                }
            }
            Node::Figure(name, unit, traced) => self.add_figure(name, Some((*unit, traced))),
            Node::Solved(_, by) => self.visit(by),
            Node::Both(_, a, b) => {
                self.visit(a);
                self.visit(b);
            }
        }
    }

    fn add_figure(&mut self, name: &str, below: Option<(Quantity, &'a Traced)>) {
        if !self.figures.iter().any(|(figure, _)| figure == name) {
            self.figures.push((name.to_owned(), below));
        }
    }
}

/// Writes one figure with its formula and its inputs.
fn figure(
    text: &mut String,
    name: &str,
    unit: Quantity,
    traced: &Traced,
    step: &Step<'_>,
    with: Option<&str>,
) {
    line(text, "", &format!("{name} = {}", number(traced.value(), unit)));
    if let Some(with) = with {
        line(text, "  ", &format!("at its worst while choices are open: with {with}"));
    }
    match traced.node() {
        Node::Solved(_, by) => {
            line(text, "  ", &Origin::Solved.words());
            line(text, "  by these laws = ", &worded(by, 0));
            let residual = format::machine(Some(traced.value() - by.value()));
            line(
                text,
                "                = ",
                &format!("{} = {}; residual {residual}", numbered(by, 0), number(by.value(), unit)),
            );
        }
        Node::Input(input) if input.origin != Origin::Figure => {}
        _ => {
            line(text, "  = ", &worded(traced, 0));
            line(text, "  = ", &numbered(traced, 0));
        }
    }
    let mut largest = Vec::new();
    winners(traced, &mut largest);
    largest.dedup();
    for most in largest {
        line(text, "    ", &format!("the largest is {most}"));
    }
    for (input, origin) in &step.inputs {
        line(text, "    ", &format!("{input}: {origin}"));
    }
}

const fn sign(operation: Operation) -> (&'static str, u8) {
    match operation {
        Operation::Add => ("+", 1),
        Operation::Subtract => ("-", 1),
        Operation::Multiply => ("x", 2),
        Operation::Divide => ("/", 2),
        Operation::Larger => ("", 3),
    }
}

/// The formula in the words of its inputs.
fn worded(traced: &Traced, tight: u8) -> String {
    written(traced, tight, &|traced| match traced.node() {
        Node::Input(input) => input.label.clone(),
        Node::Figure(name, ..) => name.clone(),
        _ => String::new(),
    })
}

/// The formula with the numbers in it.
fn numbered(traced: &Traced, tight: u8) -> String {
    written(traced, tight, &|traced| match traced.node() {
        Node::Input(input) => number(traced.value(), input.unit),
        Node::Figure(_, unit, _) => number(traced.value(), *unit),
        _ => String::new(),
    })
}

fn written(traced: &Traced, tight: u8, leaf: &dyn Fn(&Traced) -> String) -> String {
    match traced.node() {
        Node::Input(_) | Node::Figure(..) => leaf(traced),
        Node::Solved(_, by) => written(by, tight, leaf),
        Node::Both(Operation::Larger, ..) => {
            let all = largest_of(traced);
            let words = |traced: &&Traced| written(traced, 0, leaf);
            match all.as_slice() {
                [] => leaf(traced),
                [only] => written(only, tight, leaf),
                [a, b] => format!("the larger of ({}) and ({})", words(a), words(b)),
                all => format!("the largest of ({})", all.iter().map(words).collect::<Vec<_>>().join("), (")),
            }
        }
        Node::Both(Operation::Add, a, b) if is_zero(a) => written(b, tight, leaf),
        Node::Both(operation, a, b) => {
            let (sign, binds) = sign(*operation);
            // What is taken away or divided by needs brackets around its own sums and shares.
            let strict = u8::from(matches!(operation, Operation::Subtract | Operation::Divide));
            let inner = format!("{} {sign} {}", written(a, binds, leaf), written(b, binds + strict, leaf));
            if binds < tight { format!("({inner})") } else { inner }
        }
    }
}

/// What a largest is taken of, without the nothing that it starts from.
fn largest_of(traced: &Traced) -> Vec<&Traced> {
    match traced.node() {
        Node::Both(Operation::Larger, a, b) => {
            let mut all = largest_of(a);
            all.extend(largest_of(b));
            all
        }
        _ if is_zero(traced) => Vec::new(),
        _ => vec![traced],
    }
}

/// Of each largest with more than one to choose from, which it is.
fn winners(traced: &Traced, found: &mut Vec<String>) {
    match traced.node() {
        Node::Input(_) | Node::Figure(..) => {}
        Node::Solved(_, by) => winners(by, found),
        Node::Both(Operation::Larger, ..) => {
            let all = largest_of(traced);
            if let (true, Some(most)) =
                (all.len() > 1, all.iter().find(|one| one.value().to_bits() == traced.value().to_bits()))
            {
                found.push(worded(most, 0));
            }
            for one in all {
                winners(one, found);
            }
        }
        Node::Both(_, a, b) => {
            winners(a, found);
            winners(b, found);
        }
    }
}

/// Whether it is the nothing that a sum starts from.
fn is_zero(traced: &Traced) -> bool {
    matches!(traced.node(), Node::Input(input) if input.origin == Origin::Formula) && traced.value() == 0.0
}

/// A number with its unit, in as many digits as tell.
fn number(value: f64, unit: Quantity) -> String {
    format!("{} {}", format::digits(value), unit.symbol()).trim_end().to_owned()
}

/// Adds a text in lines that fit, those after the first set in.
fn line(text: &mut String, head: &str, words: &str) {
    let words = Text::from(words);
    let mut current = head.to_owned();
    let indent = " ".repeat(format::width(head).max(2) + 2);
    let mut empty = true;
    for word in words.as_str().split(' ') {
        if !empty && format::width(&current) + format::width(word) > WIDTH {
            text.push_str(current.trim_end());
            text.push('\n');
            current.clone_from(&indent);
        }
        current.push_str(word);
        current.push(' ');
        empty = false;
    }
    text.push_str(current.trim_end());
    text.push('\n');
}
