//! The files that prompts ask for: another job, a table of rooms in and out. `~` is the home folder.

use crate::job::{Job, read};
use crate::store;
use anyhow::Context;
use std::path::Path;

/// The text of a file of at most so many bytes.
pub(super) fn text_of(path: &Path, most: usize) -> anyhow::Result<String> {
    let most = u64::try_from(most).context("the size limit is out of range")?;
    Ok(store::read_text(&store::typed(path), most)?)
}

/// Another job, read and checked whole.
pub(super) fn other_job(path: &Path) -> anyhow::Result<Job> {
    let text = text_of(path, read::MOST_BYTES)?;
    Ok(read::from_str(&path.display().to_string(), &text)?.0)
}

/// Writes the table of rooms into a new file, and says what it could not hold.
pub(super) fn write_table(path: &Path, job: &Job) -> anyhow::Result<String> {
    let table = crate::intake::write(job).context("the table cannot be written")?;
    let path = store::typed(path);
    store::create(&path, table.csv.as_bytes())?;
    let mut said = format!("wrote the table of rooms to {}", path.display());
    if !table.left_out.is_empty() {
        said.push_str("; not in it: ");
        said.push_str(&table.left_out.join("; "));
    }
    Ok(said)
}

#[cfg(test)]
mod tests {
    use super::*;

    const STARTER: &str = include_str!("../../job/starter.ron");

    #[test]
    fn a_job_and_a_table_are_read_and_written_once() {
        let folder = tempfile::tempdir().unwrap();
        let job_file = folder.path().join("other.ron");
        store::create(&job_file, STARTER.as_bytes()).unwrap();
        let job = other_job(&job_file).unwrap();
        let table = folder.path().join("rooms.csv");
        let said = write_table(&table, &job).unwrap();
        assert!(said.contains("wrote the table of rooms to") && said.contains("rooms.csv"), "{said}");
        let text = text_of(&table, crate::intake::MOST_BYTES).unwrap();
        assert_eq!(text, crate::intake::write(&job).unwrap().csv);
        // What is there already is never written over.
        let refused = write_table(&table, &job).unwrap_err().to_string();
        assert!(refused.contains("rooms.csv"), "{refused}");
        assert_eq!(text_of(&table, crate::intake::MOST_BYTES).unwrap(), text);
    }

    #[test]
    fn a_file_that_cannot_be_used_says_which_and_why() {
        let folder = tempfile::tempdir().unwrap();
        let named = |name: &str| folder.path().join(name);
        let gone = format!("{:#}", other_job(&named("gone.ron")).unwrap_err());
        assert!(gone.contains("gone.ron") && gone.contains("No such file"), "{gone}");
        let is_folder = format!("{:#}", text_of(folder.path(), 100).unwrap_err());
        assert!(is_folder.contains("folder"), "{is_folder}");
        store::create(&named("bad.ron"), b"(format: (1, 0), levels: 3)").unwrap();
        let bad = format!("{:#}", other_job(&named("bad.ron")).unwrap_err());
        assert!(bad.contains("bad.ron"), "{bad}");
        store::create(&named("long.csv"), &[b'x'; 101]).unwrap();
        let long = format!("{:#}", text_of(&named("long.csv"), 100).unwrap_err());
        assert!(long.contains("long.csv"), "{long}");
        store::create(&named("bytes.csv"), &[0xff, 0xfe]).unwrap();
        assert!(text_of(&named("bytes.csv"), 100).is_err());
    }
}
