//! Debian's packages, for programs that tests need.

use anyhow::{Context, Result, ensure};

use crate::run::{command, output, run};

/// Installs packages when this runs as root; else an error says what to install. `purpose` begins the sentence.
pub fn install(packages: &[&str], purpose: &str) -> Result<()> {
    let names = packages.join(" ");
    let is_root = output(&mut command("id", &["-u"])).is_ok_and(|id| id.trim() == "0");
    ensure!(is_root, "{purpose}: `apt-get install {names}` as root installs what is missing");
    let quiet = ("DEBIAN_FRONTEND", "noninteractive");
    run(command("apt-get", &["update"]).env(quiet.0, quiet.1))
        .and_then(|()| {
            let install = ["install", "--yes", "--no-install-recommends"];
            run(command("apt-get", &install).args(packages).env(quiet.0, quiet.1))
        })
        .with_context(|| format!("{purpose}; {names} could not be installed"))
}
