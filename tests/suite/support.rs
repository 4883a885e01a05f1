//! What several test modules share.

use std::path::{Path, PathBuf};
use studbay::design::Design;
use studbay::job::read;

/// A path in the project.
pub(crate) fn project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Snapshots under `snapshots/FOLDER`, named by the test alone.
pub(crate) fn snapshots(folder: &str) -> insta::Settings {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(project("snapshots").join(folder));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings
}

/// The text of the job that `studbay new` writes.
pub(crate) const STARTER: &str = include_str!("../../src/job/starter.ron");

/// The starter with each text in it replaced; every one of them must be there.
pub(crate) fn starter_with(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(STARTER.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "'{from}' is not in the starter (any more)");
        text.replace(from, to)
    })
}

/// Everything derived from the text of a valid job.
pub(crate) fn design_of(text: &str) -> Design {
    Design::derive(read::from_str("job", text).unwrap_or_else(|error| panic!("{error}")).0)
}

/// Everything derived from the starter with each text in it replaced.
pub(crate) fn design_with(changes: &[(&str, &str)]) -> Design {
    design_of(&starter_with(changes))
}

/// The names of the samples.
pub(crate) const SAMPLES: [&str; 5] =
    ["cottage", "two-story", "large-house", "apartment-block", "usual-mistakes"];

/// Everything derived from a sample.
pub(crate) fn sample(name: &str) -> Design {
    design_of(&std::fs::read_to_string(project("sample-jobs").join(format!("{name}.ron"))).unwrap())
}

/// Whether two figures agree to a relative difference.
pub(crate) fn close(one: f64, other: f64, relative: f64) -> bool {
    (one - other).abs() <= relative * one.abs().max(other.abs())
}
