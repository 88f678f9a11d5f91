// Elements, made from texts alone: nothing that is shown is ever read as HTML.

type Child = Node | string;
type Attributes = Record<string, string>;

export function element<K extends keyof HTMLElementTagNameMap>(
  name: K,
  attributes: Attributes = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  return filled(document.createElement(name), attributes, children);
}

export function drawn<K extends keyof SVGElementTagNameMap>(
  name: K,
  attributes: Attributes = {},
  ...children: Child[]
): SVGElementTagNameMap[K] {
  return filled(document.createElementNS("http://www.w3.org/2000/svg", name), attributes, children);
}

function filled<E extends Element>(made: E, attributes: Attributes, children: Child[]): E {
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}
