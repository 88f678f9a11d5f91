// The view of derived values: it shows what it is told, and reckons nothing.

import type { Answer, Message, Part } from "../answer";
import { element } from "./dom";
import { plot } from "./plot";
import { same, table } from "./table";

declare function acquireVsCodeApi(): { postMessage(message: unknown): void };

const order = document.getElementById("order") as HTMLElement;
const said = document.getElementById("said") as HTMLElement;

window.addEventListener("message", ({ data }: MessageEvent<Message>) => {
  if (data.kind === "waiting") {
    // Until it is answered anew, what stands here may no longer hold.
    order.setAttribute("aria-busy", "true");
    return;
  }
  const shown = data.kind === "order" ? ofOrder(data.answer) : [element("p", { class: "none" }, data.why)];
  const place = window.scrollY;
  const sameOrder = data.kind === "order" && order.dataset["order"] === data.answer.name;
  order.replaceChildren(...shown);
  order.dataset["order"] = data.kind === "order" ? data.answer.name : "";
  order.removeAttribute("aria-busy");
  window.scrollTo(0, sameOrder ? place : 0);
  const news = data.kind === "order" ? spoken(data.answer) : data.why;
  if (said.textContent !== news) said.textContent = news;
});

function spoken({ title, missing }: Answer): string {
  return missing.length === 0 ? `Derived values of ${title}` : `${title} is not complete: ${missing.join("; ")}`;
}

function ofOrder(answer: Answer): HTMLElement[] {
  const head = element(
    "header",
    {},
    element("h1", {}, answer.title),
    element("p", { class: "covers" }, answer.covers.join(" · ")),
  );
  if (answer.specimen) {
    head.append(element("p", { class: "specimen" }, "A specimen: an order that must be caught."));
  }
  const body = answer.missing.length > 0 ? [missing(answer.missing)] : answer.parts.map(part);
  return [head, ...body, element("p", { class: "caution" }, answer.caution)];
}

function missing(obstacles: string[]): HTMLElement {
  return element(
    "section",
    { class: "missing" },
    element("h2", {}, "Not complete"),
    element("p", {}, "Nothing is calculated from this order until this is corrected:"),
    element("ul", {}, ...obstacles.map((obstacle) => element("li", {}, obstacle))),
  );
}

function part({ name, same: values, tables, drawings }: Part): HTMLElement {
  const section = element("section");
  if (name !== null) section.append(element("h2", {}, name));
  section.append(...drawings.map(plot));
  section.append(...tables.map((each) => table(each, name)));
  if (values.length > 0) section.append(same(values));
  return section;
}

acquireVsCodeApi().postMessage("ready");
