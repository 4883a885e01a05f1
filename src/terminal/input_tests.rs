use proptest::prelude::*;

use super::*;

const HOLD: Duration = Duration::from_millis(50);

/// Everything a parser makes of these reads, each `gap` after the one before.
fn read(reads: &[&[u8]], gap: Duration) -> Vec<Input> {
    let mut parser = Parser::new(HOLD);
    let mut out = Vec::new();
    let mut now = Instant::now();
    for bytes in reads {
        parser.feed(bytes, now, &mut out);
        now += gap;
        parser.expire(now, &mut out);
    }
    parser.expire(now + Duration::from_secs(9), &mut out);
    assert_eq!(parser.deadline(), None, "nothing is left to wait for");
    out
}

fn keys(bytes: &[u8]) -> Vec<Input> {
    read(&[bytes], Duration::ZERO)
}

/// A key as `C-A-S-name`.
fn named(name: &str) -> Input {
    let mut key = Key::char('?');
    let mut rest = name;
    while let Some((modifier @ ("C" | "A" | "S"), after)) = rest.split_once('-') {
        key.ctrl |= modifier == "C";
        key.alt |= modifier == "A";
        key.shift |= modifier == "S";
        rest = after;
    }
    key.code = match rest {
        "enter" => KeyCode::Enter,
        "esc" => KeyCode::Esc,
        "tab" => KeyCode::Tab,
        "btab" => KeyCode::BackTab,
        "bs" => KeyCode::Backspace,
        "del" => KeyCode::Delete,
        "ins" => KeyCode::Insert,
        "home" => KeyCode::Home,
        "end" => KeyCode::End,
        "pgup" => KeyCode::PageUp,
        "pgdn" => KeyCode::PageDown,
        "up" => KeyCode::Up,
        "down" => KeyCode::Down,
        "left" => KeyCode::Left,
        "right" => KeyCode::Right,
        _ => match rest.strip_prefix('f').and_then(|number| number.parse().ok()) {
            Some(number) => KeyCode::F(number),
            None => KeyCode::Char(rest.chars().next().unwrap()),
        },
    };
    Input::Key(key)
}

/// Sequences of xterm, `PuTTY`, the Linux console, VT100 and VT220, rxvt and newer protocols.
const KNOWN: &[(&str, &str)] = &[
    ("a", "a"),
    ("\r", "enter"),
    ("\n", "enter"),
    ("\r\n", "enter"),
    ("\t", "tab"),
    ("\x7f", "bs"),
    ("\x08", "bs"),
    ("\0", "C- "),
    ("\x13", "C-s"),
    ("\x1a", "C-z"),
    ("\x1c", "C-\\"),
    ("é", "é"),
    ("漢", "漢"),
    ("🔧", "🔧"),
    ("\x1b", "esc"),
    ("\x1bx", "A-x"),
    ("\x1b\r", "A-enter"),
    ("\x1b\x7f", "A-bs"),
    ("\x1b[A", "up"),
    ("\x1bOA", "up"),
    ("\x1b[B", "down"),
    ("\x1b[C", "right"),
    ("\x1bOD", "left"),
    ("\x1b[1;5A", "C-up"),
    ("\x1b[1;2B", "S-down"),
    ("\x1b[1;3C", "A-right"),
    ("\x1b[1;8D", "C-A-S-left"),
    ("\x1bO5C", "C-right"),
    ("\x1bO1;2Q", "S-f2"),
    ("\x1b\x1b[A", "A-up"),
    ("\x1b\x1bOB", "A-down"),
    ("\x1b[a", "S-up"),
    ("\x1bOb", "C-down"),
    ("\x1b[H", "home"),
    ("\x1bOH", "home"),
    ("\x1b[1~", "home"),
    ("\x1b[7~", "home"),
    ("\x1b[F", "end"),
    ("\x1bOF", "end"),
    ("\x1b[4~", "end"),
    ("\x1b[8~", "end"),
    ("\x1bOw", "end"),
    ("\x1b[2~", "ins"),
    ("\x1b[3~", "del"),
    ("\x1b[3;5~", "C-del"),
    ("\x1b[5~", "pgup"),
    ("\x1b[6~", "pgdn"),
    ("\x1b[6^", "C-pgdn"),
    ("\x1b[7$", "S-home"),
    ("\x1b[3@", "C-S-del"),
    ("\x1b[Z", "btab"),
    ("\x1bOP", "f1"),
    ("\x1bOS", "f4"),
    ("\x1b[P", "f1"),
    ("\x1b[1;2R", "S-f3"),
    ("\x1b[[A", "f1"),
    ("\x1b[[E", "f5"),
    ("\x1b[11~", "f1"),
    ("\x1b[15~", "f5"),
    ("\x1b[17~", "f6"),
    ("\x1b[21~", "f10"),
    ("\x1b[24~", "f12"),
    ("\x1b[24;2~", "S-f12"),
    ("\x1bOM", "enter"),
    ("\x1bOm", "-"),
    ("\x1bOq", "1"),
    ("\x1b[27;5;105~", "C-i"),
    ("\x1b[97;5u", "C-a"),
    ("\x1b[27u", "esc"),
    ("\x1b[13;2u", "S-enter"),
    ("\x1b[1;5:1A", "C-up"),
];

/// What no program asked for here, and what nobody pressed.
const SWALLOWED: &[&str] = &[
    "\x1b[?62;22c",
    "\x1b[>0;276;0c",
    "\x1b[24;80R",
    "\x1b[0n",
    "\x1b[?2026;0$y",
    "\x1b[4;1$y",
    "\x1b[8;24;80t",
    "\x1b[?0u",
    "\x1b]11;rgb:0000/0000/0000\x1b\\",
    "\x1b]11;rgb:ffff/ffff/ffff\x07",
    "\x1bP>|XTerm(390)\x1b\\",
    "\x1bP1+r524742\x1b\\",
    "\x1b_Gi=1;OK\x1b\\",
    "\x1b[<0;12;7M",
    "\x1b[<0;12;7m",
    "\x1b[M !!",
    "\x1b[32;12;7M",
    "\x1b[I",
    "\x1b[O",
    "\x1b[28~",
    "\x1b[99~",
    "\x1b[1;5:3A",
    "\x1b[E",
    "\x1b[201~",
    "\x1bO\x18",
    "\x1b[12\x1a",
    "\u{80}",
];

#[test]
fn every_known_sequence_gives_its_key_however_it_is_split() {
    for (bytes, name) in KNOWN {
        let want = vec![named(name)];
        let bytes = bytes.as_bytes();
        assert_eq!(keys(bytes), want, "{}", bytes.escape_ascii());
        for at in 1..bytes.len() {
            let got = read(&[&bytes[..at], &bytes[at..]], Duration::from_millis(20));
            assert_eq!(got, want, "{} split at {at}", bytes.escape_ascii());
        }
        let single: Vec<&[u8]> = bytes.chunks(1).collect();
        assert_eq!(read(&single, Duration::from_millis(20)), want);
    }
}

#[test]
fn known_sequences_can_follow_each_other() {
    for (first, one) in KNOWN {
        for (second, two) in KNOWN {
            let joins = *first == "\x1b" || first.ends_with('\r') && second.starts_with('\n');
            if joins {
                continue;
            }
            let bytes = [first.as_bytes(), second.as_bytes()].concat();
            assert_eq!(keys(&bytes), [named(one), named(two)], "{}", bytes.escape_ascii());
        }
    }
}

#[test]
fn what_is_not_a_key_never_acts() {
    for bytes in SWALLOWED {
        let bytes = bytes.as_bytes();
        assert_eq!(keys(bytes), [], "{}", bytes.escape_ascii());
        for at in 1..bytes.len() {
            let got = read(&[&bytes[..at], &bytes[at..]], Duration::from_millis(20));
            assert_eq!(got, [], "{} split at {at}", bytes.escape_ascii());
        }
        let joined = [bytes, b"x"].concat();
        assert_eq!(keys(&joined), [named("x")], "{}", joined.escape_ascii());
    }
}

#[test]
fn a_sequence_slower_than_the_hold_still_makes_no_wrong_key() {
    let gap = Duration::from_millis(100);
    for (bytes, name) in KNOWN.iter().filter(|(bytes, _)| bytes.starts_with("\x1b[")) {
        let bytes = bytes.as_bytes();
        for at in 1..bytes.len() {
            let got = read(&[&bytes[..at], &bytes[at..]], gap);
            let rest: Vec<Input> = got.into_iter().filter(|input| *input != named("esc")).collect();
            let want: Vec<Input> = [named(name)].into_iter().filter(|input| *input != named("esc")).collect();
            assert_eq!(rest, want, "{} split at {at}", bytes.escape_ascii());
        }
    }
}

#[test]
fn escape_is_a_key_only_after_the_hold() {
    let mut parser = Parser::new(HOLD);
    let mut out = Vec::new();
    let start = Instant::now();
    parser.feed(b"\x1b", start, &mut out);
    assert_eq!(parser.deadline(), Some(start + HOLD));
    parser.expire(start + HOLD / 2, &mut out);
    assert_eq!(out, []);
    parser.expire(start + HOLD, &mut out);
    assert_eq!(out, [named("esc")]);
    assert_eq!(parser.deadline(), None);
    out.clear();
    // What is typed soon after is typed, even where it could have begun a sequence.
    parser.feed(b"O", start + HOLD * 2, &mut out);
    parser.expire(start + HOLD * 3, &mut out);
    parser.feed(b"\x1b", start + HOLD * 30, &mut out);
    parser.expire(start + HOLD * 31, &mut out);
    parser.feed(b"Ok", start + HOLD * 32, &mut out);
    parser.expire(start + HOLD * 33, &mut out);
    assert_eq!(out, [named("O"), named("esc"), named("O"), named("k")]);
    let long = Parser::hold(&|name| (name == "SSH_CONNECTION").then(|| "10.0.0.1".to_owned()));
    assert_eq!(long, Duration::from_millis(150));
}

#[test]
fn held_escape_and_other_keys_are_all_there() {
    assert_eq!(keys(b"\x1b\x1b\x1b"), vec![named("esc"); 3]);
    let arrows = b"\x1b[B".repeat(40);
    assert_eq!(keys(&arrows), vec![named("down"); 40]);
    let letters = b"j".repeat(100);
    assert_eq!(keys(&letters), vec![named("j"); 100]);
    assert_eq!(keys(b"\xc3A\xff\xe6\xbcz"), [named("A"), named("z")]);
}

#[test]
fn a_marked_paste_is_one_event() {
    let paste = |text: &str| vec![Input::Paste(text.to_owned())];
    let bytes = b"\x1b[200~q\x1b[B\r\nd\x03\t1 2\x1b[201~";
    assert_eq!(keys(bytes), paste("q[B\nd\t1 2"));
    for at in 1..bytes.len() {
        let got = read(&[&bytes[..at], &bytes[at..]], Duration::from_millis(20));
        assert_eq!(got, paste("q[B\nd\t1 2"), "split at {at}");
    }
    assert_eq!(keys(b"\x1b[200~lost end"), paste("lost end"));
}

#[test]
fn an_unmarked_paste_is_one_event_too() {
    let rows = "K1\t2.5\t18/2\r\nK2\t3.5\t18/2\r\n".repeat(400);
    let mut reads: Vec<&[u8]> = rows.as_bytes().chunks(700).collect();
    reads.push(b"q");
    let got = read(&reads, Duration::from_millis(5));
    let want = rows.replace("\r\n", "\n") + "q";
    assert_eq!(got, [Input::Paste(want)]);
    let hostile = b"q\x1b[Bd\x1b[3~yes please do it now\rqdx\x04\x1bOPZZ";
    let got = keys(hostile);
    assert_eq!(got, [Input::Paste("qdyes please do it now\nqdxZZ".to_owned())]);
    assert_eq!(keys(b"kitchen 12\r").len(), 11, "typed ahead");
    assert_eq!(keys(b"kitchen\t12\t\r").len(), 12, "typed ahead into a form");
    let few = b"One\t101\rTwo\t\r";
    assert_eq!(keys(few), [Input::Paste("One\t101\nTwo\t\n".to_owned())], "few cells of a spreadsheet");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any bytes at all: no panic, and nothing is waited for in the end.
    #[test]
    fn any_bytes_are_survived(
        reads in proptest::collection::vec(
            (proptest::collection::vec(prop_oneof![any::<u8>(), Just(0x1b), Just(b'['), Just(b'~'), Just(b'0')], 0..40), 0..300_u64),
            0..20,
        )
    ) {
        let mut parser = Parser::new(HOLD);
        let mut out = Vec::new();
        let mut now = Instant::now();
        for (bytes, gap) in &reads {
            parser.feed(bytes, now, &mut out);
            now += Duration::from_millis(*gap);
            parser.expire(now, &mut out);
        }
        parser.expire(now + Duration::from_secs(9), &mut out);
        prop_assert_eq!(parser.deadline(), None);
    }
}
