//! Other programs, run with their output shown and their failure turned into an error.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};
use serde_json::Value;

/// The project's folder.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_path_buf()
}

/// A command that will run in the project's folder.
pub fn command(program: &str, args: &[&str]) -> Command {
    let mut command = Command::new(program);
    command.args(args).current_dir(root());
    command
}

/// `cargo`, the same one that started this program.
pub fn cargo(args: &[&str]) -> Command {
    command(&std::env::var("CARGO").unwrap_or_else(|_| "cargo".into()), args)
}

/// Runs to the end with the output shown; an error unless it ends with success.
pub fn run(command: &mut Command) -> Result<()> {
    let line = shown(command);
    println!("$ {line}");
    let status = command.status().with_context(|| format!("`{line}` did not start"))?;
    if !status.success() {
        bail!("`{line}` failed: {status}");
    }
    Ok(())
}

/// Runs to the end and returns what it wrote to standard output; its standard error is shown.
pub fn output(command: &mut Command) -> Result<String> {
    let line = shown(command);
    let output = command.stderr(Stdio::inherit()).output().with_context(|| format!("`{line}` did not start"))?;
    if !output.status.success() {
        bail!("`{line}` failed: {}", output.status);
    }
    String::from_utf8(output.stdout).with_context(|| format!("`{line}` wrote no UTF-8"))
}

/// Whether the command starts and ends with success; its output is dropped.
pub fn succeeds(command: &mut Command) -> bool {
    command.stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok_and(|status| status.success())
}

/// Where cargo, and so criterion, keeps what it makes.
pub fn target_folder() -> Result<String> {
    let metadata = output(&mut cargo(&["metadata", "--no-deps", "--format-version", "1"]))?;
    let metadata: Value = serde_json::from_str(&metadata).context("cargo metadata is no JSON")?;
    let folder = metadata["target_directory"].as_str();
    folder.map(String::from).context("cargo metadata names no target folder")
}

/// The command as a person would type it.
fn shown(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let name = program.file_stem().unwrap_or(command.get_program());
    let mut line = name.to_string_lossy().into_owned();
    for arg in command.get_args() {
        line.push(' ');
        line.push_str(&arg.to_string_lossy());
    }
    line
}
