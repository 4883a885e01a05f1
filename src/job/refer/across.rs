//! What only a look across the whole job shows: tags given twice, and feeds that come from themselves.

use super::{Checker, Lost, path_of};
use crate::job::limits::MOST_ONWARD;
use crate::job::locate::Step::{Field, Item};
use crate::job::wiring::Source;
use crate::job::{Id, Job, Kind, Tag};
use std::collections::HashMap;

/// Every tag with the thing it is of, in the order of the file.
fn tagged(job: &Job) -> Vec<(&Tag, Kind, &Id)> {
    let mut all: Vec<(Option<&Tag>, Kind, &Id)> = Vec::new();
    for wall_box in &job.boxes {
        all.extend(wall_box.feeds.iter().map(|feed| (feed.tag.as_ref(), Kind::Cable, &feed.id)));
        for run in wall_box.controls.iter().flat_map(|control| &control.loops) {
            all.push((run.tag.as_ref(), Kind::Cable, &run.id));
            all.extend(run.ceiling.iter().map(|box_| (box_.tag.as_ref(), Kind::Fixture, &box_.id)));
        }
    }
    let links = job.groups.iter().flat_map(|group| &group.links);
    all.extend(links.map(|link| (link.tag.as_ref(), Kind::Cable, &link.id)));
    all.into_iter().filter_map(|(tag, kind, id)| Some((tag?, kind, id))).collect()
}

impl Checker<'_> {
    /// A tag is on the flags of one thing.
    pub(super) fn tags(&mut self) {
        let mut first: HashMap<String, String> = HashMap::new();
        for (tag, kind, id) in tagged(self.job) {
            let words = format!("{} '{id}'", kind.word());
            let Some(other) = first.get(&tag.folded()) else {
                first.insert(tag.folded(), words);
                continue;
            };
            let mut path = self.index.spot(kind, id).map(path_of).unwrap_or_default();
            path.push(Field("tag"));
            let what = format!("the tag '{tag}' of {words} is that of {other} already");
            let hint = Some("give one of them another, the one whose flags were not made yet".to_owned());
            self.lost.push(Lost { path, what, hint });
        }
    }

    /// Boxes that feed each other in a circle have no source at all.
    pub(super) fn circles(&mut self) {
        let job = self.job;
        for (box_at, wall_box) in job.boxes.iter().enumerate() {
            for (feed_at, feed) in wall_box.feeds.iter().enumerate() {
                let mut way = vec![feed.id.as_str()];
                let mut next = feed;
                while let Source::Onward(from) = &next.from {
                    let Some((_, from)) = self.index.feed(job, from) else {
                        break;
                    };
                    if from.id.same(&feed.id) {
                        let what =
                            format!("the feed '{}' comes from itself: {}", feed.id, way.join(" from "));
                        let path =
                            [Field("boxes"), Item(box_at), Field("feeds"), Item(feed_at), Field("from")];
                        let hint = Some("one of these boxes must be fed by a home run".to_owned());
                        self.lost.push(Lost { path: path.to_vec(), what, hint });
                        break;
                    }
                    if way.contains(&from.id.as_str()) {
                        break; // a circle further up: reported at its own members
                    }
                    way.push(from.id.as_str());
                    if way.len() > MOST_ONWARD {
                        let what =
                            format!("the feed '{}' comes over more than {MOST_ONWARD} others", feed.id);
                        let path =
                            [Field("boxes"), Item(box_at), Field("feeds"), Item(feed_at), Field("from")];
                        let hint = Some("feed some of the boxes by home runs".to_owned());
                        self.lost.push(Lost { path: path.to_vec(), what, hint });
                        break;
                    }
                    next = from;
                }
            }
        }
    }
}
