//! What helps against the finding under the cursor.

use super::super::trying::{Trial, Tried};
use super::App;
use crate::checks::Finding;

impl App {
    /// What is to be tried out for what is on the screen, if anything is.
    pub fn trial(&self) -> Option<Trial> {
        let hidden =
            self.question.is_some() || self.form.is_some() || self.help.is_some() || self.desk.is_some();
        if hidden {
            return None;
        }
        self.tries.trial(&self.design, self.finding_here()?)
    }

    /// Takes what was tried out.
    pub fn tried(&mut self, tried: Tried) {
        self.tries.take(tried);
    }

    /// What to do about a finding: what was tried and helps, or as long as that is not known, in general.
    pub(in crate::tui) fn to_do(&self, finding: &Finding) -> String {
        match self.tries.against(finding) {
            [] => finding.remedy.clone(),
            tried => tried.join(", or "),
        }
    }

    /// All of what was tried against the finding under the cursor, line by line.
    pub(super) fn all_to_do(&self) -> Vec<String> {
        let Some(finding) = self.finding_here() else { return Vec::new() };
        let tried = self.tries.against(finding);
        if tried.is_empty() {
            return Vec::new();
        }
        let head = format!("What helps against [{}] {}, each tried out:", finding.code, finding.what);
        let each = tried.iter().map(|text| format!("  - {text}"));
        std::iter::once(head).chain(each).chain([String::new()]).collect()
    }
}
