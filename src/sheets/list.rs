//! Every sheet there is. To add one, add a line.

use super::{Entry, json, pictures};
use crate::design::Design;
use crate::schedule::{cables, directory, findings, loading, rough_in, slots, tags, trim, voltages};

/// The sheets by name, in the order of the help.
pub const SHEETS: &[Entry<Design>] = &[
    Entry {
        name: "voltages",
        about: "what each fixture sees",
        tables: |design| vec![voltages::table(design)],
        drawings: None,
        json: |design| json::pretty(&voltages::document(design)),
    },
    Entry {
        name: "loading",
        about: "what each output and panel carries",
        tables: |design| vec![loading::table(design)],
        drawings: None,
        json: |design| json::pretty(&loading::document(design)),
    },
    Entry {
        name: "slots",
        about: "what sits where in the panels",
        tables: |design| vec![slots::table(design)],
        drawings: None,
        json: |design| json::pretty(&slots::document(design)),
    },
    Entry {
        name: "cables",
        about: "every cable to pull, from where to where",
        tables: |design| vec![cables::table(design, true)],
        drawings: None,
        json: |design| json::pretty(&cables::document(design)),
    },
    Entry {
        name: "tags",
        about: "a flag for each cable end",
        tables: |design| vec![tags::table(design)],
        drawings: None,
        json: |design| json::pretty(&tags::document(design)),
    },
    Entry {
        name: "rough-in",
        about: "room by room, what is set, bored and pulled before the board",
        tables: |design| vec![rough_in::table(design)],
        drawings: None,
        json: |design| json::pretty(&rough_in::document(design)),
    },
    Entry {
        name: "trim",
        about: "room by room, what is hung after paint and how it is joined",
        tables: |design| vec![trim::table(design)],
        drawings: None,
        json: |design| json::pretty(&trim::document(design)),
    },
    Entry {
        name: "directory",
        about: "the card inside the panel door: what each output feeds",
        tables: directory::tables,
        drawings: None,
        json: |design| json::pretty(&directory::document(design)),
    },
    Entry {
        name: "findings",
        about: "what is wrong, by cause, with what helps",
        tables: |design| vec![findings::table(design)],
        drawings: None,
        json: |design| json::pretty(&findings::document(design)),
    },
    Entry {
        name: "riser",
        about: "what hangs on what, as a picture",
        tables: |_| Vec::new(),
        drawings: Some(pictures::riser_drawings),
        json: |design| json::pretty(&pictures::riser_document(design)),
    },
    Entry {
        name: "plan",
        about: "each level with everything at its place, as a picture",
        tables: |_| Vec::new(),
        drawings: Some(pictures::plan_drawings),
        json: |design| json::pretty(&pictures::plan_document(design)),
    },
];
