//! Readies the shaders for the page: without comments and the space that is for people who read them.

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

/// A shader's lines without comments, empty lines, and space that parts nothing.
fn bare(shader: &str) -> String {
    let lines = shader.lines().map(|line| line.split_once("//").map_or(line, |(code, _)| code).trim());
    lines.filter(|line| !line.is_empty()).map(|line| format!("{}\n", close(line))).collect()
}

/// A line without space beside signs; a directive's parts its words.
fn close(line: &str) -> String {
    let (sign, twice) = (|c: char| !(c.is_alphanumeric() || c == '_'), |c| c == '+' || c == '-');
    let keeps = |(i, c): &(usize, char)| {
        let [before, after] = [line[..*i].chars().next_back(), line[i + 1..].chars().next()];
        *c != ' '
            || line.starts_with('#')
            || !(before.is_some_and(sign) || after.is_some_and(sign))
            || (before == after && before.is_some_and(twice))
    };
    line.char_indices().filter(keeps).map(|(_, c)| c).collect()
}
