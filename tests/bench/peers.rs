//! What others take for the same, in the same run: an outside circuit simulator, and two programs of a terminal.

use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::fmt::Write as _;
use std::io::{Read, Write};
use std::process::Command;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;
use studbay::design::Design;
use studbay::study::Study;
use studbay::study::circuit::{Circuit, Draw, solve};

/// Whether a program is there to be asked.
fn is_there(program: &str) -> bool {
    Command::new(program).arg("--version").output().is_ok()
}

fn circuits(design: &Design) -> Vec<Circuit> {
    let parts = 0..design.network.parts.len();
    let circuit = |part| Study::circuit(&design.job, &design.index, &design.network, part);
    parts.filter_map(circuit).collect()
}

/// Every circuit of a house on one deck.
fn deck(circuits: &[Circuit]) -> String {
    let mut deck = String::from("* a house\n");
    let mut start = String::new();
    for (part, circuit) in circuits.iter().enumerate() {
        let node = |at: usize| format!("n{part}_{at}");
        let _ = writeln!(deck, "V{part} {} 0 DC {}", node(0), circuit.source_volts);
        for (at, branch) in circuit.branches.iter().enumerate() {
            let ohms = branch.ohms.max(1e-9);
            let _ = writeln!(deck, "R{part}_{at} {} {} {ohms}", node(branch.a), node(branch.b));
        }
        for (at, load) in circuit.loads.iter().enumerate() {
            let volts = node(load.node);
            let _ = match load.draws {
                Draw::Power { watts } => writeln!(deck, "B{part}_{at} {volts} 0 I={watts}/max(V({volts}),1)"),
                Draw::Current { amps } => writeln!(deck, "I{part}_{at} {volts} 0 DC {amps}"),
                Draw::Resistance { ohms } => writeln!(deck, "RL{part}_{at} {volts} 0 {ohms}"),
                Draw::Worst(_) | Draw::Least(_) => Ok(()),
            };
        }
        for at in 1..circuit.nodes {
            let _ = writeln!(start, ".nodeset V({})={}", node(at), circuit.source_volts);
        }
    }
    deck + &start
}

/// Seconds that the simulator says its own analysis of the house took, and the farthest its volts at the last node of
/// each circuit are from ours.
pub(crate) fn simulated(design: &Design) -> Option<(f64, f64)> {
    if !is_there("ngspice") {
        return None;
    }
    let circuits = circuits(design);
    let mut deck = deck(&circuits);
    deck.push_str(".options acct\n.control\nset numdgt=10\nop\nrusage time\n");
    for (part, circuit) in circuits.iter().enumerate() {
        let _ = writeln!(deck, "print v(n{part}_{})", circuit.nodes - 1);
    }
    deck.push_str("rusage all\n.endc\n.end\n");
    let folder = tempfile::tempdir().ok()?;
    let file = folder.path().join("house.cir");
    std::fs::write(&file, deck).ok()?;
    let output = Command::new("ngspice").arg("-b").arg(&file).output().ok()?;
    let text =
        String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    let seconds = |name: &str| {
        let line = text.lines().find(|line| line.contains(name))?;
        line.split('=').nth(1)?.split_whitespace().next()?.parse::<f64>().ok()
    };
    let took = seconds("Total analysis time")?;
    let mut farthest: f64 = 0.0;
    let mut told = 0;
    for line in text.lines() {
        let Some((name, volts)) = line.split_once(" = ") else { continue };
        let Some(place) = name.trim().strip_prefix("v(n").and_then(|name| name.strip_suffix(')')) else {
            continue;
        };
        let (part, node) = place.split_once('_')?;
        let (part, node): (usize, usize) = (part.parse().ok()?, node.parse().ok()?);
        let ours = solve(circuits.get(part)?).ok()?;
        farthest = farthest.max((ours.volts.get(node)? - volts.trim().parse::<f64>().ok()?).abs());
        told += 1;
    }
    (told == circuits.len()).then_some((took, farthest))
}

/// What a program sends to a terminal of 80x24: first frame, a row down, a page down.
pub(crate) struct Traffic {
    pub(crate) first: usize,
    pub(crate) row: usize,
    pub(crate) page: usize,
}

fn sent(output: &Receiver<usize>) -> usize {
    // So long silence means that it is done.
    let mut all = 0;
    while let Ok(count) = output.recv_timeout(Duration::from_millis(400)) {
        all += count;
    }
    all
}

/// Measures a program of a terminal on a file of many lines; `None` where it is not there.
pub(crate) fn traffic(program: &str, args: &[&str], keys: [&str; 2], quit: &str) -> Option<Traffic> {
    if !is_there(program) {
        return None;
    }
    let pair =
        native_pty_system().openpty(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 }).ok()?;
    let mut command = CommandBuilder::new(program);
    command.args(args);
    command.env("TERM", "xterm-256color");
    command.env("LANG", "C.UTF-8");
    let mut child = pair.slave.spawn_command(command).ok()?;
    let mut reader = pair.master.try_clone_reader().ok()?;
    let mut writer = pair.master.take_writer().ok()?;
    let (sender, output) = channel();
    std::thread::spawn(move || {
        let mut bytes = [0; 8192];
        while let Ok(count @ 1..) = reader.read(&mut bytes) {
            if sender.send(count).is_err() {
                break;
            }
        }
    });
    let mut press = |keys: &str| {
        writer.write_all(keys.as_bytes()).ok()?;
        Some(sent(&output))
    };
    let first = press("")?;
    let (row, page) = (press(keys[0])?, press(keys[1])?);
    press(quit)?;
    child.kill().ok();
    child.wait().ok();
    Some(Traffic { first, row, page })
}
