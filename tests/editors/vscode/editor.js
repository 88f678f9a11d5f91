// The editor as a person uses it: keys, the mouse, and what is to be seen.
// Everything waits for a condition, never for a time.
"use strict";

const fs = require("node:fs");
const path = require("node:path");
const { chromium } = require("playwright-core");

const PATIENCE = 60_000;
/** What the view's body is marked with. */
const THEMES = { vs: "vscode-light", "vs-dark": "vscode-dark", "hc-black": "vscode-high-contrast" };
const CHROMIUM = "/usr/bin/chromium";

class Editor {
  static async open({ server, place, screenshots }) {
    const browser = await chromium.launch({
      executablePath: CHROMIUM,
      args: [
        ...["--no-sandbox", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
        ...["--disable-dev-shm-usage", "--force-device-scale-factor=1"],
      ],
    });
    const page = await browser.newPage({ viewport: { width: 1480, height: 940 } });
    page.setDefaultTimeout(PATIENCE);
    const editor = new Editor(browser, page, place, screenshots);
    await page.goto(`${server.url}/?folder=${encodeURIComponent(place.opened)}`);
    await page.locator(".monaco-workbench").waitFor();
    await page.locator(".explorer-folders-view, .explorer-viewlet").first().waitFor();
    return editor;
  }

  constructor(browser, page, place, screenshots) {
    this.browser = browser;
    this.page = page;
    this.place = place;
    this.screenshots = screenshots;
    fs.mkdirSync(screenshots, { recursive: true });
  }

  close() {
    return this.browser.close();
  }

  async screenshot(name) {
    await this.page.screenshot({ path: path.join(this.screenshots, `${name.replaceAll(/[^a-z0-9]+/gi, "-")}.png`) });
  }

  /** What the condition gives, once it gives something. */
  async until(what, condition) {
    const end = Date.now() + PATIENCE;
    let last;
    while (Date.now() < end) {
      last = await condition();
      if (last) return last;
      await this.page.waitForTimeout(50);
    }
    throw new Error(`not within ${PATIENCE / 1000} s: ${what}`);
  }

  /** Does it until the widget is there: findings that come in between close some. */
  async insist(action, widget) {
    await this.until("what was asked for", async () => {
      await action();
      return widget.waitFor({ timeout: 4_000 }).then(
        () => true,
        () => false,
      );
    });
  }

  press(keys) {
    return this.page.keyboard.press(keys);
  }

  /** The widget that asks for a command or a file. */
  get asking() {
    return this.page.locator(".quick-input-widget:visible");
  }

  async choose(typed, wanted) {
    const input = this.asking.locator("input[type=text]").first();
    await input.waitFor();
    await input.fill(typed);
    const label = this.page.locator(".label-name", { hasText: new RegExp(`^${RegExp.escape(wanted)}$`) });
    await this.asking.locator(".monaco-list-row").filter({ has: label }).first().click();
  }

  async command(title) {
    await this.page.keyboard.press("F1");
    await this.choose(`>${title}`, title);
    await this.asking.waitFor({ state: "hidden" });
  }

  async file(name) {
    await this.page.keyboard.press("Control+p");
    await this.choose(name, path.basename(name));
    await this.page.locator(`.tab.active[data-resource-name="${path.basename(name)}"]`).waitFor();
    await this.text.first().waitFor();
  }

  /** To a line of the active editor, and a column of it. */
  async line(line, column = 1) {
    await this.page.keyboard.press("Control+g");
    const input = this.asking.locator("input[type=text]").first();
    await input.waitFor();
    await input.fill(`:${line}:${column}`);
    await input.press("Enter");
    await this.asking.waitFor({ state: "hidden" });
    await this.page.getByText(`Ln ${line}, Col ${column}`).first().waitFor();
    await this.page.locator(".editor-group-container .monaco-editor.focused").waitFor();
  }

  get text() {
    return this.page.locator(".editor-group-container .monaco-editor .view-lines");
  }

  /** The lines that are to be seen, as they are to be seen, and what stands above some. */
  async shown() {
    const lines = await this.page
      .locator(".editor-group-container .monaco-editor :is(.view-line, .codelens-decoration)")
      .allInnerTexts();
    return lines.join("\n").replaceAll("\u00a0", " ");
  }

  async see(words) {
    await this.until(`"${words}" in the editor`, async () => (await this.shown()).includes(words));
  }

  async unsee(words) {
    await this.until(`"${words}" gone from the editor`, async () => !(await this.shown()).includes(words));
  }

  /** The view of derived values. */
  get view() {
    return this.page.frameLocator("iframe.webview.ready").frameLocator("#active-frame");
  }

  async viewSettled() {
    await this.view.locator("main:not([aria-busy])").waitFor();
  }

  get status() {
    return this.page.locator('.statusbar-item[id="gutta.gutta.gutta.errors"]');
  }

  /** As the system has it; the editor follows. */
  async theme(media, mark) {
    await this.page.emulateMedia(media);
    await this.page.locator(`.monaco-workbench.${mark}`).first().waitFor();
    await this.view.locator(`body.${THEMES[mark]}`).waitFor();
  }

  async saveAll() {
    await this.command("File: Save All Files");
    await this.until("everything saved", async () => (await this.page.locator(".tab.dirty").count()) === 0);
  }
}

module.exports = { Editor };
