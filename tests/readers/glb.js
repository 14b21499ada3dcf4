// Reads GLB files with the Khronos validator: not one error, not one warning.

import { readFile } from "node:fs/promises";
import { basename } from "node:path";
import validator from "gltf-validator";

const files = process.argv.slice(2);
if (files.length === 0) throw new Error("name at least one .glb file");
let faults = 0;
for (const file of files) {
  const bytes = new Uint8Array(await readFile(file));
  const report = await validator.validateBytes(bytes, { uri: basename(file), maxIssues: 0 });
  const { numErrors, numWarnings, messages } = report.issues;
  const { info } = report;
  const worst = messages.filter((message) => message.severity <= 1);
  console.log(
    `${basename(file)}: ${bytes.length} bytes, ${info.totalVertexCount} vertices, ${info.totalTriangleCount} triangles, ` +
      `${info.animationCount} animations, ${numErrors} errors, ${numWarnings} warnings`,
  );
  for (const { code, message, pointer } of worst.slice(0, 10)) console.error(`  ${code} ${pointer}: ${message}`);
  faults += numErrors + numWarnings;
}
process.exit(faults === 0 ? 0 : 1);
