// SPDX-License-Identifier: MIT
// Usage: node gltf.mjs FILE.glb...   One line a file with the counts of the
// Khronos glTF validator; exit 1 on any error or warning, and on no file.
import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';

const validator = createRequire(import.meta.url)('gltf-validator');
const files = process.argv.slice(2);
let bad = files.length === 0;

if (bad) console.error('usage: node gltf.mjs FILE.glb...');
for (const file of files) {
  const report = await validator.validateBytes(
    new Uint8Array(await readFile(file)), { uri: file, maxIssues: 20 });
  const { numErrors, numWarnings, numInfos, numHints, messages } =
    report.issues;
  console.log(`${file}: ${numErrors} errors, ${numWarnings} warnings, ` +
    `${numInfos} infos, ${numHints} hints; ` +
    `${report.info.drawCallCount} draw calls, ` +
    `${report.info.totalTriangleCount} triangles`);
  for (const m of messages)
    console.log(`  ${['error', 'warning', 'info', 'hint'][m.severity]} ` +
      `${m.code} ${m.pointer ?? ''}: ${m.message}`);
  if (numErrors > 0 || numWarnings > 0) bad = true;
}
process.exit(bad ? 1 : 0);
