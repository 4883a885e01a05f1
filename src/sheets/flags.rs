//! The flags of cable ends as labels on the paper that the job is set to.

use super::pdf::labels::{Grid, Label, Labels};
use crate::design::Design;
use crate::schedule::tags;

/// A label for each flag, in the order of the list of them.
pub(super) fn labels(design: &Design) -> Labels {
    let sheet = tags::document(design);
    let grid = design.job.settings.labels;
    let not_stored = sheet.flags.iter().filter(|flag| !flag.stored).count();
    let label = |flag: &tags::Flag| Label {
        big: (&flag.flag).into(),
        small: flag.beneath.iter().map(Into::into).collect(),
    };
    Labels {
        title: "Tags for cable ends".into(),
        not_ready: (not_stored > 0).then(|| {
            format!(
                "{not_stored} of {} flags have tags that are not stored yet and may still change; print them with \
                 --write, which stores the tags for good, or print the list as text",
                sheet.flags.len()
            )
        }),
        labels: sheet.flags.iter().map(label).collect(),
        grid: Grid {
            columns: grid.columns.get().into(),
            rows: grid.rows.get().into(),
            width: grid.width,
            height: grid.height,
            left: grid.left,
            top: grid.top,
            across: grid.gap_across,
            down: grid.gap_down,
        },
    }
}
