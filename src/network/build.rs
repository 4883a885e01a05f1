//! Builds the network of a job.

use super::flaw::NetworkFlaw;
use super::run::{ControlAt, FeedAt, LoopAt, Part, Run};
use super::{Network, Terminal, Tie};
use crate::job::catalogue::{Drive, LinkKind};
use crate::job::wiring::{LoopPath, OutputRef, Source};
use crate::job::{Id, Index, Job, Kind, Spot};
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, HashMap, HashSet};

impl Network {
    /// Builds the network of a job that was read or edited without error.
    pub fn new(job: &Job, index: &Index) -> Self {
        let mut builder = Builder {
            job,
            index,
            graph: UnGraph::default(),
            nodes: HashMap::new(),
            run_of_feed: HashMap::new(),
            run_of_control: HashMap::new(),
            runs: Vec::new(),
            flaws: Vec::new(),
            landings: Vec::new(),
        };
        builder.feeds();
        builder.controls();
        builder.links();
        builder.finish()
    }
}

struct Builder<'a> {
    job: &'a Job,
    index: &'a Index,
    graph: UnGraph<Terminal, Tie>,
    nodes: HashMap<Terminal, NodeIndex>,
    run_of_feed: HashMap<FeedAt, (usize, usize)>,
    run_of_control: HashMap<ControlAt, usize>,
    runs: Vec<Run>,
    flaws: Vec<NetworkFlaw>,
    /// Where two runs meet beyond their outputs: both controls, and the cable.
    landings: Vec<(ControlAt, ControlAt, Id)>,
}

impl Builder<'_> {
    fn node(&mut self, terminal: Terminal) -> NodeIndex {
        let graph = &mut self.graph;
        *self.nodes.entry(terminal).or_insert_with_key(|terminal| graph.add_node(terminal.clone()))
    }

    fn tie(&mut self, a: Terminal, b: Terminal, tie: Tie) {
        let (a, b) = (self.node(a), self.node(b));
        self.graph.add_edge(a, b, tie);
    }

    /// Home runs first, then everything onward of each, breadth first.
    fn feeds(&mut self) {
        let job = self.job;
        let mut onward: HashMap<FeedAt, Vec<FeedAt>> = HashMap::new();
        for (wall_box, entry) in job.boxes.iter().enumerate() {
            for (feed, entry) in entry.feeds.iter().enumerate() {
                if let Source::Onward(from) = &entry.from
                    && let Some(Spot::Feed { wall_box: from_box, feed: from_feed }) =
                        self.index.spot(Kind::Cable, from)
                {
                    let from = FeedAt { wall_box: from_box, feed: from_feed };
                    onward.entry(from).or_default().push(FeedAt { wall_box, feed });
                }
            }
        }
        for (wall_box, entry) in job.boxes.iter().enumerate() {
            for (feed, entry) in entry.feeds.iter().enumerate() {
                let at = FeedAt { wall_box, feed };
                let (output, panel, start) = match &entry.from {
                    Source::Output(output) => {
                        let Some((panel, _)) = self.index.supply(job, &output.supply) else { continue };
                        (Some(output.clone()), panel.id.clone(), Terminal::Output(output.clone()))
                    }
                    Source::Panel(panel) => (None, panel.clone(), Terminal::Unlanded(at)),
                    Source::Onward(_) => continue,
                };
                self.home_run(
                    Run {
                        id: entry.id.clone(),
                        output,
                        panel,
                        feeds: vec![at],
                        controls: Vec::new(),
                        allowances: Vec::new(),
                        part: 0,
                    },
                    start,
                    &onward,
                );
            }
        }
    }

    fn home_run(&mut self, mut run: Run, start: Terminal, onward: &HashMap<FeedAt, Vec<FeedAt>>) {
        let number = self.runs.len();
        if run.output.is_none() {
            self.flaws.push(NetworkFlaw::RunOnNoOutput { run: number });
        }
        self.tie(start, Terminal::Feed(run.feeds[0]), Tie::Feed(run.feeds[0]));
        let mut next = 0;
        while let Some(&at) = run.feeds.get(next) {
            self.run_of_feed.insert(at, (number, next));
            for &further in onward.get(&at).into_iter().flatten() {
                self.tie(Terminal::Feed(at), Terminal::Feed(further), Tie::Feed(further));
                run.feeds.push(further);
            }
            next += 1;
        }
        self.runs.push(run);
    }

    fn controls(&mut self) {
        let job = self.job;
        let grouped: HashSet<String> =
            job.groups.iter().flat_map(|g| g.remotes.iter().chain([&g.main])).map(Id::folded).collect();
        let remotes: HashSet<String> = job.groups.iter().flat_map(|g| &g.remotes).map(Id::folded).collect();
        for (wall_box, entry) in job.boxes.iter().enumerate() {
            let needs_feed = entry.allowance_watts.is_some()
                || entry.controls.iter().any(|c| !c.loops.is_empty() || !remotes.contains(&c.id.folded()));
            if entry.feeds.is_empty() && needs_feed {
                self.flaws.push(NetworkFlaw::BoxWithoutFeed { wall_box });
            }
            if entry.allowance_watts.is_some() {
                match entry.feeds.len() {
                    0 => {}
                    1 => {
                        if let Some(&(run, feed)) = self.run_of_feed.get(&FeedAt { wall_box, feed: 0 }) {
                            self.runs[run].allowances.push((feed, wall_box));
                        }
                    }
                    _ => self.flaws.push(NetworkFlaw::AllowanceOnManyFeeds { wall_box }),
                }
            }
            for (control, wired) in entry.controls.iter().enumerate() {
                let at = ControlAt { wall_box, control };
                if wired.loops.is_empty() && !grouped.contains(&wired.id.folded()) {
                    self.flaws.push(NetworkFlaw::ControlWithoutLoop { control: at });
                }
                let feed = match &wired.on {
                    Some(on) => entry.feeds.iter().position(|feed| feed.id.same(on)),
                    None if entry.feeds.len() > 1 => {
                        self.flaws.push(NetworkFlaw::FeedNotNamed { control: at });
                        None
                    }
                    None => (entry.feeds.len() == 1).then_some(0),
                };
                if let Some(feed) = feed {
                    let feed = FeedAt { wall_box, feed };
                    if let Some(&(run, position)) = self.run_of_feed.get(&feed) {
                        self.runs[run].controls.push((position, at));
                        self.run_of_control.insert(at, run);
                        self.tie(Terminal::Feed(feed), Terminal::Control(at), Tie::Jumper(at));
                    }
                }
            }
        }
        for (wall_box, entry) in job.boxes.iter().enumerate() {
            for (control, wired) in entry.controls.iter().enumerate() {
                for at in 0..wired.loops.len() {
                    self.wired_loop(LoopAt { control: ControlAt { wall_box, control }, at });
                }
            }
        }
    }

    fn wired_loop(&mut self, at: LoopAt) {
        let job = self.job;
        let control = &job.boxes[at.control.wall_box].controls[at.control.control];
        let run = &control.loops[at.at];
        let mut before = Terminal::Control(at.control);
        for leg in 0..run.ceiling.len() {
            let here = Terminal::Ceiling(at, leg);
            self.tie(before, here.clone(), Tie::Leg(at, leg));
            before = here;
        }
        if run.path != LoopPath::Returned || run.ceiling.is_empty() {
            return;
        }
        let home = run.returns_to.as_ref().and_then(|id| self.index.spot(Kind::Control, id));
        let home = match home {
            Some(Spot::Control { wall_box, control }) => ControlAt { wall_box, control },
            _ => at.control,
        };
        self.tie(before, Terminal::Control(home), Tie::Leg(at, run.ceiling.len()));
        let mut types = control.types().into_iter().filter_map(|id| self.index.control_type(job, id));
        if run.crossed && types.any(|part| part.drive == Drive::Voltage) {
            self.flaws.push(NetworkFlaw::DeadShort { at });
        }
        if home != at.control {
            self.landings.push((at.control, home, run.id.clone()));
        }
    }

    /// A link joins circuits only where the catalogue says that the control's link is part of its circuit.
    fn links(&mut self) {
        let job = self.job;
        for (group_at, group) in job.groups.iter().enumerate() {
            for (link_at, link) in group.links.iter().enumerate() {
                let ends = [&link.from, &link.to].map(|id| match self.index.spot(Kind::Control, id) {
                    Some(Spot::Control { wall_box, control }) => Some(ControlAt { wall_box, control }),
                    _ => None,
                });
                let [Some(from), Some(to)] = ends else { continue };
                let kinds = [from, to].map(|at| {
                    let types = job.boxes[at.wall_box].controls[at.control].types().into_iter();
                    let kinds =
                        types.map(|part| self.index.control_type(job, part).and_then(|part| part.link));
                    // What differs between the types still open is not known.
                    kinds.reduce(|a, b| if a == b { a } else { None }).flatten()
                });
                // One isolated end is enough to keep the circuits apart.
                if kinds.contains(&Some(LinkKind::Isolated)) {
                    continue;
                }
                if kinds == [Some(LinkKind::Joined); 2] {
                    self.tie(Terminal::Control(from), Terminal::Control(to), Tie::Link(group_at, link_at));
                    self.landings.push((from, to, link.id.clone()));
                    continue;
                }
                let mut outputs: Vec<OutputRef> = [from, to]
                    .iter()
                    .filter_map(|at| self.run_of_control.get(at))
                    .filter_map(|&run| self.runs[run].output.clone())
                    .collect();
                outputs.dedup();
                if outputs.len() > 1 {
                    self.flaws.push(NetworkFlaw::IsolationUnknown { link: link.id.clone(), outputs });
                }
            }
        }
    }

    /// Puts runs that meet beyond their outputs into one part, and reports those that must not.
    fn finish(mut self) -> Network {
        let mut together = UnionFind::<usize>::new(self.runs.len());
        let mut by: Vec<(usize, usize, Id)> = Vec::new();
        for (a, b, cable) in &self.landings {
            if let (Some(&a), Some(&b)) = (self.run_of_control.get(a), self.run_of_control.get(b))
                && a != b
            {
                together.union(a, b);
                by.push((a, b, cable.clone()));
            }
        }
        let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut first_of: HashMap<usize, usize> = HashMap::new();
        for run in 0..self.runs.len() {
            let first = *first_of.entry(together.find(run)).or_insert(run);
            members.entry(first).or_default().push(run);
        }
        let mut parts = Vec::with_capacity(members.len());
        for runs in members.into_values() {
            let mut outputs: Vec<Option<OutputRef>> =
                runs.iter().map(|&run| self.runs[run].output.clone()).collect();
            outputs.sort();
            outputs.dedup();
            let interconnected = outputs.len() > 1;
            if runs.len() > 1 {
                let by =
                    by.iter().filter(|(a, _, _)| runs.contains(a)).map(|(_, _, id)| id.clone()).collect();
                let (outputs, runs) = (outputs.into_iter().flatten().collect(), runs.clone());
                self.flaws.push(if interconnected {
                    NetworkFlaw::Interconnected { outputs, runs, by }
                } else {
                    NetworkFlaw::DoubleFeed { runs, by }
                });
            }
            for &run in &runs {
                self.runs[run].part = parts.len();
            }
            parts.push(Part { runs, interconnected });
        }
        Network {
            graph: self.graph,
            runs: self.runs,
            parts,
            run_of_feed: self.run_of_feed,
            run_of_control: self.run_of_control,
            flaws: self.flaws,
        }
    }
}
