// The README's picture: `node picture.js FILE` draws the first example while its flaps are folded.

import { writeFile } from "node:fs/promises";

import { DESK, launch, ready } from "./browser.js";
import { serve } from "./server.js";

const file = process.argv[2];
if (!file) throw new Error("node picture.js FILE: a file for the picture is needed");

const server = await serve();
const browser = await launch();
try {
  const context = await browser.newContext({ viewport: DESK, reducedMotion: "reduce", colorScheme: "light" });
  const page = await context.newPage();
  await page.goto(server.address);
  await ready(page);
  const picture = await page.evaluate(() => {
    const { viewer } = globalThis.sackwright;
    viewer.resize(1200, 640, 1);
    viewer.setPose("fold-flaps", 0.3);
    viewer.setView("whole");
    viewer.draw();
    // In the same turn, while the buffer is still there.
    return document.querySelector("canvas").toDataURL("image/png");
  });
  await writeFile(file, Buffer.from(picture.split(",")[1], "base64"));
} finally {
  await browser.close();
  await server.close();
}
