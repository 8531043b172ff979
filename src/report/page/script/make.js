// Elements. Text is set as text only: no string becomes markup anywhere in this page.

const SVG = "http://www.w3.org/2000/svg";

const fill = (node, props, children) => {
  for (const [name, value] of Object.entries(props ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked") node[name] = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false) continue;
    node.append(child instanceof Node ? child : document.createTextNode(clean(child)));
  }
  return node;
};

/** An element of the page: name, attributes (`onclick` and so on are listeners), children. */
const make = (name, props, ...children) => fill(document.createElement(name), props, children);

/** An element of a drawing. */
const draw = (name, props, ...children) => fill(document.createElementNS(SVG, name), props, children);

/** Changes attributes. */
const set = (node, props) => {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined) node.removeAttribute(name);
    else node.setAttribute(name, value);
  }
  return node;
};

/** A heading's or a label's id from its words. */
const idOf = (words) => words.toLowerCase().replace(/[^a-z0-9]+/g, "-");

/** The disc with a finding's number, in a drawing; hollow if it does not count for the verdict. */
const disc = (finding, x, y, props) =>
  draw(
    "g",
    { class: finding.excused ? "disc hollow" : "disc", transform: `translate(${x} ${y})`, ...props },
    draw("circle", { r: 10.5 }),
    draw("text", { y: 4.4 }, String(finding.number)),
  );

/** The same among text. */
const badge = (finding) => make("span", { class: finding.excused ? "badge hollow" : "badge" }, String(finding.number));

/** A sample of a hatching, as in the legend. */
const swatch = (side) => make("span", { class: `swatch ${side}`, "aria-hidden": "true" });
