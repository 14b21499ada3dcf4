// The browser of tests and benchmark: Chromium without a window, with WebGL in software, that asks nobody for anything.

import { chromium } from "playwright-core";

const FLAGS = [
  "--headless",
  "--no-sandbox",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--use-gl=angle",
  "--use-angle=swiftshader",
  "--enable-unsafe-swiftshader",
  "--ignore-gpu-blocklist",
];

/** A window as on a desk, CSS px. */
export const DESK = { width: 1280, height: 800 };

export function launch() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: FLAGS,
  });
}

/** Waits until the page has everything it shows at the start. */
export function ready(page) {
  return page.locator("html[data-ready]").waitFor();
}
