// Values by patient, and those that are the same for all.

import type { Part, Table } from "../answer";
import { element } from "./dom";

export function table({ across, with: other, columns, rows, note }: Table, part: string | null): HTMLElement {
  const caption = [`Derived values by ${across}`];
  if (part !== null) caption.push(`, ${part}`);
  if (other !== null) caption.push(`, with ${other}`);
  const head = element(
    "tr",
    {},
    element("th", { scope: "col" }, across),
    ...columns.map(({ measure, unit }) => {
      const cell = element("th", { scope: "col" }, measure);
      if (unit !== null) cell.append(" ", element("span", { class: "unit" }, unit));
      return cell;
    }),
  );
  const body = rows.map(({ patient, chosen, values }) => {
    const first = element("th", { scope: "row" }, patient);
    if (chosen) first.append(element("span", { class: "unseen" }, " (the weight that is set)"));
    return element(
      "tr",
      chosen ? { class: "chosen" } : {},
      first,
      ...values.map((value) => element("td", {}, value)),
    );
  });
  const whole = element(
    "figure",
    // Wider than the view, it scrolls by the keyboard too.
    { class: "table", tabindex: "0", role: "group", "aria-label": caption.join("") },
    element(
      "table",
      {},
      element("caption", {}, ...caption),
      element("thead", {}, head),
      element("tbody", {}, ...body),
    ),
  );
  if (note !== null) whole.append(element("figcaption", {}, note));
  return whole;
}

export function same(values: Part["same"]): HTMLElement {
  const rows = values.map(({ measure, value }) =>
    element("tr", {}, element("th", { scope: "row" }, measure), element("td", {}, value)),
  );
  return element(
    "figure",
    { class: "table same" },
    element("table", {}, element("caption", {}, "The same for every patient"), element("tbody", {}, ...rows)),
  );
}
