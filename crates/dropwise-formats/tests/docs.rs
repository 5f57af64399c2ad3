//! The pages in `docs/` that are generated from the types. Each fails here when it is stale; run the tests with
//! `DROPWISE_WRITE_DOCS=1` to write them anew.

use std::path::Path;

use dropwise_formats::{
    job_reference, job_schema, plan_reference, plan_schema, shop_reference, shop_schema, strip_reference, strip_schema,
};

fn check(name: &str, generated: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs").join(name);
    if std::env::var_os("DROPWISE_WRITE_DOCS").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("the folder of the docs");
        std::fs::write(&path, generated).expect("a page that can be written");
        return;
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(written == generated, "docs/{name} is stale: run these tests with DROPWISE_WRITE_DOCS=1 and commit it");
}

fn pretty(schema: &serde_json::Value) -> String {
    let mut text = serde_json::to_string_pretty(schema).expect("a schema is JSON");
    text.push('\n');
    text
}

#[test]
fn the_reference_of_the_job_file_is_fresh() {
    check("job-file.md", &job_reference());
}

#[test]
fn the_schema_of_the_job_file_is_fresh() {
    check("job.schema.json", &pretty(job_schema()));
}

#[test]
fn the_reference_of_the_plan_is_fresh() {
    check("plan-json.md", &plan_reference());
}

#[test]
fn the_schema_of_the_plan_is_fresh() {
    check("plan.schema.json", &pretty(plan_schema()));
}

#[test]
fn the_reference_of_the_shop_file_is_fresh() {
    check("shop-file.md", &shop_reference());
}

#[test]
fn the_schema_of_the_shop_file_is_fresh() {
    check("shop.schema.json", &pretty(shop_schema()));
}

#[test]
fn the_reference_of_test_strips_is_fresh() {
    check("test-strips.md", &strip_reference());
}

#[test]
fn the_schema_of_test_strips_is_fresh() {
    check("test-strips.schema.json", &pretty(strip_schema()));
}

/// What the page says of the points of a polygon is what the shop's patterns hold to.
#[test]
fn the_points_of_a_polygon_are_as_many_as_a_pattern_takes() {
    let points = &job_schema()["$defs"]["PolygonKeys"]["properties"]["points"];
    assert_eq!(points["maxItems"], dropwise_shop::pattern::MOST_CORNERS);
}
