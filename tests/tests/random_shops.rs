//! Random jobs that come through more than the nester: bent parts told as they are when finished, and small markets in which
//! it is chosen what to buy. Every plan is judged by the referee, which knows none of that.

use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::Path;

use dropwise_buying::{Market, Seller, Source, decide};
use dropwise_formats::parse_job;
use dropwise_model::{Job, Money, Need, Part};
use dropwise_nest::{Settings, nest};
use dropwise_tests::judge;
use dropwise_tests::random_job::random_job;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

const BENT_JOBS: u64 = 30;
const MARKETS: u64 = 12;

fn bent_parts(dice: &mut Pcg64Mcg) -> String {
    let mut text = String::from(
        "defaults = { material = \"mild steel\", thickness = \"1.5 mm\" }\nbending = { inside_radius = 2, k = 0.4 }\n",
    );
    let kerf = [0.0, 1.0, 2.5][dice.random_range(0..3)];
    let (web, margin) = (kerf + [0.0, 2.0][dice.random_range(0..2)], [0.0, 4.0][dice.random_range(0..2)]);
    writeln!(text, "clearances = {{ kerf = {kerf}, web = {web}, margin = {margin} }}").unwrap();
    for index in 0..dice.random_range(2..5) {
        let mut size = |low: i32, high: i32| dice.random_range(low..high);
        let form = match size(0, 5) {
            0 => format!(
                "angle_bracket = {{ length = {}, base = {}, leg = {} }}",
                size(40, 160),
                size(25, 60),
                size(20, 60)
            ),
            1 => {
                format!("channel = {{ length = {}, web = {}, flange = {} }}", size(60, 300), size(30, 80), size(15, 40))
            }
            2 => format!(
                "z_section = {{ length = {}, web = {}, flange = {} }}",
                size(60, 300),
                size(30, 60),
                size(15, 40)
            ),
            3 => format!(
                "hat_section = {{ length = {}, crown = {}, height = {}, brim = {} }}",
                size(80, 250),
                size(40, 70),
                size(20, 35),
                size(15, 25)
            ),
            _ => {
                format!("tray = {{ length = {}, width = {}, height = {} }}", size(90, 200), size(70, 130), size(15, 40))
            }
        };
        writeln!(text, "[[parts]]\nname = \"part {index}\"\nquantity = {}\n{form}", size(1, 4)).unwrap();
    }
    for index in 0..dice.random_range(1..4) {
        let (width, height, price) =
            (dice.random_range(200..600), dice.random_range(150..400), dice.random_range(1..40));
        writeln!(
            text,
            "[[sheets]]\nname = \"sheet {index}\"\nquantity = 2\nprice = {price}\nrectangle = {{ width = {width}, height = {height} }}"
        )
        .unwrap();
    }
    text
}

#[test]
fn bent_parts_are_nested_without_a_fault() {
    let mut placed = 0;
    for seed in 0..BENT_JOBS {
        let text = bent_parts(&mut Pcg64Mcg::seed_from_u64(seed));
        let loaded = parse_job(Path::new("job.toml"), &text).unwrap_or_else(|errors| panic!("{text}\n{errors:#?}"));
        let settings = Settings { seed, time_limit: None, rounds: Some(1), chains: 1, ..Settings::default() };
        let plan = nest(&loaded.job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
        assert_eq!(judge(&loaded.job, &plan), Vec::<String>::new(), "seed {seed}\n{text}");
        placed += plan.certificate().parts_checked();
    }
    assert!(placed > 3 * BENT_JOBS as usize, "{placed} parts on all sheets");
}

/// A small market: the sheets of a random job, some in the rack, some offered by one of two sellers.
fn market(seed: u64) -> Market {
    let job = random_job(seed);
    let mut dice = Pcg64Mcg::seed_from_u64(seed);
    let parts: Vec<Part> = job.parts().iter().map(|part| Part { need: Need::Required, ..part.clone() }).collect();
    let job = Job::new(parts, job.sheets().to_vec(), *job.clearances(), *job.leftover_rule()).expect("still sound");
    let sources = job.sheets().iter().map(|_| match dice.random_range(0..3) {
        0 => Source::Rack,
        choice => Source::Offer {
            seller: (choice == 1).then(|| dice.random_range(0..2)),
            charge: Money::from_coins(dice.random_range(0..300)),
            is_priced: true,
        },
    });
    let sources = sources.collect();
    let seller = |name: &str, delivery| Seller {
        name: name.to_owned(),
        delivery: Money::from_coins(delivery),
        minimum_order: Money::from_coins(500),
    };
    Market::new(job, sources, vec![seller("near", 200), seller("far", 900)]).expect("a sound market")
}

#[test]
fn what_is_bought_on_small_markets_is_judged_too() {
    let mut chosen = 0;
    for seed in 0..MARKETS {
        let market = market(seed);
        let settings =
            dropwise_buying::Settings { seed, time_limit: None, rounds: 2, ..dropwise_buying::Settings::default() };
        let decision = decide(&market, &settings, |_| ControlFlow::Continue(())).expect("no fault of ours");
        for choice in &decision.choices {
            assert_eq!(judge(market.job(), &choice.plan), Vec::<String>::new(), "seed {seed}");
            assert_eq!(choice.plan.layout().unplaced, [], "seed {seed}: a choice makes everything");
            assert_eq!(choice.bill.metal, choice.plan.figures().material_cost, "seed {seed}");
            let fees: Money = choice.bill.fees.iter().map(dropwise_buying::Fee::amount).sum();
            assert_eq!(choice.bill.total, choice.bill.metal + choice.bill.charges + fees, "seed {seed}");
            let bound = decision.lower_bound;
            assert!(bound.is_none_or(|bound| bound <= choice.bill.total), "seed {seed}: {bound:?} {:?}", choice.bill);
            chosen += 1;
        }
    }
    assert!(chosen > MARKETS / 2, "{chosen} choices on {MARKETS} markets");
}
