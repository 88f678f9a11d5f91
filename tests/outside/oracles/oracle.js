// Compares the tool's units and their UCUM codes with ucum-lhc.
//
//     node oracle.js COMMAND...
//
// COMMAND reads lines `VALUE UNIT -> UNIT` and answers each with the exact
// value in the second unit (`21/8`), or `!` where the two are of different
// kinds, and the UCUM codes of both units (`-` for none), parted by tabs.
// Asked of each unit: is the code that the tool gives it valid UCUM, is it as
// large as the unit's code in the notation's table, and do all conversions
// agree. ucum-lhc computes in floating point: answers are compared to within
// its precision.
"use strict";

const { spawnSync } = require("node:child_process");
const { UcumLhcUtils } = require("@lhncbc/ucum-lhc");

const SEED = 20261125;
const PRECISION = 1e-12;
const ucum = UcumLhcUtils.getInstance();

// The notation's spelling and the UCUM code of its table, by kind. Drops have
// no code: UCUM's is fixed at a twentieth of a millilitre.
const ABOVE = {
  mass: { kg: "kg", g: "g", mg: "mg", mcg: "ug", ng: "ng", lb: "[lb_av]", oz: "[oz_av]" },
  amount: { mol: "mol", mmol: "mmol", micromol: "umol" },
  equivalents: { mEq: "meq" },
  activity: { units: "[iU]", milliunits: "m[iU]" },
  volume: { L: "L", mL: "mL" },
  drops: { drops: null },
  osmoles: { mOsm: "mosm" },
  energy: { kcal: "kcal" },
};
const VOLUME = { L: "L", mL: "mL" };
const TIME = { s: "s", min: "min", h: "h", day: "d" };
const AGE = { days: "d", weeks: "wk", months: "mo", years: "a" };
const PATIENT = {
  weight: { kg: "kg", lb: "[lb_av]", oz: "[oz_av]" },
  surface: { m2: "m2" },
};

/** Every unit that the notation's units make, with its code and kind. */
function* units() {
  const under = (code, below) => (code === null ? null : `${code}/${below}`);
  for (const [kind, atoms] of Object.entries(ABOVE)) {
    for (const [text, code] of Object.entries(atoms)) {
      yield { text, code, kind };
      if (kind !== "volume") {
        for (const [unit, below] of Object.entries(VOLUME)) {
          yield { text: `${text}/${unit}`, code: under(code, below), kind: `${kind}/volume` };
        }
      }
      for (const [unit, below] of Object.entries(TIME)) {
        yield { text: `${text}/${unit}`, code: under(code, below), kind: `${kind}/time` };
      }
      for (const [of, patients] of Object.entries(PATIENT)) {
        for (const [patient, by] of Object.entries(patients)) {
          yield { text: `${text}/${patient}`, code: under(code, by), kind: `${kind}/${of}` };
          for (const [unit, below] of Object.entries(TIME)) {
            yield {
              text: `${text}/${patient}/${unit}`,
              code: under(under(code, by), below),
              kind: `${kind}/${of}/time`,
            };
          }
        }
      }
    }
  }
  for (const [text, code] of Object.entries({ ...TIME, ...AGE })) {
    yield { text, code, kind: "age or time" };
  }
  yield { text: "m2", code: "m2", kind: "surface" };
  // A plain hundredth in UCUM, where the notation's strength is 10 mg/mL:
  // the code alone is compared.
  yield { text: "%", code: "%", kind: "share" };
}

/** Seeded numbers below 1: the mulberry32 generator. */
function generator(seed) {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** A number as an author may write it, above zero. */
function value(next) {
  const decimals = Math.floor(next() * 5);
  return (0.00001 + next() * 10 ** (1 + Math.floor(next() * 5))).toFixed(decimals + 1);
}

/** What a code stands for; null for one that is not UCUM as it stands. */
function meaning(code) {
  const { status, unit } = ucum.getSpecifiedUnit(code, "validate");
  return status === "valid" ? unit : null;
}

const same = (a, b) => Math.abs(a - b) <= PRECISION * Math.max(Math.abs(a), Math.abs(b));

function main() {
  const next = generator(SEED);
  const every = [...units()];
  const asked = [];
  for (const from of every) {
    for (const to of every) {
      if (from.kind === to.kind) asked.push({ from, to, number: value(next) });
    }
  }
  const lines = asked.map(({ from, to, number }) => `${number} ${from.text} -> ${to.text}\n`);
  const [command, ...rest] = process.argv.slice(2);
  const answer = spawnSync(command, rest, {
    input: lines.join(""),
    encoding: "utf8",
    maxBuffer: 2 ** 28,
  });
  if (answer.status !== 0) {
    console.error(`the tool failed:\n${answer.stderr}`);
    return 1;
  }
  const answers = answer.stdout.trimEnd().split("\n");
  if (answers.length !== asked.length) {
    console.error(`${asked.length} lines asked, ${answers.length} answered`);
    return 1;
  }

  const wrong = [];
  const tested = new Set();
  asked.forEach(({ from, to, number }, index) => {
    const line = lines[index].trimEnd();
    const [exact, code, toCode] = answers[index].split("\t");
    if (from.code === null) {
      if (code !== "-") wrong.push(`${from.text}: ${code}, where UCUM has no code`);
      tested.add(from.text);
      return;
    }
    const unit = meaning(code);
    const toUnit = meaning(toCode);
    const table = meaning(from.code);
    if (unit === null || toUnit === null) {
      wrong.push(`${line}: ${code} or ${toCode} is no valid UCUM`);
      return;
    }
    if (
      !same(unit.magnitude_, table.magnitude_) ||
      String(unit.dim_) !== String(table.dim_) ||
      unit.isArbitrary_ !== table.isArbitrary_
    ) {
      wrong.push(`${from.text}: ${code} is not ${from.code} of the table`);
    }
    const [top, below = "1"] = exact.split("/");
    const got = Number(top) / Number(below);
    const right = (Number(number) * unit.magnitude_) / toUnit.magnitude_;
    if (!same(got, right)) wrong.push(`${line}: ${exact}, by ucum-lhc ${right}`);
    // Its own conversion refuses arbitrary units, and moles against
    // equivalents: there the sizes above are all that can be compared.
    const own = ucum.convertUnitTo(code, Number(number), toCode);
    if (own.status === "succeeded") {
      if (!same(got, own.toVal)) wrong.push(`${line}: ${exact}, by ucum-lhc ${own.toVal}`);
    } else if (!unit.isArbitrary_) {
      wrong.push(`${line}: ucum-lhc refuses: ${own.msg}`);
    }
    tested.add(from.text);
  });
  if (wrong.length > 0) {
    console.log(wrong.slice(0, 20).join("\n"));
    console.error(`oracle ucum-lhc: ${wrong.length} answers differ`);
    return 1;
  }
  console.log(`oracle ucum-lhc: ${tested.size} passed, of units, by ${asked.length} conversions`);
  return 0;
}

process.exitCode = main();
