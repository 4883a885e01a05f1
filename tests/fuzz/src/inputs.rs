//! One function for each way in.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::sync::OnceLock;
use std::time::{Duration, Instant};
use studbay::cli::Report;
use studbay::design::Design;
use studbay::format::{Text, is_hostile};
use studbay::intake;
use studbay::job::edit::{Edit, apply};
use studbay::job::fields::{Field, fits, of, parent, thing};
use studbay::job::history::unkept;
use studbay::job::{Index, Job, Kind, Spot, Subject, read, write};
use studbay::plan::balance::{Options, propose};
use studbay::sheets::{Heading, Paper, SHEETS, csv};
use studbay::store::{Digest, unsaved};
use studbay::terminal::{Input, Parser};
use studbay::tui::action::Effect;
use studbay::tui::{App, NoLedger, draw};
use studbay::units::{Length, LengthUnit};

const STARTER: &str = include_str!("../../../src/job/starter.ron");
const COTTAGE: &str = include_str!("../../../sample-jobs/cottage.ron");

fn known(text: &str) -> Job {
    match read::from_str("sample.ron", text) {
        Ok((job, _)) => job,
        Err(error) => panic!("a sample cannot be read: {error}"),
    }
}

/// A small job or a larger one, studied once.
fn base(which: u8) -> &'static (Design, String) {
    static BASES: OnceLock<[(Design, String); 2]> = OnceLock::new();
    let bases =
        BASES.get_or_init(|| [STARTER, COTTAGE].map(|text| (Design::derive(known(text)), text.to_owned())));
    &bases[usize::from(which % 2)]
}

/// The time this thread has worked: what others do on the machine is not the program's fault.
fn worked() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::try_from(time).unwrap_or_default()
}

/// Does something that may not take a second where inputs are tried by the thousand; `STUDBAY_FUZZ_HANG` gives a build
/// in a hurry more of them.
pub fn within_a_second<T>(what: impl FnOnce() -> T) -> T {
    static LONGEST: OnceLock<Duration> = OnceLock::new();
    let longest = LONGEST.get_or_init(|| {
        let seconds = std::env::var("STUDBAY_FUZZ_HANG").ok().and_then(|seconds| seconds.parse().ok());
        Duration::from_secs(seconds.unwrap_or(1))
    });
    let start = worked();
    let done = what();
    let took = worked().saturating_sub(start);
    assert!(cfg!(test) || took < *longest, "this took {took:?}");
    done
}

/// A job that can be read is saved in bytes that read back to the same job, and are then saved the same.
fn kept(job: &Job) {
    let saved = write::to_string(job).unwrap_or_else(|error| panic!("cannot be saved: {error}"));
    let (again, _) = read::from_str("saved.ron", &saved)
        .unwrap_or_else(|error| panic!("what was saved cannot be read: {error}\n{saved}"));
    assert!(again == *job, "what was saved is another job:\n{saved}");
    assert_eq!(write::to_string(&again).ok().as_deref(), Some(&*saved));
}

/// Nothing that steers a terminal is in what is printed; line and page ends are the sheet's own.
fn harmless(what: &str, printed: &str) {
    let bad = printed.chars().find(|c| is_hostile(*c) && *c != '\n' && *c != '\u{c}');
    assert!(bad.is_none(), "{what} holds {bad:?}:\n{printed}");
}

/// What is made of a job: one sheet in every form, and one time in eight each what takes longer.
fn made_of(job: Job, pick: usize) {
    let design = Design::derive(job);
    let date = jiff::civil::date(2026, 3, 9);
    let heading = Heading::of(&design.job.project, date);
    {
        let sheet = &SHEETS[pick % SHEETS.len()];
        let paper = Paper::new(80, 60);
        harmless(sheet.name, &sheet.printed(&design, &heading, paper));
        let document = (sheet.json)(&design).unwrap_or_else(|error| panic!("{}: {error}", sheet.name));
        harmless(sheet.name, &document);
        let written = csv::write(&(sheet.tables)(&design)).unwrap_or_else(|error| panic!("{error}"));
        harmless(sheet.name, &String::from_utf8_lossy(&written).replace('\r', ""));
    }
    match pick / SHEETS.len() % 8 {
        0 => drop(Report::of(&design)),
        1 => drop(studbay::explain::explain(&design, &[])),
        2 => drop(propose(&design, &Options::default())),
        _ => {}
    }
}

/// The bytes of a job file.
pub fn job(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match read::from_str("job.ron", text) {
        Ok((job, _)) => {
            kept(&job);
            made_of(job, data.iter().map(|byte| usize::from(*byte)).sum());
        }
        Err(error) => drop(error.to_string()),
    }
}

/// A table of rooms, for one of two jobs.
pub fn table(data: &[u8]) {
    let Some((which, text)) = data.split_first() else { return };
    let Ok(text) = std::str::from_utf8(text) else { return };
    let job = &base(*which).0.job;
    match intake::read(job, text) {
        Ok(intake) => {
            drop(intake::write(&taken(job, intake.edit)));
        }
        Err(flaws) => drop(flaws.to_string()),
    }
}

/// A price list, for one of two jobs.
pub fn prices(data: &[u8]) {
    let Some((which, text)) = data.split_first() else { return };
    let Ok(text) = std::str::from_utf8(text) else { return };
    let job = &base(*which).0.job;
    match intake::prices::read(job, text) {
        Ok(list) => {
            let with = taken(job, list.edit);
            list.changes.iter().for_each(|change| harmless("a change", &Text::from(change).to_string()));
            // What is said of the prices afterwards changes nothing any more.
            let written = intake::prices::write(&with).unwrap_or_else(|error| panic!("{error}"));
            let again =
                intake::prices::read(&with, &written).unwrap_or_else(|flaws| panic!("{flaws}\n{written}"));
            assert!(again.changes.is_empty(), "written and read, but {:?}", again.changes);
        }
        Err(flaws) => drop(flaws.to_string()),
    }
}

/// A table of readings, for one of two jobs.
pub fn readings(data: &[u8]) {
    let Some((which, text)) = data.split_first() else { return };
    let Ok(text) = std::str::from_utf8(text) else { return };
    let job = &base(*which).0.job;
    match intake::read_readings(job, text) {
        Ok(found) => {
            let with = taken(job, found.edit);
            let again = intake::read_readings(&with, text).unwrap_or_else(|flaws| panic!("{flaws}"));
            assert_eq!(again.readings, 0, "the same table again, and readings are new");
            // A step that two rows say otherwise is set twice, but comes to the same.
            assert!(taken(&with, again.edit) == with, "the same table again gives another job");
        }
        Err(flaws) => drop(flaws.to_string()),
    }
}

/// The job after an edit that an import made: it can be saved, read and undone.
fn taken(job: &Job, edit: Edit) -> Job {
    let mut with = job.clone();
    let back = apply(&mut with, edit).unwrap_or_else(|error| panic!("not taken: {error}"));
    kept(&with);
    let after = with.clone();
    apply(&mut with, back).unwrap_or_else(|error| panic!("not undone: {error}"));
    assert!(with == *job, "undone to another job");
    after
}

/// The log beside a job. What stands before the first `\n` is taken as it is; each later line is a step whose check is
/// put right, since no other gets far.
pub fn log(data: &[u8]) {
    let Some((which, data)) = data.split_first() else { return };
    let (design, file) = base(*which);
    let digest = Digest::of(file.as_bytes());
    drop(unsaved(data, &digest, &design.job));
    let Ok(text) = std::str::from_utf8(data) else { return };
    let mut log = line("{\"log\":1}") + &line(&format!("{{\"at\":\"{digest}\"}}"));
    log.extend(text.lines().take(64).map(line));
    let Some(found) = unsaved(log.as_bytes(), &digest, &design.job) else { return };
    kept(&found.job);
    let (mut job, mut history) = (found.job, found.history);
    while let Some(_label) = history.undo(&mut job, unkept).unwrap_or_else(|error| panic!("{error}")) {}
    assert!(job == design.job, "all undone, but another job");
}

fn line(json: &str) -> String {
    let hash = blake3::hash(json.as_bytes()).to_hex();
    format!("{} {json}\n", &hash[..8])
}

/// A field of a thing.
type Place = (Subject, Option<Spot>, &'static Field);

/// The fields there are, each with some things it can stand in.
fn all_fields(job: &Job) -> Vec<Place> {
    let (index, _) = Index::new(job);
    let mut things = vec![
        (Subject::new(Kind::Project, "project"), None),
        (Subject::new(Kind::Settings, "settings"), None),
    ];
    let all = index.all();
    // Of each kind the first, the last and one between.
    for same in all.chunk_by(|one, other| one.0 == other.0) {
        let some = [0, same.len() / 2, same.len() - 1].map(|at| same[at]);
        things.extend(some.map(|(kind, id, spot)| (Subject::new(kind, id), Some(spot))));
    }
    let fields = |(subject, spot): (Subject, Option<Spot>)| {
        of(subject.kind, spot).iter().map(move |field| (subject.clone(), spot, field))
    };
    things.into_iter().flat_map(fields).collect()
}

/// What is typed into a field of a form, or after a command.
pub fn typed(data: &[u8]) {
    static FIELDS: OnceLock<[Vec<Place>; 2]> = OnceLock::new();
    let Some((choice, text)) = data.split_at_checked(3) else { return };
    let Ok(text) = std::str::from_utf8(text) else { return };
    for bare in [None, Some(LengthUnit::Feet), Some(LengthUnit::Metres)] {
        if let Ok(length) = Length::parse(text, bare) {
            let again = Length::parse(&length.written(), None);
            assert!(again == Ok(length), "{length:?} is written as {}", length.written());
            drop((length.shown(LengthUnit::Feet), length.shown(LengthUnit::Metres)));
            assert!(length.feet().is_finite());
        }
    }
    let fields = FIELDS.get_or_init(|| [0, 1].map(|which| all_fields(&base(which).0.job)));
    let (design, _) = base(choice[0]);
    let job = &design.job;
    let fields = &fields[usize::from(choice[0] % 2)];
    let at = usize::from(u16::from_le_bytes([choice[1], choice[2]])) % fields.len();
    let (subject, spot, field) = &fields[at];
    let Some(mut changed) = thing(job, &design.index, subject) else { return };
    if field.put(job, &mut changed, text).is_err() {
        return;
    }
    let owner = spot.and_then(|spot| parent(job, spot)).map(|owner| owner.kind);
    if fits(subject.kind, owner, &changed).is_err() {
        return;
    }
    let shown = field.text(&changed);
    let mut again = changed.clone();
    field
        .put(job, &mut again, &shown)
        .unwrap_or_else(|why| panic!("{shown:?} is shown but not taken: {why}"));
    assert_eq!(field.text(&again), shown, "{} of {subject}", field.label);
    let value = changed.get(field.path[0]).cloned().unwrap_or_default();
    let mut with = job.clone();
    let set = Edit::Set { subject: subject.clone(), field: field.path[0].into(), value };
    if let Ok(back) = apply(&mut with, set) {
        // The whole job is written and read again for one in four, since that takes most of the time.
        if choice[0] & 0x18 == 0 {
            kept(&with);
        }
        apply(&mut with, back).unwrap_or_else(|error| panic!("not undone: {error}"));
        assert!(with == *job, "undone to another job");
    }
}

/// As many keys are taken; what a longer run would find, a shorter one finds too.
const MOST_KEYS: usize = 32;

/// What comes from the terminal: bytes into keys and pastes, and those into the views. The first byte chooses the job
/// and the size.
pub fn keys(data: &[u8]) {
    let Some((choice, bytes)) = data.split_first() else { return };
    let (width, height) = [(80, 24), (132, 43), (60, 20), (40, 10), (20, 5), (3, 2), (0, 0), (200, 70)]
        [usize::from(choice >> 1) % 8];
    let mut parser = Parser::new(Duration::from_millis(50));
    let (mut inputs, start) = (Vec::new(), Instant::now());
    // In pieces, since bytes that come together may be taken for a paste.
    for piece in bytes.chunks(4) {
        parser.feed(piece, start, &mut inputs);
    }
    parser.expire(start + Duration::from_secs(10), &mut inputs);
    let design = base(*choice).0.clone();
    let mut app = App::new(design, "job.ron", Box::new(NoLedger));
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    let last = inputs.len().min(MOST_KEYS);
    for (turn, input) in (1..).zip(inputs.into_iter().take(MOST_KEYS)) {
        let effect = within_a_second(|| match input {
            Input::Key(key) => app.key(key),
            Input::Paste(text) => {
                app.paste(&text);
                Effect::None
            }
        });
        match effect {
            Effect::Quit => break,
            Effect::Save | Effect::SaveOver => app.saved(),
            Effect::SaveBeside => app.saved_as("job-2.ron"),
            Effect::ReadJob(_) => app.take_over_from("other.ron", &base(choice ^ 1).0.job),
            Effect::ReadTable(path) => app.take_table("rooms.csv", &path.display().to_string()),
            _ => {}
        }
        // Keys come faster than frames: not each is followed by one.
        if turn % 3 != 0 && turn != last {
            continue;
        }
        buffer.reset();
        let cursor = within_a_second(|| draw(&mut app, buffer.area, &mut buffer));
        assert!(cursor.is_none_or(|at| buffer.area.contains(at)), "{cursor:?} is outside");
        for cell in &buffer.content {
            // Most cells are one plain sign.
            if !matches!(cell.symbol().as_bytes(), [b' '..=b'~']) {
                harmless("a view", cell.symbol());
            }
        }
    }
    // One time in four, since writing and reading takes as long as all the keys.
    if choice & 0x30 == 0 && app.design().job != base(*choice).0.job {
        kept(&app.design().job);
    }
}
