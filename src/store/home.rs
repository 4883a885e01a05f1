//! The home folder in paths that people type.

use std::path::{Path, PathBuf};

/// A path as it was typed, with `~` for the home folder of whoever runs the program, as a shell takes it. The home of
/// somebody else (`~name`) is not looked up; `./~` is a file of that name.
pub fn typed(path: &Path) -> PathBuf {
    within(path, std::env::var_os("HOME").map(PathBuf::from).as_deref())
}

fn within(path: &Path, home: Option<&Path>) -> PathBuf {
    match (path.strip_prefix("~"), home.filter(|home| home.is_absolute())) {
        (Ok(rest), Some(home)) if rest.as_os_str().is_empty() => home.to_owned(),
        (Ok(rest), Some(home)) => home.join(rest),
        _ => path.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tilde_is_the_home_folder_and_nothing_else_is() {
        let home = Some(Path::new("/home/anna"));
        let whole = |path: &str| within(Path::new(path), home).display().to_string();
        assert_eq!(whole("~"), "/home/anna");
        assert_eq!(whole("~/"), "/home/anna");
        assert_eq!(whole("~/jobs/house.ron"), "/home/anna/jobs/house.ron");
        for same in ["~ben/house.ron", "./~/house.ron", "jobs/~", "/tmp/~/x", "", "house~"] {
            assert_eq!(whole(same), same);
        }
        assert_eq!(within(Path::new("~/x"), None), Path::new("~/x"));
        assert_eq!(within(Path::new("~/x"), Some(Path::new(""))), Path::new("~/x"));
    }
}
