//! The page: its three wasm modules, their glue, the files of web/ and the examples, put together in dist/.
//!
//! dist/ is made fresh beside the last one and takes its place at the end, so a build that
//! fails leaves the last page as it was.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;

use anyhow::{Context, Result, bail};
use serde_json::{Map, Value, json};
use wasm_bindgen_cli_support::Bindgen;

use crate::bundle;
use crate::run::{cargo, output, root};
use crate::toolchain::{WASM, ensure_wasm_target};
use crate::tree;

/// A wasm module of the page.
pub struct Module {
    /// Its package.
    pub package: &'static str,
    /// The package's library, and so the stem of the files in dist/pkg/.
    pub library: &'static str,
    /// The profile that it is compiled with; see Cargo.toml.
    profile: &'static str,
}

/// The module of the first picture, the desk's, which is loaded after it, and the drafter's, loaded with the first drawing.
pub const MODULES: [Module; 3] = [
    Module { package: "sackwright-page", library: "sackwright_page", profile: "wasm" },
    Module { package: "sackwright-desk", library: "sackwright_desk", profile: "wasm-desk" },
    Module { package: "sackwright-draft", library: "sackwright_draft", profile: "wasm" },
];

/// Builds the page; returns the folder dist/.
pub fn build() -> Result<PathBuf> {
    let root = root();
    let (dist, fresh) = (root.join("dist"), root.join("target/dist.next"));
    tree::remove(&fresh)?;

    println!("page: compiling the wasm");
    ensure_wasm_target()?;
    let messages = compile()?;

    println!("page: writing the glue");
    for Module { library, .. } in MODULES {
        let wasm = wasm_file(&messages, library);
        let wasm = wasm.with_context(|| format!("cargo named no wasm file of {library}"))?;
        bind(&wasm, &fresh.join("pkg"))?;
    }

    let web = tree::copy(&root.join("web"), &fresh, &is_served)?;
    bundle(&fresh)?;
    let examples = examples(&root.join("examples"))?;
    write(&fresh.join("examples.json"), &examples.to_string())?;
    let listed = LISTED.map(|(folder, _)| format!("{} {folder}", count(&examples[folder])));
    println!("page: {web} files of web/, and of examples/ {}", listed.join(", "));

    replace(&dist, &fresh, &root.join("target/dist.last"))?;
    println!("page: {} is ready", dist.display());
    Ok(dist)
}

/// Compiles the modules, those of one profile together; returns cargo's messages.
fn compile() -> Result<String> {
    let mut packages: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for Module { package, profile, .. } in MODULES {
        packages.entry(profile).or_default().extend(["--package", package]);
    }
    let messages = packages.into_iter().map(|(profile, packages)| {
        let target = ["--lib", "--target", WASM, "--profile", profile];
        output(
            cargo(&["build", "--message-format", "json-render-diagnostics"])
                .args(packages)
                .args(target)
                .stdin(Stdio::null()),
        )
    });
    messages.collect()
}

/// The wasm file of a library among cargo's messages, one JSON object a line.
fn wasm_file(messages: &str, library: &str) -> Option<PathBuf> {
    messages
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter(|message| message["reason"] == "compiler-artifact" && message["target"]["name"] == library)
        .flat_map(|message| message["filenames"].as_array().cloned().unwrap_or_default())
        .filter_map(|file| file.as_str().map(PathBuf::from))
        .find(|file| file.extension().is_some_and(|extension| extension == "wasm"))
}

/// Writes the wasm with its JavaScript glue and types. The glue has no default address of
/// the wasm: the page hands one to `init`.
fn bind(wasm: &Path, pkg: &Path) -> Result<()> {
    Bindgen::new()
        .input_path(wasm)
        .web(true)?
        .typescript(true)
        .remove_name_section(true)
        .remove_producers_section(true)
        .generate(pkg)
        .with_context(|| format!("wasm-bindgen failed on {}", wasm.display()))
}

/// Whether a file or folder of web/ or examples/ belongs on the page: sources of types,
/// tests, notes and hidden files do not.
fn is_served(path: &Path) -> bool {
    let name = tree::name(path);
    let is_note = name.ends_with(".md");
    let is_source = name.ends_with(".ts") || name == "tsconfig.json" || name == "package.json";
    let is_test = name.ends_with(".test.js");
    !(name.starts_with('.') || is_note || is_source || is_test)
}

/// The module that the page starts with; all of its folder go into it.
const MAIN: &str = "main.js";

/// Puts the page's modules into one, and its styles into one in the order that the page names them in.
fn bundle(dist: &Path) -> Result<()> {
    let folder = dist.join("modules");
    let mut sources = BTreeMap::new();
    for path in tree::files(&folder, &|path| tree::name(path) != EARLY)? {
        sources.insert(address(&path), read(&folder.join(&path))?);
        remove_file(&folder.join(&path))?;
    }
    write(&folder.join(MAIN), &bundle::modules(&sources, MAIN)?)?;

    let page = dist.join("index.html");
    let html = read(&page)?;
    let (html, styles) = one_style(&html, STYLE).context("index.html names no style")?;
    let texts = styles.iter().map(|style| read(&dist.join(style))).collect::<Result<Vec<_>>>()?;
    tree::remove(&dist.join("css"))?;
    write(&dist.join(STYLE), &texts.concat())?;
    write(&page, &html)
}

/// The script that runs before anything is drawn: no module.
const EARLY: &str = "early.js";

/// The one style sheet in dist/.
const STYLE: &str = "page.css";

/// The page with one style sheet in the place of all that it names, and those.
fn one_style<'a>(html: &'a str, style: &str) -> Option<(String, Vec<&'a str>)> {
    let named = |line: &'a str| line.trim().strip_prefix("<link rel=\"stylesheet\" href=\"")?.strip_suffix("\">");
    let styles: Vec<_> = html.lines().filter_map(named).collect();
    let first = styles.first()?;
    let kept = html.lines().filter(|line| named(line).is_none_or(|style| style == *first));
    Some((kept.map(|line| format!("{line}\n")).collect::<String>().replace(first, style), styles))
}

/// What the page is given of the examples: folder, and how its files end.
const LISTED: [(&str, &str); 5] = [
    ("sacks", ".sack.json"),
    ("artwork", ".svg"),
    ("lines", ".line.json"),
    ("pallets", ".pallet.json"),
    ("works", ".works.json"),
];

/// The examples by folder: path relative to that of the examples, and text; sorted.
fn examples(folder: &Path) -> Result<Value> {
    let files = tree::files(folder, &is_served)?;
    let mut all = Map::new();
    for (below, ending) in LISTED {
        let of_kind = files.iter().filter(|path| path.starts_with(below) && tree::name(path).ends_with(ending));
        let read = of_kind.map(|path| Ok(json!({ "path": address(path), "text": read(&folder.join(path))? })));
        all.insert(below.to_owned(), Value::Array(read.collect::<Result<_>>()?));
    }
    Ok(Value::Object(all))
}

fn read(file: &Path) -> Result<String> {
    fs::read_to_string(file).with_context(|| format!("cannot read {}", file.display()))
}

fn write(file: &Path, text: &str) -> Result<()> {
    fs::write(file, text).with_context(|| format!("cannot write {}", file.display()))
}

fn remove_file(file: &Path) -> Result<()> {
    fs::remove_file(file).with_context(|| format!("cannot remove {}", file.display()))
}

/// A relative path as it stands in a URL: with forward slashes.
fn address(path: &Path) -> String {
    let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}

fn count(list: &Value) -> usize {
    list.as_array().map_or(0, Vec::len)
}

/// Puts `fresh` in the place of `dist`.
fn replace(dist: &Path, fresh: &Path, last: &Path) -> Result<()> {
    tree::remove(last)?;
    if dist.exists() {
        move_folder(dist, last)?;
    }
    if let Err(error) = move_folder(fresh, dist) {
        if last.exists() {
            move_folder(last, dist)?;
        }
        bail!(error);
    }
    tree::remove(last)
}

fn move_folder(from: &Path, to: &Path) -> Result<()> {
    fs::rename(from, to).with_context(|| format!("cannot move {} to {}", from.display(), to.display()))
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};

    use super::{is_served, one_style, wasm_file};

    #[test]
    fn one_style_takes_the_place_of_all() {
        let link = |style: &str| format!("  <link rel=\"stylesheet\" href=\"{style}\">\n");
        let html = format!("<head>\n{}<script></script>\n{}</head>\n", link("css/a.css"), link("css/b.css"));
        let (one, styles) = one_style(&html, "page.css").expect("two styles");
        assert_eq!(one, format!("<head>\n{}<script></script>\n</head>\n", link("page.css")));
        assert_eq!(styles, ["css/a.css", "css/b.css"]);
        assert_eq!(one_style("<head></head>", "page.css"), None);
    }

    #[test]
    fn only_what_the_page_needs_is_served() {
        for kept in ["index.html", "app.js", "words/en.json", "a.css", "mark.svg", "sacks"] {
            assert!(is_served(Path::new(kept)), "{kept}");
        }
        for left_out in ["types.d.ts", "a.ts", "state.test.js", "README.md", ".DS_Store", "tsconfig.json"] {
            assert!(!is_served(Path::new(left_out)), "{left_out}");
        }
    }

    #[test]
    fn the_wasm_file_is_found_among_cargos_messages() {
        let messages = concat!(
            r#"{"reason":"compiler-artifact","target":{"name":"sackwright"},"filenames":["a.rlib"]}"#,
            "\n",
            r#"{"reason":"compiler-artifact","target":{"name":"sackwright_page"},"filenames":["b.rlib","b.wasm"]}"#,
            "\n",
            r#"{"reason":"compiler-artifact","target":{"name":"sackwright_desk"},"filenames":["c.wasm"]}"#,
            "\n",
            r#"{"reason":"build-finished","success":true}"#,
        );
        assert_eq!(wasm_file(messages, "sackwright_page"), Some(PathBuf::from("b.wasm")));
        assert_eq!(wasm_file(messages, "sackwright_desk"), Some(PathBuf::from("c.wasm")));
        assert_eq!(wasm_file("", "sackwright_page"), None);
    }
}
