//! The page: its three wasm modules, their glue, the files of web/ and the examples, put together in dist/.
//!
//! dist/ is made fresh beside the last one and takes its place at the end, so a build that
//! fails leaves the last page as it was.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;

use anyhow::{Context, Result, bail};
use serde_json::{Value, json};
use wasm_bindgen_cli_support::Bindgen;

use crate::run::{cargo, output, root};
use crate::toolchain::{WASM, ensure_wasm_target};
use crate::tree;

/// A wasm module of the page.
pub struct Module {
    /// Its package.
    pub package: &'static str,
    /// The package's library, and so the stem of the files in dist/pkg/.
    pub library: &'static str,
}

/// The module of the first picture, the desk's, which is loaded after it, and the drafter's, loaded with the first drawing.
pub const MODULES: [Module; 3] = [
    Module { package: "sackwright-page", library: "sackwright_page" },
    Module { package: "sackwright-desk", library: "sackwright_desk" },
    Module { package: "sackwright-draft", library: "sackwright_draft" },
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
    name_modules(&fresh)?;
    let examples = fresh.join("examples");
    tree::make(&examples)?;
    tree::copy(&root.join("examples"), &examples, &|path| is_served(path) && !is_picture(path))?;
    let index = index(&examples)?;
    fs::write(examples.join("index.json"), index.to_string())
        .with_context(|| format!("cannot write the index in {}", examples.display()))?;
    let listed = LISTED.map(|(folder, _)| format!("{} {folder}", count(&index[folder])));
    println!("page: {web} files of web/, and of examples/ {}", listed.join(", "));

    replace(&dist, &fresh, &root.join("target/dist.last"))?;
    println!("page: {} is ready", dist.display());
    Ok(dist)
}

/// Compiles the modules; returns cargo's messages.
fn compile() -> Result<String> {
    let packages = MODULES.iter().flat_map(|module| ["--package", module.package]);
    let target = ["--lib", "--target", WASM, "--profile", "wasm"];
    output(
        cargo(&["build", "--message-format", "json-render-diagnostics"])
            .args(packages)
            .args(target)
            .stdin(Stdio::null()),
    )
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

/// Pictures of the examples are the README's, not the page's.
fn is_picture(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "png")
}

/// Names every module in the page's head, so that all are fetched at once and not one after the other as they are
/// found to be imported.
fn name_modules(dist: &Path) -> Result<()> {
    let page = dist.join("index.html");
    let html = fs::read_to_string(&page).with_context(|| format!("cannot read {}", page.display()))?;
    let modules = tree::files(&dist.join("modules"), &|_| true)?;
    let addresses: Vec<String> = modules.iter().map(|path| format!("modules/{}", address(path))).collect();
    let named = with_modules(&html, &addresses).context("index.html has no line that begins with <!-- modules:")?;
    fs::write(&page, named).with_context(|| format!("cannot write {}", page.display()))
}

/// The page with a preload for every module that has no script element of its own in the place of its comment.
fn with_modules(html: &str, addresses: &[String]) -> Option<String> {
    let comment = html.lines().find(|line| line.trim_start().starts_with("<!-- modules:"))?;
    let preloads: Vec<String> = addresses
        .iter()
        .filter(|address| !html.contains(&format!("src=\"{address}\"")))
        .map(|address| format!("    <link rel=\"modulepreload\" href=\"{address}\">"))
        .collect();
    Some(html.replace(comment, &preloads.join("\n")))
}

/// What the index lists: folder, and how its files end.
const LISTED: [(&str, &str); 4] =
    [("sacks", ".sack.json"), ("lines", ".line.json"), ("pallets", ".pallet.json"), ("works", ".works.json")];

/// The index of the examples: paths relative to the folder, sorted.
fn index(examples: &Path) -> Result<Value> {
    let files = tree::files(examples, &|_| true)?;
    let listed = |folder: &str, ending: &str| -> Vec<String> {
        files
            .iter()
            .filter(|path| path.starts_with(folder) && tree::name(path).ends_with(ending))
            .map(|path| address(path))
            .collect()
    };
    Ok(LISTED.iter().map(|(folder, ending)| ((*folder).to_owned(), json!(listed(folder, ending)))).collect())
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

    use super::{is_served, wasm_file, with_modules};

    #[test]
    fn modules_are_named_where_the_comment_stands() {
        let html =
            "<head>\n  <!-- modules: here -->\n  <script type=\"module\" src=\"modules/main.js\"></script>\n</head>";
        let named = with_modules(html, &["modules/app.js".into(), "modules/main.js".into()]);
        let preload = "    <link rel=\"modulepreload\" href=\"modules/app.js\">";
        let script = "  <script type=\"module\" src=\"modules/main.js\"></script>";
        assert_eq!(named, Some(format!("<head>\n{preload}\n{script}\n</head>")));
        assert_eq!(with_modules("<head></head>", &[]), None);
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
