//! Figures as comma-separated values (RFC 4180): one figure a row, with its unit.

use serde::Serialize;

use crate::file::{entries, items};

/// What keys of figures end in, and the unit it stands for.
const UNITS: [(&str, &str); 8] = [
    ("_mm", "mm"),
    ("_mm2", "mm2"),
    ("_cm2", "cm2"),
    ("_l", "l"),
    ("_g", "g"),
    ("_kg", "kg"),
    ("_deg", "deg"),
    ("_g_m2", "g/m2"),
];

/// Figures as rows `key,value,unit` in the order of their fields, with a heading. A key is the path to the figure as in
/// the same figures' JSON, steps joined by dots, list items by their number from 0; its unit follows from the key's
/// ending and is empty for shares, counts and words. A figure that there is none of has an empty value. Numbers have a
/// decimal point and no grouping; rows end in CR LF.
///
/// # Errors
/// When the figures can't be written as JSON.
pub fn csv<T: Serialize>(figures: &T) -> serde_json::Result<String> {
    let json = serde_json::to_string(figures)?;
    let mut text = String::from("key,value,unit\r\n");
    add(&mut text, &json, "", "")?;
    Ok(text)
}

/// Adds the rows of a JSON value: `key` is the path to it, `name` its last step that is no number.
fn add(text: &mut String, json: &str, key: &str, name: &str) -> serde_json::Result<()> {
    let below = |step: &str| if key.is_empty() { step.to_string() } else { format!("{key}.{step}") };
    match json.as_bytes().first() {
        Some(b'{') => {
            for (step, value) in entries(json)? {
                add(text, value, &below(&step), &step)?;
            }
        }
        Some(b'[') => {
            for (number, value) in items(json)?.into_iter().enumerate() {
                add(text, value, &below(&number.to_string()), name)?;
            }
        }
        Some(b'"') => row(text, key, &serde_json::from_str::<String>(json)?, name),
        _ => row(text, key, if json == "null" { "" } else { json }, name),
    }
    Ok(())
}

fn row(text: &mut String, key: &str, value: &str, name: &str) {
    let ending = UNITS.iter().filter(|(ending, _)| name.ends_with(ending)).max_by_key(|(ending, _)| ending.len());
    let fields = [key, value, ending.map_or("", |(_, unit)| unit)];
    *text += &fields.map(field).join(",");
    *text += "\r\n";
}

/// A field, in quotes where it must be.
fn field(text: &str) -> String {
    if text.contains([',', '"', '\r', '\n']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Sample {
        wide_mm: f64,
        sides_mm: [f64; 2],
        mass_g: Option<f64>,
        film_g_m2: f64,
        share: f64,
        list: Vec<Inner>,
    }

    #[derive(Serialize)]
    struct Inner {
        area_cm2: f64,
        name: &'static str,
    }

    #[test]
    fn rows_keep_their_order_and_carry_units() {
        let list = vec![Inner { area_cm2: 4.0, name: "plain" }, Inner { area_cm2: 0.25, name: "a \"b\", c\nd" }];
        let sample =
            Sample { wide_mm: 0.1, sides_mm: [1e-7, 1234.5], mass_g: None, film_g_m2: 80.0, share: 0.06, list };
        let text = csv(&sample).unwrap();
        let rows = [
            "key,value,unit",
            "wide_mm,0.1,mm",
            "sides_mm.0,1e-7,mm",
            "sides_mm.1,1234.5,mm",
            "mass_g,,g",
            "film_g_m2,80.0,g/m2",
            "share,0.06,",
            "list.0.area_cm2,4.0,cm2",
            "list.0.name,plain,",
            "list.1.area_cm2,0.25,cm2",
            "list.1.name,\"a \"\"b\"\", c\nd\",",
        ];
        assert_eq!(text, rows.map(|row| row.to_string() + "\r\n").concat());
    }
}
