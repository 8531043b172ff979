// The findings in words, worst first; one entry for what front and back view both show.

/** The first amount of a finding's words stands out: by how much is what a person looks for. */
const emphasised = (text) => {
  const unit = said.unit.trim();
  const match = text.match(/\d+(\.\d+)?/);
  if (!match) return [text];
  let end = match.index + match[0].length;
  if (unit && text.startsWith(` ${unit}`, end)) end += unit.length + 1;
  return [text.slice(0, match.index), make("b", { class: "amount" }, text.slice(match.index, end)), text.slice(end)];
};

/** A bar for how far off a finding is: its length against the worst, with a mark at the tolerance. */
const extentBar = (finding, data) => {
  const most = Math.max(...data.all.map((f) => f.worst_distance), 1.2 * data.tolerance);
  const w = 180;
  const at = (v) => Math.min(1, v / most) * (w - 2) + 1;
  const [first, second] = sides(finding.kind);
  const end = at(finding.worst_distance);
  const middle = second ? end / 2 : end;
  return draw(
    "svg",
    { class: "extent", viewBox: `0 0 ${w} 14`, "aria-hidden": "true" },
    draw("path", { class: "extent-line", d: `M0 11.5H${w}` }),
    draw("rect", { x: 0, y: 1, width: middle, height: 10, fill: `url(#hatch-${first})` }),
    second && draw("rect", { x: middle, y: 1, width: end - middle, height: 10, fill: `url(#hatch-${second})` }),
    draw("path", { class: "extent-limit", d: `M${at(data.tolerance)} 0V14` }),
  );
};

const makeFinding = (finding, data, goTo) => {
  const { report } = data;
  const view = data.views.find((v) => v.findings.includes(finding));
  const twinNumber = data.twins.find(([a]) => a === finding.number)?.[1];
  const twin = data.all.find((f) => f.number === twinNumber);
  const other = twin && data.views.find((v) => v.findings.includes(twin));
  const names = capital(clean(view.meta.name)) + (other ? ` and ${clean(other.meta.name)}` : "");
  const place = finding.between.length === 2 ? ` between ${finding.between.map(clean).join(" and ")}` : "";
  const lines = [];
  if (["thick", "thin", "shifted"].includes(finding.kind) && finding.left_diff !== null) {
    lines.push(`${view.meta.edges[0]} ${signed(finding.left_diff)}, ${view.meta.edges[1]} ${signed(finding.right_diff)}`);
  }
  const range = `y ${length(finding.y_from)} to ${length(finding.y_to)}`;
  lines.push(["missing", "extra"].includes(finding.kind) ? range : `${range}, worst at ${length(finding.worst_y)}`);
  return make(
    "li",
    { class: finding.excused ? "finding excused" : "finding" },
    make(
      "button",
      { type: "button", "data-finding": finding.number, onclick: () => goTo(finding) },
      make("span", { class: "badges" }, badge(finding), twin && badge(twin)),
      make(
        "span",
        { class: "finding-words" },
        make("span", { class: "finding-view" }, names + place),
        make("span", { class: "finding-head" }, emphasised(headOf(finding))),
        data.live && changeOf(data, finding, view),
        lines.map((l) => make("span", { class: "finding-lines" }, l)),
        remarksOf(finding).map((r) => make("span", { class: "finding-lines" }, capital(r))),
        // Front and back view ask for the same moves.
        [...new Set((report.advice ?? []).filter((a) => [finding.number, twinNumber].includes(a.finding)).map((a) => clean(a.text)))].map((text) =>
          make("span", { class: "finding-lines" }, `Move ${text}`),
        ),
        extentBar(finding, data),
      ),
    ),
  );
};

/** The verdict and what it rests on. */
const verdictLine = (data) => {
  const { report } = data;
  const limit = `${measure(data.tolerance)} (${report.settings.tolerance_pct}\u00a0% of the height)`;
  const counting = data.shown.filter((f) => !f.excused).length;
  const excused = data.shown.length - counting;
  if (report.verdict === "undecided") return "The drawing, or its place on the mesh, could not be read surely enough to say.";
  if (report.verdict === "on-model") {
    const so = excused ? ` ${counted(excused)} drawn ${excused === 1 ? "part is" : "parts are"} not there yet and not counted.` : "";
    return `${excused ? "What the mesh has" : "Everything"} lies within ${limit} of the drawing.${so}`;
  }
  if (!counting) return "The mesh is within tolerance where it is measured, but something else is not:";
  const where = counting === 1 ? "place lies" : "places lie";
  return `${counted(counting)} ${where} more than ${limit} off the drawing.`;
};

const makeFindings = (data, goTo) => {
  const { report } = data;
  const limbs = data.views.flatMap((v) => v.compared.limbs.flatMap((l) => l.findings.map((f) => `${capital(clean(v.meta.name))}: ${clean(f.text)}`)));
  const others = [...limbs, ...report.findings.map((f) => clean(f.text))];
  const most = 6;
  const list = (entries, more) => make("ol", { class: more ? "findings more" : "findings" }, entries.map((f) => makeFinding(f, data, goTo)));
  const rest = data.shown.slice(most);
  return [
    report.undecided.length ? make("ul", { class: "reasons" }, report.undecided.map((r) => make("li", {}, capital(clean(r))))) : null,
    data.shown.length ? list(data.shown.slice(0, most)) : null,
    rest.length ? make("details", { class: "rest" }, make("summary", {}, `${rest.length} more`), list(rest, true)) : null,
    others.length ? make("ul", { class: "others" }, others.map((t) => make("li", {}, `${capital(t)}.`))) : null,
  ];
};
