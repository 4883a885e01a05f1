//! What stands at the top of every page.

use crate::format::Text;
use crate::job::Project;
use crate::units::LengthUnit;
use jiff::civil::Date;

/// Whose sheet it is and of when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// The job's title.
    pub project: Text,
    /// Where the house stands.
    pub address: Text,
    /// The plan's revision.
    pub revision: Text,
    /// Who made the plan.
    pub by: Text,
    /// The day it is printed.
    pub date: Date,
    /// The unit of its lengths.
    pub unit: LengthUnit,
}

impl Heading {
    /// The heading of a job's sheets printed on that day.
    pub fn of(project: &Project, date: Date) -> Self {
        Self {
            project: Text::from(&project.title),
            address: Text::from(&project.address),
            revision: Text::from(&project.revision),
            by: Text::from(&project.by),
            date,
            unit: project.units,
        }
    }

    /// The revision in words, said also when there is none.
    pub fn revision_line(&self) -> String {
        if self.revision.is_empty() { "no revision".into() } else { format!("revision {}", self.revision) }
    }

    /// The date and who made it.
    pub fn made(&self) -> String {
        if self.by.is_empty() { self.date.to_string() } else { format!("{}, by {}", self.date, self.by) }
    }
}
