//! One command that says what everything costs at four sizes of house, and how that grows:
//! `cargo bench --bench table`.
//!
//! Times are medians of a thread's own time on this machine; counts of work are the same on any. Growth is the figure
//! over that of the size before, so that 10 is linear and 1 does not depend on the size. `STUDBAY_LARGEST=1000` leaves out
//! larger houses; `-- stages edit sheets screens peers` takes some of its parts alone. What it is at goes to standard error, since some of it takes minutes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    clippy::print_stderr,
    clippy::cast_precision_loss,
    reason = "it says what it measures, and may stop where something is not as it should be"
)]

mod house;
mod peers;

use nalgebra::{DMatrix, DVector};
use ratatui::buffer::Buffer;
use ratatui::layout::{Rect, Size};
use rustix::time::{ClockId, clock_gettime};
use std::cell::RefCell;
use std::hint::black_box;
use std::io;
use std::rc::Rc;
use std::time::{Duration, Instant};
use studbay::checks;
use studbay::design::Design;
use studbay::job::edit::{Edit, apply};
use studbay::job::{Index, Kind, Subject, read};
use studbay::network::Network;
use studbay::plan::balance::{Options, propose};
use studbay::plan::reels;
use studbay::sheets::SHEETS;
use studbay::study::Study;
use studbay::tally::{Work, during};
use studbay::terminal::{Capabilities, Key, KeyCode, Screen};
use studbay::tui::{App, NoLedger, draw};

const SIZES: [usize; 4] = [10, 100, 1_000, 10_000];
/// A figure is taken so long, but at least so often.
const LONG: Duration = Duration::from_millis(300);
const OFTEN: usize = 3;

/// A line of the table: a time in microseconds, a count, or bytes at each size.
struct Line {
    what: String,
    unit: &'static str,
    figures: Vec<f64>,
}

#[derive(Default)]
struct Report {
    lines: Vec<Line>,
}

impl Report {
    fn add(&mut self, what: impl Into<String>, unit: &'static str, figure: f64) {
        let what = what.into();
        eprintln!("{what}: {figure:.1} {unit}");
        match self.lines.iter_mut().find(|line| line.what == what) {
            Some(line) => line.figures.push(figure),
            None => self.lines.push(Line { what, unit, figures: vec![figure] }),
        }
    }

    fn time<T>(&mut self, what: impl Into<String>, mut act: impl FnMut() -> T) {
        self.time_of(what, || spent(&mut act));
    }

    fn time_of(&mut self, what: impl Into<String>, one: impl FnMut() -> Duration) {
        self.add(what, "us", median(one).as_secs_f64() * 1e6);
    }

    fn count(&mut self, what: impl Into<String>, count: u64) {
        self.add(what, "", count as f64);
    }

    fn print(&self) {
        print!("{:44}", "fixtures");
        for size in SIZES.iter().take(self.lines.first().map_or(0, |line| line.figures.len())) {
            print!("{size:>12} {:>6}", "");
        }
        println!();
        for line in &self.lines {
            print!("{:40}{:>4}", line.what, line.unit);
            let mut before: Option<f64> = None;
            for &figure in &line.figures {
                let growth = before.filter(|b| *b > 0.0).map(|b| format!("x{:.2}", figure / b));
                let shown = if line.unit == "us" { format!("{figure:.1}") } else { format!("{figure:.0}") };
                print!("{shown:>12} {:>6}", growth.unwrap_or_default());
                before = Some(figure);
            }
            println!();
        }
    }
}

/// The processor time of this thread, which other work on the machine does not add to.
fn own_time() -> Duration {
    let time = clock_gettime(ClockId::ThreadCPUTime);
    Duration::new(time.tv_sec.try_into().unwrap(), time.tv_nsec.try_into().unwrap())
}

/// What an act takes of this thread's time.
fn spent<T>(act: impl FnOnce() -> T) -> Duration {
    let before = own_time();
    black_box(act());
    own_time().saturating_sub(before)
}

/// The median of what something takes, each time told by itself.
fn median(mut one: impl FnMut() -> Duration) -> Duration {
    let (start, mut times) = (Instant::now(), Vec::new());
    while times.len() < OFTEN || start.elapsed() < LONG {
        times.push(one());
    }
    times.sort_unstable();
    times[times.len() / 2]
}

/// A terminal's line that only counts.
#[derive(Debug, Clone, Default)]
struct Sent(Rc<RefCell<usize>>);

impl io::Write for Sent {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        *self.0.borrow_mut() += bytes.len();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn caps() -> Capabilities {
    Capabilities::detect(&|name| match name {
        "TERM" => Some("xterm-256color".into()),
        "LANG" => Some("C.UTF-8".into()),
        _ => None,
    })
}

/// Sets a length that is measured, back and forth, so that each edit changes something.
fn edits() -> [Edit; 2] {
    ["31'0", "32'0"].map(|length| Edit::Set {
        subject: Subject::new(Kind::Cable, "LP0-0"),
        field: "measured".into(),
        value: length.into(),
    })
}

fn stages(report: &mut Report, text: &str) -> Design {
    report.time("load: read and check the file", || read::from_str("house.ron", text).unwrap());
    let (job, _) = read::from_str("house.ron", text).unwrap();
    report.time("index", || Index::new(&job));
    let (index, _) = Index::new(&job);
    report.time("network", || Network::new(&job, &index));
    let network = Network::new(&job, &index);
    report.time("full study", || Study::new(&job, &index, &network));
    let (solves, study) = during(Work::Solves, || Study::new(&job, &index, &network));
    report.count("full study: circuits solved", solves);
    report.time("checks", || checks::run(&job, &index, &network, &study));
    report.time("everything from a job", || Design::derive(job.clone()));
    let mut kept = Some(study);
    report.time("one-edit study: parts and sums", || {
        kept = kept.take().map(|study| study.restudy(&job, &index, &network, &[0]));
    });
    Design::derive(job)
}

fn one_edit(report: &mut Report, design: &Design) {
    let mut design = design.clone();
    let mut turn = 0;
    let mut change = |design: &mut Design| {
        turn += 1;
        let edit = edits()[turn % 2].clone();
        apply(&mut design.job, edit.clone()).unwrap();
        let _ = design.refresh(&edit);
    };
    let (solves, ()) = during(Work::Solves, || change(&mut design));
    report.count("one edit: circuits solved", solves);
    let (looks, ()) = during(Work::Checks, || change(&mut design));
    report.count("one edit: pieces checked", looks);
    report.time("one edit: everything it reaches", || change(&mut design));
}

fn sheets(report: &mut Report, design: &Design) {
    report.time("balance, 10 runs a panel", || propose(design, &Options::default()));
    // Answers are remembered by thread.
    report.time_of("reels of all cables, planned anew", || {
        let plan = || spent(|| reels::plan(&design.job, &design.index, reels::Scope::Whole));
        std::thread::scope(|scope| scope.spawn(plan).join().unwrap())
    });
    for sheet in SHEETS {
        report.time(format!("sheet {}, its tables", sheet.name), || (sheet.tables)(design));
    }
}

fn screens(report: &mut Report, design: &Design) {
    let area = Rect::new(0, 0, 80, 24);
    let sent = Sent::default();
    let mut screen = Screen::new(sent.clone(), Size::new(80, 24), caps(), Vec::new());
    let mut buffer = Buffer::empty(area);
    let mut frame = |app: &mut App, screen: &mut Screen<Sent>| {
        buffer.reset();
        let cursor = draw(app, area, &mut buffer);
        screen.present(&buffer, cursor).unwrap();
    };
    let mut app = App::new(design.clone(), "house.ron", Box::new(NoLedger));
    let start = Instant::now();
    let (rows, ()) = during(Work::Rows, || frame(&mut app, &mut screen));
    report.add("first frame of the runs", "us", start.elapsed().as_secs_f64() * 1e6);
    report.count("first frame: rows built", rows);
    report.count("first frame: bytes", *sent.0.borrow() as u64);
    app.key(Key::char('+'));
    frame(&mut app, &mut screen);
    let before = *sent.0.borrow();
    let mut press = |app: &mut App| {
        app.key(Key::new(KeyCode::Down));
        frame(app, &mut screen);
    };
    let (rows, ()) = during(Work::Rows, || press(&mut app));
    report.count("key in the runs: rows built", rows);
    report.count("key in the runs: bytes", (*sent.0.borrow() - before) as u64);
    let mut down = 0;
    report.time("key in the runs, and its frame", || {
        down += 1;
        if down % 12 == 0 {
            app.key(Key::char('g'));
        }
        press(&mut app);
    });
    let mut turn = 0;
    let mut commit = |app: &mut App| {
        turn += 1;
        app.commit("measure", edits()[turn % 2].clone()).unwrap();
        press(app);
    };
    let before = *sent.0.borrow();
    let (rows, ()) = during(Work::Rows, || commit(&mut app));
    report.count("an edit and its frame: rows built", rows);
    report.count("an edit and its frame: bytes", (*sent.0.borrow() - before) as u64);
    report.time("an edit and its frame", || commit(&mut app));
}

/// What solving the whole house at once by a dense elimination costs, one iteration of it alone.
fn dense(report: &mut Report, size: usize) {
    if size > 1_000 {
        return;
    }
    let matrix = DMatrix::from_fn(size, size, |a, b| match a.abs_diff(b) {
        0 => 2.1,
        1 => -1.0,
        _ => 0.0,
    });
    let right = DVector::from_element(size, 0.25);
    report.time("peer: one dense solve of all lights", || matrix.clone().lu().solve(&right));
}

/// What an outside simulator says that its analysis of the same circuits took.
fn simulator(report: &mut Report, design: &Design) {
    let Some((seconds, farthest)) = peers::simulated(design) else { return };
    assert!(farthest < 0.01, "ngspice is {farthest} V from the study");
    report.add("peer: ngspice, its own analysis time", "us", seconds * 1e6);
    report.add("peer: ngspice, farthest from ours", "uV", farthest * 1e6);
}

/// What two programs of a terminal send for a list of as many lines as the largest house.
fn programs() {
    let file = tempfile::NamedTempFile::new().unwrap();
    let lines: Vec<String> =
        (0..10_000).map(|line| format!("{line:6} a line of about as many words as a row has\n")).collect();
    std::fs::write(file.path(), lines.concat()).unwrap();
    let path = file.path().display().to_string();
    for (program, keys, quit) in [("less", ["j", " "], "q"), ("nano", ["\x1b[B", "\x1b[6~"], "\x18")] {
        match peers::traffic(program, &[&path], keys, quit) {
            Some(seen) => println!(
                "peer: {program}, bytes: first frame {}, a row down {}, a page down {}",
                seen.first, seen.row, seen.page
            ),
            None => println!("peer: {program} is not here"),
        }
    }
}

/// Presses so many keys in the runs of one house, or makes so many edits there, for a tool that counts instructions.
fn press_keys(size: usize, keys: usize, edited: bool) {
    let area = Rect::new(0, 0, 80, 24);
    let mut screen = Screen::new(Sent::default(), Size::new(80, 24), caps(), Vec::new());
    let mut buffer = Buffer::empty(area);
    let design = Design::derive(read::from_str("house.ron", &house::text(size)).unwrap().0);
    let mut app = App::new(design, "house.ron", Box::new(NoLedger));
    app.key(Key::char('+'));
    for turn in 0..=keys {
        if edited {
            app.commit("measure", edits()[turn % 2].clone()).unwrap();
        } else {
            // From the top down and up again, so that every size is looked at in the same place.
            app.key(Key::new(if turn / 20 % 2 == 0 { KeyCode::Down } else { KeyCode::Up }));
        }
        buffer.reset();
        let cursor = draw(&mut app, area, &mut buffer);
        screen.present(&buffer, cursor).unwrap();
    }
}

fn main() {
    let number = |name: &str| -> Option<usize> { std::env::var(name).ok()?.parse().ok() };
    if let (Some(size), Some(keys)) = (number("STUDBAY_SIZE"), number("STUDBAY_KEYS")) {
        return press_keys(size, keys, false);
    }
    if let (Some(size), Some(edits)) = (number("STUDBAY_SIZE"), number("STUDBAY_EDITS")) {
        return press_keys(size, edits, true);
    }
    let largest: usize =
        std::env::var("STUDBAY_LARGEST").ok().and_then(|n| n.parse().ok()).unwrap_or(usize::MAX);
    let mut report = Report::default();
    // `cargo bench --bench table -- stages screens` takes these parts alone.
    let asked: Vec<String> = std::env::args().skip(1).filter(|arg| !arg.starts_with('-')).collect();
    let wanted = |part: &str| asked.is_empty() || asked.iter().any(|name| name == part);
    for size in SIZES.into_iter().filter(|size| *size <= largest) {
        eprintln!("-- {size} fixtures");
        let text = house::text(size);
        let design = stages(&mut report, &text);
        let wrong = design.findings.iter().filter(|f| f.severity == checks::Severity::Error).count();
        report.count("errors found (there should be none)", wrong as u64);
        if wanted("edit") {
            one_edit(&mut report, &design);
        }
        if wanted("sheets") {
            sheets(&mut report, &design);
        }
        if wanted("screens") {
            screens(&mut report, &design);
        }
        if wanted("peers") {
            dense(&mut report, size);
            simulator(&mut report, &design);
        }
    }
    report.print();
    if wanted("peers") {
        programs();
    }
}
