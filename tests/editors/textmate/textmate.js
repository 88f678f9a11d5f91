// VS Code's grammar in the engine that VS Code uses.
//
//   NODE_PATH=MODULES node textmate.js
//
// Whoever runs it says with NODE_PATH where the packages are.
"use strict";

const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");
const oniguruma = require("vscode-oniguruma");
const textmate = require("vscode-textmate");

const root = path.resolve(__dirname, "../../..");
const grammarFile = path.join(root, "editors/vscode/syntaxes/gutta.tmLanguage.json");

async function load() {
  const wasm = fs.readFileSync(require.resolve("vscode-oniguruma/release/onig.wasm"));
  await oniguruma.loadWASM(wasm);
  const registry = new textmate.Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (sources) => new oniguruma.OnigScanner(sources),
      createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () => textmate.parseRawGrammar(fs.readFileSync(grammarFile, "utf8"), grammarFile),
  });
  return registry.loadGrammar("source.gutta");
}

/** Each coloured stretch of a line, with the first two parts of its scope. */
function coloured(grammar, line) {
  return grammar
    .tokenizeLine(line, textmate.INITIAL)
    .tokens.map((token) => [line.slice(token.startIndex, token.endIndex), token.scopes.at(-1)])
    .filter(([, scope]) => scope !== "source.gutta")
    .map(([text, scope]) => `${text}|${scope.replace(/\.gutta$/, "")}`);
}

const LINES = {
  'order noradrenaline-5 "At 4 mg # no comment" # one': [
    "order|keyword.control.stanza",
    "noradrenaline-5|entity.name.section",
    '"At 4 mg # no comment"|string.quoted.double',
    "# one|comment.line.number-sign",
  ],
  "  drug       5-fu-with-folate": ["drug|keyword.other.line"],
  "  route      central vein": ["route|keyword.other.line", "central vein|constant.language.route"],
  "  phase      first": ["phase|keyword.control.part", "first|entity.name.section"],
  "  mix        20 mg/kg, at most 2 g, made up to 50 mL with glucose-5": [
    "mix|keyword.other.line",
    "20|constant.numeric",
    "mg/kg|keyword.other.unit",
    "at most|keyword.operator.word",
    "2|constant.numeric",
    "g|keyword.other.unit",
    "made up to|keyword.operator.word",
    "50|constant.numeric",
    "mL|keyword.other.unit",
    "with|keyword.operator.word",
  ],
  "  bolus ceiling 1,200.5 mL/h": [
    "bolus ceiling|keyword.other.line",
    "1,200.5|constant.numeric",
    "mL/h|keyword.other.unit",
  ],
  "  never single dose above 1 g by peripheral vein": [
    "never|keyword.other.line",
    "single dose|support.type.measure",
    "above|keyword.operator.word",
    "1|constant.numeric",
    "g|keyword.other.unit",
    "by|keyword.operator.word",
    "peripheral vein|constant.language.route",
  ],
  "  drops      20 per mL": ["drops|keyword.other.line", "20|constant.numeric", "mL|keyword.other.unit"],
  "  run        all over 30 min every 8 h for 3 doses": [
    "run|keyword.other.line",
    "all|keyword.operator.word",
    "over|keyword.operator.word",
    "30|constant.numeric",
    "min|keyword.other.unit",
    "every|keyword.operator.word",
    "8|constant.numeric",
    "h|keyword.other.unit",
    "for|keyword.operator.word",
    "3|constant.numeric",
    "doses|keyword.operator.word",
  ],
  '  waive      limit.unusual of dose up to 2 mg/min because "x" until 2026-11-25': [
    "waive|keyword.other.line",
    "limit.unusual|variable.other.rule",
    "of|keyword.operator.word",
    "dose|support.type.measure",
    "up to|keyword.operator.word",
    "2|constant.numeric",
    "mg/min|keyword.other.unit",
    "because|keyword.operator.word",
    '"x"|string.quoted.double',
    "until|keyword.operator.word",
    "2026-11-25|constant.other.date",
  ],
  // No unit of the notation, and no keyword within a line.
  "  run 5 mgs": ["run|keyword.other.line", "5|constant.numeric"],
};

/** Every `.gtt` of a folder. */
function* orders(folder) {
  for (const entry of fs.readdirSync(folder, { withFileTypes: true })) {
    const file = path.join(folder, entry.name);
    if (entry.isDirectory()) yield* orders(file);
    else if (entry.name.endsWith(".gtt")) yield file;
  }
}

/** Lines of the example hospital that begin with no coloured word. */
function* plain(grammar) {
  for (const file of orders(path.join(root, "examples"))) {
    let stanza = "";
    for (const line of fs.readFileSync(file, "utf8").split(/\r?\n/)) {
      if (/^\s*(#|$)/.test(line)) continue;
      if (/^\S/.test(line)) stanza = line.split(" ")[0];
      // A specimen shows what is wrong; in a set a line may begin with a substance.
      if (stanza === "specimen" || stanza === "set") continue;
      const first = coloured(grammar, line)[0] ?? "";
      if (!line.trimStart().startsWith(first.split("|")[0]) || !first.includes("|keyword.")) yield `${file}: ${line}`;
    }
  }
}

async function main() {
  const grammar = await load();
  let passed = 0;
  let failed = 0;
  const check = (name, found, wanted) => {
    try {
      assert.deepStrictEqual(found, wanted);
      passed += 1;
    } catch (fault) {
      failed += 1;
      console.log(`FAIL textmate: ${name}\n${fault.message}`);
    }
  };
  for (const [line, wanted] of Object.entries(LINES)) check(line, coloured(grammar, line), wanted);
  assert.ok([...orders(path.join(root, "examples"))].length > 10, "the examples are not where they were");
  check("each line of the examples begins with a keyword", [...plain(grammar)], []);
  console.log(`editor textmate: ${passed} passed, ${failed} failed`);
  process.exitCode = failed === 0 ? 0 : 1;
}

main();
