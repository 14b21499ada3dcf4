//! One way through the core: a module uses only those above it in lib.rs's table.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::Path;

/// Modules in the order of the table in lib.rs.
fn order() -> Vec<String> {
    let lib = include_str!("../src/lib.rs");
    lib.lines()
        .filter_map(|line| line.strip_prefix("//! | [`"))
        .flat_map(|row| row.split('|').next().unwrap_or_default().split(", ").map(str::to_owned).collect::<Vec<_>>())
        // A name may be followed by its link: [`file`](mod@file).
        .map(|name| name.split(']').next().unwrap_or_default().trim_matches([' ', '[', '`']).to_owned())
        .collect()
}

/// Every module that a source file names as `crate::module`, tests left out.
fn used(source: &str) -> Vec<String> {
    let code = source.split("#[cfg(test)]").next().unwrap_or_default();
    let names = code.lines().filter(|line| !line.trim_start().starts_with("//")).flat_map(|line| {
        line.match_indices("crate::").map(|(at, found)| {
            let rest = &line[at + found.len()..];
            rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>()
        })
    });
    names.collect()
}

fn sources(module: &str) -> Vec<String> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut texts = Vec::new();
    let file = src.join(format!("{module}.rs"));
    if file.exists() {
        texts.push(fs::read_to_string(file).unwrap());
    }
    if let Ok(folder) = fs::read_dir(src.join(module)) {
        texts.extend(folder.map(|entry| fs::read_to_string(entry.unwrap().path()).unwrap()));
    }
    assert!(!texts.is_empty(), "lib.rs lists {module}, which has no source");
    texts
}

#[test]
fn a_module_uses_only_those_above_it() {
    let order = order();
    assert!(order.len() > 10, "{order:?}");
    for (place, module) in order.iter().enumerate() {
        for source in sources(module) {
            for name in used(&source) {
                let Some(other) = order.iter().position(|m| *m == name) else { continue };
                assert!(other <= place, "{module} uses {name}, which stands below it");
            }
        }
    }
}

#[test]
fn every_module_is_in_the_table() {
    let order = order();
    for line in include_str!("../src/lib.rs").lines() {
        if let Some(name) = line.strip_prefix("pub mod ") {
            let name = name.trim_end_matches(';');
            assert!(order.iter().any(|m| m == name), "{name} is missing from the table");
        }
    }
}
