// A flow against the patients, its limits drawn in. Positions on the screen
// are the only numbers that are reckoned here; all that is read is told.

import type { Axis, Drawing, Line } from "../answer";
import { drawn, element } from "./dom";

const WIDTH = 450;
const HEIGHT = 250;
const LEFT = 50;
const RIGHT = 24;
const TOP = 12;
const BOTTOM = 44;
/** The least height between two letters beside the plot. */
const APART = 13;

let count = 0;

export function plot(drawing: Drawing): HTMLElement {
  count += 1;
  const [title, words] = [`plot-${count}-title`, `plot-${count}-words`];
  const x = scale(drawing.across, LEFT, WIDTH - RIGHT);
  const y = scale(drawing.up, HEIGHT - BOTTOM, TOP);
  const svg = drawn("svg", {
    viewBox: `0 0 ${WIDTH} ${HEIGHT}`,
    role: "img",
    "aria-labelledby": title,
    "aria-describedby": words,
  });
  const clip = `plot-${count}-clip`;
  svg.append(
    drawn(
      "defs",
      {},
      drawn(
        "clipPath",
        { id: clip },
        drawn("rect", {
          x: `${LEFT}`,
          y: `${TOP - 2}`,
          width: `${WIDTH - LEFT - RIGHT}`,
          height: `${HEIGHT - TOP - BOTTOM + 4}`,
        }),
      ),
    ),
    ...grid(drawing, x, y),
  );
  const inside = drawn("g", { "clip-path": `url(#${clip})` });
  // The flow lies above its limits.
  const shown = drawing.lines.filter((line) => line.shown);
  inside.append(...band(shown, x, y));
  for (const line of [...shown].reverse()) inside.append(path(line, x, y));
  svg.append(inside, ...letters(shown, y));
  const heading = element("h3", { id: title }, "Flow of ", element("code", {}, drawing.run));
  if (drawing.with !== null) heading.append(`, with ${drawing.with}`);
  return element(
    "figure",
    { class: "plot" },
    heading,
    svg,
    legend(drawing, shown),
    element(
      "details",
      {},
      element("summary", {}, "The plot in words"),
      element("ul", { id: words }, ...drawing.summary.map((sentence) => element("li", {}, sentence))),
    ),
  );
}

type Scale = (at: string) => number;

function scale({ from, to }: Axis, start: number, end: number): Scale {
  const [low, high] = [Number(from), Number(to)];
  return (at) => start + ((Number(at) - low) / (high - low)) * (end - start);
}

function grid({ across, up }: Drawing, x: Scale, y: Scale): SVGElement[] {
  const floor = HEIGHT - BOTTOM;
  const made: SVGElement[] = [];
  for (const { at, text } of up.marks) {
    const line = y(at).toFixed(1);
    made.push(
      drawn("line", { class: "grid", x1: `${LEFT}`, x2: `${WIDTH - RIGHT}`, y1: line, y2: line }),
      drawn("text", { class: "mark", x: `${LEFT - 6}`, y: line, dy: "0.35em", "text-anchor": "end" }, text),
    );
  }
  for (const { at, text } of across.marks) {
    const line = x(at).toFixed(1);
    made.push(
      drawn("line", { class: "tick", x1: line, x2: line, y1: `${floor}`, y2: `${floor + 4}` }),
      drawn("text", { class: "mark", x: line, y: `${floor + 18}`, "text-anchor": "middle" }, text),
    );
  }
  const middle = (LEFT + WIDTH - RIGHT) / 2;
  made.push(
    drawn(
      "text",
      { class: "axis", x: `${middle}`, y: `${HEIGHT - 4}`, "text-anchor": "middle" },
      `${across.word}, ${across.unit}`,
    ),
    drawn(
      "text",
      { class: "axis", transform: `translate(11 ${(TOP + floor) / 2}) rotate(-90)`, "text-anchor": "middle" },
      `${up.word}, ${up.unit}`,
    ),
  );
  return made;
}

function path({ kind, strokes }: Line, x: Scale, y: Scale): SVGElement {
  const parts = strokes.map((stroke) =>
    stroke.map((dot, at) => `${at === 0 ? "M" : "L"}${x(dot.x).toFixed(2)} ${y(dot.y).toFixed(2)}`).join(""),
  );
  return drawn("path", { class: `line ${kind}`, d: parts.join("") });
}

/** What the flow may be adjusted to, from the lowest to the highest. */
function band(shown: Line[], x: Scale, y: Scale): SVGElement[] {
  const [low, high] = shown.filter(({ kind }) => kind === "adjusted").map(({ strokes }) => strokes.flat());
  if (low === undefined || high === undefined) return [];
  const points = [...low, ...high.reverse()].map((dot) => `${x(dot.x).toFixed(2)},${y(dot.y).toFixed(2)}`);
  return [drawn("polygon", { class: "band", points: points.join(" ") })];
}

/** `A` to `Z`, then numbers. */
function letter(at: number): string {
  return at < 26 ? String.fromCharCode(65 + at) : `${at + 1}`;
}

/** Each line's letter at its right end, moved apart where they would meet, and
 * off the numbers below the plot. */
function letters(shown: Line[], y: Scale): SVGElement[] {
  const ends = shown.map((line, at) => {
    const last = line.strokes.at(-1)?.at(-1);
    const end = last === undefined ? TOP : Math.max(TOP, y(last.y));
    return { at, kind: line.kind, end };
  });
  ends.sort((one, other) => one.end - other.end);
  let above = -APART;
  for (const each of ends) {
    each.end = Math.max(each.end, above + APART);
    above = each.end;
  }
  let below = HEIGHT - BOTTOM + APART;
  for (const each of [...ends].reverse()) {
    each.end = Math.min(each.end, below - APART);
    below = each.end;
  }
  return ends.map(({ at, kind, end }) =>
    drawn(
      "text",
      { class: `letter ${kind}`, x: `${WIDTH - RIGHT + 6}`, y: end.toFixed(1), dy: "0.35em" },
      letter(at),
    ),
  );
}

function legend(drawing: Drawing, shown: Line[]): HTMLElement {
  const items = shown.map(({ kind, name, reach }, at) => {
    const sample = drawn(
      "svg",
      { viewBox: "0 0 26 10", width: "26", height: "10", "aria-hidden": "true" },
      drawn("path", { class: `line ${kind}`, d: "M1 5L25 5" }),
    );
    return element(
      "li",
      {},
      element("span", { class: `letter ${kind}` }, letter(at)),
      sample,
      element("span", { class: "name" }, name),
      element("span", { class: "reach" }, reach),
    );
  });
  const list = element("ol", { class: "legend" }, ...items);
  const away = drawing.lines.filter((line) => !line.shown).map(({ name, reach }) => `${name}, ${reach}`);
  const notes: HTMLElement[] = [];
  if (away.length > 0) notes.push(element("p", { class: "away" }, `Outside the plot: ${away.join("; ")}.`));
  if (drawing.undrawn.length > 0) {
    notes.push(element("p", { class: "away" }, `Could not be drawn: ${drawing.undrawn.join("; ")}.`));
  }
  return element("div", {}, list, ...notes);
}
