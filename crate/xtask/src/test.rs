//! Every check, in the order in which a fault is cheapest to find; the first failure ends it.

use std::time::Instant;

use anyhow::{Context, Result};

use crate::page::MODULES;
use crate::run::{cargo, root, run};
use crate::toolchain::{WASM, ensure_component, ensure_wasm_target};
use crate::{browser, page, readers, size, tidy};

struct Step {
    name: &'static str,
    title: &'static str,
    check: fn() -> Result<()>,
}

const STEPS: [Step; 10] = [
    Step { name: "format", title: "Rust formatting", check: format },
    Step { name: "lint", title: "Lints, native and wasm", check: lint },
    Step { name: "tidy", title: "What must not be in the project", check: tidy::check },
    Step { name: "rust", title: "Rust tests", check: rust_tests },
    Step { name: "build", title: "The page", check: || page::build().map(drop) },
    Step { name: "size", title: "Sizes of the wasm", check: || size::check(&root().join("dist")) },
    Step { name: "packages", title: "Packages of the page tests", check: browser::install_packages },
    Step { name: "readers", title: "What is written, in independent readers", check: readers::check },
    Step { name: "types", title: "Types of the page's modules", check: browser::check_types },
    Step { name: "pages", title: "Page tests in Chromium", check: browser::test_pages },
];

/// The names by which steps can be chosen, in order.
pub fn step_names() -> Vec<&'static str> {
    STEPS.iter().map(|step| step.name).collect()
}

/// Runs the named steps, or all when none is named, in order.
pub fn test(names: &[String]) -> Result<()> {
    let start = Instant::now();
    let is_chosen = |step: &&Step| names.is_empty() || names.iter().any(|name| name == step.name);
    for step in STEPS.iter().filter(is_chosen) {
        println!("\n== {} ({})", step.title, step.name);
        let step_start = Instant::now();
        (step.check)().with_context(|| format!("step `{}` failed", step.name))?;
        println!("-- {} passed in {}", step.name, seconds(step_start));
    }
    println!("\nall passed in {}", seconds(start));
    Ok(())
}

fn seconds(since: Instant) -> String {
    format!("{:.1} s", since.elapsed().as_secs_f64())
}

fn format() -> Result<()> {
    ensure_component("fmt", "rustfmt")?;
    run(&mut cargo(&["fmt", "--all", "--check"])).context("`cargo fmt` mends it")
}

fn lint() -> Result<()> {
    ensure_component("clippy", "clippy")?;
    ensure_wasm_target()?;
    let strict = ["--", "-D", "warnings"];
    run(cargo(&["clippy", "--workspace", "--all-targets"]).args(strict))?;
    let in_browser = MODULES.iter().flat_map(|module| ["--package", module.package]);
    let shared = ["clippy", "--package", "sackwright", "--package", "sackwright-boundary"];
    run(cargo(&shared).args(in_browser).args(["--target", WASM]).args(strict))
}

fn rust_tests() -> Result<()> {
    run(&mut cargo(&["test", "--workspace"]))
}
