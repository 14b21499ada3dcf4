// Serves dist/ as any static host would: on this machine alone, at a random port, under any path.

import { createReadStream } from "node:fs";
import { stat } from "node:fs/promises";
import { createServer } from "node:http";
import path from "node:path";
import { fileURLToPath } from "node:url";

const DIST = fileURLToPath(new URL("../../dist/", import.meta.url));

const TYPES = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".json": "application/json; charset=utf-8",
  ".webmanifest": "application/manifest+json",
  ".wasm": "application/wasm",
  ".svg": "image/svg+xml",
  ".png": "image/png",
};

/**
 * Starts a server of dist/ whose page is at `under`, a path that begins and ends with a slash.
 * Anything outside that path is not found, as on a host where other things live beside the page.
 */
export async function serve(under = "/") {
  const server = createServer((request, response) => {
    answer(request, response, under).catch((error) => response.destroy(error));
  });
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  const origin = `http://127.0.0.1:${server.address().port}`;
  return {
    origin,
    address: origin + under,
    async close() {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
    },
  };
}

async function answer(request, response, under) {
  const file = await find(new URL(request.url, "http://localhost").pathname, under);
  if (!file) {
    response.writeHead(404, { "content-type": "text/plain" }).end("not found\n");
    return;
  }
  response.writeHead(200, {
    "content-type": TYPES[path.extname(file)] ?? "application/octet-stream",
    "cache-control": "no-cache",
  });
  createReadStream(file).pipe(response);
}

/** The file that a path names, inside dist/ or nothing. */
async function find(pathname, under) {
  if (!pathname.startsWith(under)) return undefined;
  const below = decodeURIComponent(pathname.slice(under.length));
  const file = path.join(DIST, below === "" || below.endsWith("/") ? `${below}index.html` : below);
  const isInside = file.startsWith(DIST);
  return isInside && (await isFile(file)) ? file : undefined;
}

async function isFile(file) {
  try {
    return (await stat(file)).isFile();
  } catch {
    return false;
  }
}
