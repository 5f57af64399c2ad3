use dropwise_geometry::{Isometry, Outline, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, OpenLength, Part, Sheet, StockClass, Turns};

use super::mitre::mitred;
use super::*;
use crate::anneal::lone_fit::prepared;
use dropwise_geometry::{Point, Polygon};

#[test]
fn luby_begins_as_printed() {
    assert_eq!((1..=15).map(luby).collect::<Vec<_>>(), [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
}

/// Cuts a convex ring by straight lines, the largest piece first, into so many pieces.
fn cut_up(ring: Vec<Point>, count: usize, rng: &mut SearchRng) -> Vec<Vec<Point>> {
    let area = |ring: &Vec<Point>| Polygon::new(ring.clone(), Vec::new()).area();
    let mut pieces = vec![ring];
    while pieces.len() < count {
        pieces.sort_by(|a, b| area(a).total_cmp(&area(b)));
        let ring = pieces.pop().expect("there is always a piece");
        let n = ring.len();
        // From a point on the first side to one on a side about opposite.
        let (a, b) = (0, n / 2);
        let on = |side: usize, t: f64| ring[side].lerp(ring[(side + 1) % n], t);
        let (from, to) = (on(a, rng.between(0.3, 0.7)), on(b, rng.between(0.3, 0.7)));
        let mut first = vec![from];
        first.extend(&ring[a + 1..=b]);
        first.push(to);
        let mut second = vec![to];
        second.extend(&ring[b + 1..]);
        second.extend(&ring[..=a]);
        second.push(from);
        pieces.extend([first, second]);
    }
    pieces
}

/// Squares cut up with the web left between the parts and the margin around them, and the parts turned.
fn cut_up_job(sheets: usize, pieces: usize, web: f64, is_free: bool, seed: u64) -> Job {
    let mut rng = SearchRng::new(seed, 0);
    let class = StockClass::new("test");
    let margin = 1.5 * web;
    let inset = margin - web / 2.0;
    let mut parts = Vec::new();
    for _ in 0..sheets {
        let room = [(inset, inset), (1000.0 - inset, inset), (1000.0 - inset, 1000.0 - inset), (inset, 1000.0 - inset)];
        let room = room.map(|(x, y)| Point::new(x, y)).to_vec();
        for ring in cut_up(room, pieces, &mut rng) {
            let ring = mitred(&ring, -web / 2.0).expect("pieces are wider than the web");
            let turn = if is_free { rng.between(0.0, 360.0) } else { 90.0 * rng.index(4) as f64 };
            let turned = Isometry::new(false, turn, 0.0, 0.0);
            parts.push(Part {
                name: format!("part {}", parts.len()),
                shape: Shape::new(Outline::polygon(ring.into_iter().map(|p| turned.apply(p))), Vec::new()),
                quantity: 1,
                class: class.clone(),
                turns: if is_free { Turns::Any } else { Turns::List(vec![0.0, 90.0, 180.0, 270.0]) },
                may_flip: false,
                need: Need::Required,
            });
        }
    }
    let sheet = Sheet {
        name: "sheet".to_owned(),
        shape: Shape::new(Outline::rectangle(Point::ORIGIN, 1000.0, 1000.0), Vec::new()),
        damage: Vec::new(),
        class,
        quantity: None,
        price: Money::from_coins(100),
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 0.0,
    };
    let clearances = Clearances::new(0.5 * web, web, margin).expect("a web wider than the kerf");
    let rule = LeftoverRule { length: 1e4, width: 1e4, neck: 1.0 };
    Job::new(parts, vec![sheet], clearances, rule).expect("sound parts")
}

fn solved(job: Job, tests: u64) -> bool {
    let task = prepared(job);
    let mut jigsaw = Jigsaw::new(&task, SearchRng::new(1, 0)).expect("a jigsaw");
    jigsaw.run(tests).is_some_and(|(found, score)| score.missing == 0.0 && found.places.iter().all(Option::is_some))
}

#[test]
fn squares_cut_up_are_put_together_again() {
    for seed in 1..=4 {
        assert!(solved(cut_up_job(2, 9, 0.0, false, seed), 400_000), "quarter turns, seed {seed}");
        assert!(solved(cut_up_job(2, 9, 6.0, false, seed), 400_000), "with a web, seed {seed}");
    }
}

#[test]
fn any_turn_is_found_from_the_sides() {
    for seed in 1..=4 {
        assert!(solved(cut_up_job(1, 9, 0.0, true, seed), 400_000), "without clearance, seed {seed}");
        assert!(solved(cut_up_job(2, 9, 6.0, true, seed), 400_000), "with a web, seed {seed}");
    }
}

#[test]
fn what_is_put_together_passes_the_certificate() {
    let job = cut_up_job(2, 8, 6.0, true, 7);
    let settings = crate::Settings {
        seed: 1,
        time_limit: None,
        rounds: Some(40),
        chains: 1,
        threads: 1,
        ..crate::Settings::default()
    };
    let plan = crate::nest(&job, &settings, |_| std::ops::ControlFlow::Continue(())).expect("a plan");
    assert_eq!((plan.layout().unplaced.len(), plan.layout().sheets.len()), (0, 2));
    assert_eq!(plan.provenance().lower_bound, Some(200));
}

#[test]
fn a_job_with_waste_is_no_jigsaw() {
    let whole = cut_up_job(1, 6, 0.0, false, 1);
    let parts = whole.parts()[1..].to_vec();
    let job = Job::new(parts, whole.sheets().to_vec(), *whole.clearances(), *whole.leftover_rule()).expect("sound");
    assert!(Jigsaw::new(&prepared(job), SearchRng::new(1, 0)).is_none());
}

#[test]
fn a_strip_without_waste_is_filled_and_costs_its_length() {
    // The pieces of a square of 1000, on a strip of that width. With a filler the strip is searched as a sheet is, and
    // its cost must still be that of the length bought.
    for filler in [false, true] {
        let whole = cut_up_job(1, 6, 0.0, false, 3);
        let mut parts = whole.parts().to_vec();
        if filler {
            parts.push(Part { name: "filler".to_owned(), need: Need::Filler, ..parts[0].clone() });
        }
        let sheet = Sheet {
            shape: Shape::new(Outline::rectangle(Point::ORIGIN, 3000.0, 1000.0), Vec::new()),
            quantity: Some(1),
            price: Money::ZERO,
            open_length: Some(OpenLength { increment: 1.0, minimum: 1.0, price_per_length: 2.0 }),
            ..whole.sheets()[0].clone()
        };
        let job = Job::new(parts, vec![sheet], *whole.clearances(), *whole.leftover_rule()).expect("sound");
        let settings = crate::Settings {
            seed: 1,
            time_limit: None,
            rounds: Some(8),
            chains: 1,
            threads: 1,
            ..crate::Settings::default()
        };
        let mut last = 0.0;
        let observer = |progress: &crate::Progress| {
            last = progress.cost;
            std::ops::ControlFlow::Continue(())
        };
        let plan = crate::nest(&job, &settings, observer).expect("a plan");
        assert!(last >= 2000.0 - 1.0, "a cost of {last} for no less than 1000 mm");
        assert!(filler || plan.layout().sheets[0].length.is_some_and(|length| (length - 1000.0).abs() < 1.5));
    }
}
