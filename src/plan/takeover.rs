//! Takes catalogue entries and settings over from another job, and starts a job from another.

use crate::job::edit::Edit;
use crate::job::value::{field, held};
use crate::job::{Format, Id, Index, Job, Kind, Project, Subject};
use std::collections::HashSet;

/// The kinds of the catalogue, what is named before what names it.
pub const CATALOGUE: [Kind; 7] = [
    Kind::ConductorPlan,
    Kind::CableType,
    Kind::FixtureType,
    Kind::SupplyType,
    Kind::ControlType,
    Kind::BoxType,
    Kind::Meter,
];

/// What is taken over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// The whole catalogue and the settings.
    All,
    /// The whole catalogue.
    Catalogue,
    /// One kind of the catalogue.
    OfKind(Kind),
    /// The settings.
    Settings,
    /// These things, with the conductor plans they name.
    These(Vec<Subject>),
}

/// What taking over comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Takeover {
    /// One edit that takes it over.
    pub edit: Edit,
    /// What is new here.
    pub new: Vec<Subject>,
    /// What has the same id here but another content.
    pub differing: Vec<Subject>,
    /// What was here already, the same.
    pub same: usize,
}

/// Takes over what another job has. What has the same id here but another content is reported, and left as it is unless
/// `replace` says otherwise; settings that differ are always taken, being what was asked for.
pub fn take_over(job: &Job, other: &Job, what: &What, replace: bool) -> Takeover {
    let mut taken =
        Takeover { edit: Edit::Together(Vec::new()), new: Vec::new(), differing: Vec::new(), same: 0 };
    let mut edits = Vec::new();
    let (here, there) = (Index::new(job).0, Index::new(other).0);
    for subject in wanted(other, what) {
        let Some(theirs) = held(other, &there, &subject) else { continue };
        match held(job, &here, &subject) {
            Some(ours) if same(&ours.value, &theirs.value) => taken.same += 1,
            Some(ours) => {
                if replace {
                    let kind = subject.kind;
                    edits.push(Edit::Remove { subject: subject.clone() });
                    edits.push(Edit::Insert { kind, parent: None, at: ours.at, value: theirs.value });
                }
                taken.differing.push(subject);
            }
            None => {
                let kind = subject.kind;
                edits.push(Edit::Insert { kind, parent: None, at: usize::MAX, value: theirs.value });
                taken.new.push(subject);
            }
        }
    }
    if matches!(what, What::All | What::Settings) {
        edits.extend(settings(job, other));
    }
    taken.edit = Edit::Together(edits);
    taken
}

/// Whether two entries are the same, with ids that differ by case only taken for the same.
fn same(ours: &serde_json::Value, theirs: &serde_json::Value) -> bool {
    let rest = |value: &serde_json::Value| {
        let mut value = value.clone();
        if let Some(fields) = value.as_object_mut() {
            fields.remove("id");
        }
        value
    };
    rest(ours) == rest(theirs)
}

fn settings(job: &Job, other: &Job) -> Vec<Edit> {
    let subject = Subject::new(Kind::Settings, "settings");
    let names = |job: &Job| -> Vec<String> {
        let value = serde_json::to_value(&job.settings).unwrap_or_default();
        value.as_object().map(|fields| fields.keys().cloned().collect()).unwrap_or_default()
    };
    let mut fields = names(other);
    // What the other leaves out is at its default there.
    let more: Vec<String> = names(job).into_iter().filter(|name| !fields.contains(name)).collect();
    fields.extend(more);
    let index = Index::default();
    let differing = fields.into_iter().filter_map(|name| {
        let value = field(other, &index, &subject, &name)?;
        (field(job, &index, &subject, &name)? != value).then(|| Edit::Set {
            subject: subject.clone(),
            field: name,
            value,
        })
    });
    differing.collect()
}

/// What is asked for, in an order in which each is there before it is named.
fn wanted(other: &Job, what: &What) -> Vec<Subject> {
    let all = |kind: Kind| -> Vec<Subject> {
        let parts = &other.catalogue;
        let ids: Vec<&Id> = match kind {
            Kind::ConductorPlan => parts.plans.iter().map(|e| &e.id).collect(),
            Kind::CableType => parts.cables.iter().map(|e| &e.id).collect(),
            Kind::FixtureType => parts.fixtures.iter().map(|e| &e.id).collect(),
            Kind::SupplyType => parts.supplies.iter().map(|e| &e.id).collect(),
            Kind::ControlType => parts.controls.iter().map(|e| &e.id).collect(),
            Kind::BoxType => parts.boxes.iter().map(|e| &e.id).collect(),
            Kind::Meter => parts.meters.iter().map(|e| &e.id).collect(),
            _ => Vec::new(),
        };
        ids.into_iter().map(|id| Subject::new(kind, id)).collect()
    };
    let asked: Vec<Subject> = match what {
        What::All | What::Catalogue => CATALOGUE.into_iter().flat_map(all).collect(),
        What::OfKind(kind) => all(*kind),
        What::Settings => Vec::new(),
        What::These(subjects) => {
            subjects.iter().filter(|subject| CATALOGUE.contains(&subject.kind)).cloned().collect()
        }
    };
    let index = Index::new(other).0;
    let mut wanted = Vec::new();
    let mut seen = HashSet::new();
    for subject in asked {
        let cable = Id::new(&subject.id).ok().filter(|_| subject.kind == Kind::CableType);
        let plan = cable.and_then(|id| index.cable_type(other, &id)).map(|cable| &cable.plan);
        let plan = plan.map(|plan| Subject::new(Kind::ConductorPlan, plan));
        for subject in plan.into_iter().chain([subject]) {
            if seen.insert((subject.kind, subject.id.to_ascii_lowercase())) {
                wanted.push(subject);
            }
        }
    }
    wanted
}

/// A job with the catalogue, the settings and the units of another, and no house yet.
pub fn start_from(other: &Job) -> Job {
    Job {
        accepted: Vec::new(),
        format: Format::CURRENT,
        project: Project {
            stage: crate::job::Stage::default(),
            title: "New house".into(),
            address: String::new(),
            revision: "0".into(),
            by: other.project.by.clone(),
            units: other.project.units,
            notes: Vec::new(),
        },
        settings: other.settings.clone(),
        catalogue: other.catalogue.clone(),
        levels: Vec::new(),
        panels: Vec::new(),
        boxes: Vec::new(),
        groups: Vec::new(),
    }
}
