//! How a figure came about, recorded by the study itself.
//!
//! The study computes with a [`Number`]: plain `f64` while studying, a [`Traced`] one while explaining. Both run through
//! the same code, so the figures are the same to the bit and the working cannot disagree with them: a traced number is
//! the operations that made it, not a formula written beside it.

use crate::format::Quantity;
use std::collections::HashMap;
use std::ops::{Add, Div, Mul, Sub};
use std::rc::Rc;

/// Where an input comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// What the job says about a thing.
    Job(String),
    /// An entry of the catalogue.
    Catalogue(String),
    /// A setting of the job.
    Setting(&'static str),
    /// A published table or constant.
    Table(&'static str),
    /// A count of things.
    Count(String),
    /// A number of the formula itself.
    Formula,
    /// A length estimated from places.
    Estimate(String),
    /// Another figure, of the name that the input is called by.
    Figure,
    /// Solved together with all volts and amps of the circuit.
    Solved,
    /// Found by trying: solved with ever narrower bounds of the factor.
    Search,
    /// A figure as it is with an open choice, which is named.
    Choice(String),
    /// A published text, or whatever a limit comes from, in words.
    Source(String),
    /// Open choices are too many to try: the figure is no worse than this.
    Bound,
}

impl Origin {
    /// The origin in words.
    pub fn words(&self) -> String {
        match self {
            Self::Job(what) => format!("job, {what}"),
            Self::Catalogue(what) => format!("catalogue, {what}"),
            Self::Setting(what) => format!("job setting {what}"),
            Self::Table(what) => (*what).to_owned(),
            Self::Count(what) => format!("count, {what}"),
            Self::Formula => "formula".to_owned(),
            Self::Estimate(what) => format!("estimated, {what}"),
            Self::Figure => "a figure of its own".to_owned(),
            Self::Solved => "solved with the whole circuit by nodal analysis (Kirchhoff's laws)".to_owned(),
            Self::Choice(what) => format!("with the open choice {what}"),
            Self::Search => {
                "found by halving: with all constant watts times this the circuit has a solution by nodal \
                             analysis, with a part in 10^10 more it has none"
                    .to_owned()
            }
            Self::Source(what) => what.clone(),
            Self::Bound => "a bound: too many choices are open to try each".to_owned(),
        }
    }
}

/// An input with what it is called and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// What it is called in the formula.
    pub label: String,
    /// Its unit.
    pub unit: Quantity,
    /// Where it comes from.
    pub origin: Origin,
}

impl Input {
    /// An input of a formula.
    pub fn new(label: impl Into<String>, unit: Quantity, origin: Origin) -> Self {
        Self { label: label.into(), unit, origin }
    }
}

/// What the study computes with.
pub trait Number:
    Clone + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self>
{
    /// An input of the computation.
    fn input(value: f64, is: impl FnOnce() -> Input) -> Self;

    /// A number that the formula itself holds.
    fn constant(value: f64) -> Self {
        Self::input(value, || Input::new(value.to_string(), Quantity::Count, Origin::Formula))
    }

    /// A figure that the solver found, with what it must come to by the laws it was solved by.
    fn solved(value: f64, unit: Quantity, by: impl FnOnce() -> Self) -> Self;

    /// The bare value.
    fn value(&self) -> f64;

    /// The larger of two.
    #[must_use]
    fn larger(self, other: Self) -> Self;
}

impl Number for f64 {
    fn input(value: f64, _: impl FnOnce() -> Input) -> Self {
        value
    }
    fn solved(value: f64, _: Quantity, _: impl FnOnce() -> Self) -> Self {
        value
    }
    fn value(&self) -> f64 {
        *self
    }
    fn larger(self, other: Self) -> Self {
        self.max(other)
    }
}

/// How a traced number came about.
#[derive(Debug, Clone)]
pub enum Node {
    /// It is an input.
    Input(Input),
    /// It is another figure, by name.
    Figure(String, Quantity, Traced),
    /// The solver found it; by the laws it was solved by it comes to this, all but the residual.
    Solved(Quantity, Traced),
    /// Two numbers put together.
    Both(Operation, Traced, Traced),
}

/// What puts two numbers together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is the operation it is called")]
pub enum Operation {
    Add,
    Subtract,
    Multiply,
    Divide,
    Larger,
}

impl Operation {
    fn of(self, a: f64, b: f64) -> f64 {
        match self {
            Self::Add => a + b,
            Self::Subtract => a - b,
            Self::Multiply => a * b,
            Self::Divide => a / b,
            Self::Larger => a.max(b),
        }
    }
}

/// A number with how it came about.
#[derive(Debug, Clone)]
pub struct Traced {
    value: f64,
    node: Rc<Node>,
}

impl Traced {
    fn both(operation: Operation, a: Self, b: Self) -> Self {
        Self { value: operation.of(a.value, b.value), node: Rc::new(Node::Both(operation, a, b)) }
    }

    /// How it came about.
    pub fn node(&self) -> &Node {
        &self.node
    }

    /// The value worked out once more from the inputs, with what the solver found taken as it is.
    pub fn evaluated(&self) -> f64 {
        match self.node() {
            Node::Input(_) | Node::Solved(..) => self.value,
            Node::Figure(_, _, traced) => traced.evaluated(),
            Node::Both(operation, a, b) => operation.of(a.evaluated(), b.evaluated()),
        }
    }
}

impl Number for Traced {
    fn input(value: f64, is: impl FnOnce() -> Input) -> Self {
        Self { value, node: Rc::new(Node::Input(is())) }
    }
    fn solved(value: f64, unit: Quantity, by: impl FnOnce() -> Self) -> Self {
        Self { value, node: Rc::new(Node::Solved(unit, by())) }
    }
    fn value(&self) -> f64 {
        self.value
    }
    fn larger(self, other: Self) -> Self {
        Self::both(Operation::Larger, self, other)
    }
}

macro_rules! operator {
    ($($trait:ident, $method:ident, $operation:ident;)+) => {
        $(impl $trait for Traced {
            type Output = Self;
            fn $method(self, other: Self) -> Self {
                Self::both(Operation::$operation, self, other)
            }
        })+
    };
}
operator! {
    Add, add, Add;
    Sub, sub, Subtract;
    Mul, mul, Multiply;
    Div, div, Divide;
}

/// Takes down figures under their names.
pub trait Recorder {
    /// What the study computes with.
    type Number: Number;

    /// Whether it takes anything down.
    const ON: bool;

    /// Takes down a figure and gives it back to go on with, under its name.
    fn figure(&mut self, name: impl FnOnce() -> String, unit: Quantity, value: Self::Number) -> Self::Number;

    /// A recorder of this kind with nothing on it.
    #[must_use]
    fn blank(&self) -> Self;

    /// Takes a figure over from another recorder, with the open choice it holds for.
    fn adopt(&mut self, from: &Self, name: &str, with: &str);

    /// Takes all figures over.
    fn adopt_all(&mut self, from: &Self, with: &str);
}

/// Takes nothing down: for studying.
#[derive(Debug, Clone, Copy, Default)]
pub struct Off;

impl Recorder for Off {
    type Number = f64;
    const ON: bool = false;
    fn figure(&mut self, _: impl FnOnce() -> String, _: Quantity, value: f64) -> f64 {
        value
    }
    fn blank(&self) -> Self {
        Self
    }
    fn adopt(&mut self, _: &Self, _: &str, _: &str) {}
    fn adopt_all(&mut self, _: &Self, _: &str) {}
}

/// Takes every figure down: for explaining.
#[derive(Debug, Clone, Default)]
pub struct Tape {
    figures: HashMap<String, (Quantity, Traced)>,
    /// The open choice that a figure holds for.
    with: HashMap<String, String>,
}

impl Tape {
    /// A figure by its name, `kind/id/key`, with its unit.
    pub fn get(&self, name: &str) -> Option<&(Quantity, Traced)> {
        self.figures.get(name)
    }

    /// The open choice that a figure holds for, where there is one.
    pub fn with(&self, name: &str) -> Option<&str> {
        self.with.get(name).map(String::as_str)
    }

    /// Every name there is, in order.
    pub fn names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = self.figures.keys().map(String::as_str).collect();
        names.sort_unstable();
        names
    }
}

impl Recorder for Tape {
    type Number = Traced;
    const ON: bool = true;
    fn blank(&self) -> Self {
        Self::default()
    }
    fn adopt(&mut self, from: &Self, name: &str, with: &str) {
        if let Some(figure) = from.figures.get(name) {
            self.figures.insert(name.to_owned(), figure.clone());
            self.with.insert(name.to_owned(), with.to_owned());
        }
    }
    fn adopt_all(&mut self, from: &Self, with: &str) {
        from.figures.keys().for_each(|name| self.adopt(from, name, with));
    }
    fn figure(&mut self, name: impl FnOnce() -> String, unit: Quantity, value: Traced) -> Traced {
        let name = name();
        let figure =
            Traced { value: value.value, node: Rc::new(Node::Figure(name.clone(), unit, value.clone())) };
        self.figures.insert(name, (unit, value));
        figure
    }
}
