import assert from "node:assert/strict";

import { colours, enter, hook, pageTest, sackPicture } from "./page.js";

pageTest("the content policy is strict and holds", { allow: /Content Security Policy/ }, async (page) => {
  const content = await page.locator('meta[http-equiv="Content-Security-Policy"]').getAttribute("content");
  const policy = new Map(
    content.split(";").map((directive) => {
      const [name, ...sources] = directive.trim().split(/\s+/);
      return [name, sources];
    }),
  );
  assert.deepEqual(policy.get("default-src"), ["'none'"]);
  assert.deepEqual(policy.get("script-src"), ["'self'", "'wasm-unsafe-eval'"]);
  assert.deepEqual(policy.get("style-src"), ["'self'"]);
  assert.deepEqual(policy.get("connect-src"), ["'self'"]);
  assert.deepEqual(policy.get("base-uri"), ["'none'"]);
  assert.deepEqual(policy.get("form-action"), ["'none'"]);
  for (const [name, sources] of policy) {
    for (const source of sources) {
      assert.doesNotMatch(source, /unsafe-inline|'unsafe-eval'|\*|^https?:/, `${name} ${source}`);
    }
  }

  // Not only written: an inline script does not run, a foreign address is not asked.
  const outcome = await page.evaluate(async () => {
    const script = document.createElement("script");
    script.textContent = "globalThis.inlineRan = true";
    document.head.append(script);
    const asked = await fetch("http://127.0.0.2/").then(() => "asked", () => "refused");
    return { inlineRan: globalThis.inlineRan === true, asked };
  });
  assert.deepEqual(outcome, { inlineRan: false, asked: "refused" });
});

pageTest("the policy comes before anything that loads", {}, async (page) => {
  const order = await page.evaluate(() => {
    const policy = document.querySelector('meta[http-equiv="Content-Security-Policy"]');
    const loads = [...document.querySelectorAll("script, link, img")];
    return loads.every((element) => policy.compareDocumentPosition(element) & Node.DOCUMENT_POSITION_FOLLOWING);
  });
  assert.ok(order);
});

pageTest("the page works under any path of a host", { under: "/a/b/" }, async (page) => {
  assert.ok(colours(await sackPicture(page)) > 100);
  for (const place of ["board", "bench", "table"]) await enter(page, place);
  await hook(page, "preset").last().click();
  assert.equal(new URL(page.url()).pathname, "/a/b/");
});

pageTest("what the page asks for early is what it uses: nothing is loaded twice", {}, async (page) => {
  const loaded = await page.evaluate(() => performance.getEntriesByType("resource").map(({ name }) => name));
  const names = loaded.filter((name) => /\.(js|css|json|wasm)$/.test(name));
  const needed = ["page.css", "modules/main.js", "pkg/sackwright_page_bg.wasm", "words/en.json", "examples.json"];
  for (const name of needed) assert.ok(names.some((loaded) => loaded.endsWith(`/${name}`)), name);
  assert.deepEqual(names, [...new Set(names)]);
});

pageTest("when a script can't be read, the page says so", { allow: /Failed to load module script/ }, async (page) => {
  const other = await page.context().newPage();
  await other.route("**/modules/main.js", (route) => route.fulfill({ contentType: "text/plain", body: "" }));
  await other.goto(page.url());
  await hook(other, "failed").waitFor();
  assert.match(await hook(other, "failed").innerText(), /could not be loaded/);
});
