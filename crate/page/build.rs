//! Readies the shaders for the page: without comments and indentation, which are for people who read them.

use std::path::Path;
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let folder = Path::new("../../shaders");
    println!("cargo::rerun-if-changed={}", folder.display());
    let into = env::var_os("OUT_DIR").ok_or(io::ErrorKind::NotFound)?;
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let is_shader =
            path.extension().is_some_and(|extension| ["vert", "frag", "glsl"].iter().any(|kind| extension == *kind));
        if let Some(name) = path.file_name().filter(|_| is_shader) {
            fs::write(Path::new(&into).join(name), bare(&fs::read_to_string(&path)?))?;
        }
    }
    Ok(())
}

/// A shader's lines without comments, empty lines and indentation.
fn bare(shader: &str) -> String {
    let lines = shader.lines().map(|line| line.split_once("//").map_or(line, |(code, _)| code).trim());
    lines.filter(|line| !line.is_empty()).map(|line| format!("{line}\n")).collect()
}
