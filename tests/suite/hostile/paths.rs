//! Nothing in a job makes the program write anywhere but where its user said.

use super::{free, replaced, saved};
use crate::cli::drive_into;
use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use studbay::job::edit::Edit;
use studbay::job::history::History;
use studbay::job::{Kind, Subject};
use studbay::sheets::SHEETS;
use studbay::store::{Keeper, Unsaved};

/// Every file under a folder with what it holds.
fn everything(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(everything(&path));
        } else {
            let bytes = fs::read(&path).unwrap_or_default();
            found.insert(path, bytes);
        }
    }
    found
}

#[test]
fn a_path_in_a_job_is_only_a_text() {
    let folder = tempfile::tempdir().unwrap();
    let inner = folder.path().join("a/b/c");
    fs::create_dir_all(&inner).unwrap();
    let text = saved("cottage");
    for hostile in ["../../stolen", &folder.path().join("stolen").display().to_string()] {
        let job = replaced(&text, &free(&text), hostile);
        fs::write(inner.join("job.ron"), job).unwrap();
        let at = inner.join("job.ron").display().to_string();
        let out = inner.join("out").display().to_string();
        for sheet in SHEETS {
            drive_into(&inner, &["sheet", sheet.name, &at, "--out", &out], &mut Vec::new(), &mut Vec::new());
        }
        for args in [&["check", &*at][..], &["balance", &at, "--write"], &["rooms", &at], &["explain", &at]] {
            drive_into(&inner, args, &mut Vec::new(), &mut Vec::new());
        }
        let names: Vec<PathBuf> = everything(folder.path()).into_keys().collect();
        assert_eq!(names, [inner.join("job.ron"), inner.join("out")]);
    }
    assert!(!Path::new("stolen").exists() && !Path::new("../stolen").exists());
}

/// Somebody who may write into the folder lays links where the program writes beside a job.
#[test]
fn a_link_laid_beside_a_job_leads_nowhere() {
    for word in ["lock", "log", "orig", "theirs", "log.kept.1", "tmp"] {
        let folder = tempfile::tempdir().unwrap();
        let job = folder.path().join("job");
        fs::create_dir(&job).unwrap();
        let path = job.join("house.ron");
        fs::write(&path, saved("cottage") + "// a comment, so that there is something to leave beside\n")
            .unwrap();
        let precious = folder.path().join("precious");
        fs::write(&precious, "precious").unwrap();
        symlink("../precious", job.join(format!("house.ron.{word}"))).unwrap();
        symlink("../absent", job.join(format!(".house.ron.{}-0.tmp", std::process::id()))).unwrap();
        let mut opened = Keeper::open(&path).unwrap();
        let mut history = History::new();
        let edit = Edit::Set {
            subject: Subject::new(Kind::Project, "project"),
            field: "name".into(),
            value: "changed".into(),
        };
        let kept = history.perform(&mut opened.job, "name", edit, |entry| opened.keeper.record(entry));
        let saved = opened.keeper.save(&opened.job);
        opened.keeper.close(Unsaved::None);
        assert_eq!(fs::read_to_string(&precious).unwrap(), "precious", "by {word}: {kept:?} {saved:?}");
        assert!(!folder.path().join("absent").exists(), "by {word}");
    }
}
