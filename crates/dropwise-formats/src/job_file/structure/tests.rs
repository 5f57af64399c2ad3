//! The check of the structure against a general validator of JSON Schema: both must agree on what is right.

use std::path::Path;
use std::sync::LazyLock;

use proptest::prelude::*;
use proptest::sample::Index;

use super::*;
use crate::job_file::job_schema;

/// A job that uses most keys.
const SAMPLE: &str = include_str!("sample.json");

static VALIDATOR: LazyLock<jsonschema::Validator> =
    LazyLock::new(|| jsonschema::validator_for(job_schema()).expect("the schema is one"));

fn faults(value: &Json) -> Vec<JobFileError> {
    let text = value.to_string();
    let document = Document::parse(Path::new("job.json"), &text).expect("JSON that was just written");
    check(&document, job_schema())
}

fn sample() -> Json {
    serde_json::from_str(SAMPLE).expect("the sample is JSON")
}

#[test]
fn the_sample_is_right_by_both() {
    let faults = faults(&sample());
    assert!(faults.is_empty(), "{faults:#?}");
    let others: Vec<String> = VALIDATOR.iter_errors(&sample()).map(|error| error.to_string()).collect();
    assert!(others.is_empty(), "{others:#?}");
    let keys: Result<crate::job_file::types::JobFile, _> = serde_json::from_value(sample());
    assert!(keys.is_ok(), "{keys:?}");
}

/// All places in a document, as JSON pointers.
fn pointers(value: &Json, at: &str, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Json::Array(values) => {
            values.iter().enumerate().for_each(|(index, value)| pointers(value, &format!("{at}/{index}"), found));
        }
        Json::Object(table) => table.iter().for_each(|(key, value)| pointers(value, &format!("{at}/{key}"), found)),
        _ => {}
    }
}

fn odd_value() -> impl Strategy<Value = Json> {
    prop_oneof![
        Just(Json::Null),
        any::<bool>().prop_map(Json::from),
        (-3_i64..20_000).prop_map(Json::from),
        (-10.0..2e9_f64).prop_map(Json::from),
        "[a-z]{0,6}".prop_map(Json::from),
        Just(Json::from("any")),
        Just(Json::from("center")),
        Just(Json::from("x")),
        Just(Json::from("unlimited")),
        proptest::collection::vec(0_i64..9, 0..4).prop_map(Json::from),
        Just(serde_json::json!({})),
        Just(serde_json::json!({"grain": 90})),
        Just(serde_json::json!({"left": 3, "top": "2 in"})),
        Just(serde_json::json!({"x": 3, "y": 4, "radius": 1})),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    /// Referee: a general JSON Schema validator. A value somewhere in a good job is replaced, or a key is renamed.
    #[test]
    fn it_agrees_with_a_general_validator(place in any::<Index>(), value in odd_value(), renames in any::<bool>()) {
        let mut job = sample();
        let mut places = Vec::new();
        pointers(&job, "", &mut places);
        let pointer = place.get(&places);
        let target = job.pointer_mut(pointer).expect("a place that was found");
        match target.as_object_mut() {
            Some(table) if renames && !table.is_empty() => {
                let key = table.keys().next().cloned().expect("not empty");
                let kept = table.remove(&key).expect("there");
                table.insert(format!("{key}x"), kept);
            }
            _ => *target = value,
        }
        let (ours, theirs) = (faults(&job), VALIDATOR.is_valid(&job));
        prop_assert_eq!(ours.is_empty(), theirs, "{}: {:?}", pointer, ours);
        // What both accept must also deserialize: nothing is left for serde to complain of.
        if theirs {
            let keys = serde_json::from_value::<crate::job_file::types::JobFile>(job);
            prop_assert!(keys.is_ok(), "{:?}", keys);
        }
    }
}
