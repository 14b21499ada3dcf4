//! Running the real command in a folder of its own.

#![allow(dead_code)]

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What a run of the command left.
#[derive(Debug)]
pub struct Run {
    /// Exit code; `None` when a signal ended it.
    pub code: Option<i32>,
    /// What it printed.
    pub out: String,
    /// What it complained of.
    pub err: String,
}

/// A folder that goes with the test.
pub struct Folder(PathBuf);

impl Folder {
    /// A new, empty folder.
    pub fn new() -> Self {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let number = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("sackwright-test-{}-{number}", std::process::id()));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    /// A path in it.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    /// Writes a file.
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.path(name), bytes).unwrap();
    }

    /// Names of the files in it, sorted.
    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(&self.0).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    /// Runs the command in it.
    pub fn run<S: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = S>) -> Run {
        let output = Command::new(env!("CARGO_BIN_EXE_sackwright")).args(args).current_dir(&self.0).output().unwrap();
        Run {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// The project's folder.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// An example file.
pub fn example(path: &str) -> PathBuf {
    root().join("examples").join(path)
}

/// The files of a folder of examples, sorted.
pub fn examples(folder: &str) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(example(folder)).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}
