// SPDX-License-Identifier: MIT
// Usage: node ifc_place.mjs FILE.ifc BOXES.json   Loads the file as a web
// viewer does and compares the box of every element with the expected one,
// both in metres with z up. Prints the largest deviation; exit 1 above 1 mm,
// and where an element is missing or one is drawn that nobody expects.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const web = createRequire(import.meta.url)('web-ifc');
const [file, boxes] = process.argv.slice(2);
if (!boxes) {
  console.error('usage: node ifc_place.mjs FILE.ifc BOXES.json');
  process.exit(2);
}
const LIMIT = 0.001;
const api = new web.IfcAPI();
await api.Init();
// Enough segments that a circle's polygon is 1 mm or less inside it.
const model = api.OpenModel(new Uint8Array(readFileSync(file)),
  { COORDINATE_TO_ORIGIN: false, CIRCLE_SEGMENTS: 96 });
if (model < 0) {
  console.error(`${file}: cannot be opened`);
  process.exit(2);
}

const found = new Map();
api.StreamAllMeshes(model, (mesh) => {
  const box = [Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity];
  for (let i = 0; i < mesh.geometries.size(); i++) {
    const part = mesh.geometries.get(i);
    const geometry = api.GetGeometry(model, part.geometryExpressID);
    const v = api.GetVertexArray(geometry.GetVertexData(),
      geometry.GetVertexDataSize());
    const m = part.flatTransformation; // column-major, to y up
    for (let k = 0; k < v.length; k += 6) {
      const q = [0, 1, 2].map((r) =>
        m[r] * v[k] + m[4 + r] * v[k + 1] + m[8 + r] * v[k + 2] + m[12 + r]);
      [q[0], -q[2], q[1]].forEach((x, r) => {
        box[r] = Math.min(box[r], x);
        box[r + 3] = Math.max(box[r + 3], x);
      });
    }
    geometry.delete?.();
  }
  found.set(api.GetLine(model, mesh.expressID).GlobalId.value, box);
});

let largest = 0;
let where = 'nowhere';
let bad = 0;
const expected = JSON.parse(readFileSync(boxes, 'utf8'));
for (const e of expected) {
  const box = found.get(e.guid);
  found.delete(e.guid);
  if (!box) {
    console.log(`${e.guid} ${e.name}: not drawn`);
    bad++;
    continue;
  }
  const off = Math.max(...box.map((x, i) => Math.abs(x - e.box[i])));
  if (!(off <= LIMIT)) {
    console.log(`${e.guid} ${e.name}: off by ${(off * 1000).toFixed(3)} mm, ` +
      `drawn ${box.map((x) => x.toFixed(4))}, expected ${e.box}`);
    bad++;
  }
  if (!(off <= largest)) [largest, where] = [off, e.name];
}
for (const guid of found.keys()) {
  console.log(`${guid}: drawn, but not expected`);
  bad++;
}
if (expected.length === 0) bad++;
console.log(`${file}: ${expected.length} elements, largest deviation ` +
  `${(largest * 1000).toFixed(3)} mm (${where})`);
api.CloseModel(model);
process.exit(bad > 0 ? 1 : 0);
