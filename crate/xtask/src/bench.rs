//! Measures the core natively and the page in Chromium; one table of medians.

use std::path::Path;
use std::time::SystemTime;

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::run::{cargo, run, target_folder};
use crate::{browser, page, tree};

/// A measured thing and its median in seconds.
struct Median {
    name: String,
    seconds: f64,
}

/// Runs both benchmarks and prints the table.
pub fn bench() -> Result<()> {
    page::build()?;
    browser::install_packages()?;
    let start = SystemTime::now();

    println!("\n== Core, native");
    run(&mut cargo(&["bench", "--package", "sackwright", "--bench", "core", "--bench", "fill", "--bench", "sizing"]))?;
    let mut medians = criterion_medians(&target_folder()?, start)?;

    println!("\n== Page, in Chromium");
    let result = browser::folder().join("out/bench.json");
    tree::make_parent(&result)?;
    browser::bench_page(&result)?;
    medians.extend(page_medians(&read_json(&result)?)?);

    println!("\nMedians");
    print!("{}", table(&medians));
    Ok(())
}

/// The medians that criterion has written since `start`.
fn criterion_medians(target: &str, start: SystemTime) -> Result<Vec<Median>> {
    let results = Path::new(target).join("criterion");
    let mut medians = Vec::new();
    for path in tree::files(&results, &|_| true)? {
        let file = results.join(&path);
        if !path.ends_with("new/estimates.json") || file.metadata()?.modified()? < start {
            continue;
        }
        let estimates = read_json(&file)?;
        let benchmark = read_json(&file.with_file_name("benchmark.json"))?;
        let (Some(name), Some(nanoseconds)) =
            (benchmark["full_id"].as_str(), estimates["median"]["point_estimate"].as_f64())
        else {
            bail!("{} holds no median", file.display());
        };
        medians.push(Median { name: format!("core: {name}"), seconds: nanoseconds * 1e-9 });
    }
    Ok(medians)
}

/// The medians of the page benchmark: a list of `{name, median_ms}`.
fn page_medians(result: &Value) -> Result<Vec<Median>> {
    let list = result.as_array().context("the page benchmark wrote no list")?;
    list.iter()
        .map(|entry| {
            let name = entry["name"].as_str().context("a page median has no name")?;
            let median = entry["median_ms"].as_f64();
            let milliseconds = median.with_context(|| format!("`{name}` has no median"))?;
            Ok(Median { name: format!("page: {name}"), seconds: milliseconds * 1e-3 })
        })
        .collect()
}

fn read_json(file: &Path) -> Result<Value> {
    let text = std::fs::read_to_string(file).with_context(|| format!("cannot read {}", file.display()))?;
    serde_json::from_str(&text).with_context(|| format!("{} is no JSON", file.display()))
}

fn table(medians: &[Median]) -> String {
    let width = medians.iter().map(|median| median.name.chars().count()).max().unwrap_or(0);
    medians.iter().map(|median| format!("{:width$}  {:>10}\n", median.name, duration(median.seconds))).collect()
}

/// A time in the unit that leaves one to three digits before the point.
fn duration(seconds: f64) -> String {
    let (value, unit) = match seconds {
        s if s >= 1.0 => (s, "s"),
        s if s >= 1e-3 => (s * 1e3, "ms"),
        s if s >= 1e-6 => (s * 1e6, "µs"),
        s => (s * 1e9, "ns"),
    };
    let digits = match value {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        _ => 2,
    };
    format!("{value:.digits$} {unit}")
}

#[cfg(test)]
mod tests {
    use super::{Median, duration, page_medians, table};

    #[test]
    fn times_have_three_digits() {
        assert_eq!(duration(1.2345), "1.23 s");
        assert_eq!(duration(0.012_345), "12.3 ms");
        assert_eq!(duration(123.4e-6), "123 µs");
        assert_eq!(duration(1.5e-9), "1.50 ns");
    }

    #[test]
    fn medians_stand_in_columns() {
        let median = |name: &str, seconds| Median { name: name.into(), seconds };
        assert_eq!(
            table(&[median("core: a", 1.0), median("page: bcd", 0.5)]),
            "core: a        1.00 s\npage: bcd      500 ms\n"
        );
    }

    #[test]
    fn the_pages_medians_are_read() {
        let result = serde_json::json!([{ "name": "draw", "median_ms": 46.0 }]);
        let medians = page_medians(&result).unwrap();
        assert_eq!(medians.len(), 1);
        assert_eq!(medians[0].name, "page: draw");
        assert!((medians[0].seconds - 0.046).abs() < 1e-12);
        assert!(page_medians(&serde_json::json!([{ "name": "draw" }])).is_err());
    }
}
