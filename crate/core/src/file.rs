//! Reading a versioned JSON file against the schema of its type.
//!
//! The schema, generated from the Rust type, is the one list of what a file may hold: the reader walks the parsed file
//! against it and collects *every* fault, each with path, value, line and what would do. Only a file without
//! faults is turned into the type. The walk knows the part of JSON Schema 2020-12 that our types produce.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::OnceLock;

use serde::de::{DeserializeOwned, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::Value;
use serde_json::value::RawValue;

use crate::finding::{Arg, Message, Problem};
use crate::units::{Dimension, count, quantity};

/// A sheet with six plies has some 3 KB; a file beyond this is not one of ours.
pub const MAX_BYTES: usize = 1 << 20;

/// Longest value that a problem repeats.
const SHOWN_CHARS: usize = 60;

/// A kind of file: its format with version, and its JSON Schema.
///
/// The schema is generated from the Rust type by a test, which holds the stored text against the type (`BLESS=1 cargo
/// test` writes it anew): the page need not carry the generator.
#[derive(Debug)]
pub struct FileKind {
    format: &'static str,
    schema_text: &'static str,
    schema: OnceLock<Value>,
}

impl FileKind {
    /// A kind of file whose `format` must read `format`, like `sackwright-sheet/1`.
    #[must_use]
    pub const fn new(format: &'static str, schema_text: &'static str) -> Self {
        Self { format, schema_text, schema: OnceLock::new() }
    }

    /// The schema as JSON text, without references and descriptions, properties in reading order.
    #[must_use]
    pub const fn schema_text(&self) -> &'static str {
        self.schema_text
    }

    /// The schema.
    pub fn schema(&self) -> &Value {
        // A test reads every schema: they are JSON.
        self.schema.get_or_init(|| serde_json::from_str(self.schema_text).unwrap_or_default())
    }

    /// Reads `text` as a file of this kind into its type `T`.
    ///
    /// # Errors
    /// Every fault that was found, in the order of the file: not JSON at all, too large, too deep, a wrong or missing
    /// format, unknown, missing or doubled keys, wrong types, values out of range.
    pub fn read<T: DeserializeOwned>(&self, text: &str) -> Result<T, Vec<Problem>> {
        serde_json::from_value(self.checked(text)?).map_err(|error| {
            vec![whole(Message::new("problem.does_not_fit").with("detail", Arg::text(error.to_string())))]
        })
    }

    /// `text` as a value that is as the schema wants it: what reading does alike for every type.
    fn checked(&self, text: &str) -> Result<Value, Vec<Problem>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        if text.len() > MAX_BYTES {
            let message = Message::new("problem.too_large").with("limit", count(MAX_BYTES / 1024));
            return Err(vec![whole(message)]);
        }
        let value: Value = serde_json::from_str(text).map_err(|error| vec![not_json(text, &error)])?;
        let mut problems = Vec::new();
        check_format(&value, self.format, &mut problems);
        if problems.is_empty() {
            Walk { problems: &mut problems }.value(self.schema(), &value, &mut Vec::new());
        }
        // Mapping takes as long as all the rest, and is for faults alone; a key that stands twice is held once.
        if problems.is_empty() && keys_written(text) == keys_held(&value) {
            return Ok(value);
        }
        let map = SourceMap::of(text);
        problems.extend(map.doubled.iter().map(|path| Problem {
            field: path.clone(),
            value: String::new(),
            line: None,
            message: Message::new("problem.doubled_key"),
        }));
        map.locate(&mut problems);
        problems.sort_by_key(|problem| problem.line);
        Err(problems)
    }
}

/// Fills in the line of every problem that a later validation found in `text`, and numbers as they stand there.
pub fn locate(text: &str, problems: &mut [Problem]) {
    SourceMap::of(text.strip_prefix('\u{feff}').unwrap_or(text)).locate(problems);
}

/// A value as a problem repeats it: JSON text, shortened.
#[must_use]
pub fn shown(value: &Value) -> String {
    shortened(&value.to_string())
}

fn shortened(text: &str) -> String {
    if text.chars().count() <= SHOWN_CHARS {
        return text.into();
    }
    text.chars().take(SHOWN_CHARS).chain(['…']).collect()
}

/// A number as a problem repeats it: 60 rather than 60.0, as people write it in a file.
#[must_use]
pub fn shown_number(value: f64) -> String {
    format!("{value}")
}

fn whole(message: Message) -> Problem {
    Problem { field: String::new(), value: String::new(), line: None, message }
}

fn not_json(text: &str, error: &serde_json::Error) -> Problem {
    let said = error.to_string();
    let key = match text.trim_start().chars().next() {
        None => return whole(Message::new("problem.empty")),
        _ if said.starts_with("recursion limit") => "problem.too_deep",
        Some('{') if error.is_eof() => "problem.cut_off",
        Some('{') if said.starts_with("number out of range") => "problem.number_too_large",
        Some('{') => "problem.not_json",
        Some(_) => return whole(Message::new("problem.not_a_sheet")),
    };
    // Past a line break the parser counts column 0 of the next line: the end of what stands before is meant.
    let (line, column) = if error.is_eof() {
        let rest = text.trim_end();
        (rest.split('\n').count(), rest.rsplit('\n').next().unwrap_or_default().chars().count())
    } else if error.column() == 0 {
        let line = error.line().saturating_sub(1).max(1);
        let before = text.split('\n').nth(line - 1).unwrap_or_default();
        (line, before.trim_end_matches('\r').chars().count().max(1))
    } else {
        (error.line(), error.column())
    };
    let message = Message::new(key).with("line", count(line)).with("column", count(column));
    Problem { line: Some(line), ..whole(message) }
}

fn check_format(value: &Value, format: &str, problems: &mut Vec<Problem>) {
    let Some(object) = value.as_object() else {
        let message = Message::new("problem.not_an_object").with("format", Arg::text(format));
        problems.push(Problem { value: shown(value), ..whole(message) });
        return;
    };
    let found = object.get("format");
    if found.and_then(Value::as_str) == Some(format) {
        return;
    }
    let family = format.split('/').next().unwrap_or_default();
    let newer = found
        .and_then(Value::as_str)
        .and_then(|text| text.strip_prefix(family)?.strip_prefix('/')?.parse::<u64>().ok())
        .is_some_and(|version| version > 1);
    let key = match found {
        None => "problem.format_missing",
        Some(_) if newer => "problem.format_newer",
        Some(_) => "problem.format_other",
    };
    problems.push(Problem {
        field: "format".into(),
        value: found.map(shown).unwrap_or_default(),
        line: None,
        message: Message::new(key).with("format", Arg::text(format)),
    });
}

/// Walks a value against a schema.
struct Walk<'a> {
    problems: &'a mut Vec<Problem>,
}

impl Walk<'_> {
    fn push(&mut self, path: &[String], value: Option<&Value>, message: Message) {
        self.problems.push(Problem {
            field: path.join("."),
            value: value.map(shown).unwrap_or_default(),
            line: None,
            message,
        });
    }

    fn value(&mut self, schema: &Value, value: &Value, path: &mut Vec<String>) {
        // `Option<struct>` comes as anyOf [struct, null].
        if let Some(choices) = schema.get("anyOf").and_then(Value::as_array) {
            if !value.is_null()
                && let Some(choice) = choices.iter().find(|c| c.get("type") != Some(&Value::from("null")))
            {
                self.value(choice, value, path);
            }
            return;
        }
        if let Some(words) = words_of(schema) {
            if !value.as_str().is_some_and(|text| words.contains(&text)) {
                let choices = words.join(", ");
                self.push(path, Some(value), Message::new("problem.not_one_of").with("choices", Arg::text(choices)));
            }
            return;
        }
        let types = types_of(schema);
        if value.is_null() && types.contains(&"null") {
            return;
        }
        match types.iter().find(|t| **t != "null").copied() {
            Some("object") => match value.as_object() {
                Some(object) => self.object(schema, object, path),
                None => self.wrong_type(value, path, "object"),
            },
            Some("array") => match value.as_array() {
                Some(items) => self.array(schema, items, path),
                None => self.wrong_type(value, path, "array"),
            },
            Some("number") => match value.as_f64() {
                Some(number) => self.number(schema, number, value, path),
                None => self.wrong_type(value, path, "number"),
            },
            Some("integer") => match value.as_f64().filter(|n| value.is_u64() || n.fract() == 0.0) {
                Some(number) => self.number(schema, number, value, path),
                None => self.wrong_type(value, path, "integer"),
            },
            Some("boolean") if !value.is_boolean() => self.wrong_type(value, path, "boolean"),
            Some("string") => match value.as_str() {
                Some(text) => self.text(schema, text, value, path),
                None => self.wrong_type(value, path, "string"),
            },
            _ => {}
        }
    }

    fn wrong_type(&mut self, value: &Value, path: &[String], expected: &str) {
        let message =
            Message::new("problem.wrong_type").with("expected", Arg::word(format!("problem.type.{expected}")));
        self.push(path, Some(value), message);
    }

    fn object(&mut self, schema: &Value, object: &serde_json::Map<String, Value>, path: &mut Vec<String>) {
        let empty = serde_json::Map::new();
        let properties = schema.get("properties").and_then(Value::as_object).unwrap_or(&empty);
        for required in schema.get("required").and_then(Value::as_array).into_iter().flatten() {
            if let Some(key) = required.as_str()
                && !object.contains_key(key)
            {
                path.push(key.into());
                self.push(path, None, Message::new("problem.missing"));
                path.pop();
            }
        }
        for (key, value) in object {
            path.push(key.clone());
            match properties.get(key) {
                Some(property) => self.value(property, value, path),
                None => self.push(path, Some(value), unknown_key(key, properties.keys())),
            }
            path.pop();
        }
    }

    fn array(&mut self, schema: &Value, items: &[Value], path: &mut Vec<String>) {
        let bound = |key| schema.get(key).and_then(Value::as_u64).and_then(|n| usize::try_from(n).ok());
        let least = bound("minItems").unwrap_or(0);
        let most = bound("maxItems").unwrap_or(usize::MAX);
        if items.len() < least || items.len() > most {
            let message = Message::new("problem.wrong_count")
                .with("found", count(items.len()))
                .with("min", count(least))
                .with("max", count(most));
            self.push(path, None, message);
        }
        if let Some(item_schema) = schema.get("items") {
            for (index, item) in items.iter().enumerate().take(most) {
                path.push(index.to_string());
                self.value(item_schema, item, path);
                path.pop();
            }
        }
    }

    fn number(&mut self, schema: &Value, number: f64, value: &Value, path: &[String]) {
        let bound = |key| schema.get(key).and_then(Value::as_f64);
        let (min, max) = (bound("minimum"), bound("maximum"));
        if min.is_some_and(|min| number < min) || max.is_some_and(|max| number > max) {
            let dimension = Dimension::of_key(path.last().map_or("", String::as_str));
            let limit = |value: Option<f64>| match value {
                Some(value) => Arg::from(quantity(dimension, value)),
                None => Arg::word("problem.no_limit"),
            };
            let message = Message::new("problem.out_of_range").with("min", limit(min)).with("max", limit(max));
            self.push(path, Some(value), message);
        }
    }

    fn text(&mut self, schema: &Value, text: &str, value: &Value, path: &[String]) {
        if let Some(most) = schema.get("maxLength").and_then(Value::as_u64)
            && text.chars().count() as u64 > most
        {
            let most = usize::try_from(most).unwrap_or(usize::MAX);
            self.push(path, Some(value), Message::new("problem.text_too_long").with("max", count(most)));
        }
    }
}

fn types_of(schema: &Value) -> Vec<&str> {
    match schema.get("type") {
        Some(Value::String(one)) => vec![one],
        Some(Value::Array(many)) => many.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    }
}

/// The words of an enumeration: `enum` when its variants have no descriptions, `oneOf` of constants when they do.
fn words_of(schema: &Value) -> Option<Vec<&str>> {
    if let Some(words) = schema.get("enum").and_then(Value::as_array) {
        return Some(words.iter().filter_map(Value::as_str).collect());
    }
    let variants = schema.get("oneOf")?.as_array()?;
    let mut words = Vec::new();
    for variant in variants {
        match (variant.get("const"), variant.get("enum")) {
            (Some(word), _) => words.extend(word.as_str()),
            (None, Some(some)) => words.extend(some.as_array().into_iter().flatten().filter_map(Value::as_str)),
            (None, None) => return None,
        }
    }
    Some(words)
}

/// How many keys a good JSON text has: outside its strings nothing but a key is followed by a colon.
fn keys_written(text: &str) -> usize {
    let (mut keys, mut in_string, mut escaped) = (0, false, false);
    for byte in text.bytes() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => in_string = !in_string,
            b':' if !in_string => keys += 1,
            _ => {}
        }
    }
    keys
}

/// How many keys the objects in a value have.
fn keys_held(value: &Value) -> usize {
    match value {
        Value::Object(object) => object.len() + object.values().map(keys_held).sum::<usize>(),
        Value::Array(items) => items.iter().map(keys_held).sum(),
        _ => 0,
    }
}

fn unknown_key<'a>(key: &str, known: impl Iterator<Item = &'a String>) -> Message {
    // Closer than this, two keys look like one typo apart; found by trying the keys of our own files.
    const LIKENESS: f64 = 0.85;
    let nearest = known
        .map(|candidate| (strsim::jaro_winkler(key, candidate), candidate))
        .filter(|(likeness, _)| *likeness >= LIKENESS)
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let name: String = key.chars().take(SHOWN_CHARS).collect();
    match nearest {
        Some((_, candidate)) => Message::new("problem.unknown_key_like")
            .with("key", Arg::text(name))
            .with("nearest", Arg::text(candidate.clone())),
        None => Message::new("problem.unknown_key").with("key", Arg::text(name)),
    }
}

/// Where every value of a JSON text stands, and which keys stand twice.
struct SourceMap<'a> {
    text: &'a str,
    /// Text of every value by its path; of the last one where a key is doubled.
    places: BTreeMap<String, &'a str>,
    /// Where every line begins.
    lines: Vec<usize>,
    doubled: BTreeSet<String>,
}

impl<'a> SourceMap<'a> {
    fn of(text: &'a str) -> Self {
        let mut map = Self { text, places: BTreeMap::new(), lines: line_starts(text), doubled: BTreeSet::new() };
        if let Ok(root) = serde_json::from_str::<&RawValue>(text) {
            map.add(root.get(), String::new());
        }
        map
    }

    fn add(&mut self, raw: &'a str, path: String) {
        let child = |key: &str| if path.is_empty() { key.to_string() } else { format!("{path}.{key}") };
        if raw.starts_with('{') {
            if let Ok(entries) = entries(raw) {
                let mut seen = BTreeSet::new();
                for (key, value) in entries {
                    let path = child(&key);
                    if !seen.insert(key) {
                        self.doubled.insert(path.clone());
                    }
                    self.add(value, path);
                }
            }
        } else if raw.starts_with('[')
            && let Ok(items) = items(raw)
        {
            for (index, value) in items.into_iter().enumerate() {
                self.add(value, child(&index.to_string()));
            }
        }
        self.places.insert(path, raw);
    }

    /// Lines of the problems, and numbers as they are written in the file rather than as they were read.
    fn locate(&self, problems: &mut [Problem]) {
        for problem in problems {
            problem.line = self.line_of(&problem.field);
            let written =
                self.places.get(&problem.field).filter(|raw| raw.starts_with(|c: char| c == '-' || c.is_ascii_digit()));
            if let Some(number) = written.filter(|_| !problem.value.is_empty()) {
                problem.value = shortened(number);
            }
        }
    }

    /// The line of the field, or of the nearest thing around it that is there.
    fn line_of(&self, field: &str) -> Option<usize> {
        let mut path = field;
        loop {
            if let Some(raw) = self.places.get(path) {
                // `raw` is a slice of `text`: its address tells where.
                let offset = (raw.as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize);
                return Some(self.lines.partition_point(|start| *start <= offset));
            }
            if path.is_empty() {
                return None;
            }
            path = path.rsplit_once('.').map_or("", |(parent, _)| parent);
        }
    }
}

fn line_starts(text: &str) -> Vec<usize> {
    let after_breaks = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
    std::iter::once(0).chain(after_breaks).collect()
}

/// The entries of a JSON object in order, each value as its text, doubled keys included.
///
/// # Errors
/// When `object` is the text of no JSON object.
pub(crate) fn entries(object: &str) -> serde_json::Result<Vec<(Cow<'_, str>, &str)>> {
    serde_json::from_str(object).map(|Entries(entries)| entries)
}

/// The items of a JSON list, each as its text.
///
/// # Errors
/// When `list` is the text of no JSON list.
pub(crate) fn items(list: &str) -> serde_json::Result<Vec<&str>> {
    let items: Vec<&RawValue> = serde_json::from_str(list)?;
    Ok(items.into_iter().map(RawValue::get).collect())
}

struct Entries<'a>(Vec<(Cow<'a, str>, &'a str)>);

impl<'de> Deserialize<'de> for Entries<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct EntriesVisitor;
        impl<'de> Visitor<'de> for EntriesVisitor {
            type Value = Entries<'de>;
            fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str("an object")
            }
            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Self::Value, M::Error> {
                let mut entries = Vec::new();
                while let Some(key) = map.next_key::<Cow<'de, str>>()? {
                    entries.push((key, map.next_value::<&RawValue>()?.get()));
                }
                Ok(Entries(entries))
            }
        }
        deserializer.deserialize_map(EntriesVisitor)
    }
}

#[cfg(test)]
mod tests {
    use schemars::JsonSchema;
    use schemars::generate::SchemaSettings;

    use super::*;
    use crate::cards::{LINE_KIND, LineFile, PALLET_KIND, PalletFile, WORKS_KIND, WorksFile};
    use crate::check::{HABITS_KIND, Habits};
    use crate::sheet::{KIND, SheetFile};
    use crate::sizing::{ORDER_KIND, OrderFile};

    fn generated<T: JsonSchema>() -> String {
        let settings = SchemaSettings::draft2020_12().with(|s| s.inline_subschemas = true);
        let schema = settings.into_generator().into_root_schema_for::<T>();
        serde_json::to_string_pretty(&schema).unwrap() + "\n"
    }

    fn hold(name: &str, generated: &str, kind: &FileKind) {
        let path = format!("{}/schema/{name}.schema.json", env!("CARGO_MANIFEST_DIR"));
        if std::env::var_os("BLESS").is_some() {
            std::fs::write(&path, generated).unwrap();
            return;
        }
        let stored = std::fs::read_to_string(&path).unwrap();
        assert!(
            stored == generated,
            "{name}: the stored schema is not the type's; `BLESS=1 cargo test` writes it anew"
        );
        assert!(kind.schema().get("properties").is_some());
    }

    #[test]
    fn the_stored_schemas_are_those_of_the_types() {
        hold("sheet", &generated::<SheetFile>(), &KIND);
        hold("line", &generated::<LineFile>(), &LINE_KIND);
        hold("pallet", &generated::<PalletFile>(), &PALLET_KIND);
        hold("works", &generated::<WorksFile>(), &WORKS_KIND);
        hold("order", &generated::<OrderFile>(), &ORDER_KIND);
        hold("habits", &generated::<Habits>(), &HABITS_KIND);
    }
}
