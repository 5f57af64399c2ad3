//! The nester's rooms import downwards only, and no two of its files import each other in a circle.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// From the ground up: a file may import from its own room and those before it. Files beside `lib.rs` are the ground, but for
/// those named in [`ROOF`].
const ROOMS: [&str; 8] = ["shapes", "overlap", "problem", "state", "moves", "anneal", "exact", "search"];
const ROOF: [&str; 3] = ["nester", "internals", "lib"];

/// Every file by its path of modules, with its text less its tests.
fn files() -> BTreeMap<String, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let (mut folders, mut found) = (vec![root.clone()], BTreeMap::new());
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path: PathBuf = entry.unwrap().path();
            let name = path.file_stem().unwrap().to_str().unwrap();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") && !name.ends_with("tests") {
                let text = std::fs::read_to_string(&path).unwrap();
                let end = text.find("#[cfg(test)]\nmod tests").unwrap_or(text.len());
                let parts: Vec<&str> = path.strip_prefix(&root).unwrap().iter().map(|p| p.to_str().unwrap()).collect();
                let module = parts.join("::").trim_end_matches(".rs").trim_end_matches("::mod").to_owned();
                found.insert(module, text[..end].to_owned());
            }
        }
    }
    found
}

/// The modules that a file names with `crate::` or `super::`.
fn imports(module: &str, text: &str, all: &BTreeMap<String, String>) -> BTreeSet<String> {
    let parent = module.rsplit_once("::").map_or("", |(parent, _)| parent);
    let mut found = BTreeSet::new();
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    for line in code {
        for (mark, base) in [("crate::", ""), ("super::", parent)] {
            for (at, _) in line.match_indices(mark) {
                let path: String = line[at + mark.len()..]
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || matches!(c, '_' | ':'))
                    .collect();
                let path = if base.is_empty() { path } else { format!("{base}::{path}") };
                // The longest beginning of the path that is a file.
                let named = all.keys().filter(|other| path == **other || path.starts_with(&format!("{other}::")));
                if let Some(other) = named.max_by_key(|other| other.len()).filter(|other| *other != module) {
                    found.insert(other.clone());
                }
            }
        }
    }
    found
}

/// How high a file's room lies.
fn floor(module: &str) -> usize {
    let room = module.split("::").next().unwrap();
    if ROOF.contains(&room) {
        return ROOMS.len() + 1;
    }
    ROOMS.iter().position(|&r| r == room).map_or(0, |floor| floor + 1)
}

#[test]
fn rooms_import_downwards_only() {
    let all = files();
    assert!(all.len() > 50, "{:?}", all.keys());
    for room in ROOMS {
        assert!(all.keys().any(|module| module.starts_with(room)), "there is no room {room}");
    }
    for (module, text) in &all {
        for other in imports(module, text, &all) {
            assert!(floor(&other) <= floor(module), "{module} imports {other}, which lies above it");
        }
    }
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let all = files();
    let mut left: BTreeMap<&str, BTreeSet<String>> =
        all.iter().map(|(module, text)| (module.as_str(), imports(module, text, &all))).collect();
    // Files that import nothing that is left are taken out, until none are left, or only circles.
    loop {
        let free: Vec<String> =
            left.iter().filter(|(_, imports)| imports.is_empty()).map(|(module, _)| (*module).to_owned()).collect();
        if free.is_empty() {
            break;
        }
        for module in &free {
            left.remove(module.as_str());
        }
        for imports in left.values_mut() {
            imports.retain(|other| !free.contains(other));
        }
    }
    assert!(left.is_empty(), "these import each other in a circle, or what does: {left:#?}");
}
