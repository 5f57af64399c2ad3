//! The recipes of `docs/recipes.md`: each is read off the page, checked and nested, and what the page claims is compared.
//! Run with `DROPWISE_WRITE_DOCS=1` to write claims and pictures anew; then look at them.

use std::path::{Path, PathBuf};

use dropwise_cli::Exit;
use dropwise_formats::{LoadedJob, load_job};
use dropwise_geometry::format_length;
use dropwise_paper::{DrawingStyle, draw_flat_alone, draw_folded, draw_piece};
use serde_json::Value;

use crate::rack::{json, ok};
use crate::shop::Shop;

/// A recipe as it stands on the page.
struct Recipe {
    title: String,
    job: String,
    claim: String,
    pictures: Vec<String>,
}

fn docs(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs").join(name)
}

const CLAIM: &str = "**Comes out:** ";

fn recipes(page: &str) -> Vec<Recipe> {
    let sections = page.split("\n## ").skip(1);
    sections
        .map(|section| {
            let between = |from: &str, to: &str| {
                let rest = section.split_once(from).unwrap_or_else(|| panic!("{from} is not in {section}")).1;
                rest.split_once(to).map_or(rest, |(found, _)| found).to_owned()
            };
            Recipe {
                title: section.lines().next().unwrap_or_default().to_owned(),
                job: between("```toml\n", "```"),
                claim: between(CLAIM, "\n\n").trim_end().to_owned(),
                pictures: section
                    .split("](")
                    .skip(1)
                    .filter_map(|rest| rest.split_once(')'))
                    .map(|(name, _)| name)
                    .filter(|name| name.ends_with(".svg"))
                    .map(str::to_owned)
                    .collect(),
            }
        })
        .collect()
}

/// What comes out of a job, in the words of the page.
fn claim(loaded: &LoadedJob, plan: &Value, findings: &Value) -> String {
    let length = |millimetres: f64| format_length(millimetres, loaded.unit);
    let mut told: Vec<String> = Vec::new();
    for (part, detail) in loaded.job.parts().iter().zip(&loaded.parts) {
        let bounds = part.shape.bounds();
        let bends = match detail.bent.as_deref().map_or(0, |bent| bent.unfolding.bends.len()) {
            0 => String::new(),
            1 => ", one bend".to_owned(),
            count => format!(", {count} bends"),
        };
        told.push(format!("{} is {} × {} flat{bends}.", part.name, length(bounds.width()), length(bounds.height())));
    }
    let sheets = plan["sheets"].as_array().expect("sheets");
    let names: Vec<&str> = sheets.iter().filter_map(|sheet| sheet["name"].as_str()).collect();
    told.push(format!("All parts lie on {}.", names.join(" and ")));
    let mut worries: Vec<String> = Vec::new();
    for finding in
        findings["parts"].as_array().into_iter().flatten().flat_map(|part| part["findings"].as_array().unwrap())
    {
        assert_ne!(finding["severity"], "stop", "{finding}");
        let rule = finding["rule"].as_str().unwrap_or_default().to_owned();
        if finding["severity"] == "warn" && !worries.contains(&rule) {
            worries.push(rule);
        }
    }
    told.push(match worries.as_slice() {
        [] => "The checks warn of nothing.".to_owned(),
        worries => format!("The checks warn of: {}.", worries.join(", ")),
    });
    told.join(" ")
}

/// The pictures of the first part, in the order of the page.
fn pictures(loaded: &LoadedJob) -> Vec<String> {
    let part = &loaded.job.parts()[0];
    let style = DrawingStyle { unit: loaded.unit, paper_width: 150.0, ..DrawingStyle::default() };
    match loaded.parts[0].bent.as_deref() {
        None => vec![draw_piece(&part.name, "", &part.shape, &[], loaded.unit)],
        Some(bent) => {
            vec![draw_folded(&bent.unfolding, &part.name, &style), draw_flat_alone(&bent.unfolding, &part.name, &style)]
        }
    }
}

#[test]
fn every_recipe_makes_what_its_page_says() {
    let mut page = std::fs::read_to_string(docs("recipes.md")).unwrap();
    let is_writing = std::env::var_os("DROPWISE_WRITE_DOCS").is_some();
    let all = recipes(&page);
    assert_eq!(all.len(), 12);
    for recipe in &all {
        let shop = Shop::new();
        let drawing = docs("../data-demo/latch_plate.dxf");
        std::fs::copy(drawing, shop.path("latch_plate.dxf")).unwrap();
        shop.write("job.toml", &recipe.job);
        let findings = json(&ok(shop.run("check @job.toml --json")));
        let nest = shop.run("nest @job.toml --rounds 8 --json --quiet");
        assert_eq!(nest.exit, Exit::Done, "{}: {}", recipe.title, nest.stderr);
        let loaded = load_job(&shop.path("job.toml")).unwrap();
        let made = claim(&loaded, &json(&nest.stdout), &findings);
        let pictures = pictures(&loaded);
        assert_eq!(recipe.pictures.len(), pictures.len(), "{}", recipe.title);
        if is_writing {
            page = page.replacen(&format!("{CLAIM}{}", recipe.claim), &format!("{CLAIM}{made}"), 1);
            for (name, picture) in recipe.pictures.iter().zip(&pictures) {
                std::fs::write(docs(name), picture).unwrap();
            }
            continue;
        }
        assert_eq!(recipe.claim, made, "{} is stale: DROPWISE_WRITE_DOCS=1 writes it anew", recipe.title);
        for (name, picture) in recipe.pictures.iter().zip(&pictures) {
            let kept = std::fs::read_to_string(docs(name)).unwrap_or_default();
            assert!(kept == *picture, "docs/{name} is stale: DROPWISE_WRITE_DOCS=1 writes it anew");
        }
    }
    if is_writing {
        std::fs::write(docs("recipes.md"), page).unwrap();
    }
}

/// The index at the head of the page leads to each recipe.
#[test]
fn every_recipe_is_in_the_index() {
    let page = std::fs::read_to_string(docs("recipes.md")).unwrap();
    for recipe in recipes(&page) {
        let anchor: String = recipe
            .title
            .to_lowercase()
            .chars()
            .filter_map(|c| match c {
                ' ' => Some('-'),
                c if c.is_alphanumeric() || c == '-' => Some(c),
                _ => None,
            })
            .collect();
        assert!(page.contains(&format!("](#{anchor})")), "{anchor}");
    }
}

/// The sum of the recipe that can be followed by hand.
///
/// # Source
/// DIN 6935, flat length by v = π/180 (180° - β)(r + s k / 2) - 2 (r + s) with k = 0.65 + ½ lg(r/s) (from memory): for r = s = 2
/// and a right angle k = 0.65, v = π/2 × 2.65 - 8 = -3.837 each, so 30 + 45 + 30 - 2 × 3.837 = 97.33 mm.
#[test]
fn the_door_stop_follows_its_standard() {
    let page = std::fs::read_to_string(docs("recipes.md")).unwrap();
    let recipe = recipes(&page).into_iter().find(|recipe| recipe.title.contains("Door stop")).unwrap();
    let shop = Shop::new();
    shop.write("job.toml", &recipe.job);
    let flat = json(&ok(shop.run("flat @job.toml --json")));
    let size = flat["parts"][0]["flat_size"].as_array().unwrap();
    let across = size.iter().filter_map(Value::as_f64).find(|side| (side - 120.0).abs() > 1.0).unwrap();
    let v = std::f64::consts::FRAC_PI_2 * (2.0 + 0.65) - 8.0;
    assert!((across - (105.0 + 2.0 * v)).abs() < 0.01, "{across}");
}
