//! What is new in a report: most of it stays as it was while one length is dragged, and reading JSON takes a browser longer
//! than comparing its text takes us.

use sackwright::file::{entries, items};

/// The report that was told last.
#[derive(Default)]
pub struct Told {
    text: String,
}

impl Told {
    /// An object of what is new in `report`, a JSON object: entries that stand in the last report as they are left out, and in
    /// a list of objects, an object of the last report's list is the number of its place there.
    ///
    /// None when it is no JSON object.
    pub fn news(&mut self, report: String) -> Option<String> {
        let last = if self.text.is_empty() { Vec::new() } else { entries(&self.text).ok()? };
        let mut news = Vec::new();
        for (key, part) in entries(&report).ok()? {
            let before = last.iter().find(|(known, _)| *known == key).map(|(_, part)| *part);
            let told = match before {
                Some(before) if before == part => continue,
                Some(before) if is_list(before) && is_list(part) => list_news(before, part)?,
                _ => part.to_string(),
            };
            news.push(format!("\"{key}\":{told}"));
        }
        let news = format!("{{{}}}", news.join(","));
        self.text = report;
        Some(news)
    }
}

/// Whether a JSON text is a list of objects.
fn is_list(text: &str) -> bool {
    text.starts_with("[{")
}

/// A list of objects, of which those that stand in the list before it are told by their place there.
fn list_news(before: &str, list: &str) -> Option<String> {
    let before = items(before).ok()?;
    let place = |item: &str| before.iter().position(|known| *known == item);
    let told =
        items(list).ok()?.into_iter().map(|item| place(item).map_or(item.to_string(), |place| place.to_string()));
    Some(format!("[{}]", told.collect::<Vec<_>>().join(",")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_new_is_told() {
        let mut told = Told::default();
        let first = r#"{"problems":[],"findings":[{"rule":"a"},{"rule":"b"}],"sheet":{"x":1},"line":null}"#;
        assert_eq!(told.news(first.into()).as_deref(), Some(first));
        assert_eq!(told.news(first.into()).as_deref(), Some("{}"));
        let second = r#"{"problems":[],"findings":[{"rule":"b"},{"rule":"c"}],"sheet":{"x":1},"line":{"y":[1]}}"#;
        assert_eq!(told.news(second.into()).as_deref(), Some(r#"{"findings":[1,{"rule":"c"}],"line":{"y":[1]}}"#));
        let third = r#"{"problems":[{"field":"x"}],"findings":[],"sheet":{"x":1},"line":{"y":[1]}}"#;
        assert_eq!(told.news(third.into()).as_deref(), Some(r#"{"problems":[{"field":"x"}],"findings":[]}"#));
    }
}
