//! Folders of files: listing and copying.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};

/// Every file below `folder` as a path relative to it, sorted; folders and files for which
/// `keep` says no are left out.
pub fn files(folder: &Path, keep: &dyn Fn(&Path) -> bool) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    walk(folder, Path::new(""), keep, &mut found)?;
    found.sort();
    Ok(found)
}

fn walk(folder: &Path, below: &Path, keep: &dyn Fn(&Path) -> bool, found: &mut Vec<PathBuf>) -> Result<()> {
    let here = folder.join(below);
    let entries = fs::read_dir(&here).with_context(|| format!("cannot list {}", here.display()))?;
    for entry in entries {
        let entry = entry.with_context(|| format!("cannot list {}", here.display()))?;
        let path = below.join(entry.file_name());
        if !keep(&path) {
            continue;
        }
        if folder.join(&path).is_dir() {
            walk(folder, &path, keep, found)?;
        } else {
            found.push(path);
        }
    }
    Ok(())
}

/// Copies the files that `keep` lets through from one folder into another; returns how many.
pub fn copy(from: &Path, to: &Path, keep: &dyn Fn(&Path) -> bool) -> Result<usize> {
    let paths = files(from, keep)?;
    for path in &paths {
        let (source, target) = (from.join(path), to.join(path));
        make_parent(&target)?;
        fs::copy(&source, &target)
            .with_context(|| format!("cannot copy {} to {}", source.display(), target.display()))?;
    }
    Ok(paths.len())
}

/// Makes the folder that a file is to lie in.
pub fn make_parent(file: &Path) -> Result<()> {
    file.parent().map_or(Ok(()), make)
}

/// Makes a folder and those above it; one that is there is no error.
pub fn make(folder: &Path) -> Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("cannot make the folder {}", folder.display()))
}

/// Removes a folder with all that is in it; one that is not there is no error.
pub fn remove(folder: &Path) -> Result<()> {
    if folder.exists() {
        fs::remove_dir_all(folder).with_context(|| format!("cannot remove {}", folder.display()))?;
    }
    Ok(())
}

/// The last part of a path as text.
pub fn name(path: &Path) -> &str {
    path.file_name().and_then(|name| name.to_str()).unwrap_or_default()
}
