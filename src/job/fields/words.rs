//! The words of the job file as people say and type them, for every choice on screen and paper.

/// Words that are not simply those of the file apart and in small letters.
const SAID: &[(&str, &str)] = &[
    ("Class2Inherent", "Class 2, inherently limited"),
    ("Class2Protected", "Class 2, overcurrent protected"),
    ("NotClass2", "not Class 2"),
    ("CopperCladAluminum", "copper-clad aluminum"),
    ("Metres", "meters"),
    ("Nec2017", "NEC 2017"),
    ("Nec2020", "NEC 2020"),
    ("Nec2023", "NEC 2023"),
    ("OnPair", "on the pair"),
    ("ReturnedCapped", "returned, capped"),
    ("RoughIn", "rough-in"),
];

/// A word of the job file as people say it: `DeepJoist` is a deep joist.
pub fn spoken(word: &str) -> String {
    if let Some((_, said)) = SAID.iter().find(|(of_file, _)| *of_file == word) {
        return (*said).to_owned();
    }
    let mut said = String::new();
    for letter in word.chars() {
        if letter.is_uppercase() && !said.is_empty() {
            said.push(' ');
        }
        said.extend(letter.to_lowercase());
    }
    said
}

/// The one word of the file that a text begins, as the file writes it or as people say it; case, spaces and signs don't
/// matter.
///
/// # Errors
/// What words there are.
pub(super) fn one_of<'a>(words: &[&'a str], text: &str) -> Result<&'a str, String> {
    // A sign is a word of its own among the functions of conductors.
    if let Some(word) = words.iter().find(|word| word.eq_ignore_ascii_case(text)) {
        return Ok(word);
    }
    let text = bare(text);
    let names = |word: &str| [bare(word), bare(&spoken(word))];
    let exact = words.iter().find(|word| names(word).contains(&text));
    let mut begun = words.iter().filter(|word| names(word).iter().any(|name| name.starts_with(&text)));
    match (exact, begun.next(), begun.next()) {
        (Some(word), ..) | (None, Some(word), None) if !text.is_empty() => Ok(word),
        _ => Err(format!("write one of {}", listed(words))),
    }
}

/// The words there are to choose from, as people say them.
pub(super) fn listed(words: &[&str]) -> String {
    words.iter().map(|word| spoken(word)).collect::<Vec<_>>().join(" | ")
}

/// A text by its letters and digits alone.
fn bare(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::super::Shape;
    use super::*;
    use crate::job::Kind::{
        BoxType, Cable, CableType, Control, ControlType, Estimate, Fixture, FixtureType, Group, Panel,
        Project, Room, Settings, SmallPart, Supply, SupplyType, WallBox,
    };
    use crate::job::Spot;

    /// Every list of words that some field of some thing chooses from.
    fn lists() -> Vec<(Shape, &'static [&'static str])> {
        let spots = [
            None,
            Some(Spot::Loop { wall_box: 0, control: 0, at: 0 }),
            Some(Spot::Link { group: 0, link: 0 }),
        ];
        let kinds = [
            CableType,
            FixtureType,
            SupplyType,
            ControlType,
            BoxType,
            SmallPart,
            Room,
            Panel,
            Supply,
            WallBox,
            Control,
            Cable,
            Fixture,
            Group,
            Project,
            Settings,
            Estimate,
        ];
        let fields = kinds
            .into_iter()
            .flat_map(|kind| spots.into_iter().flat_map(move |spot| super::super::of(kind, spot).iter()));
        fields
            .filter_map(|field| match field.shape {
                Shape::Choice(words) | Shape::Form(words) | Shape::ChoiceMany(words) => {
                    Some((field.shape, words))
                }
                _ => None,
            })
            .collect()
    }

    #[test]
    fn what_is_said_and_what_the_file_writes_are_both_taken() {
        let lists = lists();
        assert!(lists.len() > 20, "{}", lists.len());
        for (shape, words) in lists {
            for word in words {
                let said = spoken(word);
                let many = matches!(shape, Shape::ChoiceMany(_));
                assert!(!many || !said.contains(','), "commas part the words of a list: {said}");
                for typed in [*word, &said, &said.to_uppercase(), &said.replace([' ', ',', '-'], "")] {
                    assert_eq!(one_of(words, typed), Ok(*word), "{typed}");
                }
            }
        }
    }

    #[test]
    fn a_beginning_is_enough_where_it_is_the_only_one() {
        assert_eq!(one_of(&["FlatTruss", "DeepJoist"], "deep j"), Ok("DeepJoist"));
        assert_eq!(one_of(&["OneWay", "ReturnedCapped", "Returned"], "returned"), Ok("Returned"));
        assert_eq!(one_of(&["OneWay", "ReturnedCapped", "Returned"], "returned, c"), Ok("ReturnedCapped"));
        let all = one_of(&["OneWay", "ReturnedCapped", "Returned"], "re");
        assert_eq!(all, Err("write one of one way | returned, capped | returned".into()));
        assert!(one_of(&["One"], "-").is_err());
        assert_eq!(one_of(&["+", "-", "spare"], "-"), Ok("-"));
        assert_eq!(one_of(&["+", "-", "spare"], "sp"), Ok("spare"));
    }
}
