// Sheets in a browser: nothing is asked of anybody, nothing goes wrong, no rule
// of accessibility is broken (axe-core: WCAG 2.2 A and AA, and its best
// practices), and each prints to as many pages as is written below. Looks are
// kept beside, on both papers and at a phone's width.
//
//   node sheet.js GUTTA EXAMPLES SCREENSHOTS
"use strict";

const { execFileSync } = require("node:child_process");
const fs = require("node:fs");
const path = require("node:path");
const { chromium } = require("playwright-core");
const axe = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const [gutta, examples, screenshots] = process.argv.slice(2).map((word) => path.resolve(word));

// On A4 and on Letter.
const SHEETS = {
  "noradrenaline-single": [2, 3],
  "acetylcysteine-three-bags": [4, 5],
  "crystalloid-steady": [1, 1],
  "cisplatin-hydrated": [2, 3],
  "septic-shock": [8, 8],
};
const PAPERS = { A4: [210, 297], Letter: [215.9, 279.4] };
// So many CSS pixels are a millimetre.
const PX = 96 / 25.4;

let passed = 0;
const failures = [];
function check(name, right, why) {
  if (right) passed += 1;
  else failures.push(`${name}: ${why}`);
}

async function main() {
  fs.mkdirSync(screenshots, { recursive: true });
  const browser = await chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: ["--no-sandbox", "--font-render-hinting=none"],
  });
  for (const [name, pages] of Object.entries(SHEETS)) {
    const file = path.join(screenshots, `${name}.html`);
    execFileSync(gutta, ["sheet", name, "--today", "2026-11-25", "--output", file], { cwd: examples });
    await look(browser, name, `file://${file}`, pages);
  }
  const draft = path.join(screenshots, "draft.html");
  execFileSync(gutta, ["sheet", "noradrenaline-single", "--today", "2030-01-01", "--output", draft], { cwd: examples });
  await look(browser, "draft", `file://${draft}`, [3, 3]);
  const site = path.join(screenshots, "site");
  execFileSync(gutta, ["sheet", "--site", site, "--today", "2026-11-25"], { cwd: examples });
  await search(browser, `file://${site}/index.html`);
  await look(browser, "drug", `file://${site}/drugs/noradrenaline.html`, [1, 1]);
  await browser.close();
  for (const failure of failures) console.error(failure);
  console.log(`sheet chromium: ${passed} passed, ${failures.length} failed`);
  process.exitCode = failures.length === 0 ? 0 : 1;
}

async function look(browser, name, address, pages) {
  const page = await browser.newPage();
  const said = [];
  const asked = [];
  page.on("console", (message) => said.push(message.text()));
  page.on("pageerror", (error) => said.push(String(error)));
  page.on("request", (request) => asked.push(request.url()));
  await page.setViewportSize({ width: 900, height: 1200 });
  await page.goto(address);
  const broken = await rules(page);
  check(`${name}: accessibility`, broken.length === 0, broken.join("; "));
  let index = 0;
  for (const [paper, [width, height]] of Object.entries(PAPERS)) {
    const pdf = await page.pdf({ format: paper, path: path.join(screenshots, `${name}-${paper}.pdf`) });
    const count = (pdf.toString("latin1").match(/\/Type \/Page\b/g) || []).length;
    check(`${name}: pages on ${paper}`, count === pages[index], `${count}, not ${pages[index]}`);
    index += 1;
    await page.emulateMedia({ media: "print" });
    await page.setViewportSize({ width: Math.round((width - 26) * PX), height: Math.round(height * PX) });
    const wide = await overflow(page);
    check(`${name}: fits ${paper}`, wide.length === 0, `${wide.join(", ")} is too wide`);
    await page.screenshot({ path: path.join(screenshots, `${name}-${paper}.png`), fullPage: true });
    await page.emulateMedia({ media: null });
  }
  await page.setViewportSize({ width: 390, height: 844 });
  const wide = await overflow(page);
  check(`${name}: fits a phone`, wide.length === 0, `${wide.join(", ")} is too wide`);
  const narrow = await rules(page);
  check(`${name}: accessibility on a phone`, narrow.length === 0, narrow.join("; "));
  await page.screenshot({ path: path.join(screenshots, `${name}-phone.png`), fullPage: true });
  check(`${name}: console`, said.length === 0, said.join("; "));
  const elsewhere = asked.filter((url) => url !== address);
  check(`${name}: requests`, elsewhere.length === 0, elsewhere.join(", "));
  await page.close();
}

// The index of a site: words narrow it down, and nothing else happens.
async function search(browser, address) {
  await look(browser, "index", address, [6, 6]);
  const page = await browser.newPage();
  await page.goto(address);
  const shown = () => page.locator("li[data-words]:visible").count();
  const all = await shown();
  check("index: everything is there", all > 150, `${all} entries`);
  await page.fill("#search", "NORADRENALINE single");
  check("index: found by words", (await shown()) === 1, `${await shown()} entries`);
  const said = await page.locator("#found").textContent();
  check("index: says how many", said === "1 found", said);
  await page.fill("#search", "");
  check("index: shows all again", (await shown()) === all, `${await shown()} entries`);
  await page.click("text=Noradrenaline, single strength");
  check("index: leads to the sheet", (await page.locator("h1").textContent()) === "Noradrenaline, single strength", "another page");
  await page.close();
}

// What reaches past the right edge, but for what scrolls by itself.
function overflow(page) {
  return page.evaluate(() => {
    const edge = document.documentElement.clientWidth + 1;
    const inside = (element) => {
      const scroll = element.closest(".scroll");
      return scroll && getComputedStyle(scroll).overflowX === "auto" && element !== scroll;
    };
    const all = [...document.querySelectorAll("main *")];
    const wide = all.filter((element) => element.getBoundingClientRect().right > edge && !inside(element));
    return wide.slice(0, 3).map((element) => element.outerHTML.slice(0, 60));
  });
}

// The broken rules. The page forbids scripts; the test brings its own.
async function rules(page) {
  await page.evaluate(axe);
  return page.evaluate(async () => {
    const found = await axe.run(document);
    return found.violations.map((rule) => `${rule.id} (${rule.nodes.map((node) => node.target).join(", ")})`);
  });
}

main().catch((error) => {
  console.error(error);
  process.exitCode = 1;
});
