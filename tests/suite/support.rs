//! What several test modules share.

use std::path::{Path, PathBuf};

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
