//! Parts that cannot be: each with its message.

use dropwise_geometry::{Outline, Point, Shape};

use crate::bend::{Development, KFactor};
use crate::fold::{
    BaseFace, BentErrors, BentPart, CornerJoin, Edge, EndCut, Extent, Flange, Join, Notch, NotchForm, Relief,
    ReliefSize, Turn, tray, unfold,
};
use crate::pattern::{Base, Corner, Cut, Feature, Pattern, Position};

fn plate() -> BentPart {
    BentPart::new(2.0, 2.0, Pattern::plain(Base::rectangle(80.0, 50.0, Corner::Sharp)))
}

fn tab(height: f64) -> Flange {
    Flange::new("tab", Edge::Top, height)
}

fn faults(part: &BentPart) -> BentErrors {
    let k = KFactor::given(0.44).unwrap();
    match unfold(part, &|_| Development::KFactor(k.clone())) {
        Ok(_) => panic!("nothing was found wrong"),
        Err(errors) => errors,
    }
}

fn assert_told(part: &BentPart, wanted: &[&str]) {
    let told = faults(part).to_string();
    assert_eq!(told.lines().collect::<Vec<_>>(), wanted);
}

#[test]
fn edges_that_cannot_be_bent() {
    let disc = BentPart::new(2.0, 2.0, Pattern::plain(Base::Circle { diameter: 60.0 }));
    assert_told(
        &disc.clone().with(tab(20.0)),
        &["face \"tab\": the top edge of face \"base\" is curved; a flange needs a straight edge"],
    );
    assert_told(
        &disc.with(Flange { edge: Edge::Side(1), ..tab(20.0) }),
        &["face \"tab\": the side 2 of face \"base\" is curved; a flange needs a straight edge"],
    );
    assert_told(
        &plate().with(Flange { edge: Edge::Side(4), ..tab(20.0) }),
        &["face \"tab\": face \"base\" has no side 5 that is straight"],
    );
    assert_told(
        &plate().with(tab(20.0).with(Flange::new("return", Edge::Bottom, 12.0))),
        &["face \"return\": the bottom edge of face \"tab\" is where that face itself is bent"],
    );
    assert_told(
        &plate().with(tab(20.0).from_to(-5.0, 90.0)),
        &[
            "face \"tab\": it is told from -5.000 to 90.000 mm along an edge of face \"base\" that runs from 0.000 to 80.000 mm",
        ],
    );
    assert_told(
        &plate().with(tab(20.0).from_to(40.0, 10.0)),
        &[
            "face \"tab\": it is told from 40.000 to 10.000 mm along an edge of face \"base\" that runs from 0.000 to 80.000 mm",
        ],
    );
    assert_told(
        &plate().with(Flange { extent: Extent::Middle(f64::NAN), ..tab(20.0) }),
        &[
            "face \"tab\": it is told from NaN to NaN mm along an edge of face \"base\" that runs from 0.000 to 80.000 mm",
        ],
    );
    assert_told(
        &plate().with(tab(20.0).from_to(5.0, 45.0)).with(Flange::new("ear", Edge::Top, 15.0).from_to(40.0, 70.0)),
        &["faces \"tab\" and \"ear\" overlap on the edge of face \"base\" from 40.000 to 45.000 mm"],
    );
}

#[test]
fn bends_that_cannot_be() {
    assert_told(
        &plate().with(tab(20.0).turned(180.0)),
        &["face \"tab\": it is bent by 180°; a half turn and more must be told as a hem"],
    );
    assert_told(
        &plate().with(tab(20.0).turned(0.0)),
        &["face \"tab\": it is bent by 0°; the angle must be more than 0° and less than 180°"],
    );
    assert_told(
        &plate().with(tab(20.0).turned(f64::NAN)),
        &["face \"tab\": it is bent by NaN°; the angle must be more than 0° and less than 180°"],
    );
    let sharp = plate().with(Flange { inside_radius: Some(0.0), ..tab(20.0) });
    assert_told(
        &sharp,
        &["face \"tab\": the inside radius is 0; only closed hems and parts told to be coined sharp have none"],
    );
    let k = KFactor::given(0.44).unwrap();
    assert!(unfold(&BentPart { is_sharp_allowed: true, ..sharp }, &|_| Development::KFactor(k.clone())).is_ok());
    assert_told(
        &plate().with(Flange { inside_radius: Some(-1.0), ..tab(20.0) }),
        &["face \"tab\": an inside radius of -1 mm is not one of a bend (0 to 10000 mm)"],
    );
    assert_told(
        &plate().with(tab(4.0)),
        &["face \"tab\": its height is 4.000 mm, and its own bend takes 4.000 mm of that"],
    );
    assert_told(
        &plate().with(tab(-3.0)),
        &["face \"tab\": the height is -3 mm; it must be more than 0 and at most 100 m"],
    );
    assert_told(
        &plate().with(Flange::teardrop_hem("hem", Edge::Top, 3.0, 3.5)),
        &["face \"hem\": the leaf of the teardrop hem is 3.000 mm; it must be longer than its radius of 3.500 mm"],
    );
    assert_told(
        &plate().with(Flange { turn: Turn::OpenHem { gap: 0.0 }, ..Flange::closed_hem("hem", Edge::Top, 9.0) }),
        &["face \"hem\": the gap of the hem is 0 mm; it must be more than 0 and at most 100 m"],
    );
    let far = faults(&plate().with(tab(20.0).turned(175.0))).to_string();
    assert!(far.starts_with("face \"tab\": a bend of 175° has no corner to measure a leg to"), "{far}");
    assert_told(
        &BentPart { thickness: 0.0, ..plate().with(tab(20.0)) },
        &["face \"base\": a thickness of 0 mm is not one of sheet or plate (0.02 to 200 mm)"],
    );
    assert_told(
        &plate().with(Flange { ends: [Some(EndCut { set_back: -1.0, slant_deg: 95.0 }), None], ..tab(20.0) }),
        &["face \"tab\": the set-back of an end is -1", "face \"tab\": the slant of an end is 95"],
    );
}

#[test]
fn independent_faults_are_told_together() {
    let part = plate()
        .with(tab(3.0))
        .with(Flange::new("left", Edge::Left, 20.0).turned(200.0))
        .with(Flange::new("tab", Edge::Right, 20.0))
        .with(Flange::new("", Edge::Bottom, 20.0).from_to(10.0, 500.0));
    assert_told(
        &part,
        &[
            "face \"tab\": its height is 3.000 mm, and its own bend takes 4.000 mm of that",
            "face \"left\": it is bent by 200°; a half turn and more must be told as a hem",
            "two faces are named \"tab\"",
            "a flange of face \"base\" has no name",
            "face \"\": it is told from 10.000 to 500.000 mm along an edge of face \"base\" that runs from 0.000 to 80.000 mm",
        ],
    );
}

#[test]
fn holes_across_bends() {
    let hole = |position: Position| Feature { position, cut: Cut::Hole { diameter: 6.0 } };
    let at = |x: f64, y: f64| Position::new(crate::pattern::FromX::Left(x), crate::pattern::FromY::Bottom(y));
    let mut part = plate().with(Flange { features: vec![hole(at(20.0, 6.0))], ..tab(20.0) });
    assert_told(
        &part,
        &["face \"tab\": feature 1 lies across the bend of face \"tab\" at (20.000, 6.000) in its own frame"],
    );
    part.flanges[0].features.clear();
    let BaseFace::Pattern(base) = &mut part.base else { panic!("told by dimensions") };
    base.features = vec![hole(at(40.0, 20.0)), hole(at(10.0, 44.0))];
    assert_told(
        &part,
        &["face \"base\": feature 2 lies across the bend of face \"tab\" at (10.000, 44.000) in its own frame"],
    );
    // A hole on the slanted-off end of a flange.
    let features = vec![hole(at(75.0, 15.0))];
    let cut = Some(EndCut { set_back: 0.0, slant_deg: 45.0 });
    assert_told(
        &plate().with(Flange { features, ends: [cut; 2], ..tab(20.0) }),
        &["face \"tab\": feature 1 breaks through its edge near (75.000, 15.000) in its own frame"],
    );
    // The pattern's own faults come with the face's name.
    let features = vec![hole(at(200.0, 12.0))];
    let told = faults(&plate().with(Flange { features, ..tab(20.0) })).to_string();
    assert!(told.starts_with("face \"tab\": feature 1 (round hole)"), "{told}");
}

#[test]
fn faces_that_collide_when_flat() {
    // Flanges into the inside corner of an L lie on one another when flat.
    let l = Base::L { length_x: 100.0, width_x: 30.0, length_y: 100.0, width_y: 30.0, inside_radius: None };
    let part = BentPart::new(1.0, 1.0, Pattern::plain(l));
    let walls = part
        .with(Flange::new("inner", Edge::Side(2), 20.0).from_to(0.0, 65.0))
        .with(Flange::new("upright", Edge::Side(3), 20.0).from_to(5.0, 70.0));
    let told = faults(&walls).to_string();
    assert!(told.starts_with("faces \"inner\" and \"upright\" overlap when flat, by "), "{told}");
    let errors = faults(&walls);
    let crate::fold::BentError::Collision { at, .. } = &errors.errors()[0] else { panic!("{told}") };
    assert!((30.0..51.0).contains(&at.x) && (30.0..51.0).contains(&at.y), "in the corner: {at:?}");
    // Two walls of a tray whose returns at the sides run into each other.
    let mut part = tray(100.0, 100.0, 40.0, 1.0, 1.0);
    part.flanges[0].flanges.push(Flange::new("tab one", Edge::Right, 15.0));
    part.flanges[3].flanges.push(Flange::new("tab two", Edge::Left, 15.0));
    let told = faults(&part).to_string();
    assert!(told.contains("overlap when flat"), "{told}");
}

#[test]
fn nothing_left_of_a_face() {
    let narrow = BentPart::new(2.0, 2.0, Pattern::plain(Base::rectangle(80.0, 7.0, Corner::Sharp)))
        .with(Flange::new("front", Edge::Bottom, 20.0))
        .with(Flange::new("back", Edge::Top, 20.0));
    let told = faults(&narrow).to_string();
    assert!(told.starts_with("face \"base\": its bends, ends and notches leave nothing of it near"), "{told}");
    let told = faults(&plate().with(tab(60.0).slanted(45.0))).to_string();
    assert!(told.starts_with("face \"tab\": its bends, ends and notches leave nothing of it near"), "{told}");
    // A notch as deep as the part.
    let notch = Notch { edge: Edge::Top, at: 40.0, form: NotchForm::Rectangular { width: 5.0, depth: 60.0 } };
    let told = faults(&BentPart { notches: vec![notch], ..plate() }).to_string();
    assert!(told.starts_with("face \"base\": its bends, ends and notches leave nothing of it near"), "{told}");
}

#[test]
fn notches_where_none_can_be() {
    let notch =
        |edge: Edge, at: f64, width: f64| Notch { edge, at, form: NotchForm::Rectangular { width, depth: 5.0 } };
    let with = |notch: Notch| BentPart { notches: vec![notch], ..plate() };
    assert_told(
        &with(notch(Edge::Right, 2.0, 10.0)),
        &[
            "face \"base\": it is told from -3.000 to 7.000 mm along an edge of face \"base\" that runs from 0.000 to 50.000 mm",
        ],
    );
    assert_told(
        &with(notch(Edge::Right, 20.0, f64::INFINITY)),
        &[
            "face \"base\": the size of a notch is inf mm; it must be more than 0 and at most 100 m",
            "face \"base\": it is told from -inf to inf mm along an edge of face \"base\" that runs from 0.000 to 50.000 mm",
        ],
    );
    assert_told(
        &with(notch(Edge::Top, 30.0, 10.0)).with(tab(20.0)),
        &["faces \"tab\" and \"base\" overlap on the edge of face \"base\" from 25.000 to 35.000 mm"],
    );
}

#[test]
fn reliefs_and_joins_that_cannot_be() {
    let hand = |width: f64| Relief::Rectangular(ReliefSize::Hand { width, depth: 1.0 });
    let part = plate().with(Flange { relief: Some(hand(12.0)), ..tab(20.0).from_to(10.0, 60.0) });
    let told = "face \"tab\": there is no room for the relief at the end of its bend near (70.000, 50.000) on the flat pattern";
    assert_told(&part, &[told]);
    let small = Relief::HoleSawn { diameter: Some(2.0) };
    assert_told(
        &plate().with(Flange { relief: Some(small), ..tab(20.0).from_to(10.0, 60.0) }),
        &[
            "face \"tab\": a relief hole of radius 1.000 mm does not free the end of its bend; it takes more than 2.262 mm",
            "face \"tab\": a relief hole of radius 1.000 mm does not free the end of its bend; it takes more than 2.262 mm",
        ],
    );
    let mut uneven = tray(100.0, 80.0, 20.0, 2.0, 2.0).with_join(Join::Mitred { gap: 0.0 });
    uneven.flanges[0].turn = Turn::Angle(45.0);
    assert_told(
        &uneven,
        &[
            "faces \"left\" and \"front\" cannot be mitred: they do not bend by the same angle the same way",
            "faces \"front\" and \"right\" cannot be mitred: they do not bend by the same angle the same way",
        ],
    );
    let told = faults(&BentPart { join: Join::Overlapped { by_second: true, gap: 0.0 }, ..uneven }).to_string();
    assert!(told.starts_with("faces \"left\" and \"front\" cannot overlap"), "{told}");
    let nowhere = CornerJoin { edge: Edge::Side(9), join: Join::Open, relief: None };
    assert_told(
        &BentPart { corners: vec![nowhere], ..plate() },
        &["face \"base\": face \"base\" has no side 10 that is straight"],
    );
}

#[test]
fn drawn_bases_are_checked() {
    let bow = Outline::polygon([(0.0, 0.0), (40.0, 40.0), (40.0, 0.0), (0.0, 40.0)].map(|(x, y)| Point::new(x, y)));
    let part = BentPart::of(1.0, 1.0, BaseFace::Shape(Shape::new(bow, Vec::new())));
    let told = faults(&part).to_string();
    assert!(told.starts_with("face \"base\": ") && told.contains("crosses itself"), "{told}");
}

#[test]
fn parts_without_end_are_refused() {
    let mut deep = Flange::new("0", Edge::Top, 20.0);
    for i in 1..60 {
        deep = Flange::new(&i.to_string(), Edge::Top, 20.0).with(deep);
    }
    let told = faults(&plate().with(deep)).to_string();
    assert!(told.contains("follows on more than 40 bends in a row"), "{told}");
    let mut wide = plate();
    wide.flanges = (0..500).map(|i| Flange::new(&i.to_string(), Edge::Top, 20.0)).collect();
    assert!(faults(&wide).to_string().contains("the part has 501 faces; at most 400 are allowed"));
}
