//! Pictures of whole plans.

mod fixture;

use dropwise_geometry::Unit;
use dropwise_paper::{DrawingStyle, draw_overview, draw_sheet};
use fixture::grid_plan;

/// The picture as read by a general XML parser, and what must hold of every picture.
fn assert_sound(svg: &str) {
    let document = roxmltree::Document::parse(svg).unwrap_or_else(|error| panic!("{error}\n{svg}"));
    let root = document.root_element();
    assert!(root.has_tag_name(("http://www.w3.org/2000/svg", "svg")));
    let view: Vec<f64> = root.attribute("viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
    assert!(view.len() == 4 && view[2] > 0.0 && view[3] > 0.0);
    // White lies behind everything.
    let ground = root.children().find(|node| node.has_tag_name("rect")).unwrap();
    assert_eq!(ground.attribute("fill"), Some("#fff"));
    assert_eq!(ground.attribute("width").unwrap().parse::<f64>().unwrap(), view[2]);
    // Nothing comes from outside, every reference within is met, and no name is given twice.
    let mut names = Vec::new();
    let mut references = Vec::new();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        assert!(!["script", "image", "use", "style", "foreignObject", "a"].contains(&node.tag_name().name()));
        for attribute in node.attributes() {
            let value = attribute.value();
            assert!(!value.contains("://") && !attribute.name().ends_with("href"), "{value}");
            if let Some(name) = value.strip_prefix("url(#") {
                references.push(name.trim_end_matches(')').to_owned());
            }
            if attribute.name() == "id" {
                names.push(value.to_owned());
            }
            if ["x", "y", "width", "height", "cx", "cy", "r", "font-size"].contains(&attribute.name()) {
                let number: f64 = value.trim_end_matches("mm").parse().unwrap();
                assert!(number.is_finite());
            }
        }
    }
    for reference in references {
        assert!(names.contains(&reference), "{reference}");
    }
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count);
}

fn texts(svg: &str) -> Vec<String> {
    let document = roxmltree::Document::parse(svg).unwrap();
    let texts = document.descendants().filter(|node| node.has_tag_name("text"));
    texts.map(|node| node.text().unwrap_or_default().to_owned()).collect()
}

#[test]
fn pictures_of_a_plan_are_sound_and_the_same_each_time() {
    let (job, plan) = fixture::plan();
    for unit in Unit::ALL {
        let style = DrawingStyle { unit, ..DrawingStyle::default() };
        for index in 0..plan.layout().sheets.len() {
            let svg = draw_sheet(&job, &plan, index, &style);
            assert_sound(&svg);
            assert_eq!(svg, draw_sheet(&job, &plan, index, &style));
        }
        assert_sound(&draw_overview(&job, &plan, &style));
    }
}

#[test]
fn sheet_says_what_it_is_and_names_every_copy() {
    let (job, plan) = fixture::plan();
    let svg = draw_sheet(&job, &plan, 0, &DrawingStyle::default());
    let texts = texts(&svg);
    for wanted in [
        "Drop from the stair job",
        "galvanized steel, 16 ga (1.61 mm) · rack 2, slot B",
        "1240 mm",
        "905 mm",
        "grain",
        "sheet 1 of 3",
        "damaged, kept clear",
        "datum corner",
        "A1 Side plate",
        "A2 Side plate",
    ] {
        assert!(texts.iter().any(|text| text == wanted), "{wanted} is not in {texts:?}");
    }
    // Every placed part is drawn and described, whether its name found room or not.
    let document = roxmltree::Document::parse(&svg).unwrap();
    let described = document.descendants().filter(|node| node.has_tag_name("title")).count();
    assert_eq!(described, plan.layout().sheets[0].placements.len() + 1);
}

#[test]
fn yield_is_that_of_the_plan() {
    let (job, plan) = grid_plan((1000.0, 500.0), (250.0, 250.0), (2, 2), ["Panel", "Sheet", "steel", "rack"]);
    // Four panels of 250 x 250 on 1000 x 500: half. Elementary geometry.
    let texts = texts(&draw_sheet(&job, &plan, 0, &DrawingStyle::default()));
    assert!(texts.contains(&"yield 50.0 %".to_owned()), "{texts:?}");
}

#[test]
fn hostile_names_stay_text() {
    let names = [
        "<script>alert('x')</script> & \"quoted\" \u{0}\u{8}\u{1b}[31m\u{202e}",
        "]]><svg onload=\"x\">\r\n\tname",
        "&amp;&#x0;&nope;",
        "\u{ffff}\u{fffe}",
    ];
    let (job, plan) = grid_plan((1000.0, 500.0), (400.0, 200.0), (2, 2), names);
    for svg in
        [draw_sheet(&job, &plan, 0, &DrawingStyle::default()), draw_overview(&job, &plan, &DrawingStyle::default())]
    {
        assert_sound(&svg);
        assert!(svg.chars().all(|c| c == '\n' || !c.is_control()));
        assert!(texts(&svg).iter().any(|text| text == "&amp;&#x0;&nope;"), "{:?}", texts(&svg));
    }
}

#[test]
fn endless_names_are_shortened() {
    let long = "Very long name without end ".repeat(400);
    let wall = "W".repeat(9000);
    let (job, plan) = grid_plan((1000.0, 500.0), (400.0, 200.0), (2, 2), [&long, &wall, &long, &wall]);
    let svg = draw_sheet(&job, &plan, 0, &DrawingStyle::default());
    assert_sound(&svg);
    assert!(texts(&svg).iter().all(|text| text.chars().count() < 160));
}

#[test]
fn sheets_of_any_size_and_form_can_be_drawn() {
    for size in [(0.5, 0.4), (20_000.0, 1.0), (1.0, 20_000.0), (90_000.0, 90_000.0), (1250.0, 2500.0)] {
        let part = (size.0 * 0.45, size.1 * 0.45);
        let (job, plan) = grid_plan(size, part, (2, 2), ["Panel", "Sheet", "steel", "rack"]);
        for paper_width in [277.0, 0.0, f64::NAN, f64::INFINITY] {
            let style = DrawingStyle { paper_width, ..DrawingStyle::default() };
            assert_sound(&draw_sheet(&job, &plan, 0, &style));
            assert_sound(&draw_overview(&job, &plan, &style));
        }
    }
}

#[test]
fn a_thousand_small_parts_are_drawn_without_a_thousand_names() {
    let (job, plan) = grid_plan((1000.0, 600.0), (8.0, 8.0), (40, 25), ["Washer plate", "Sheet", "steel", "rack"]);
    let svg = draw_sheet(&job, &plan, 0, &DrawingStyle::default());
    assert_sound(&svg);
    // Keys are led out as far as lines do not hide the parts; of the rest it is told how many there are.
    let texts = texts(&svg);
    assert!(texts.len() < 90, "{texts:?}");
    let told = texts.iter().find_map(|text| text.strip_prefix("without a key, too small: ")).expect("the rest is told");
    let keys = texts.iter().filter(|text| text.starts_with('A') && text[1..].parse::<u32>().is_ok()).count();
    assert_eq!(keys + told.parse::<usize>().unwrap(), 1000);
}

#[test]
fn prefix_sets_pictures_on_one_page_apart() {
    let (job, plan) = fixture::plan();
    let style = |prefix: &str| DrawingStyle { id_prefix: prefix.to_owned(), ..DrawingStyle::default() };
    let one = draw_sheet(&job, &plan, 0, &style("a"));
    let other = draw_sheet(&job, &plan, 0, &style("b"));
    assert!(one.contains("id=\"da-damage\"") && !other.contains("id=\"da-"));
    assert_sound(&draw_sheet(&job, &plan, 0, &style("\"><x y=\"")));
}

#[test]
fn small_picture_stays_as_it_is() {
    let (job, plan) = grid_plan((200.0, 100.0), (90.0, 80.0), (2, 1), ["Panel", "Offcut", "steel, 2 mm", "rack 1"]);
    let svg = draw_sheet(&job, &plan, 0, &DrawingStyle::default());
    insta::assert_snapshot!(svg);
}
