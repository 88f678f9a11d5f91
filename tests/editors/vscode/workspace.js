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
  "gutta.today": "2026-11-25",
};

/** Names that the hospital has already. */
const TAKEN = /\b(noradrenaline|syringe|glucose-5)\b/g;

function workspace(gutta) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "gutta-vscode-"));
  const opened = path.join(folder, "tarnwick");
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
    read: (file) => fs.readFileSync(path.join(opened, file), "utf8"),
    remove: () => fs.rmSync(folder, { recursive: true, force: true }),
  };
}

module.exports = { workspace };
