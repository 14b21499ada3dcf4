//! Reading sheets and cards, and writing files whole or not at all.

use std::ffi::OsString;
use std::fs::{File, OpenOptions, remove_file, rename};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use sackwright::cards::{self, Line, Pallet, Works};
use sackwright::check::{self, Habits};
use sackwright::file::{MAX_BYTES, locate};
use sackwright::finding::{Arg, Message, Problem};
use sackwright::sack::Sack;
use sackwright::sizing::{self, Order, Part};

use crate::report;
use crate::words::Words;

/// Reads a sack sheet.
///
/// # Errors
/// The faults of the file, one a line.
pub fn read_sack(words: &Words, path: &Path) -> Result<Sack, String> {
    read(path).and_then(|text| Sack::read(&text)).map_err(|problems| report::problems(words, path, &problems))
}

/// Reads a filling-line card.
///
/// # Errors
/// The faults of the file, one a line.
pub fn read_line(words: &Words, path: &Path) -> Result<Line, String> {
    read(path).and_then(|text| cards::read_line(&text)).map_err(|problems| report::problems(words, path, &problems))
}

/// Reads a works card.
///
/// # Errors
/// The faults of the file, one a line.
pub fn read_works(words: &Words, path: &Path) -> Result<Works, String> {
    read(path).and_then(|text| cards::read_works(&text)).map_err(|problems| report::problems(words, path, &problems))
}

/// Reads a pallet card.
///
/// # Errors
/// The faults of the file, one a line.
pub fn read_pallet(words: &Words, path: &Path) -> Result<Pallet, String> {
    read(path).and_then(|text| cards::read_pallet(&text)).map_err(|problems| report::problems(words, path, &problems))
}

/// Reads an order, with the files that it names beside it.
///
/// # Errors
/// The faults of all of these files, one a line.
pub fn read_order(words: &Words, path: &Path) -> Result<Order, String> {
    let told = |path: &Path, problems: &[Problem]| report::problems(words, path, problems);
    let text = read(path).map_err(|problems| told(path, &problems))?;
    let mut file = sizing::read_order(&text).map_err(|problems| told(path, &problems))?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let named: Vec<(Part, PathBuf)> = file.files().into_iter().map(|(part, name)| (part, folder.join(name))).collect();
    let mut faults = String::new();
    for (part, path) in named {
        if let Err(problems) = read(&path).and_then(|text| file.take(part, &text)) {
            faults += &told(&path, &problems);
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Order::new(file).map_err(|mut problems| {
        locate(&text, &mut problems);
        told(path, &problems)
    })
}

/// Reads a habits card.
///
/// # Errors
/// The faults of the file, one a line.
pub fn read_habits(words: &Words, path: &Path) -> Result<Habits, String> {
    read(path).and_then(|text| check::read_habits(&text)).map_err(|problems| report::problems(words, path, &problems))
}

fn read(path: &Path) -> Result<String, Vec<Problem>> {
    let mut bytes = Vec::new();
    // One byte more than the core takes is enough for it to say that a file is too large.
    let most = MAX_BYTES as u64 + 1;
    let result = File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes));
    if let Err(error) = result {
        let detail = Arg::text(error.to_string());
        return Err(vec![whole(None, Message::new("problem.unreadable").with("detail", detail))]);
    }
    if bytes.len() > MAX_BYTES {
        return Ok(String::from_utf8_lossy(&bytes).into_owned());
    }
    String::from_utf8(bytes).map_err(|error| {
        let sound = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = 1 + sound.iter().filter(|byte| **byte == b'\n').count();
        vec![whole(Some(line), Message::new("problem.not_utf8"))]
    })
}

fn whole(line: Option<usize>, message: Message) -> Problem {
    Problem { field: String::new(), value: String::new(), line, message }
}

/// Writes a file whole or not at all: into a new file beside it first, which then takes its name.
///
/// # Errors
/// When it can't be written; nothing is left behind then, and a file that was there stays as it was.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let (beside, file) = create_beside(path).map_err(|error| unwritable(path, &error))?;
    let written = fill(file, bytes).and_then(|()| rename(&beside, path));
    written.map_err(|error| {
        // What can't be removed any more has been removed by someone else.
        let _ = remove_file(&beside);
        unwritable(path, &error)
    })
}

fn fill(mut file: File, bytes: &[u8]) -> io::Result<()> {
    file.write_all(bytes)?;
    file.sync_all()
}

/// A new file in the same folder, under a name that nobody uses.
fn create_beside(path: &Path) -> io::Result<(PathBuf, File)> {
    let name = path.file_name().ok_or_else(|| io::Error::from(io::ErrorKind::InvalidFilename))?;
    let mut number = 0_u32;
    loop {
        let mut part = OsString::from(".");
        part.push(name);
        part.push(format!(".{}-{number}.part", std::process::id()));
        let beside = path.with_file_name(part);
        match OpenOptions::new().write(true).create_new(true).open(&beside) {
            Ok(file) => return Ok((beside, file)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && number < 100 => number += 1,
            Err(error) => return Err(error),
        }
    }
}

fn unwritable(path: &Path, error: &io::Error) -> String {
    format!("{}: can't be written: {error}; another file or folder would do", path.display())
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("sackwright-{name}-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        folder
    }

    fn names(folder: &Path) -> Vec<OsString> {
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name()).collect()
    }

    #[test]
    fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = folder("whole");
        let path = folder.join("a.stl");
        write_whole(&path, b"old").unwrap();
        write_whole(&path, b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(names(&folder), ["a.stl"]);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn what_can_t_be_written_leaves_nothing() {
        let folder = folder("none");
        // A folder that is not empty can't be replaced by a file.
        fs::create_dir_all(folder.join("a.stl/inside")).unwrap();
        let error = write_whole(&folder.join("a.stl"), b"new").unwrap_err();
        assert!(error.contains("a.stl"), "{error}");
        assert_eq!(names(&folder), ["a.stl"]);
        fs::remove_dir_all(folder).unwrap();
    }
}
