// What is opened: the invented hospital, and beside it two files to work on.
"use strict";

const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");

const root = path.resolve(__dirname, "../../..");

const SETTINGS = {
  "workbench.startupEditor": "none",
  "window.autoDetectColorScheme": true,
  "workbench.tips.enabled": false,
  "workbench.secondarySideBar.defaultVisibility": "hidden",
  "editor.minimap.enabled": false,
  "editor.fontSize": 13,
  "breadcrumbs.enabled": false,
  "telemetry.telemetryLevel": "off",
  "update.mode": "none",
  "extensions.autoUpdate": false,
  "extensions.ignoreRecommendations": true,
  "chat.disableAIFeatures": true,
  "files.autoSave": "off",
  "git.enabled": false,
  "security.workspace.trust.startupPrompt": "never",
  "gutta.today": "2026-11-25",
};

/** Names that the hospital has already. */
const TAKEN = /\b(noradrenaline|syringe|glucose-5)\b/g;

function workspace(gutta) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "gutta-vscode-"));
  const opened = path.join(folder, "tarnwick");
  const trace = path.join(folder, "own-program-ran");
  fs.cpSync(path.join(root, "examples"), opened, { recursive: true });
  const trial = path.join(opened, "trial");
  fs.mkdirSync(trial);
  for (const name of ["orders.gtt", "reference.gtt"]) {
    const text = fs.readFileSync(path.join(root, "tests/editors/workspace", name), "utf8");
    fs.writeFileSync(path.join(trial, name), text.replaceAll(TAKEN, "trial-$&"));
  }
  const user = path.join(folder, "user");
  const write = (scope, settings) => {
    fs.mkdirSync(path.join(user, scope), { recursive: true });
    fs.writeFileSync(path.join(user, scope, "settings.json"), JSON.stringify(settings, null, 2));
  };
  write("User", SETTINGS);
  // Where a program stands is a matter of the machine that runs it.
  const program = (file) => write("Machine", { "gutta.server.path": file });
  program("");
  return {
    folder,
    opened,
    user,
    program: () => program(path.resolve(gutta)),
    /** One that says that it is of this version. */
    oldProgram: (version) => {
      const file = path.join(folder, "old-gutta");
      fs.writeFileSync(file, `#!/bin/sh\necho gutta ${version}\n`, { mode: 0o755 });
      program(file);
    },
    /** The folder brings a program of its own, which leaves a trace where it is run. */
    bringProgram: () => {
      program(path.resolve(gutta));
      const own = path.join(opened, "own-gutta");
      fs.writeFileSync(own, `#!/bin/sh\ntouch '${trace}'\nexec '${path.resolve(gutta)}' "$@"\n`, { mode: 0o755 });
      fs.mkdirSync(path.join(opened, ".vscode"));
      fs.writeFileSync(path.join(opened, ".vscode/settings.json"), JSON.stringify({ "gutta.server.path": own }));
    },
    ownProgramRan: () => fs.existsSync(trace),
    read: (file) => fs.readFileSync(path.join(opened, file), "utf8"),
    remove: () => fs.rmSync(folder, { recursive: true, force: true }),
  };
}

module.exports = { workspace };
