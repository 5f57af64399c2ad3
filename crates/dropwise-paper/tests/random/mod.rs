//! Plans and bent parts of random sizes, the same for the same seed.

use dropwise_geometry::{Isometry, Outline, Point, Shape};
use dropwise_model::{
    Clearances, Job, Layout, LeftoverRule, Money, Need, Part, Placement, Plan, Provenance, Sheet, SheetUse, StockClass,
    Turns,
};
use dropwise_paper::{BendCard, BendLine, CardStep};
use dropwise_shop::bend::{Development, KFactor};
use dropwise_shop::fold::{BaseFace, BentPart, channel, hat_section, lipped_box, tray, unfold, z_section};
use dropwise_shop::pattern::{Cut, Feature, FromX, FromY, Position};

/// A small generator, so that the plans of the test are always the same.
struct Dice(u64);

impl Dice {
    fn next(&mut self, most: f64) -> f64 {
        // Numerical Recipes' linear congruence (from memory).
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64 * most
    }
}

/// A sheet packed in rows with parts of random sizes, some turned, some face down, some bent, with holes.
pub(crate) fn random_plan(seed: u64) -> (Job, Plan, Vec<BendLine>) {
    let mut dice = Dice(seed.wrapping_mul(977).wrapping_add(13));
    let (wide, high) = (600.0 + dice.next(1400.0), 400.0 + dice.next(800.0));
    let kinds = 4 + dice.next(9.0) as usize;
    let (mut parts, mut bends) = (Vec::new(), Vec::new());
    for kind in 0..kinds {
        let size = (12.0 + dice.next(260.0), 10.0 + dice.next(160.0));
        let mut holes = Vec::new();
        if size.0 > 60.0 && size.1 > 40.0 {
            holes.push(Outline::circle(Point::new(size.0 * 0.3, size.1 * 0.5), 3.0 + dice.next(8.0)).reversed());
            holes.push(Outline::circle(Point::new(size.0 * 0.8, size.1 * 0.4), 2.0 + dice.next(5.0)).reversed());
            if dice.next(1.0) < 0.5 {
                bends.push(BendLine {
                    part: kind,
                    name: "1".to_owned(),
                    from: Point::new(0.0, size.1 * 0.75),
                    to: Point::new(size.0, size.1 * 0.75),
                    turn_deg: 90.0,
                    is_up: dice.next(1.0) < 0.5,
                    inside_radius: 2.0,
                    note: String::new(),
                });
            }
        }
        let names = ["cheek", "corner bracket", "drip edge of the long shed", "lug", "vent link", "base plate left"];
        parts.push(Part {
            name: format!("{} {}", names[kind % names.len()], char::from(b'a' + kind as u8)),
            shape: Shape::new(Outline::rectangle(Point::ORIGIN, size.0, size.1), holes),
            quantity: 0,
            class: StockClass::new("steel, 2 mm"),
            turns: Turns::Any,
            may_flip: true,
            need: Need::Filler,
        });
    }
    let mut placements: Vec<Placement> = Vec::new();
    let mut low = 6.0;
    while low < high - 20.0 {
        let (mut left, mut tallest) = (6.0, 10.0f64);
        loop {
            let part = dice.next(kinds as f64) as usize % kinds;
            let turn = if dice.next(1.0) < 0.3 { dice.next(360.0) } else { 90.0 * dice.next(4.0).floor() };
            let position = Isometry::new(dice.next(1.0) < 0.3, turn, 0.0, 0.0);
            let bounds = parts[part].shape.transformed(position).bounds();
            if left + bounds.width() > wide - 6.0 || low + bounds.height() > high - 6.0 {
                break;
            }
            let (dx, dy) = (left - bounds.min.x, low - bounds.min.y);
            placements.push(Placement { part, position: Isometry::new(position.is_mirrored, turn, dx, dy) });
            left += bounds.width() + 2.0;
            tallest = tallest.max(bounds.height());
        }
        low += tallest + 2.0;
    }
    for placement in &placements {
        parts[placement.part].quantity += 1;
    }
    if parts.iter().any(|part| part.quantity == 0) {
        // A kind that found no place makes no job: another throw.
        return random_plan(seed + 10_000);
    }
    let sheet = Sheet {
        name: "sheet".to_owned(),
        shape: Shape::new(Outline::rectangle(Point::ORIGIN, wide, high), Vec::new()),
        damage: Vec::new(),
        class: StockClass::new("steel, 2 mm"),
        quantity: Some(1),
        price: Money::ZERO,
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 1e-5,
    };
    let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
    let rule = LeftoverRule { length: wide, width: high, neck: 1.0 };
    let job = Job::new(parts, vec![sheet], Clearances::default(), rule).unwrap();
    let plan = Plan::new(&job, layout, Provenance::default()).unwrap_or_else(|faults| panic!("{faults:?}"));
    (job, plan, bends)
}

/// Bend cards of parts of random sizes, each bend a step of its own, with holes in the base.
#[allow(dead_code, reason = "not every test that shares this module bends")]
pub(crate) fn random_cards(seed: u64) -> Vec<BendCard> {
    let mut dice = Dice(seed.wrapping_mul(631).wrapping_add(7));
    let mut from = |least: f64, more: f64| (2.0 * (least + dice.next(more))).round() / 2.0;
    let (thickness, radius) = (from(1.0, 2.0), from(1.0, 2.0));
    let (long, wide, high, lip) = (from(90.0, 400.0), from(60.0, 200.0), from(18.0, 60.0), from(10.0, 12.0));
    let mut parts: Vec<(&str, BentPart)> = vec![
        ("channel", channel(long, wide, high, thickness, radius)),
        ("zed", z_section(long, high + 15.0, wide, thickness, radius)),
        ("hat", hat_section(long, wide, high, lip + 8.0, thickness, radius)),
        ("tray", tray(long, wide, high, thickness, radius)),
        ("lipped box", lipped_box(long, wide, high + 20.0, lip, thickness, radius)),
    ];
    let holes = 1 + from(0.0, 6.0) as usize;
    for (_, part) in &mut parts {
        for index in 0..holes {
            let (x, y) = (long * (0.15 + 0.7 * index as f64 / holes as f64), wide * from(0.3, 0.35));
            let cut = Cut::Hole { diameter: from(3.0, 7.0) };
            let BaseFace::Pattern(base) = &mut part.base else { continue };
            base.features.push(Feature { position: Position::new(FromX::Left(x), FromY::Bottom(y)), cut });
        }
    }
    let k = KFactor::given(0.44).unwrap();
    let card = |(index, (name, part)): (usize, (&str, BentPart))| {
        // What cannot be laid flat makes no card: another part stands for it.
        let unfolding = unfold(&part, &|_| Development::KFactor(k.clone())).ok()?;
        let bends = 0..unfolding.bends.len();
        let step = |bend: usize| CardStep {
            name: (bend + 1).to_string(),
            bends: vec![bend],
            what: format!("wall {} up 90°", bend + 1),
            set_up: format!("die 12 mm, punch {} mm", long),
            gauge: format!("gauge {} mm, against the base", high + bend as f64),
        };
        Some(BendCard {
            part: index,
            name: name.to_owned(),
            count: 2,
            metal: "mild steel, 1.50 mm (0.059 in)".to_owned(),
            names: bends.clone().map(|bend| (bend + 1).to_string()).collect(),
            steps: bends.map(step).collect(),
            unfolding,
            warnings: Vec::new(),
            findings: vec!["Mind: the wall is low. Raise it.".to_owned()],
            holes: Vec::new(),
        })
    };
    parts.into_iter().enumerate().filter_map(card).collect()
}
