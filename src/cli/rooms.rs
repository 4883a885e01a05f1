//! `studbay rooms`: the table of rooms, out of a job and into it.

use super::args::RoomsArgs;
use super::{Outcome, load, save, say, sheet::keep_jobs};
use crate::format::Text;
use crate::intake::{self, MOST_BYTES, Made};
use crate::job::edit::apply;
use crate::store;
use anyhow::Context;
use std::io::Write;

pub(super) fn run(args: &RoomsArgs, out: &mut dyn Write, err: &mut dyn Write) -> anyhow::Result<Outcome> {
    let (mut job, _) = load(&args.job)?;
    let Some(path) = &args.table else {
        if let Some(path) = &args.out {
            keep_jobs(path, &args.job)?;
        }
        let table = intake::write(&job).context("the table cannot be written")?;
        match &args.out {
            Some(path) => store::replace(path, table.csv.as_bytes())?,
            None => say::print(out, table.csv.as_bytes())?,
        }
        if !table.left_out.is_empty() {
            say::complain(err, &format!("error: not in the table: {}", table.left_out.join("; ")));
        }
        return Ok(Outcome::Fine);
    };
    let most = u64::try_from(MOST_BYTES).context("the size limit is out of range")?;
    let text = store::read_text(path, most)?;
    let file = Text::from(path.display().to_string());
    let taken = intake::read(&job, &text).map_err(|flaws| {
        let lines: Vec<String> = flaws.to_string().lines().map(|line| format!("{file}: {line}")).collect();
        anyhow::anyhow!("{}", lines.join("\n"))
    })?;
    let name = Text::from(args.job.display().to_string());
    let made = said(taken.made);
    let line = if args.write {
        apply(&mut job, taken.edit)?;
        save(&args.job, &job)?;
        format!("Made in '{name}': {made}.\n")
    } else {
        format!(
            "The table makes {made}.\nNext: put them into the job:  studbay rooms {name} --in {file} --write\n"
        )
    };
    say::print(out, line.as_bytes())?;
    Ok(Outcome::Fine)
}

fn said(made: Made) -> String {
    let Made { levels, rooms, wall_boxes, home_runs, controls, loops, lights } = made;
    let counts = [
        (levels, "level", "levels"),
        (rooms, "room", "rooms"),
        (wall_boxes, "wall box", "wall boxes"),
        (home_runs, "home run", "home runs"),
        (controls, "control", "controls"),
        (loops, "loop", "loops"),
        (lights, "ceiling box", "ceiling boxes"),
    ];
    let some = counts.into_iter().filter(|(n, ..)| *n > 0);
    let said: Vec<String> =
        some.map(|(n, one, more)| format!("{n} {}", if n == 1 { one } else { more })).collect();
    if said.is_empty() { "nothing new".into() } else { said.join(", ") }
}
