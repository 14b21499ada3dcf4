//! Parts of the Rust toolchain that a machine may lack.

use std::path::Path;

use anyhow::{Context, Result};

use crate::run::{cargo, command, output, run, succeeds};

/// The target that browsers run.
pub const WASM: &str = "wasm32-unknown-unknown";

/// Adds the wasm target when it is missing. rustup may be told not to install from
/// rust-toolchain.toml by itself, so this asks it outright.
pub fn ensure_wasm_target() -> Result<()> {
    let libdir = output(&mut command("rustc", &["--print", "target-libdir", "--target", WASM]))?;
    if Path::new(libdir.trim()).is_dir() {
        return Ok(());
    }
    run(&mut command("rustup", &["target", "add", WASM]))
        .with_context(|| format!("the Rust target {WASM} is missing and could not be added"))
}

/// Adds `rustfmt` or `clippy` when it is missing.
pub fn ensure_component(subcommand: &str, component: &str) -> Result<()> {
    if succeeds(&mut cargo(&[subcommand, "--version"])) {
        return Ok(());
    }
    run(&mut command("rustup", &["component", "add", component]))
        .with_context(|| format!("the Rust component {component} is missing and not to be had"))
}
