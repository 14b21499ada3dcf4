//! Readies the schemas for the library: without line breaks and without descriptions, which are for people who read
//! the stored files. A third of them is left to be loaded by a page.

use std::path::Path;
use std::{env, fs, io};

use serde_json::Value;

fn main() -> io::Result<()> {
    let folder = Path::new("schema");
    println!("cargo::rerun-if-changed={}", folder.display());
    let into = env::var_os("OUT_DIR").ok_or(io::ErrorKind::NotFound)?;
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let mut schema: Value = serde_json::from_str(&fs::read_to_string(entry.path())?)?;
        bare(&mut schema);
        fs::write(Path::new(&into).join(entry.file_name()), schema.to_string())?;
    }
    Ok(())
}

/// Takes descriptions out of a schema; a property of that name is one.
fn bare(schema: &mut Value) {
    match schema {
        Value::Array(list) => list.iter_mut().for_each(bare),
        Value::Object(map) => {
            // `remove` puts the last key in the place of the one that goes: order is kept by `shift_remove`.
            map.shift_remove("description");
            for (key, value) in map {
                match value {
                    Value::Object(properties) if key == "properties" => properties.values_mut().for_each(bare),
                    value => bare(value),
                }
            }
        }
        _ => {}
    }
}
