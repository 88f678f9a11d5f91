// Finding the program `gutta`, and whether it is one that this extension can
// work with.

import { execFile } from "node:child_process";
import { delimiter, isAbsolute, join } from "node:path";
import { constants, promises as fs } from "node:fs";

/** The least version that answers everything asked here. */
export const LEAST: Version = [0, 1, 0];

export type Version = [number, number, number];

export interface Program {
  path: string;
  version: Version;
}

/** Why there is no server, in words, with what to do. */
export class NoProgram extends Error {}

const PATIENCE = 10_000;

/** The program of the setting, or of the `PATH` where none is set. */
export async function find(setting: string, folder: string | undefined): Promise<Program> {
  const set = setting.trim().replaceAll("${workspaceFolder}", folder ?? ".");
  const path = set === "" ? await onPath("gutta") : await named(set, folder);
  if (path === undefined) {
    throw new NoProgram(
      set === ""
        ? "gutta is not on the PATH, so nothing is checked and nothing is calculated. Install it, or set its path."
        : `The setting gutta.server.path names ${set}, which is not a program that can be run. Nothing is checked.`,
    );
  }
  const version = await versionOf(path);
  if (older(version, LEAST)) {
    throw new NoProgram(
      `${path} is gutta ${version.join(".")}; this extension needs ${LEAST.join(".")} or later. Nothing is checked.`,
    );
  }
  return { path, version };
}

async function named(set: string, folder: string | undefined): Promise<string | undefined> {
  if (isAbsolute(set)) return (await runnable(set)) ? set : undefined;
  if (!/[\\/]/.test(set)) return onPath(set);
  const path = join(folder ?? ".", set);
  return (await runnable(path)) ? path : undefined;
}

async function onPath(name: string): Promise<string | undefined> {
  const names = process.platform === "win32" ? [`${name}.exe`, name] : [name];
  for (const folder of (process.env["PATH"] ?? "").split(delimiter)) {
    // A relative entry would mean whatever folder is open.
    if (!isAbsolute(folder)) continue;
    for (const each of names) {
      const path = join(folder, each);
      if (await runnable(path)) return path;
    }
  }
  return undefined;
}

async function runnable(path: string): Promise<boolean> {
  try {
    await fs.access(path, constants.X_OK);
    return (await fs.stat(path)).isFile();
  } catch {
    return false;
  }
}

async function versionOf(path: string): Promise<Version> {
  const said = await run(path, ["--version"]);
  const found = /^gutta (\d+)\.(\d+)\.(\d+)/.exec(said);
  if (!found) {
    throw new NoProgram(`${path} is not gutta. Set gutta.server.path to the right program.`);
  }
  return [Number(found[1]), Number(found[2]), Number(found[3])];
}

function older(one: Version, other: Version): boolean {
  for (const at of [0, 1, 2] as const) {
    if (one[at] !== other[at]) return one[at] < other[at];
  }
  return false;
}

/** What a command prints; it is never run through a shell. */
export function run(path: string, args: string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    execFile(path, args, { timeout: PATIENCE, windowsHide: true, encoding: "utf8" }, (error, out) => {
      if (error) reject(new NoProgram(`${path} could not be run: ${error.message}`));
      else resolve(out);
    });
  });
}
