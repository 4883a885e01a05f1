//! Which cut from which reel, on cables small enough to see.

use studbay::plan::packing::Budget;
use studbay::plan::reels::{Answer, Problem, Size, solve};

fn best(problem: &Problem) -> Answer {
    solve(problem, &mut Budget::new(1_000_000)).unwrap()
}

fn size(length: u64, price: u64) -> Size {
    Size { length, price }
}

#[test]
fn one_long_reel_is_cheaper_than_two_short_ones() {
    let answer = best(&Problem {
        cuts: vec![100, 100, 100, 100],
        sizes: vec![size(250, 96), size(500, 184)],
        ..Problem::default()
    });
    assert_eq!((answer.cost, answer.used.len(), answer.left), (184, 1, 100));
    assert!(answer.proved());
}

#[test]
fn two_short_reels_where_they_are_cheaper() {
    let answer = best(&Problem {
        cuts: vec![100, 100, 100, 100],
        sizes: vec![size(250, 90), size(500, 184)],
        ..Problem::default()
    });
    assert_eq!((answer.cost, answer.used.len()), (180, 2));
    assert!(answer.proved());
}

#[test]
fn a_reel_on_hand_costs_nothing_and_is_left_alone_where_it_is_not_needed() {
    let problem = Problem {
        cuts: vec![60, 60, 40],
        sizes: vec![size(100, 10)],
        on_hand: vec![65, 300],
        apart: Vec::new(),
    };
    let answer = best(&problem);
    // All three come from the 300: 140 left. Opening the 65 too would leave 205.
    assert_eq!((answer.cost, answer.left, answer.used.len()), (0, 140, 1));
    assert_eq!(answer.used[0].on_hand, Some(1));
    assert!(answer.proved());
}

#[test]
fn cuts_pulled_side_by_side_come_from_reels_of_their_own() {
    let problem = Problem {
        cuts: vec![50, 50, 50],
        sizes: vec![size(200, 70), size(60, 30)],
        apart: vec![vec![0, 1, 2]],
        ..Problem::default()
    };
    let answer = best(&problem);
    assert_eq!((answer.cost, answer.used.len()), (90, 3));
    let together = best(&Problem { apart: Vec::new(), ..problem });
    assert_eq!((together.cost, together.used.len()), (70, 1));
}

#[test]
fn what_is_left_over_stays_in_one_piece() {
    // 4 x 30 and 2 x 20 from reels of 100: either reel could be left with 20 and 20, or one with 0 and one with 40.
    let answer = best(&Problem {
        cuts: vec![30, 30, 30, 30, 20, 20],
        sizes: vec![size(100, 10)],
        ..Problem::default()
    });
    let mut left: Vec<u64> = answer.used.iter().map(|used| used.left).collect();
    left.sort_unstable();
    assert_eq!(left, [0, 40]);
}

#[test]
fn a_cut_longer_than_every_reel_has_no_plan() {
    let problem = Problem { cuts: vec![101], sizes: vec![size(100, 10)], ..Problem::default() };
    assert_eq!(solve(&problem, &mut Budget::new(1_000)), None);
    let none = Problem { cuts: Vec::new(), ..problem };
    assert_eq!(solve(&none, &mut Budget::new(1_000)), Some(Answer::default()));
}
