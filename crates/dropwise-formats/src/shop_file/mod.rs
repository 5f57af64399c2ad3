//! The shop file: what a shop has to work with, read into a [`Shop`].
//!
//! It is read as the job file is: the text becomes a tree with places, the tree is checked against the types, and the
//! values are read; each step tells all its faults.
//!
//! # Examples
//! ```
//! use std::path::Path;
//! use dropwise_geometry::Unit;
//! let text = "cutters = [\"plasma\"]\n[brake]\nlength = \"4 ft\"\nforce = \"30 tons\"\ndies = [8, 12, 16]\n";
//! let shop = dropwise_formats::parse_shop(Path::new("shop.toml"), text, Unit::Millimetre).unwrap();
//! assert_eq!(shop.die_openings(), [8.0, 12.0, 16.0]);
//! let errors = dropwise_formats::parse_shop(Path::new("shop.toml"), "cuters = []", Unit::Millimetre).unwrap_err();
//! assert_eq!(errors[0].to_string(), "shop.toml:1:1: cuters: is no key here; did you mean `cutters`?");
//! ```

mod build;
#[cfg(test)]
mod tests;
pub mod types;

use std::path::Path;
use std::sync::LazyLock;

use dropwise_geometry::Unit;
use dropwise_shop::Shop;
use serde_json::Value as Json;

use crate::job_file::{Document, Fault, JobFileError, Place, Preface, check_structure, read_file, reference};

/// Bytes of the largest shop file that is read.
const LARGEST_SHOP_FILE: u64 = 1 << 20;

/// The JSON Schema of the shop file (draft 2020-12), for editors and for checks.
#[must_use]
pub fn shop_schema() -> &'static Json {
    static SCHEMA: LazyLock<Json> = LazyLock::new(|| schemars::schema_for!(types::ShopFile).to_value());
    &SCHEMA
}

/// The reference of all tables and keys, as Markdown: `docs/shop-file.md`.
#[must_use]
pub fn shop_reference() -> String {
    let preface = Preface {
        title: "The shop file",
        text: include_str!("preface.md"),
        root: "The file as a whole",
        is_toml: true,
    };
    reference(shop_schema(), &preface)
}

/// Reads a shop file. What it does not say is that of [`Shop::usual`], with the drills that go with `unit`, the job's,
/// unless it has a unit of its own.
///
/// # Errors
/// Every fault that can be told apart from the others, in the order of the file.
pub fn load_shop(path: &Path, unit: Unit) -> Result<Shop, Vec<JobFileError>> {
    load_shop_text(path, unit).map(|(shop, _)| shop)
}

/// Reads a shop file as [`load_shop`] does and gives its text too, for a plan to carry.
///
/// # Errors
/// As [`load_shop`].
pub fn load_shop_text(path: &Path, unit: Unit) -> Result<(Shop, String), Vec<JobFileError>> {
    let alone = |fault| vec![JobFileError::new(Place::file(path), fault)];
    let bytes = read_file(path, LARGEST_SHOP_FILE).map_err(alone)?;
    match std::str::from_utf8(&bytes) {
        Ok(text) => parse_shop(path, text, unit).map(|shop| (shop, text.to_owned())),
        Err(error) => Err(alone(Fault::NotText { offset: error.valid_up_to() })),
    }
}

/// Reads a shop from a text that came from `path`, which names it in errors.
///
/// # Errors
/// As [`load_shop`].
pub fn parse_shop(path: &Path, text: &str, unit: Unit) -> Result<Shop, Vec<JobFileError>> {
    let document = Document::parse(path, text)?;
    let mut errors = check_structure(&document, shop_schema());
    let keys: types::ShopFile = match serde_json::from_value(document.root.to_json()) {
        Ok(keys) => keys,
        Err(_) if !errors.is_empty() => return Err(errors),
        Err(error) => {
            let message = format!("this is no shop file: {error}");
            return Err(vec![JobFileError::new(Place::file(path), Fault::Syntax { message })]);
        }
    };
    match build::build(&document, &keys, unit) {
        Ok(shop) if errors.is_empty() => Ok(shop),
        Ok(_) => Err(errors),
        Err(found) => {
            // A value that is wrong twice over is told once.
            let is_new =
                |error: &JobFileError| errors.iter().all(|known| !known.place.key.starts_with(&error.place.key));
            let new: Vec<JobFileError> = found.into_iter().filter(is_new).collect();
            errors.extend(new);
            errors.sort_by(|a, b| a.place.cmp(&b.place));
            Err(errors)
        }
    }
}
