//! Changes a text word by word: what is changed byte by byte seldom gets past the first bracket.

/// Texts that are worth a try wherever a text stands.
const TEXTS: &[&str] = &[
    "", "0", "-1", "1e308", "NaN", "inf", "99999999999999999999", "0'0", "62'6 1/2", "100000 m", "0.0001 mm", "1/0",
    "PS1.1", "PS1.0", "PS99.255", "P1", "HR1", "B1", "K1", "F1", "LP1", "\\u{1b}[2J", "\\u{202e}", "=1+1", "\\\"",
    "a\\\\", "2026-02-30", "100 lx", "12 m2", "80 ft2",
];

/// Numbers and words likewise.
const WORDS: &[&str] = &[
    "0", "1", "-1", "255", "256", "65535", "4294967296", "1e308", "1e-308", "0.1", "NaN", "inf", "true", "false",
    "None", "OneWay", "Returned", "ReturnedCapped", "Tunable", "Fixed", "Power", "Current", "Resistance", "String",
    "()", "[]", "\"\"", "(1,0)",
];

/// A small generator: what it gives depends on the number it began with alone.
struct Random(u64);

impl Random {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 16).unwrap_or(0) % limit.max(1)
    }

    fn of<'a>(&mut self, all: &[&'a str]) -> &'a str {
        all[self.below(all.len())]
    }
}

/// The words of a text: strings, brackets and other signs, blanks, and what stands between them.
fn words(text: &str) -> Vec<&str> {
    let mut words = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let end = match first {
            '"' => {
                let mut escaped = false;
                let close = rest.char_indices().skip(1).find(|(_, c)| {
                    let closes = *c == '"' && !escaped;
                    escaped = *c == '\\' && !escaped;
                    closes
                });
                close.map_or(rest.len(), |(at, _)| at + 1)
            }
            c if is_of_word(c) => rest.find(|c| !is_of_word(c)).unwrap_or(rest.len()),
            c => c.len_utf8(),
        };
        let (word, after) = rest.split_at(end);
        words.push(word);
        rest = after;
    }
    words
}

fn is_of_word(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '_' | '.' | '-' | '+')
}

/// The end of the bracketed group that begins at a word.
fn group(words: &[&str], at: usize) -> usize {
    let mut depth = 0_usize;
    for (next, word) in words.iter().enumerate().skip(at) {
        match *word {
            "(" | "[" | "{" => depth += 1,
            ")" | "]" | "}" => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth == 0 {
            return next + 1;
        }
    }
    words.len()
}

/// Changes the first `size` bytes in place and says how many they are then, at most `most`; `change` is the other way,
/// byte by byte.
pub fn mutate(
    data: &mut [u8],
    size: usize,
    most: usize,
    random: u32,
    change: impl Fn(&mut [u8], usize, usize) -> usize,
) -> usize {
    let mut random = Random(u64::from(random) << 16 | 0x9e37);
    let text = match std::str::from_utf8(&data[..size]) {
        Ok(text) if size > 1 && random.below(8) != 0 => text.to_owned(),
        _ => return change(data, size, most),
    };
    let mut all = words(&text);
    for _ in 0..=random.below(3) {
        if all.is_empty() {
            break;
        }
        one_change(&mut all, &mut random);
    }
    let changed = all.concat();
    let bytes = changed.as_bytes();
    if bytes.len() > most {
        return change(data, size, most);
    }
    data[..bytes.len()].copy_from_slice(bytes);
    bytes.len()
}

fn one_change<'a>(all: &mut Vec<&'a str>, random: &mut Random) {
    let like = |wanted: fn(&str) -> bool, all: &[&'a str], random: &mut Random| {
        let from = random.below(all.len());
        (from..all.len()).chain(0..from).find(|at| wanted(all[*at]))
    };
    let is_text = |word: &str| word.starts_with('"');
    let is_plain = |word: &str| word.starts_with(|c: char| c.is_alphanumeric() || c == '-');
    let opens = |word: &str| matches!(word, "(" | "[" | "{");
    match random.below(8) {
        // A text becomes another of the file's, or one worth a try.
        0 | 1 => {
            let (Some(to), Some(from)) = (like(is_text, all, random), like(is_text, all, random)) else { return };
            all[to] = if random.below(2) == 0 { all[from] } else { quoted(random) };
        }
        2 | 3 => {
            let (Some(to), Some(from)) = (like(is_plain, all, random), like(is_plain, all, random)) else { return };
            all[to] = if random.below(2) == 0 { all[from] } else { random.of(WORDS) };
        }
        // A group goes, is there twice, or stands in another's place.
        4 => {
            let Some(at) = like(opens, all, random) else { return };
            let end = group(all, at);
            all.drain(at..end);
        }
        5 => {
            let Some(at) = like(opens, all, random) else { return };
            let end = group(all, at);
            let mut copy = all[at..end].to_vec();
            copy.push(",");
            all.splice(at..at, copy);
        }
        6 => {
            let (Some(to), Some(from)) = (like(opens, all, random), like(opens, all, random)) else { return };
            let copy = all[from..group(all, from)].to_vec();
            let end = group(all, to);
            all.splice(to..end, copy);
        }
        _ => {
            let (one, other) = (random.below(all.len()), random.below(all.len()));
            if random.below(2) == 0 {
                all.swap(one, other);
            } else {
                all.remove(one);
            }
        }
    }
}

/// A text worth a try, in its quotes.
fn quoted(random: &mut Random) -> &'static str {
    use std::sync::OnceLock;
    static QUOTED: OnceLock<Vec<String>> = OnceLock::new();
    let all = QUOTED.get_or_init(|| TEXTS.iter().map(|text| format!("\"{text}\"")).collect());
    &all[random.below(all.len())]
}
