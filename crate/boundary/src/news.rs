//! What is new in a report: most of it stays as it was while one length is dragged, and reading JSON takes a browser longer
//! than comparing its text takes us.

/// A part of a report as JSON.
#[derive(Clone, PartialEq, Eq)]
pub enum Part {
    /// Told as it is.
    Whole(String),
    /// A list of objects, each told by itself.
    List(Vec<String>),
}

impl Part {
    /// As JSON; an item that stands in the list `before` is the number of its place there.
    fn told(&self, before: Option<&Self>) -> String {
        let items = match self {
            Self::Whole(text) => return text.clone(),
            Self::List(items) => items,
        };
        let known: &[String] = if let Some(Self::List(known)) = before { known } else { &[] };
        let place = |item| known.iter().position(|one| one == item);
        let told = items.iter().map(|item| place(item).map_or_else(|| item.clone(), |place| place.to_string()));
        format!("[{}]", told.collect::<Vec<_>>().join(","))
    }
}

/// The parts of a report by name.
pub type Parts = Vec<(&'static str, Part)>;

/// A report as a JSON object.
#[must_use]
pub fn whole(report: &Parts) -> String {
    object(report.iter().map(|(key, part)| (*key, part.told(None))))
}

/// The report that was told last.
#[derive(Default)]
pub struct Told(Parts);

impl Told {
    /// A JSON object of what is new in `report`, of the same parts as the last: what stands in the last report as it is is left
    /// out, and an item that stands in the last report's list is the number of its place there.
    pub fn news(&mut self, report: Parts) -> String {
        let before = |at: usize| self.0.get(at).map(|(_, part)| part);
        let new = report.iter().enumerate().filter(|(at, (_, part))| before(*at) != Some(part));
        let news = object(new.map(|(at, (key, part))| (*key, part.told(before(at)))));
        self.0 = report;
        news
    }
}

fn object(entries: impl Iterator<Item = (&'static str, String)>) -> String {
    let entries = entries.map(|(key, text)| format!("\"{key}\":{text}"));
    format!("{{{}}}", entries.collect::<Vec<_>>().join(","))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn report(problems: &str, findings: &[&str], line: &str) -> Parts {
        let whole = |text: &str| Part::Whole(text.into());
        let findings = Part::List(findings.iter().map(ToString::to_string).collect());
        vec![("problems", whole(problems)), ("findings", findings), ("line", whole(line))]
    }

    #[test]
    fn only_what_is_new_is_told() {
        let mut told = Told::default();
        let first = report("[]", &[r#"{"rule":"a"}"#, r#"{"rule":"b"}"#], "null");
        let all = r#"{"problems":[],"findings":[{"rule":"a"},{"rule":"b"}],"line":null}"#;
        assert_eq!(whole(&first), all);
        assert_eq!(told.news(first.clone()), all);
        assert_eq!(told.news(first), "{}");
        let second = report("[]", &[r#"{"rule":"b"}"#, r#"{"rule":"c"}"#], r#"{"y":[1]}"#);
        assert_eq!(told.news(second), r#"{"findings":[1,{"rule":"c"}],"line":{"y":[1]}}"#);
        let third = report(r#"[{"field":"x"}]"#, &[], r#"{"y":[1]}"#);
        assert_eq!(told.news(third), r#"{"problems":[{"field":"x"}],"findings":[]}"#);
    }

    #[test]
    fn an_item_that_moved_is_found_again() {
        let mut told = Told::default();
        let [a, b, c, d] = [r#"{"rule":"a"}"#, r#"{"rule":"b"}"#, r#"{"rule":"c"}"#, r#"{"rule":"d"}"#];
        told.news(report("[]", &[a, b, c], "null"));
        assert_eq!(told.news(report("[]", &[a, c, d], "null")), r#"{"findings":[0,2,{"rule":"d"}]}"#);
    }
}
