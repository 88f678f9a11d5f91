// What must work, in the order in which it is tried: each begins where the one
// before has left the editor.
"use strict";

const assert = require("node:assert");

const ORDERS = "trial/orders.gtt";

module.exports = {
  "without the program a message says what to do": async (editor) => {
    await editor.file(ORDERS);
    const message = editor.page.locator(".notification-toast", { hasText: "gutta is not on the PATH" });
    await message.getByText("Set the Path").waitFor();
    await editor.until("it is not running", async () => (await editor.status.innerText()).includes("not running"));
    await editor.screenshot("no-program");
    await editor.command("Notifications: Clear All Notifications");
    await message.waitFor({ state: "hidden" });
  },

  "a program that is too old is told from one that will do": async (editor) => {
    editor.place.oldProgram("0.0.9");
    const message = editor.page.locator(".notification-toast", { hasText: "needs 0.1.0 or later" });
    await message.waitFor();
    await editor.command("Notifications: Clear All Notifications");
    await message.waitFor({ state: "hidden" });
    // Once a right one is set, nothing has to be restarted by hand.
    editor.place.program();
  },

  "derived values stand behind their lines": async (editor) => {
    await editor.see("80 mcg/mL, draw up 4 mL");
    await editor.see("1.8 to 6.75 mL/h over 40 to 150 kg");
  },

  "findings are underlined, and errors counted below": async (editor) => {
    await editor.page.locator(".monaco-editor .squiggly-error").first().waitFor();
    await editor.page.locator(".monaco-editor .squiggly-warning").first().waitFor();
    await editor.until("1 error", async () =>
      (await editor.status.locator("[aria-label]").first().getAttribute("aria-label"))?.includes("1 error"),
    );
    assert.match(await editor.status.innerText(), /gutta 1/);
    await editor.screenshot("findings");
  },

  "a hover tells the working": async (editor) => {
    await editor.line(12, 20);
    const hover = editor.page.locator(".monaco-hover:visible", { hasText: "Working for" });
    await editor.insist(() => editor.command("gutta: Show the Working at the Cursor"), hover);
    const text = await hover.innerText();
    assert.match(text, /0\.06 mcg\/kg\/min × \d+ kg/);
    assert.match(text, /checked independently/);
    await editor.screenshot("hover");
    await editor.press("Escape");
    await hover.waitFor({ state: "hidden" });
  },

  "the view shows the order over its weights": async (editor) => {
    await editor.command("gutta: Show Derived Values Beside the Order");
    const { view } = editor;
    await view.locator("h1", { hasText: "Noradrenaline, single strength" }).waitFor();
    await editor.viewSettled();
    const heads = await view.locator("thead th").allInnerTexts();
    assert.equal(heads[0], "weight");
    assert.match(heads[1], /^flow\s+mL\/h$/);
    const row = view.locator("tbody tr", { has: view.locator("th", { hasText: /^40 kg$/ }) }).first();
    assert.equal(await row.locator("td").first().innerText(), "1.8");
    const plot = view.locator("figure.plot > svg");
    assert.equal(await plot.getAttribute("role"), "img");
    assert.ok((await plot.locator("path.line.flow").count()) === 1);
    assert.ok((await plot.locator("path.line.usual").count()) === 1);
    const away = await view.locator(".away").innerText();
    assert.match(away, /never dose above 2 mcg\/kg\/min \(trial-noradrenaline\), 60 to 225 mL\/h/);
    const words = await view.locator("details li").allTextContents();
    assert.ok(words.some((words) => words.startsWith("Kept: never dose above")), words.join("\n"));
    assert.match(await view.locator(".caution").innerText(), /not a medical device/);
  },

  "the view lets no script, style or picture of the outside in": async (editor) => {
    const policy = await editor.view.locator("meta[http-equiv='Content-Security-Policy']").getAttribute("content");
    assert.match(policy, /default-src 'none'/);
    assert.match(policy, /script-src 'nonce-[\w-]{32}'/);
    assert.doesNotMatch(policy, /unsafe/);
  },

  "the view follows the cursor": async (editor) => {
    await editor.text.first().click();
    await editor.line(20, 3);
    await editor.view.locator("h1", { hasText: "Noradrenaline, too much of it" }).waitFor();
    await editor.viewSettled();
    assert.equal(await editor.view.locator("figure.plot > svg path.line.bound").count(), 1);
    const legend = await editor.view.locator(".legend").innerText();
    assert.match(legend, /never dose above 2 mcg\/kg\/min \(trial-noradrenaline\)/);
    const words = await editor.view.locator("details li").allTextContents();
    assert.ok(words.some((words) => words.startsWith("Not kept")), words.join("\n"));
    await editor.line(1, 1);
    await editor.view.locator(".none", { hasText: "No order at the cursor" }).waitFor();
  },

  "an incomplete order shows what is missing, and no number": async (editor) => {
    await editor.line(12, 1);
    await editor.view.locator("h1", { hasText: "Noradrenaline, single strength" }).waitFor();
    await editor.line(11);
    await editor.press("End");
    await editor.page.keyboard.type("0");
    await editor.see("glucose-50");
    await editor.view.locator("h2", { hasText: "Not complete" }).waitFor();
    await editor.viewSettled();
    assert.match(await editor.view.locator(".missing li").first().innerText(), /glucose-50/);
    assert.equal(await editor.view.locator("table, svg").count(), 0);
    // Neither behind its lines nor above its header.
    await editor.see("not complete");
    await editor.unsee("1.8 to 6.75 mL/h");
    await editor.press("Home");
    await editor.screenshot("incomplete");
    await editor.press("Control+z");
    await editor.see("1.8 to 6.75 mL/h");
    await editor.view.locator("figure.plot").first().waitFor();
  },

  "a correction is offered and carried out": async (editor) => {
    await editor.line(22, 15);
    const offered = editor.page.locator(".action-widget:visible").getByText("16 mg").first();
    await editor.insist(() => editor.press("Control+."), offered);
    await editor.screenshot("correction");
    await editor.insist(async () => {
      if (!(await offered.isVisible())) await editor.press("Control+.");
      await offered.click({ timeout: 4_000 }).catch(() => undefined);
    }, editor.page.locator(".view-line", { hasText: /16\smg\smade/ }));
  },

  "what may follow is offered": async (editor) => {
    await editor.line(24, 19);
    await editor.press("Enter");
    await editor.page.keyboard.type("  re");
    const offered = editor.page.locator(".suggest-widget.visible");
    const word = offered.locator(".monaco-list-row", { hasText: "review by" }).first();
    await editor.insist(async () => {
      if (!(await offered.isVisible())) await editor.press("Control+Space");
    }, word);
    await editor.screenshot("completion");
    await editor.press("Escape");
    await offered.waitFor({ state: "hidden" });
    await editor.press("Control+z");
    await editor.unsee("  re\n");
  },

  "a drug is renamed in two files": async (editor) => {
    await editor.line(6, 16);
    const input = editor.page.locator(".rename-box input");
    await editor.insist(() => editor.press("F2"), input);
    await input.fill("testamine");
    await input.press("Enter");
    await editor.see("drug       testamine");
    await editor.saveAll();
    const { place } = editor;
    await editor.until("both files written", () =>
      [ORDERS, "trial/reference.gtt"].every((file) => place.read(file).includes("testamine")),
    );
    assert.doesNotMatch(place.read(ORDERS), /drug +trial-noradrenaline\n/);
  },

  "a rule is explained": async (editor) => {
    await editor.line(23, 4);
    await editor.press("F1");
    await editor.choose(">gutta: Explain a Rule", "gutta: Explain a Rule");
    const rows = editor.asking.locator(".monaco-list-row", { hasText: "at the cursor" });
    await rows.first().waitFor();
    await editor.choose("limit.never", "limit.never");
    await editor.see("What it finds");
    await editor.see("A value of the order beyond");
    await editor.command("View: Close Editor");
    await editor.unsee("What it finds");
  },

  "it is to be read in every theme": async (editor) => {
    await editor.file("icu/vasoactive.gtt");
    await editor.line(16, 3);
    await editor.view.locator("h1", { hasText: "Noradrenaline, single strength" }).waitFor();
    for (const [name, media, mark] of [
      ["light", { colorScheme: "light" }, "vs"],
      ["dark", { colorScheme: "dark" }, "vs-dark"],
      ["high-contrast", { colorScheme: "dark", forcedColors: "active" }, "hc-black"],
    ]) {
      await editor.theme(media, mark);
      await editor.viewSettled();
      await editor.view.locator("path.line.flow").first().waitFor();
      await editor.screenshot(`derived-${name}`);
    }
  },
};
