//! What must not be in the project: web crates below the core, traces of one machine.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail};

use crate::run::{cargo, output, root};
use crate::tree;

/// Crates that know a browser, a window or a graphics card; a name ending in `*` stands for
/// all that begin so.
const NOT_IN_CORE: [&str; 14] = [
    "wasm-bindgen*",
    "serde-wasm-bindgen",
    "web-sys",
    "js-sys",
    "gloo*",
    "console_error_panic_hook",
    "three-d*",
    "glow",
    "glutin*",
    "winit",
    "wgpu*",
    "gl",
    "khronos*",
    "raw-window-handle",
];

/// Beginnings of paths that exist on one machine only.
const MACHINE_PATHS: [&str; 4] = ["/work/", "/tmp/", "/root/", "/home/"];

/// Folders that are no part of the project's sources.
const NOT_SOURCES: [&str; 5] = [".git", "target", "dist", "node_modules", "out"];

/// This file names what it looks for.
const OWN_FILE: &str = "crate/xtask/src/tidy.rs";

/// An error names everything found.
pub fn check() -> Result<()> {
    let mut faults = core_faults()?;
    let sources = tree::files(&root(), &|path| !NOT_SOURCES.contains(&tree::name(path)))?;
    for path in &sources {
        faults.extend(file_faults(path)?);
    }
    if !faults.is_empty() {
        bail!("{}", faults.join("\n"));
    }
    println!("tidy: the core's crates and {} files", sources.len());
    Ok(())
}

fn core_faults() -> Result<Vec<String>> {
    let tree = output(&mut cargo(&[
        "tree",
        "--package",
        "sackwright",
        "--edges",
        "normal",
        "--prefix",
        "none",
        "--format",
        "{lib}",
        "--target",
        "all",
    ]))?;
    Ok(web_crates(&tree).map(|name| format!("crate/core depends on {name}, which is for the page alone")).collect())
}

/// The library names in a dependency tree, one a line, that are web or rendering crates.
fn web_crates(tree: &str) -> impl Iterator<Item = String> {
    tree.lines()
        .map(|line| line.trim().replace('_', "-"))
        .filter(|name| NOT_IN_CORE.iter().any(|pattern| is_like(name, pattern)))
}

fn is_like(name: &str, pattern: &str) -> bool {
    let pattern = pattern.replace('_', "-");
    match pattern.strip_suffix('*') {
        Some(beginning) => name.starts_with(beginning),
        None => name == pattern,
    }
}

fn file_faults(path: &Path) -> Result<Vec<String>> {
    if path == Path::new(OWN_FILE) {
        return Ok(Vec::new());
    }
    let bytes = fs::read(root().join(path)).with_context(|| format!("cannot read {}", path.display()))?;
    let Ok(text) = String::from_utf8(bytes) else {
        return Ok(Vec::new());
    };
    let faults = text.lines().enumerate().flat_map(|(index, line)| {
        machine_traces(tree::name(path), line).into_iter().map(move |trace| (index + 1, trace))
    });
    Ok(faults.map(|(line, trace)| format!("{}:{line}: {trace}", path.display())).collect())
}

/// What in a line of a file belongs to one machine.
fn machine_traces(file: &str, line: &str) -> Vec<String> {
    let mut traces: Vec<String> = MACHINE_PATHS
        .iter()
        .filter(|path| line.contains(**path))
        .map(|path| format!("`{path}` is a path of one machine"))
        .collect();
    if file == "package-lock.json" && line.contains("\"resolved\"") {
        traces.push("a registry's address; .npmrc keeps them out of a new lock file".into());
    }
    traces
}

#[cfg(test)]
mod tests {
    use super::{machine_traces, web_crates};

    #[test]
    fn web_crates_are_seen() {
        let tree = "sackwright\nserde\nthree_d\nweb_sys\nglam\nwasm_bindgen_shared\n";
        let found: Vec<String> = web_crates(tree).collect();
        assert_eq!(found, ["three-d", "web-sys", "wasm-bindgen-shared"]);
    }

    #[test]
    fn traces_of_a_machine_are_seen() {
        assert_eq!(machine_traces("a.rs", "open(\"/tmp/a\")").len(), 1);
        assert_eq!(machine_traces("a.rs", "open(\"templates/a\")").len(), 0);
        let resolved = "\"resolved\": \"registry/a.tgz\"";
        assert_eq!(machine_traces("package-lock.json", resolved).len(), 1);
        assert_eq!(machine_traces("a.json", resolved).len(), 0);
    }
}
