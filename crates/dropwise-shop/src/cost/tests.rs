//! Costs against sums done by hand.

use proptest::prelude::*;

use super::*;
use crate::price::Coinage;

fn part(placed: u32, cut_length: f64, material: i64) -> PartFigures {
    let material_cost = Money::from_coins(material);
    PartFigures { placed, net_area: 1.0, weight: 1.0, cut_length, material_cost }
}

fn figures(parts: Vec<PartFigures>) -> PlanFigures {
    let material_cost = parts.iter().map(|part| part.material_cost).sum();
    PlanFigures {
        sheets: Vec::new(),
        parts,
        gross_area: 0.0,
        net_area: 0.0,
        leftover_area: 0.0,
        kerf_area: 0.0,
        other_scrap_area: 0.0,
        sheets_price: material_cost,
        leftover_credit: Money::ZERO,
        scrap_credit: Money::ZERO,
        material_cost,
        gross_weight: 0.0,
        net_weight: 0.0,
        scrap_weight: 0.0,
    }
}

fn coins(coins: i64) -> Money {
    Money::from_coins(coins)
}

/// Two brackets of 500 mm cut, two holes and one bend, and a ring of 1 m cut: 2 m at 1.50/m, four holes at 0.25, two
/// bends at 0.80, two batches at 2.00, material 10.00 and 6.00.
#[test]
fn a_bracket_and_a_ring_by_hand() {
    let rates = Rates {
        cutting: Some(CuttingRate::by_length(Price::parse("1.50/m", Coinage::default()).unwrap()).unwrap()),
        coins_per_hole: 25.0,
        coins_per_bend: 80.0,
        setup_per_batch: coins(200),
    };
    let work = [PartWork { drilled_holes: 2, bends: 1, cut_length: None }, PartWork::default()];
    let cost = PlanCost::new(&figures(vec![part(2, 500.0, 1000), part(1, 1000.0, 600)]), &work, &rates).unwrap();
    let bracket = Cost {
        material: coins(1000),
        cutting: coins(150),
        drilling: coins(100),
        bending: coins(160),
        setup: coins(200),
    };
    let ring = Cost { material: coins(600), cutting: coins(150), setup: coins(200), ..Cost::default() };
    assert_eq!(cost.parts, [PartCost { placed: 2, cost: bracket }, PartCost { placed: 1, cost: ring }]);
    assert_eq!((bracket.total(), ring.total()), (coins(1610), coins(950)));
    assert_eq!(cost.whole.total(), coins(2560));
    assert_eq!(cost.whole.work(), coins(960));
    assert_eq!(cost.parts[0].each(), Some(coins(805)));
    assert_eq!(cost.cutting_minutes, None);
}

/// 3 m at 500 mm a minute are 6 minutes, at 40.00 an hour 4.00.
#[test]
fn cutting_by_the_hour() {
    let cutting = Some(CuttingRate::ByTime { coins_per_hour: 4000.0, millimetres_per_minute: 500.0 });
    let rates = Rates { cutting, ..Rates::default() };
    let cost = PlanCost::new(&figures(vec![part(3, 1000.0, 0)]), &[PartWork::default()], &rates).unwrap();
    assert_eq!(cost.whole.cutting, coins(400));
    assert_eq!(cost.cutting_minutes, Some(6.0));
}

#[test]
fn a_foot_costs_what_a_foot_costs() {
    let rate = CuttingRate::by_length(Price::parse("0.50/ft", Coinage::default()).unwrap()).unwrap();
    let rates = Rates { cutting: Some(rate), ..Rates::default() };
    let cost = PlanCost::new(&figures(vec![part(4, 304.8, 0)]), &[PartWork::default()], &rates).unwrap();
    assert_eq!(cost.whole.cutting, coins(200));
    for basis in [Basis::Piece, Basis::Kilogram, Basis::Pound] {
        let price = Price::new(50.0, basis).unwrap();
        assert_eq!(CuttingRate::by_length(price), Err(CostError::NotByLength { basis }));
    }
}

#[test]
fn drilled_holes_are_not_cut_as_well() {
    let rates = Rates { cutting: Some(CuttingRate::ByLength { coins_per_millimetre: 1.0 }), ..Rates::default() };
    let work = [PartWork { cut_length: Some(400.0), ..PartWork::default() }];
    let cost = PlanCost::new(&figures(vec![part(1, 500.0, 0)]), &work, &rates).unwrap();
    assert_eq!(cost.whole.cutting, coins(400));
}

#[test]
fn what_is_not_placed_costs_no_work() {
    let rates = Rates { coins_per_hole: 25.0, coins_per_bend: 80.0, setup_per_batch: coins(200), ..Rates::default() };
    let work = [PartWork { drilled_holes: 9, bends: 9, cut_length: None }; 2];
    let cost = PlanCost::new(&figures(vec![part(0, 500.0, 0), part(1, 500.0, 300)]), &work, &rates).unwrap();
    assert_eq!(cost.parts[0].cost, Cost::default());
    assert_eq!(cost.parts[0].each(), None);
    assert_eq!(cost.whole.total(), coins(300 + 225 + 720 + 200));
    let nothing = PlanCost::new(&figures(Vec::new()), &[], &rates).unwrap();
    assert_eq!((nothing.whole, nothing.parts.len()), (Cost::default(), 0));
}

#[test]
fn making_against_buying() {
    let work = [PartWork::default(); 3];
    let parts = vec![part(2, 1.0, 1500), part(1, 1.0, 900), part(0, 1.0, 0)];
    let cost = PlanCost::new(&figures(parts), &work, &Rates::default()).unwrap();
    let compared = cost.against_ready_made(&[Some(coins(1000)), Some(coins(600)), Some(coins(100))]);
    assert_eq!(compared[0], Some(Comparison { made: coins(1500), bought: coins(2000) }));
    assert_eq!(compared.iter().flatten().map(Comparison::saving).collect::<Vec<_>>(), [coins(500), coins(-300)]);
    assert_eq!(compared[2], None);
    assert_eq!(cost.against_ready_made(&[None]), [None, None, None]);
}

#[test]
fn all_faults_are_reported_at_once() {
    let rates = Rates {
        cutting: Some(CuttingRate::ByTime { coins_per_hour: -1.0, millimetres_per_minute: 0.0 }),
        coins_per_hole: f64::INFINITY,
        coins_per_bend: -2.0,
        setup_per_batch: coins(-3),
    };
    let work = [PartWork { cut_length: Some(-4.0), ..PartWork::default() }];
    let faults = PlanCost::new(&figures(Vec::new()), &work, &rates).unwrap_err();
    let bad = |what, value| CostError::BadNumber { what, value };
    assert_eq!(
        faults,
        [
            CostError::NoSpeed { millimetres_per_minute: 0.0 },
            bad("the rate for a drilled hole", f64::INFINITY),
            bad("the rate for a bend", -2.0),
            bad("the rate for setting up", -3.0),
            bad("the rate for an hour of cutting", -1.0),
            CostError::WorkCount { parts: 0, work: 1 },
            CostError::BadCutLength { part: 0, value: -4.0 },
        ]
    );
    for speed in [f64::NAN, f64::INFINITY, -1.0] {
        let cutting = Some(CuttingRate::ByTime { coins_per_hour: 1.0, millimetres_per_minute: speed });
        assert_eq!(Rates { cutting, ..Rates::default() }.faults().len(), 1, "{speed}");
    }
    let cutting = Some(CuttingRate::ByLength { coins_per_millimetre: f64::NAN });
    assert_eq!(Rates { cutting, ..Rates::default() }.faults().len(), 1);
}

fn any_part() -> impl Strategy<Value = (PartFigures, PartWork)> {
    // Material below zero too: leftovers may be worth more than was paid.
    (0_u32..50, 0.0..1e4, -100_000_i64..100_000, proptest::option::of(0.0..1e4), 0_u32..20, 0_u32..10).prop_map(
        |(placed, length, material, cut_length, drilled_holes, bends)| {
            (part(placed, length, material), PartWork { cut_length, drilled_holes, bends })
        },
    )
}

proptest! {
    /// Shares add up to the whole, kind by kind, to the coin; and the whole is the rate times the sum of the needs.
    #[test]
    fn shares_add_up_to_the_coin(
        parts in proptest::collection::vec(any_part(), 0..12),
        cutting in 0.0..2.0,
        hole in 0.0..300.0,
        bend in 0.0..500.0,
        setup in 0_i64..5000,
    ) {
        let (parts, work): (Vec<_>, Vec<_>) = parts.into_iter().unzip();
        let rates = Rates {
            cutting: Some(CuttingRate::ByLength { coins_per_millimetre: cutting }),
            coins_per_hole: hole,
            coins_per_bend: bend,
            setup_per_batch: coins(setup),
        };
        let cost = PlanCost::new(&figures(parts.clone()), &work, &rates).unwrap();
        let sum = |kind: fn(&Cost) -> Money| cost.parts.iter().map(|part| kind(&part.cost)).sum::<Money>();
        prop_assert_eq!(sum(|c| c.material), cost.whole.material);
        prop_assert_eq!(sum(|c| c.cutting), cost.whole.cutting);
        prop_assert_eq!(sum(|c| c.drilling), cost.whole.drilling);
        prop_assert_eq!(sum(|c| c.bending), cost.whole.bending);
        prop_assert_eq!(sum(|c| c.setup), cost.whole.setup);
        prop_assert_eq!(sum(Cost::total), cost.whole.total());
        // By the part, without sharing: each is within a coin of its own sum for each kind.
        for ((part, work), shared) in parts.iter().zip(&work).zip(&cost.parts) {
            let count = f64::from(part.placed);
            let near = |coins: f64, share: Money| (coins - share.coins() as f64).abs() <= 1.0 + 1e-6;
            prop_assert!(near(cutting * count * work.cut_length.unwrap_or(part.cut_length), shared.cost.cutting));
            prop_assert!(near(hole * count * f64::from(work.drilled_holes), shared.cost.drilling));
            prop_assert!(near(bend * count * f64::from(work.bends), shared.cost.bending));
        }
    }
}
