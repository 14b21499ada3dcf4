//! A small server of dist/ for this machine alone; any static host does the same.

use std::fs::{self, File};
use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread;

use anyhow::{Context, Result, anyhow, bail};
use tiny_http::{Header, Method, Request, Response, Server};

const FIRST_PORT: u16 = 8137;
const LAST_PORT: u16 = 8199;
/// Requests answered at the same time.
const WORKERS: usize = 4;

/// Serves `dist` until the program is ended. Without a port: the first free one from 8137.
pub fn serve(dist: &Path, port: Option<u16>) -> Result<()> {
    let listener = listen(port)?;
    let address = listener.local_addr().context("the server has no address")?;
    let server = Server::from_listener(listener, None).map_err(|error| anyhow!("the server did not start: {error}"))?;
    let dist = dist.canonicalize().with_context(|| format!("cannot find {}", dist.display()))?;
    println!("serving {} on http://{address}/ (Ctrl+C ends it)", dist.display());

    let server = Arc::new(server);
    let workers: Vec<_> = (0..WORKERS)
        .map(|_| {
            let (server, dist) = (Arc::clone(&server), dist.clone());
            thread::spawn(move || {
                for request in server.incoming_requests() {
                    answer(request, &dist);
                }
            })
        })
        .collect();
    for worker in workers {
        if worker.join().is_err() {
            bail!("a worker of the server stopped");
        }
    }
    Ok(())
}

fn listen(port: Option<u16>) -> Result<TcpListener> {
    if let Some(port) = port {
        return TcpListener::bind((Ipv4Addr::LOCALHOST, port))
            .with_context(|| format!("port {port} is not to be had; choose another or none"));
    }
    (FIRST_PORT..=LAST_PORT)
        .find_map(|port| TcpListener::bind((Ipv4Addr::LOCALHOST, port)).ok())
        .with_context(|| format!("no port from {FIRST_PORT} to {LAST_PORT} is free"))
}

fn answer(request: Request, dist: &Path) {
    let sent = if !matches!(request.method(), Method::Get | Method::Head) {
        request.respond(plain(405, "only GET and HEAD are answered here\n").with_header(header("Allow", "GET, HEAD")))
    } else {
        match find(dist, request.url()).and_then(|path| Some((File::open(&path).ok()?, path))) {
            Some((file, path)) => request.respond(
                Response::from_file(file)
                    .with_header(header("Content-Type", content_type(&path)))
                    .with_header(header("Cache-Control", "no-cache"))
                    .with_header(header("X-Content-Type-Options", "nosniff")),
            ),
            None => request.respond(plain(404, "not found\n")),
        }
    };
    // A browser that went away before the answer is no fault of the server.
    drop(sent);
}

fn plain(status: u16, text: &str) -> Response<std::io::Cursor<Vec<u8>>> {
    Response::from_string(text)
        .with_status_code(status)
        .with_header(header("Content-Type", "text/plain; charset=utf-8"))
}

#[expect(clippy::expect_used, reason = "the names and values are this file's own")]
fn header(name: &str, value: &str) -> Header {
    Header::from_bytes(name, value).expect("an ASCII header")
}

/// The file that a request's address names: inside `dist` or nothing.
fn find(dist: &Path, url: &str) -> Option<PathBuf> {
    let path = url.split(['?', '#']).next()?;
    let mut file = dist.to_path_buf();
    for part in decode(path)?.split('/') {
        let is_foreign = part == ".." || part.contains(['\\', ':', '\0']);
        if is_foreign {
            return None;
        }
        if !part.is_empty() {
            file.push(part);
        }
    }
    if file.is_dir() {
        file.push("index.html");
    }
    // A link inside the folder must not lead out of it either.
    let file = fs::canonicalize(file).ok()?;
    (file.starts_with(dist) && file.is_file()).then_some(file)
}

/// Undoes percent-encoding; `None` when it is broken or the result is no UTF-8.
fn decode(path: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(path.len());
    let mut rest = path.as_bytes();
    while let [first, tail @ ..] = rest {
        rest = tail;
        if *first == b'%' {
            let hex = str::from_utf8(tail.get(..2)?).ok()?;
            bytes.push(u8::from_str_radix(hex, 16).ok()?);
            rest = &tail[2..];
        } else {
            bytes.push(*first);
        }
    }
    String::from_utf8(bytes).ok()
}

fn content_type(path: &Path) -> &'static str {
    let extension = path.extension().and_then(|extension| extension.to_str());
    match extension.unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" => "application/json; charset=utf-8",
        "webmanifest" => "application/manifest+json",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::Path;

    use super::{content_type, decode, find};

    #[test]
    fn only_files_inside_the_folder_are_found() {
        let outer = std::env::temp_dir().join(format!("xtask-serve-{}", std::process::id()));
        let dist = outer.join("dist");
        fs::create_dir_all(dist.join("sub folder")).unwrap();
        let dist = dist.canonicalize().unwrap();
        fs::write(outer.join("secret.txt"), "x").unwrap();
        fs::write(dist.join("index.html"), "x").unwrap();
        fs::write(dist.join("sub folder/a.js"), "x").unwrap();

        assert_eq!(find(&dist, "/"), Some(dist.join("index.html")));
        assert_eq!(find(&dist, "/index.html?a#b"), Some(dist.join("index.html")));
        assert_eq!(find(&dist, "/sub%20folder/a.js"), Some(dist.join("sub folder/a.js")));
        let absolute = format!("/{}", outer.join("secret.txt").display());
        for url in [
            "/../secret.txt",
            "/%2e%2e/secret.txt",
            "/..%2fsecret.txt",
            "/sub%20folder/../../secret.txt",
            "/..\\secret.txt",
            absolute.as_str(),
            "/missing",
            "/sub%20folder/",
            "/%zz",
            "/%2",
        ] {
            assert_eq!(find(&dist, url), None, "{url}");
        }
        fs::remove_dir_all(outer).unwrap();
    }

    #[test]
    fn percent_encoding_is_undone() {
        assert_eq!(decode("/a%20%C3%A4"), Some("/a ä".into()));
        assert_eq!(decode("/%FF"), None);
    }

    #[test]
    fn wasm_has_its_own_type() {
        assert_eq!(content_type(Path::new("a.wasm")), "application/wasm");
        assert_eq!(content_type(Path::new("a.unknown")), "application/octet-stream");
    }
}
