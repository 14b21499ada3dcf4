//! What the page tests need beside the page: their npm packages and Chromium.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, ensure};

use crate::run::{command, root, run};
use crate::{debian, tree};

/// Where Debian's package puts the browser; the variable CHROMIUM names another.
const CHROMIUM: &str = "/usr/bin/chromium";

/// The folder of the page tests.
pub fn folder() -> PathBuf {
    root().join("tests/browser")
}

/// Installs the npm packages exactly as the lock file has them.
pub fn install_packages() -> Result<()> {
    run(command("npm", &["ci", "--no-audit", "--no-fund"]).current_dir(folder()))
        .context("Node 20 with npm is needed for the page's type check and tests")
}

/// The type check of the page's modules against the generated types of the wasm.
pub fn check_types() -> Result<()> {
    ensure_built()?;
    let compiler = "node_modules/typescript/bin/tsc";
    run(&mut node(&[compiler, "-p", "tsconfig.json"]))
}

/// The page tests in headless Chromium.
pub fn test_pages() -> Result<()> {
    ensure_built()?;
    let browser = ensure_chromium()?;
    let is_own = |path: &Path| !path.starts_with("node_modules");
    let files = tree::files(&folder(), &is_own)?;
    let tests: Vec<&str> =
        files.iter().filter_map(|path| path.to_str()).filter(|path| path.ends_with(".test.js")).collect();
    ensure!(!tests.is_empty(), "tests/browser holds no *.test.js");
    run(node(&["--test"]).args(tests).env("CHROMIUM", browser))
}

/// The page benchmark in headless Chromium; `result` is where it writes its medians.
pub fn bench_page(result: &Path) -> Result<()> {
    ensure_built()?;
    let browser = ensure_chromium()?;
    run(node(&["bench.js"]).arg(result).env("CHROMIUM", browser))
}

/// Draws the README's picture into `file`.
pub fn draw_picture(file: &Path) -> Result<()> {
    ensure_built()?;
    let browser = ensure_chromium()?;
    run(node(&["picture.js"]).arg(file).env("CHROMIUM", browser))
}

fn node(args: &[&str]) -> Command {
    let mut node = command("node", args);
    node.current_dir(folder());
    node
}

fn ensure_built() -> Result<()> {
    let is_built = root().join("dist/index.html").is_file();
    ensure!(is_built, "dist/ holds no page: run `cargo xtask build` first");
    let is_installed = folder().join("node_modules").is_dir();
    ensure!(is_installed, "tests/browser holds no node_modules: run `cargo xtask test packages` first");
    Ok(())
}

/// The browser; Debian's is installed when it is missing and this runs as root.
fn ensure_chromium() -> Result<PathBuf> {
    if let Some(path) = std::env::var_os("CHROMIUM") {
        let path = PathBuf::from(path);
        ensure!(path.is_file(), "the variable CHROMIUM names {}, which is no file", path.display());
        return Ok(path);
    }
    let path = PathBuf::from(CHROMIUM);
    if path.is_file() {
        return Ok(path);
    }
    let purpose = "the page tests need Chromium; the variable CHROMIUM may name the path of one";
    debian::install(&["chromium"], purpose)?;
    ensure!(path.is_file(), "{CHROMIUM} is not there after installing it");
    Ok(path)
}
