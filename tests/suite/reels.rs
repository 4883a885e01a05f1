//! Which cut from which reel, on cables small enough to see.

use crate::balance_cases::Numbers;
use studbay::plan::packing::Budget;
use studbay::plan::reels::{Answer, Problem, STEPS, Size, solve};

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

/// Cuts, sizes of reel, reels on hand and cuts that come from different reels, a few or many of each.
fn any(seed: u64) -> Problem {
    let mut numbers = Numbers(seed.wrapping_mul(0x2545_F491_4F6C_DD1D));
    let longest = [100, 150, 1000, 12_000][numbers.pick(4)];
    let sizes: Vec<Size> = (0..=numbers.pick(3))
        .map(|nth| {
            size(
                if nth == 0 { longest } else { numbers.within(longest / 3, longest) },
                numbers.within(0, 400),
            )
        })
        .collect();
    let most = longest / numbers.within(1, 4);
    let least = numbers.within(0, most / 2);
    let cuts: Vec<u64> = (0..numbers.pick(70)).map(|_| numbers.within(least, most)).collect();
    let on_hand = (0..numbers.pick(4)).map(|_| numbers.within(1, longest)).collect();
    let mut apart: Vec<Vec<usize>> = Vec::new();
    for _ in 0..numbers.pick(4) {
        let mut group: Vec<usize> = (0..cuts.len()).filter(|_| numbers.pick(20) == 0).collect();
        group.truncate(4);
        apart.push(group);
    }
    Problem { cuts, sizes, on_hand, apart }
}

/// Checks that a plan can be cut, costs what it says, and is said to be the best only where its bound is met.
fn verify(problem: &Problem, answer: &Answer) {
    let mut reel_of = vec![None; problem.cuts.len()];
    let (mut cost, mut left) = (0, 0);
    for (reel, used) in answer.used.iter().enumerate() {
        let length = match (used.size, used.on_hand) {
            (Some(size), None) => {
                cost += problem.sizes[size].price;
                problem.sizes[size].length
            }
            (None, Some(at)) => problem.on_hand[at],
            both => panic!("{both:?}"),
        };
        assert!(!used.cuts.is_empty());
        let cut: u64 = used.cuts.iter().map(|&cut| problem.cuts[cut]).sum();
        assert_eq!((used.length, used.left + cut), (length, length));
        left += used.left;
        for &cut in &used.cuts {
            assert_eq!(reel_of[cut].replace(reel), None, "cut {cut} comes from two reels");
        }
    }
    assert!(reel_of.iter().all(Option::is_some), "a cut is on no reel");
    let on_hand: Vec<usize> = answer.used.iter().filter_map(|used| used.on_hand).collect();
    assert!(
        on_hand.iter().enumerate().all(|(nth, at)| !on_hand[..nth].contains(at)),
        "a reel on hand is used twice"
    );
    for group in &problem.apart {
        let twice = |nth: usize| group[..nth].iter().any(|&cut| reel_of[cut] == reel_of[group[nth]]);
        assert!(!(0..group.len()).any(twice), "{group:?} come from one reel");
    }
    assert_eq!((cost, left), (answer.cost, answer.left));
    assert!(answer.cost_bound <= answer.cost && answer.left_bound <= answer.left);
    let met = answer.cost_bound == answer.cost && answer.left_bound == answer.left;
    assert_eq!(answer.proved(), met);
}

#[test]
fn any_plan_can_be_cut_and_costs_what_it_says() {
    let (mut found, mut proved) = (0, 0);
    for seed in 0..400 {
        let problem = any(seed);
        if let Some(answer) = solve(&problem, &mut Budget::new(200_000)) {
            verify(&problem, &answer);
            found += 1;
            proved += usize::from(answer.proved());
        }
    }
    assert!(found >= 380 && proved >= 300, "{found} found, {proved} proved");
}

/// Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2 (1996): three lengths
/// that fill a reel of 1000 exactly. How many reels it takes is known from how they are made.
#[test]
fn two_hundred_cuts_that_fill_their_reels_exactly_are_proved() {
    for (seed, reels) in [(1, 40), (2, 67)] {
        let mut numbers = Numbers(seed);
        let mut cuts = Vec::new();
        for _ in 0..reels {
            let first = numbers.within(380, 490);
            let second = numbers.within(250, (1000 - first) / 2);
            cuts.extend([first, second, 1000 - first - second]);
        }
        let problem = Problem { cuts, sizes: vec![size(1000, 1)], ..Problem::default() };
        let answer = solve(&problem, &mut Budget::new(STEPS)).unwrap();
        verify(&problem, &answer);
        assert_eq!((answer.cost, answer.cost_bound, answer.left), (reels, reels, 0));
    }
}
