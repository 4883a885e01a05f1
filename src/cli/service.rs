//! `studbay service`: what dark lights share, from slot to box, and whether a substitute would do.

use super::args_site::ServiceArgs;
use super::{Outcome, load, say};
use crate::design::Design;
use crate::format::Text;
use crate::job::Id;
use crate::schedule::service;
use crate::site::{ChoiceState, dark, substitute};
use std::io::Write;

pub(super) fn run(args: &ServiceArgs, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let (job, _) = load(&args.job)?;
    let design = Design::derive(job);
    let id = |text: &String| Id::new(text).map_err(|bad| anyhow::anyhow!("{bad}"));
    let lights = args.lights.iter().map(id).collect::<anyhow::Result<Vec<Id>>>()?;
    let mut lines = Vec::new();
    let mut outcome = Outcome::Fine;
    if let Some(with) = &args.with {
        let with = id(with)?;
        for light in &lights {
            let choice = substitute(&design, light, &with).map_err(anyhow::Error::msg)?;
            if matches!(choice.state, ChoiceState::Needs(_)) {
                outcome = Outcome::Failing;
            }
            lines.extend(service::substitute_lines(&design, light, &choice));
        }
    } else {
        let dark = dark(&design, &lights).map_err(anyhow::Error::msg)?;
        lines.extend(service::dark_lines(&design, &dark));
    }
    let text: Vec<String> = lines.iter().map(|line| format!("{}\n", Text::from(line.as_str()))).collect();
    say::print(out, text.concat().as_bytes())?;
    Ok(outcome)
}
