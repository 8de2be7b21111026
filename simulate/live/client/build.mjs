// Builds ../static from src: `npm ci && npm run build`; `npm run check` fails where static is not what src gives.
import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const text = (path) => readFileSync(here(path), "utf-8");

const bundle = async (entry) =>
  (await build({
    entryPoints: [here(entry)], bundle: true, minify: true, write: false, format: "esm", target: "es2022", charset: "utf8",
    legalComments: "none", logLevel: "warning",
  })).outputFiles[0].text;

const licences = [
  "halfgain is under the BSD-3-Clause licence, see LICENSE of the project.",
  "page.js holds three.js, https://threejs.org, under this licence:", "",
  text("node_modules/three/LICENSE").trim(), "",
].join("\n");

const made = {
  "index.html": text("src/index.html"),
  "page.css": await bundle("src/style/page.css"),
  "page.js": await bundle("src/main.js"),
  "licences.txt": licences,
};

let stale = 0;
for (const [name, content] of Object.entries(made)) {
  const path = here(`../static/${name}`);
  if (!process.argv.includes("--check")) writeFileSync(path, content);
  else if (readFileSync(path, "utf-8") !== content) {
    console.error(`static/${name} is not what src gives: npm run build`);
    stale += 1;
  }
}
process.exitCode = stale ? 1 : 0;
