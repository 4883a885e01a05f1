//! Every sheet there is. To add one, add a line.

use super::{Drawings, Entry, flags, json, pictures};
use crate::design::Design;
use crate::schedule::{
    bid, cables, costs, directory, findings, inspection, loading, materials, options, punch, readings, reels,
    rough_in, slots, tags, trim, voltages,
};

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
        name: "reels",
        about: "which reels to buy and which cut from which",
        tables: reels::tables,
        drawings: None,
        json: |design| json::pretty(&reels::document(design)),
    },
    Entry {
        name: "materials",
        about: "every part counted, and what to order for each phase",
        tables: materials::tables,
        drawings: None,
        json: |design| json::pretty(&materials::document(design)),
    },
    Entry {
        name: "bid",
        about: "the price and what is in it, for the client",
        tables: bid::tables,
        drawings: None,
        json: |design| json::pretty(&bid::document(design)),
    },
    Entry {
        name: "costs",
        about: "what the price is made of, for the office alone",
        tables: costs::tables,
        drawings: None,
        json: |design| json::pretty(&costs::document(design)),
    },
    Entry {
        name: "tags",
        about: "a flag for each cable end",
        tables: |design| vec![tags::table(design)],
        drawings: Some(Drawings::Labels(flags::labels)),
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
        name: "readings",
        about: "what a meter should read on each cable, with blanks",
        tables: |design| vec![readings::table(design)],
        drawings: None,
        json: |design| json::pretty(&readings::document(design)),
    },
    Entry {
        name: "punch",
        about: "what is pulled and tested, and what is in the way of board",
        tables: punch::tables,
        drawings: None,
        json: |design| json::pretty(&punch::document(design)),
    },
    Entry {
        name: "options",
        about: "fixtures still open: which are ready as wired, what others need",
        tables: |design| vec![options::table(design)],
        drawings: None,
        json: |design| json::pretty(&options::document(design)),
    },
    Entry {
        name: "findings",
        about: "what is wrong, by cause, with what helps",
        tables: |design| vec![findings::table(design)],
        drawings: None,
        json: |design| json::pretty(&findings::document(design)),
    },
    Entry {
        name: "inspection",
        about: "what an inspector asks for, on one page",
        tables: inspection::tables,
        drawings: None,
        json: |design| json::pretty(&inspection::document(design)),
    },
    Entry {
        name: "riser",
        about: "what hangs on what, as a picture",
        tables: |_| Vec::new(),
        drawings: Some(Drawings::Picture { typed: pictures::riser_drawings, drawn: pictures::riser_content }),
        json: |design| json::pretty(&pictures::riser_document(design)),
    },
    Entry {
        name: "plan",
        about: "each level with everything at its place, as a picture",
        tables: |_| Vec::new(),
        drawings: Some(Drawings::Picture { typed: pictures::plan_drawings, drawn: pictures::plan_content }),
        json: |design| json::pretty(&pictures::plan_document(design)),
    },
];
