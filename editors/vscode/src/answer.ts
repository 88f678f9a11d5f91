// What the server answers to `gutta/derived`. What is derived is a text.

export const METHOD = "gutta/derived";

/** The protocol's `ContentModified`: the text is another by now. */
export const CONTENT_MODIFIED = -32801;

export interface Answer {
  caution: string;
  /** Of which version of the document it is. */
  version: number | null;
  name: string;
  title: string;
  specimen: boolean;
  covers: string[];
  missing: string[];
  parts: Part[];
}

export interface Part {
  name: string | null;
  same: { measure: string; value: string }[];
  tables: Table[];
  drawings: Drawing[];
}

export interface Table {
  across: string;
  with: string | null;
  columns: { measure: string; unit: string | null }[];
  rows: { patient: string; chosen: boolean; values: string[] }[];
  note: string | null;
}

export interface Drawing {
  run: string;
  with: string | null;
  across: Axis;
  up: Axis;
  lines: Line[];
  undrawn: string[];
  summary: string[];
}

export interface Axis {
  word: string;
  unit: string;
  from: string;
  to: string;
  marks: { at: string; text: string }[];
}

export interface Line {
  kind: "flow" | "adjusted" | "bound" | "usual" | "pump";
  name: string;
  reach: string;
  shown: boolean;
  strokes: { x: string; y: string }[][];
}

/** What the view is told. */
export type Message =
  | { kind: "order"; answer: Answer }
  | { kind: "none"; why: string }
  | { kind: "waiting" };
