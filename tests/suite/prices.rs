//! The price list out of a job and into it.

use crate::cli::{drive, folder_with};
use crate::support::{SAMPLES, STARTER, sample, snapshots};
use insta::assert_snapshot;
use std::fs;
use studbay::intake::prices;
use studbay::job::edit::apply;

#[test]
fn a_price_list_that_was_written_changes_nothing() {
    for name in SAMPLES {
        let job = sample(name).job;
        let list = prices::read(&job, &prices::write(&job).unwrap()).unwrap();
        assert!(list.changes.is_empty() && list.same > 10, "{name}: {:?}", list.changes);
        let mut same = job.clone();
        apply(&mut same, list.edit).unwrap();
        assert_eq!(same, job, "{name}");
    }
}

#[test]
fn a_price_list_is_one_edit_and_one_undo() {
    let job = sample("cottage").job;
    let text = "part;price;pack;reel\ndim-12;66.50;;\njoin-3;15,5;;\n18-2;139.00;;1000 ft\n";
    let flaws = prices::read(&job, text).unwrap_err().to_string();
    assert!(flaws.starts_with("row 3, column 'price':") && flaws.contains("15,5"), "{flaws}");
    let text = "part;price;pack;reel\ndim-12;66.50;;\njoin-3;15.50;80;\n18-2;139.00;;1000 ft\n18-2;300;;2000 ft\ns24;?;;\n";
    let list = prices::read(&job, text).unwrap();
    assert_eq!(list.changes.len(), 6, "{:?}", list.changes);
    let mut changed = job.clone();
    let undo = apply(&mut changed, list.edit).unwrap();
    let parts = &changed.catalogue;
    let control = parts.controls.iter().find(|part| part.id.as_str() == "dim-12").unwrap();
    assert_eq!(control.price.unwrap().to_string(), "66.50");
    let cable = parts.cables.iter().find(|part| part.id.as_str() == "18-2").unwrap();
    assert_eq!((cable.reels.len(), cable.reels[1].price.unwrap().to_string()), (3, "139.00".into()));
    assert!(parts.supplies[0].price.is_none());
    assert_eq!(parts.small_parts[0].pack.unwrap().get(), 80);
    apply(&mut changed, undo).unwrap();
    assert_eq!(changed, job);
}

#[test]
fn each_flaw_says_where_it_is_and_what_to_do() {
    let folder = folder_with(&[
        ("house.ron", STARTER.as_bytes()),
        ("good.csv", b"part,price\ndim-10,66.50\n"),
        (
            "wrong.csv",
            b"kind,part,reel,pack,price\n,dim-11,,,1\nlamp,dim-10,,,1\ncable,18-2,,,1\ncable,18-2,9 yd,,1\n,dim-10,,,-1\n,dim-10,,x,1\n,down-6,250 ft,,1\n,down-6,,,1\n,down-6,,,2\n",
        ),
        ("columns.csv", b"part,cost\ndim-10,1\n"),
        ("empty.csv", b""),
    ]);
    let before = fs::read(folder.path().join("house.ron")).unwrap();
    let mut said = String::new();
    for (args, code) in [
        (&["prices", "DIR/house.ron"][..], 0),
        (&["prices", "DIR/house.ron", "--in", "DIR/good.csv"], 0),
        (&["prices", "DIR/house.ron", "--from", "DIR/wrong.csv", "--write"], 2),
        (&["prices", "DIR/house.ron", "--in", "DIR/columns.csv"], 2),
        (&["prices", "DIR/house.ron", "--in", "DIR/empty.csv"], 2),
        (&["prices", "DIR/house.ron", "--in", "DIR/none.csv"], 2),
        (&["prices", "DIR/house.ron", "--out", "DIR/house.ron"], 2),
        (&["prices", "DIR/house.ron", "--write"], 2),
    ] {
        let text = drive(folder.path(), args);
        assert!(text.ends_with(&format!("exit {code}")), "{args:?}: {text}");
        said += &text;
        said.push('\n');
    }
    assert_eq!(fs::read(folder.path().join("house.ron")).unwrap(), before);
    let text = drive(folder.path(), &["prices", "DIR/house.ron", "--in", "DIR/good.csv", "--write"]);
    said += &text;
    assert!(fs::read_to_string(folder.path().join("house.ron")).unwrap().contains("66.50"));
    let _guard = snapshots("cli").bind_to_scope();
    assert_snapshot!("prices", said);
}
