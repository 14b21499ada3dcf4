//! Independent readers of what the command writes: the Khronos validator, an origami library, a mesh library and a DXF
//! library. Every example sack goes through all of them.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};

use crate::run::{cargo, command, output, root, run, succeeds, target_folder};
use crate::{debian, tree};

/// Where a model of paper is looked at: flat, half-way, and closed with everything on it.
const POSES: [(&str, &str); 4] = [("tube", "0"), ("open-mouth", "0.6"), ("fold-flaps", "0.75"), ("lay-patch", "1")];

/// Every drawing.
const DRAWINGS: [&str; 6] = ["sack", "valve-bottom", "plain-bottom", "lap", "webs", "artwork"];

/// By how much the volume of a filled skin may differ from the figures, and of solid plies from cut area times thickness:
/// models have patches and sleeve besides, no seam laps, and round bends.
const FILLED_WITHIN: f64 = 1e-3;
const SOLID_WITHIN: f64 = 0.08;

/// Installs the readers, writes every example sack's files and has them read.
pub fn check() -> Result<()> {
    install_packages()?;
    let python = ensure_python()?;
    let files = write_files()?;
    read_by("node", "glb.js", &files.of("glb"))?;
    read_by("node", "fold.js", &files.of("fold"))?;
    let python = python.display().to_string();
    read_by(&python, "dxf.py", &files.of("dxf"))?;
    read_by(&python, "svg.py", &files.of("svg"))?;
    run(command(&python, &[]).arg(folder().join("stl.py")).arg(&files.volumes))
}

fn folder() -> PathBuf {
    root().join("tests/readers")
}

fn read_by(program: &str, script: &str, files: &[&Path]) -> Result<()> {
    // The list is long: it is told by number.
    println!("$ {script} ({} files)", files.len());
    let status = command(program, &[script]).args(files).current_dir(folder()).status()?;
    ensure!(status.success(), "{script} found faults");
    Ok(())
}

fn install_packages() -> Result<()> {
    run(command("npm", &["ci", "--no-audit", "--no-fund"]).current_dir(folder()))
        .context("Node 20 with npm is needed for the readers of written files")
}

/// The Python of an environment that has exactly what tests/readers/requirements.txt pins.
fn ensure_python() -> Result<PathBuf> {
    let requirements = folder().join("requirements.txt");
    let environment = root().join("target/readers/python");
    let (python, installed) = (environment.join("bin/python"), environment.join("installed.txt"));
    let wanted = fs::read(&requirements).with_context(|| format!("cannot read {}", requirements.display()))?;
    if python.is_file() && fs::read(&installed).is_ok_and(|there| there == wanted) {
        return Ok(python);
    }
    let has_environments = || succeeds(&mut command("python3", &["-c", "import venv, ensurepip"]));
    if !has_environments() {
        debian::install(&["python3", "python3-venv"], "the readers of written files need Python 3.11 with venv")?;
    }
    tree::remove(&environment)?;
    run(command("python3", &["-m", "venv"]).arg(&environment))?;
    let install =
        ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--require-hashes", "--requirement"];
    run(command(&python.display().to_string(), &install).arg(&requirements))
        .context("what tests/readers/requirements.txt pins could not be installed; it needs Python 3.11 or newer")?;
    fs::write(&installed, wanted).with_context(|| format!("cannot write {}", installed.display()))?;
    Ok(python)
}

/// What was written to be read.
struct Files {
    paths: Vec<PathBuf>,
    /// What `stl.py` reads.
    volumes: PathBuf,
}

impl Files {
    fn of(&self, ending: &str) -> Vec<&Path> {
        let ends = |path: &&Path| path.extension() == Some(OsStr::new(ending));
        self.paths.iter().map(PathBuf::as_path).filter(ends).collect()
    }
}

fn write_files() -> Result<Files> {
    run(&mut cargo(&["build", "--package", "sackwright-cli"]))?;
    let program = format!("{}/debug/sackwright", target_folder()?);
    let folder = root().join("target/readers/files");
    tree::remove(&folder)?;
    tree::make(&folder)?;
    let mut paths = Vec::new();
    let mut drawings = Vec::new();
    let mut volumes = Vec::new();
    let mut filled = 0;
    for sack in tree::files(&root().join("examples/sacks"), &|_| true)? {
        let sheet = root().join("examples/sacks").join(&sack);
        let name = tree::name(&sack).trim_end_matches(".sack.json");
        let ask = |arguments: &[&str]| -> Result<String> {
            output(command(&program, &arguments[..1]).arg(&sheet).args(&arguments[1..]))
        };
        let mut write = |name: String, options: &[&str]| -> Result<PathBuf> {
            let path = folder.join(name);
            let to = path.display().to_string();
            ask(&[&["model"], options, &["--to", &to]].concat())?;
            paths.push(path.clone());
            Ok(path)
        };
        for (stage, at) in POSES {
            write(format!("{name} {stage}.glb"), &["--stage", stage, "--at", at])?;
            write(format!("{name} {stage} thick.glb"), &["--stage", stage, "--at", at, "--thickness", "8"])?;
        }
        write(format!("{name} film.glb"), &["--film"])?;
        let solid = write(format!("{name} closed.stl"), &["--stage", "lay-patch", "--at", "1"])?;
        let read = |text: String| serde_json::from_str::<Value>(&text).context("the command printed no JSON");
        let figures = read(ask(&["figures"])?)?;
        let plies = read(fs::read_to_string(&sheet)?)?["plies"].as_array().cloned().unwrap_or_default();
        let mut paper = 0.0;
        for (ply, sheet) in plies.iter().enumerate() {
            let number = ply.to_string();
            write(format!("{name} ply {ply}.fold"), &["--ply", &number])?;
            let area = figures["plies"][ply]["cut_area_mm2"].as_f64().context("a ply without an area")?;
            let grammage = sheet["grammage_g_m2"].as_f64().context("a ply without grammage")?;
            // What a sheet leaves out is 1.5 um per g/m2.
            paper += area * sheet["thickness_mm"].as_f64().unwrap_or(grammage * 0.0015);
        }
        for what in DRAWINGS {
            for ending in ["svg", "dxf"] {
                let path = folder.join(format!("{name} {what}.{ending}"));
                ask(&["draw", "--what", what, "--to", &path.display().to_string()])?;
                drawings.push(path);
            }
        }
        volumes.push(json!({"file": solid, "volume_mm3": paper, "within": SOLID_WITHIN, "closed": "solids"}));
        if !succeeds(command(&program, &["fill"]).arg(&sheet)) {
            println!("{name} does not hold what its sheet says with stiff bottoms: no filled shape of it");
            continue;
        }
        let volume = read(ask(&["fill"])?)?["volume_l"].as_f64().context("a filled sack without a volume")? * 1e6;
        let skin = write(format!("{name} filled.stl"), &["--stage", "fill", "--at", "1"])?;
        write(format!("{name} filled.glb"), &["--stage", "fill", "--at", "1"])?;
        volumes.push(json!({"file": skin, "volume_mm3": volume, "within": FILLED_WITHIN, "closed": "surface"}));
        filled += 1;
    }
    paths.extend(drawings);
    ensure!(filled > 0, "no example sack could be filled");
    let list = folder.join("volumes.json");
    fs::write(&list, serde_json::to_vec_pretty(&volumes)?)
        .with_context(|| format!("cannot write {}", list.display()))?;
    Ok(Files { paths, volumes: list })
}
