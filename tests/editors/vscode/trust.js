// In a folder that is not trusted, nothing of its own is run.
"use strict";

const assert = require("node:assert");

module.exports = {
  "an untrusted folder's own program is not run": async (editor) => {
    await editor.page.locator(".statusbar-item", { hasText: "Restricted Mode" }).waitFor();
    await editor.file("trial/orders.gtt");
    // The machine's program checks as always.
    await editor.see("80 mcg/mL, draw up 4 mL");
    await editor.until("1 error", async () => (await editor.status.innerText()).includes("gutta 1"));
    assert.equal(editor.place.ownProgramRan(), false);
  },

  "once the folder is trusted, it is": async (editor) => {
    await editor.command("Workspaces: Manage Workspace Trust");
    await editor.page.locator(".workspace-trust-editor").getByRole("button", { name: "Trust", exact: true }).click();
    await editor.until("its program", () => editor.place.ownProgramRan());
    await editor.until("1 error", async () => (await editor.status.innerText()).includes("gutta 1"));
  },
};
