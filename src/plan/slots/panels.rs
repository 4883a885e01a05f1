//! Which panel each run comes from: the total cable as short as it can be, no home run longer than the job allows.

use super::super::balance::{Problem, watts_of_runs};
use crate::design::Design;
use crate::job::catalogue::SupplyType;
use crate::job::edit::Edit;
use crate::job::panel::Panel;
use crate::job::site::CableRecord;
use crate::job::wiring::{Feed, Source};
use crate::job::{Job, Kind, Subject};
use crate::network::Lengths;
use crate::units::LengthUnit;
use serde::Serialize;
use serde_json::json;

/// A run that would come from another panel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PanelChange {
    /// The run.
    pub run: String,
    /// Its panel today.
    pub from: String,
    /// Its panel then.
    pub to: String,
    /// Its home run today.
    pub before_ft: f64,
    /// Its home run then.
    pub after_ft: f64,
}

/// A panel that would have to be added.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NewPanel {
    /// The room it would hang in.
    pub room: String,
    /// The wall box beside which it was reckoned.
    pub near: String,
    /// The runs that would come from it.
    pub runs: Vec<String>,
    /// Their longest home run.
    pub longest_ft: f64,
    /// Whether slots ask for it: the panels there are take no more supplies for these runs.
    pub for_slots: bool,
}

/// Which panel each run should come from.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct PanelPlan {
    /// All home runs today whose length is known.
    pub before_ft: f64,
    /// The same after the changes.
    pub after_ft: f64,
    /// No choice among the panels there are makes them shorter in all.
    pub bound_ft: f64,
    /// Runs that would come from another panel.
    pub changes: Vec<PanelChange>,
    /// Panels that are asked for by home runs too long from every panel there is, or by runs that find no slots.
    pub new_panels: Vec<NewPanel>,
    /// The unit in which the job shows lengths.
    #[serde(skip)]
    pub units: LengthUnit,
    /// What could not be reckoned with.
    pub problems: Vec<Problem>,
    /// What accepting the changes does to the job; none if there are none. New panels are not in it: where one can
    /// hang is for a person to say.
    #[serde(skip)]
    pub edit: Option<Edit>,
}

/// Chooses a panel for each run. Runs that are landed or pinned stay.
pub fn panels(design: &Design) -> PanelPlan {
    let job = &design.job;
    let mut plan = PanelPlan { units: job.project.units, ..PanelPlan::default() };
    let limit = job.settings.longest_home_run.feet();
    let mut room: Vec<f64> = job.panels.iter().map(|panel| watts_left(design, panel)).collect();
    let mut edits = Vec::new();
    let mut stranded: Vec<usize> = Vec::new();
    let mut wishes: Vec<(f64, usize, usize, f64, f64, bool)> = Vec::new();
    for (number, run) in design.network.runs.iter().enumerate() {
        let Some(at) = run.feeds.first() else { continue };
        let feed = &job.boxes[at.wall_box].feeds[at.feed];
        let Some(now) = job.panels.iter().position(|panel| panel.id.same(&run.panel)) else { continue };
        let Some(before) = length_from(design, number, now) else {
            plan.problems.push(Problem {
                what: format!("the length of home run {} is not known", run.id),
                remedy: "measure it, or give places, heights and ceilings".into(),
                runs: vec![run.id.to_string()],
            });
            continue;
        };
        plan.before_ft += before;
        let all =
            (0..job.panels.len()).filter_map(|panel| Some((length_from(design, number, panel)?, panel)));
        let shortest = all.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))).unwrap_or((before, now));
        let stays = feed.landed || feed.pinned;
        plan.bound_ft += if stays { before } else { shortest.0.min(before) };
        if (if stays { before } else { shortest.0.min(before) }) > limit {
            stranded.push(number);
        }
        plan.after_ft += before;
        if !stays && shortest.0 < before {
            wishes.push((before - shortest.0, number, shortest.1, before, shortest.0, before > limit));
        }
    }
    // Those that are too long today first, then those that save the most, as far as the panels have watts to give.
    wishes.sort_by(|a, b| b.5.cmp(&a.5).then(b.0.total_cmp(&a.0)).then(a.1.cmp(&b.1)));
    for (saved, number, to, before_ft, after_ft, _) in wishes {
        let run = &design.network.runs[number];
        let watts = design.study.run(&design.network, number).and_then(|study| study.source_watts);
        // Without known watts the panel's room can't be told: the run stays.
        let Some(watts) = watts.filter(|watts| *watts <= room[to]) else { continue };
        room[to] -= watts;
        plan.after_ft -= saved;
        edits.push(Edit::Set {
            subject: Subject::new(Kind::Cable, &run.id),
            field: "from".into(),
            value: json!({ "Panel": job.panels[to].id }),
        });
        plan.changes.push(PanelChange {
            run: run.id.to_string(),
            from: run.panel.to_string(),
            to: job.panels[to].id.to_string(),
            before_ft,
            after_ft,
        });
    }
    plan.edit = (!edits.is_empty()).then_some(Edit::Together(edits));
    let crowded = crowded(design, &plan);
    stranded.extend(crowded.iter().filter(|run| !stranded.contains(run)).copied().collect::<Vec<_>>());
    add_panels(design, stranded, &crowded, limit, &mut plan);
    plan
}

/// Runs for which their panel has no room with all its slots used: the longest home runs of it that may move, as many
/// as have to go. None while the watts of a run are not known.
fn crowded(design: &Design, plan: &PanelPlan) -> Vec<usize> {
    let job = &design.job;
    let mut found = Vec::new();
    let Some(loads) = watts_of_runs(design) else { return found };
    for (at, panel) in job.panels.iter().enumerate() {
        let mut room = most_watts(design, panel);
        let mut own: Vec<(f64, usize, f64)> = Vec::new();
        for &(number, _, watts) in loads.iter().filter(|(_, on, _)| *on == at) {
            let run = &design.network.runs[number];
            if plan.changes.iter().any(|change| run.id.as_str() == change.run) {
                continue;
            }
            room -= watts;
            let Some(place) = run.feeds.first() else { continue };
            let feed = &job.boxes[place.wall_box].feeds[place.feed];
            if !(feed.landed || feed.pinned) {
                own.push((length_from(design, number, at).unwrap_or(0.0), number, watts));
            }
        }
        own.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (_, number, watts) in own {
            if room >= 0.0 {
                break;
            }
            room += watts;
            found.push(number);
        }
    }
    found
}

/// Watts that a panel can give to the target, with its supplies and those that its free slots take.
fn most_watts(design: &Design, panel: &Panel) -> f64 {
    let job = &design.job;
    let target = job.settings.target_load_percent.get() / 100.0;
    let all = |part: &SupplyType| part.output_watts.get() * f64::from(part.outputs.get()) * target;
    let own = panel.supplies.iter().filter_map(|supply| design.index.supply_type(job, &supply.part)).map(all);
    let free = super::Room::of(design, panel);
    let more = job.catalogue.supplies.iter().map(|part| {
        let n = u16::try_from(free.more(part.slots.get().into())).unwrap_or(u16::MAX);
        f64::from(n) * all(part)
    });
    own.sum::<f64>() + more.fold(0.0, f64::max)
}

/// Watts that a panel can still give.
fn watts_left(design: &Design, panel: &Panel) -> f64 {
    let used = design.study.outputs.iter().filter(|output| output.panel.same(&panel.id));
    let used: f64 = used.map(|output| output.watts.or(output.limit_watts).unwrap_or(0.0)).sum();
    most_watts(design, panel) - used
}

/// The home run of a run from a panel, in feet; as measured where it comes from that panel today.
fn length_from(design: &Design, run: usize, panel: usize) -> Option<f64> {
    let job = &design.job;
    let at = design.network.runs[run].feeds.first()?;
    let (wall_box, id) = (&job.boxes[at.wall_box], &job.panels[panel].id);
    let feed = &wall_box.feeds[at.feed];
    let lengths = Lengths::new(job, &design.index);
    if design.network.runs[run].panel.same(id) {
        return Some(lengths.feed(wall_box, feed)?.length.feet());
    }
    let other = Feed {
        from: Source::Panel(id.clone()),
        measured: None,
        site: CableRecord::default(),
        ..feed.clone()
    };
    Some(lengths.feed(wall_box, &other)?.length.feet())
}

/// A place for a panel: how many runs it reaches, their cable in all, the wall box, and each run's length.
type Site = (usize, f64, usize, Vec<(usize, f64)>);

/// Places panels beside wall boxes until every stranded run is within the limit: each time where the most are, then
/// where their cable is shortest in all.
fn add_panels(
    design: &Design,
    mut stranded: Vec<usize>,
    crowded: &[usize],
    limit: f64,
    plan: &mut PanelPlan,
) {
    let job = &design.job;
    while !stranded.is_empty() {
        let mut best: Option<Site> = None;
        for &run in &stranded {
            let Some(at) = design.network.runs[run].feeds.first() else { continue };
            let site = &job.boxes[at.wall_box];
            let Some(place) = site.place else { continue };
            let mut moved = job.clone();
            let Some(panel) = moved.panels.first_mut() else { return };
            (panel.room, panel.place) = (site.room.clone(), Some(place));
            let reach: Vec<(usize, f64)> = stranded
                .iter()
                .filter_map(|&other| Some((other, length_from_first(design, &moved, other)?)))
                .filter(|(_, length)| *length <= limit)
                .collect();
            let total: f64 = reach.iter().map(|(_, length)| length).sum();
            let better = best.as_ref().is_none_or(|(most, shortest, ..)| {
                reach.len() > *most || (reach.len() == *most && total < *shortest)
            });
            if better {
                best = Some((reach.len(), total, at.wall_box, reach));
            }
        }
        let Some((_, _, site, reach)) = best.filter(|(most, ..)| *most > 0) else {
            let runs: Vec<String> =
                stranded.iter().map(|&run| design.network.runs[run].id.to_string()).collect();
            plan.problems.push(Problem {
                what: format!(
                    "home runs {} are longer than {} from every panel, or find no room in theirs",
                    runs.join(", "),
                    job.settings.longest_home_run
                ),
                remedy: "give their wall boxes a place, or use thicker cable".into(),
                runs,
            });
            return;
        };
        stranded.retain(|run| !reach.iter().any(|(reached, _)| reached == run));
        plan.new_panels.push(NewPanel {
            room: job.boxes[site].room.to_string(),
            near: job.boxes[site].id.to_string(),
            runs: reach.iter().map(|&(run, _)| design.network.runs[run].id.to_string()).collect(),
            longest_ft: reach.iter().map(|(_, length)| *length).fold(0.0, f64::max),
            for_slots: reach.iter().any(|(run, _)| crowded.contains(run)),
        });
    }
}

/// The home run of a run from the first panel of a job in which that one hangs elsewhere.
fn length_from_first(design: &Design, moved: &Job, run: usize) -> Option<f64> {
    let at = design.network.runs[run].feeds.first()?;
    let wall_box = &moved.boxes[at.wall_box];
    let from = Source::Panel(moved.panels.first()?.id.clone());
    let feed = Feed { from, measured: None, site: CableRecord::default(), ..wall_box.feeds[at.feed].clone() };
    Some(Lengths::new(moved, &design.index).feed(wall_box, &feed)?.length.feet())
}
