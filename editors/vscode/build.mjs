// Bundles the extension and the script of its view into `dist`.
import { build } from "esbuild";
import { copyFile } from "node:fs/promises";

const shared = { bundle: true, minify: true, legalComments: "linked", logLevel: "warning" };

await build({
  ...shared,
  entryPoints: ["src/extension.ts"],
  outfile: "dist/extension.js",
  platform: "node",
  format: "cjs",
  target: "node20",
  external: ["vscode"],
});
await build({
  ...shared,
  entryPoints: ["src/view/view.ts"],
  outfile: "dist/view.js",
  platform: "browser",
  format: "iife",
  target: "es2022",
});
for (const licence of ["LICENSE-MIT", "LICENSE-APACHE"]) {
  await copyFile(new URL(`../../${licence}`, import.meta.url), `dist/${licence}`);
}
