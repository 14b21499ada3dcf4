//! The page's scripts and styles, each put together into one file: a browser takes ten milliseconds for every file it
//! asks for, however small.
//!
//! Only the module syntax that web/ is written in is known: at the start of a line `import { … } from "./x.js";`, also over
//! several lines, and `export` before `const`, `function`, `async function` and `class`. Anything else is an error that
//! names its file. Each module becomes a function that runs once and returns what it exports, after all it imports.

use std::collections::BTreeMap;
use std::fmt::Write;

use anyhow::{Context, Result, bail, ensure};

/// A module as it is read.
struct Module {
    /// Names taken from other modules of the folder: file, and what stands between the braces.
    imports: Vec<(String, String)>,
    exports: Vec<String>,
    body: String,
}

/// The modules that `main` imports, directly or not, and itself, as one module. `sources`: text by the file's name; all lie in one
/// folder, and the bundle is to lie there too.
///
/// # Errors
/// A module that is missing, that imports itself by way of others, or that is written otherwise than described above.
pub fn modules(sources: &BTreeMap<String, String>, main: &str) -> Result<String> {
    let mut bundle = String::new();
    add(sources, main, &mut Vec::new(), &mut Vec::new(), &mut bundle)?;
    Ok(bundle)
}

/// Adds a module after all that it imports. `open`: modules that wait for this one; `done`: those in the bundle.
fn add(
    sources: &BTreeMap<String, String>,
    name: &str,
    open: &mut Vec<String>,
    done: &mut Vec<String>,
    bundle: &mut String,
) -> Result<()> {
    if done.iter().any(|known| known == name) {
        return Ok(());
    }
    ensure!(!open.iter().any(|waiting| waiting == name), "{name} imports itself by way of {}", open.join(", "));
    let source = sources.get(name).with_context(|| format!("{name}: no such module"))?;
    let module = parse(source).with_context(|| format!("{name} cannot be bundled"))?;
    open.push(name.to_owned());
    for (from, _) in &module.imports {
        add(sources, from, open, done, bundle)?;
    }
    open.pop();
    done.push(name.to_owned());

    writeln!(bundle, "// {name}\nconst {} = (() => {{", variable(name))?;
    for (from, names) in &module.imports {
        writeln!(bundle, "const {{ {} }} = {};", names.replace(" as ", ": "), variable(from))?;
    }
    writeln!(bundle, "{}return {{ {} }};\n}})();", module.body, module.exports.join(", "))?;
    Ok(())
}

/// What a module's exports are called in the bundle.
fn variable(name: &str) -> String {
    format!("{}$", name.trim_end_matches(".js").replace('-', "_"))
}

fn parse(source: &str) -> Result<Module> {
    let mut module = Module { imports: Vec::new(), exports: Vec::new(), body: String::new() };
    let mut lines = source.lines();
    while let Some(line) = lines.next() {
        if line.starts_with("import ") || line.starts_with("import{") {
            let mut statement = line.to_owned();
            while !statement.ends_with(';') {
                let more = lines.next().with_context(|| format!("`{statement}` does not end"))?;
                write!(statement, " {}", more.trim())?;
            }
            module.imports.push(import(&statement)?);
        } else if let Some(declared) = line.strip_prefix("export ") {
            if declared != "{};" {
                module.exports.push(exported(declared)?);
                writeln!(module.body, "{declared}")?;
            }
        } else {
            writeln!(module.body, "{line}")?;
        }
    }
    Ok(module)
}

/// File and names of an import statement.
fn import(statement: &str) -> Result<(String, String)> {
    let parts = statement.strip_prefix("import {").and_then(|rest| rest.strip_suffix("\";"));
    let parts = parts.and_then(|rest| rest.split_once("} from \"./"));
    let Some((names, file)) = parts else {
        bail!("`{statement}`: `import {{ … }} from \"./x.js\";` would do");
    };
    Ok((file.to_owned(), names.trim().trim_end_matches(',').to_owned()))
}

/// The name that is declared after `export`.
fn exported(declared: &str) -> Result<String> {
    let rest = ["const ", "function ", "async function ", "class "].iter().find_map(|word| declared.strip_prefix(word));
    let name = rest.and_then(|rest| rest.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == '$')).next());
    let name = name.filter(|name| !name.is_empty());
    name.map(str::to_owned).with_context(|| {
        format!("`export {declared}`: only const, function, async function and class are known, with a name")
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::modules;

    fn sources(files: &[(&str, &str)]) -> BTreeMap<String, String> {
        files.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
    }

    #[test]
    fn a_module_stands_after_what_it_imports_and_once() {
        let files = sources(&[
            (
                "main.js",
                "import {\n  one,\n  two as deux,\n} from \"./a-b.js\";\nimport { Three } from \"./c.js\";\nuse(one, deux, Three);",
            ),
            ("a-b.js", "import { Three } from \"./c.js\";\nexport const one = 1;\nexport async function two() {}\n"),
            ("c.js", "export class Three {}\nexport {};\n"),
            ("unused.js", "import \"nothing\";\n"),
        ]);
        let expected = "\
// c.js
const c$ = (() => {
class Three {}
return { Three };
})();
// a-b.js
const a_b$ = (() => {
const { Three } = c$;
const one = 1;
async function two() {}
return { one, two };
})();
// main.js
const main$ = (() => {
const { one, two: deux } = a_b$;
const { Three } = c$;
use(one, deux, Three);
return {  };
})();
";
        assert_eq!(modules(&files, "main.js").expect("known syntax"), expected);
    }

    #[test]
    fn what_is_not_known_is_named() {
        for (text, told) in [
            ("import all from \"./c.js\";\n", "import all"),
            ("import * as all from \"./c.js\";\n", "import * as all"),
            ("import { a } from \"../pkg/x.js\";\n", "../pkg/x.js"),
            ("export default 1;\n", "export default 1"),
            ("export let a = 1;\n", "export let a"),
            ("export { a };\n", "export { a }"),
            ("import { a } from \"./missing.js\";\n", "missing.js: no such module"),
            ("import { a } from \"./main.js\";\n", "main.js imports itself"),
            ("import {\n  a,\n", "does not end"),
        ] {
            let error = modules(&sources(&[("main.js", text), ("c.js", "")]), "main.js").expect_err(text);
            assert!(format!("{error:#}").contains(told), "{text}: {error:#}");
        }
    }
}
