//! stub
use super::{Finding, Group};
use crate::design::Design;
/// A remedy.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// Text.
    pub text: String,
}
/// Remedies.
pub fn remedies(_design: &Design, _finding: &Finding) -> Vec<Remedy> {
    Vec::new()
}
/// Said.
pub fn said(_design: &Design, group: &Group) -> String {
    group.worst().map(|f| f.remedy.clone()).unwrap_or_default()
}
