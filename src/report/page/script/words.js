// Numbers and words, as the terminal and the pictures say them. All of it is plain text.

/** Decimals of a length, the unit's label with a blank before it that does not break: set by render. */
const said = { decimals: 1, unit: "" };

/** A text from outside on one line, without characters that steer a terminal or turn the direction of writing. */
const clean = (text) =>
  String(text).replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g, "?");

/** So many digits behind the point; what rounds to nothing has no sign. */
const fixed = (v, digits) => {
  const text = Math.abs(v).toFixed(digits);
  return v < 0 && /[1-9]/.test(text) ? `−${text}` : text;
};

/** A length in digits that count; what rounds to nothing has no sign. */
const length = (v) => fixed(v, said.decimals);

/** A difference with its sign; what rounds to nothing has none. */
const signed = (v) => {
  const text = Math.abs(v).toFixed(said.decimals);
  return /[1-9]/.test(text) ? `${v < 0 ? "−" : "+"}${text}` : text;
};

/** A length, a difference or a dash. */
const lengthOr = (v) => (v === null || v === undefined ? "–" : length(v));
const signedOr = (v) => (v === null || v === undefined ? "–" : signed(v));

/** With the unit. */
const measure = (v) => length(v) + said.unit;

/** Four digits that count. */
const significant = (v) => v.toFixed(Math.min(9, Math.max(0, 3 - Math.floor(Math.log10(Math.max(Math.abs(v), 1e-12))))));

const capital = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

const plural = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

/** Small numbers read better as words at the head of a sentence. */
const counted = (n) => ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine"][n] ?? String(n);

/** Words in a row: a, b and c. */
const listed = (words) => (words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`);

/** The last part of a path. */
const fileName = (path) => clean(path.split(/[/\\]/).at(-1) || path);

/** A view's name as a heading, with the way it looks. */
const viewTitle = (meta) => {
  const name = capital(clean(meta.name));
  return ["left", "right"].includes(meta.facing) ? `${name}, facing ${meta.facing}` : name;
};

const VERDICTS = { "on-model": "On model", "off-model": "Off model", undecided: "Undecided" };

/** Whether mesh sticks out (over), falls short (under) or both. */
const sides = (kind) =>
  ({ thick: ["over"], extra: ["over"], "gap-closed": ["over"], thin: ["under"], missing: ["under"], "gap-open": ["under"] })[kind] ?? [
    "over",
    "under",
  ];

/** A finding's words up to where it says the place. */
const headOf = (finding) => clean(finding.text).split(" between ")[0].split(" (")[0].split(";")[0];

/** What else is to be said of a finding. */
const remarksOf = (finding) => {
  const out = [];
  if (finding.unsure) out.push("unsure: the outline is open, faint or disturbed here");
  if (finding.excused) out.push("not counted: unfinished");
  if (finding.explained_pct >= 20) {
    const other = clean(finding.text).split("; ").find((t) => t.includes("goes away"));
    if (other) out.push(other);
  }
  return out;
};

/** What became of a place or a finding from one version to another, in words. */
const FARES = { new: "New", worse: "Worse", better: "Better", gone: "Gone", stayed: "Stayed" };
