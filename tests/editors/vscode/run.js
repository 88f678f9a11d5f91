// VS Code itself, with the packaged extension and the server, in a browser.
//
//   NODE_PATH=MODULES node run.js --gutta PATH --vsix PATH --node PATH --screenshots FOLDER
//
// `tests/run vscode` brings what it needs.
"use strict";

const { Checks } = require("./checks");
const { CodeServer } = require("./code-server");
const { Editor } = require("./editor");
const { workspace } = require("./workspace");
const tests = require("./tests");
const trust = require("./trust");

function options() {
  const given = {};
  const words = process.argv.slice(2);
  for (let at = 0; at < words.length; at += 2) given[words[at].replace(/^--/, "")] = words[at + 1];
  for (const name of ["gutta", "vsix", "node", "screenshots"]) {
    if (!given[name]) throw new Error(`--${name} is missing`);
  }
  return given;
}

async function main() {
  const given = options();
  const checks = new Checks("vscode");
  await session(given, checks, { trusting: true }, tests);
  await session(given, checks, { trusting: false }, trust);
  process.exitCode = checks.end();
}

/** An editor of its own for some tests, each of which begins where the one before ended. */
async function session(given, checks, { trusting }, tests) {
  const place = workspace(given.gutta);
  if (!trusting) place.bringProgram();
  const server = await CodeServer.start({ ...given, place, trusting });
  try {
    const editor = await Editor.open({ server, place, screenshots: given.screenshots });
    try {
      for (const [name, test] of Object.entries(tests)) {
        // Where one fails, the next has nothing to begin with.
        if (!(await checks.run(name, () => test(editor), () => editor.screenshot(`failed-${name}`)))) break;
      }
    } finally {
      await editor.close();
    }
  } finally {
    await server.stop();
    place.remove();
  }
}

main().catch((error) => {
  console.error(error);
  process.exitCode = 1;
});
