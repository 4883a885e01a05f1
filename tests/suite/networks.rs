//! Networks as the data files describe them: paths of sections and the loads on their nodes.

use std::collections::BTreeMap;
use std::path::PathBuf;

use serde::Deserialize;
use serde::de::DeserializeOwned;
use studbay::study::circuit::{Branch, Circuit, Draw, Load};

/// A network by the names of its nodes. The first node of the first path is the source terminal.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Network {
    /// Volts at the source.
    pub(crate) volts: f64,
    pub(crate) paths: Vec<Path>,
    #[serde(default)]
    pub(crate) uniform: Vec<Uniform>,
    #[serde(default)]
    pub(crate) loads: Vec<Taps>,
}

/// Sections one after the other: `(via: "s a b", ohms: Loop([0.5, 0.2]))`.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Path {
    via: String,
    ohms: Sections,
}

/// Ohms of the sections of a path; a single figure holds for all.
#[derive(Debug, Clone, Deserialize)]
enum Sections {
    /// Out and back.
    Loop(Vec<f64>),
    /// Two conductors of `ohms` per `per` units of length.
    Pair { lengths: Vec<f64>, ohms: f64, per: f64 },
    /// One conductor, the return being free.
    Single { lengths: Vec<f64>, ohms: f64, per: f64 },
}

/// A section with an evenly spread current, stood for by many taps in the middle of equal parts:
/// the drops at the ends of the parts are then exact.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Uniform {
    from: String,
    to: String,
    amps_per_unit: f64,
    /// In units of length.
    length: f64,
    /// Out and back, per unit of length.
    ohms_per_unit: f64,
    /// Number of parts. The node that ends part `n` is called `n/parts`, its tap `n/parts-`.
    parts: usize,
}

/// Loads of one kind on nodes, in their order.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Taps {
    pub(crate) at: String,
    pub(crate) draw: Kind,
}

/// What the loads are; a single figure holds for all nodes.
#[derive(Debug, Clone, Deserialize)]
pub(crate) enum Kind {
    Watts(Vec<f64>),
    Amps(Vec<f64>),
    Ohms(Vec<f64>),
    /// One load a node, with all these options.
    Worst(Vec<Kind>),
    Least(Vec<Kind>),
    /// Lights in series on a current drive, which takes their power over its efficiency from the
    /// run whatever the volts.
    Series {
        amps: f64,
        light_volts: Vec<f64>,
        wire_ohms: f64,
        efficiency: f64,
    },
}

/// A network as a circuit, with the names of its parts.
#[derive(Debug, Clone)]
pub(crate) struct Named {
    pub(crate) circuit: Circuit,
    /// Nodes by number.
    pub(crate) nodes: Vec<String>,
    /// The kind of each load, single.
    pub(crate) kinds: Vec<Kind>,
    numbers: BTreeMap<String, usize>,
}

impl Named {
    pub(crate) fn node(&self, name: &str) -> usize {
        *self.numbers.get(name).unwrap_or_else(|| panic!("no node is called '{name}'"))
    }

    /// The only branch between two nodes, and whether it runs from the first to the second.
    pub(crate) fn branch(&self, from: &str, to: &str) -> (usize, bool) {
        let (from, to) = (self.node(from), self.node(to));
        let mut found = (self.circuit.branches.iter().enumerate())
            .filter(|(_, branch)| [(from, to), (to, from)].contains(&(branch.a, branch.b)));
        let (nth, branch) = found.next().expect("a branch joins the two nodes");
        assert!(found.next().is_none(), "several branches join the two nodes");
        (nth, branch.a == from)
    }

    fn number(&mut self, name: &str) -> usize {
        *self.numbers.entry(name.to_owned()).or_insert_with(|| {
            self.nodes.push(name.to_owned());
            self.nodes.len() - 1
        })
    }
}

impl Network {
    pub(crate) fn build(&self) -> Named {
        let circuit = Circuit { source_volts: self.volts, nodes: 0, branches: Vec::new(), loads: Vec::new() };
        let mut named = Named { circuit, nodes: Vec::new(), kinds: Vec::new(), numbers: BTreeMap::new() };
        for path in &self.paths {
            let nodes: Vec<usize> = path.via.split_whitespace().map(|name| named.number(name)).collect();
            for (ends, ohms) in nodes.windows(2).zip(path.ohms.each(nodes.len() - 1)) {
                named.circuit.branches.push(Branch { a: ends[0], b: ends[1], ohms });
            }
        }
        for uniform in &self.uniform {
            uniform.build(&mut named);
        }
        for taps in &self.loads {
            let nodes: Vec<&str> = taps.at.split_whitespace().collect();
            for (name, kind) in nodes.iter().zip(taps.draw.each(nodes.len())) {
                let node = named.node(name);
                named.circuit.loads.push(Load { node, draws: kind.draws() });
                named.kinds.push(kind);
            }
        }
        named.circuit.nodes = named.nodes.len();
        named
    }
}

impl Uniform {
    #[expect(clippy::cast_precision_loss, reason = "a few thousand parts")]
    fn build(&self, named: &mut Named) {
        let part = self.length / self.parts as f64;
        let half = part * self.ohms_per_unit / 2.0;
        let mut a = named.number(&self.from);
        for nth in 1..=self.parts {
            let middle = named.number(&format!("{nth}/{}-", self.parts));
            let b = if nth == self.parts {
                named.number(&self.to)
            } else {
                named.number(&format!("{nth}/{}", self.parts))
            };
            named.circuit.branches.push(Branch { a, b: middle, ohms: half });
            named.circuit.branches.push(Branch { a: middle, b, ohms: half });
            let kind = Kind::Amps(vec![self.amps_per_unit * part]);
            named.circuit.loads.push(Load { node: middle, draws: kind.draws() });
            named.kinds.push(kind);
            a = b;
        }
    }
}

impl Sections {
    fn each(&self, sections: usize) -> Vec<f64> {
        match self {
            Self::Loop(ohms) => spread(ohms, sections),
            Self::Pair { lengths, ohms, per } => {
                spread(lengths, sections).iter().map(|length| 2.0 * length * ohms / per).collect()
            }
            Self::Single { lengths, ohms, per } => {
                spread(lengths, sections).iter().map(|length| length * ohms / per).collect()
            }
        }
    }
}

impl Kind {
    fn each(&self, nodes: usize) -> Vec<Self> {
        let single = |figures: &[f64], make: fn(Vec<f64>) -> Self| {
            spread(figures, nodes).into_iter().map(|figure| make(vec![figure])).collect()
        };
        match self {
            Self::Watts(figures) => single(figures, Self::Watts),
            Self::Amps(figures) => single(figures, Self::Amps),
            Self::Ohms(figures) => single(figures, Self::Ohms),
            whole => vec![whole.clone(); nodes],
        }
    }

    fn draws(&self) -> Draw {
        match self {
            Self::Watts(figures) => Draw::Power { watts: one(figures) },
            Self::Amps(figures) => Draw::Current { amps: one(figures) },
            Self::Ohms(figures) => Draw::Resistance { ohms: one(figures) },
            Self::Worst(kinds) => Draw::Worst(kinds.iter().map(Self::draws).collect()),
            Self::Least(kinds) => Draw::Least(kinds.iter().map(Self::draws).collect()),
            Self::Series { amps, light_volts, wire_ohms, efficiency } => {
                let volts = light_volts.iter().sum::<f64>() + amps * wire_ohms;
                Draw::Power { watts: amps * volts / efficiency }
            }
        }
    }
}

/// The one figure of a single load.
pub(crate) fn one(figures: &[f64]) -> f64 {
    assert_eq!(figures.len(), 1, "a single load has one figure");
    figures[0]
}

/// One figure for each of several things, or the same for all.
fn spread(figures: &[f64], count: usize) -> Vec<f64> {
    if figures.len() == 1 {
        return vec![figures[0]; count];
    }
    assert_eq!(figures.len(), count, "as many figures as things: {figures:?}");
    figures.to_vec()
}

/// A place under `tests/`.
pub(crate) fn tests_folder(place: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests").join(place)
}

/// Reads a data file under `tests/`.
pub(crate) fn read<T: DeserializeOwned>(place: &str) -> T {
    let file = tests_folder(place);
    let text = std::fs::read_to_string(&file).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
    let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    options.from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", file.display()))
}
