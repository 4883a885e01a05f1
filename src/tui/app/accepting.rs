//! Accepting findings, and taking an acceptance back.

use super::super::form::tool::Tool;
use super::App;
use crate::checks;
use crate::checks::Finding;

impl App {
    /// Asks who accepts the finding under the cursor and why; what is accepted already is taken back.
    pub(super) fn accept_finding(&mut self) {
        if !self.writable() {
            return;
        }
        match self.finding_here().cloned() {
            None => self.say("there is no finding on this line"),
            Some(finding) if finding.accepted.is_some() => self.take_back(&finding),
            Some(finding) => self.open_tool(Tool::Accept(Box::new(finding))),
        }
    }

    fn take_back(&mut self, finding: &Finding) {
        let label = format!("take back the acceptance of {} of {}", finding.code, finding.subject);
        match self.commit(label.clone(), checks::refuse(&self.design.job, finding)) {
            Ok(()) => self.say(format!("{label}; u undoes it")),
            Err(reason) => self.say(format!("not taken back: {reason}")),
        }
    }
}
