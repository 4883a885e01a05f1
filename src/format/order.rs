//! The order in which people count: `K-9` before `K-10`.

use std::cmp::Ordering;

/// Compares two texts with the numbers in them by size and letters whatever their case.
pub fn as_counted(one: &str, other: &str) -> Ordering {
    let (mut a, mut b) = (one, other);
    loop {
        let (digits_a, digits_b) = (digits(a), digits(b));
        if digits_a > 0 && digits_b > 0 {
            let (number_a, number_b) =
                (a[..digits_a].trim_start_matches('0'), b[..digits_b].trim_start_matches('0'));
            let ordering = number_a.len().cmp(&number_b.len()).then_with(|| number_a.cmp(number_b));
            if ordering.is_ne() {
                return ordering;
            }
            (a, b) = (&a[digits_a..], &b[digits_b..]);
            continue;
        }
        match (a.chars().next(), b.chars().next()) {
            (Some(x), Some(y)) => {
                let ordering = x.to_lowercase().cmp(y.to_lowercase());
                if ordering.is_ne() {
                    return ordering;
                }
                (a, b) = (&a[x.len_utf8()..], &b[y.len_utf8()..]);
            }
            // What is the same but for case or leading zeros still has one order.
            (None, None) => return one.cmp(other),
            (x, y) => return x.is_some().cmp(&y.is_some()),
        }
    }
}

/// How many digits a text begins with.
fn digits(text: &str) -> usize {
    text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nine_comes_before_ten() {
        let mut ids = ["K-10", "k-9", "HR02", "HR1", "K", "HR002b", "", "10", "9"];
        ids.sort_by(|a, b| as_counted(a, b));
        assert_eq!(ids, ["", "9", "10", "HR1", "HR02", "HR002b", "K", "k-9", "K-10"]);
    }

    proptest! {
        #[test]
        fn any_texts_have_one_order(all in proptest::collection::vec("[aA0-9é-]{0,6}|\\PC{0,6}", 3)) {
            let (a, b, c) = (&all[0], &all[1], &all[2]);
            prop_assert_eq!(as_counted(a, b), as_counted(b, a).reverse());
            prop_assert_eq!(as_counted(a, b).is_eq(), a == b);
            if as_counted(a, b).is_le() && as_counted(b, c).is_le() {
                prop_assert!(as_counted(a, c).is_le(), "{a:?} {b:?} {c:?}");
            }
        }
    }
}
