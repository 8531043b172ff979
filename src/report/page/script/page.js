// The page: render(data) shows a check; called again with other data it shows that, at the same view, zoom and row.

/** What the page needs besides the data as it came. */
const prepared = (raw) => {
  const { report } = raw;
  said.decimals = raw.decimals;
  said.unit = report.unit ? `\u00a0${clean(report.unit)}` : "";
  const tolerance = (report.settings.tolerance_pct / 100) * report.figure_height;
  const views = raw.views
    .map((v, i) => v && { ...v, was: raw.live && wasOf(raw.live, v), compared: report.views[i], findings: report.views[i].findings })
    .filter(Boolean);
  for (const v of views) {
    const middles = v.rows.map(bothOuter).filter(Boolean).map(([a, b]) => (a + b) / 2);
    v.axis = middles.reduce((s, x) => s + x, 0) / Math.max(1, middles.length);
    v.above = v.meta.name.startsWith("top");
    v.room = roomOf(v, tolerance);
    v.firstRow = v.findings.length ? rowAt(v.rows, v.findings[0].worst_y) : Math.floor(v.rows.length / 2);
  }
  const all = views.flatMap((v) => v.findings).sort((a, b) => a.number - b.number);
  const second = new Set(raw.twins.map(([, b]) => b));
  const shown = all.filter((f) => !second.has(f.number));
  const worstView = views.find((v) => v.findings.some((f) => f.number === 1)) ?? views[0];
  return { ...raw, views, all, shown, tolerance, worstView };
};

const legend = (data) => {
  const smooth = data.report.settings.smooth;
  const line = (kind) => draw("svg", { class: "sample", viewBox: "0 0 30 12", "aria-hidden": "true" }, draw("path", { class: `${kind}-line`, d: "M0 6H30" }));
  return make(
    "ul",
    { class: "legend", "aria-label": "Legend" },
    make("li", {}, line("mesh"), smooth ? "mesh, smoothed" : "mesh"),
    smooth ? make("li", { class: "with-other" }, line("other"), "its cage") : null,
    data.views.some((v) => v.was) ? make("li", {}, line("was"), "mesh before") : null,
    make("li", {}, line("drawing"), "drawing"),
    make("li", {}, swatch("over"), "mesh sticks out"),
    make("li", {}, swatch("under"), "mesh falls short"),
    data.views.some((v) => v.compared.arrows?.length) ? make("li", {}, draw("svg", { class: "sample", viewBox: "0 0 30 12", "aria-hidden": "true" }, arrowFrom([13, 6], [29, 6])), "where the edge belongs") : null,
    data.all.length ? make("li", { class: "of-bars" }, make("span", { class: "limit-mark", "aria-hidden": "true" }), "in the bars: the tolerance") : null,
  );
};

const chartLegend = () =>
  make(
    "ul",
    { class: "legend chart-legend", "aria-label": "Legend of the charts" },
    make("li", {}, make("span", { class: "swatch band", "aria-hidden": "true" }), "within tolerance"),
    make("li", {}, draw("svg", { class: "sample", viewBox: "0 0 30 12", "aria-hidden": "true" }, draw("path", { class: "dots", d: "M2 6H28" })), "only one of the two is there"),
    make("li", {}, draw("svg", { class: "sample", viewBox: "0 0 30 12", "aria-hidden": "true" }, draw("path", { class: "rungs", d: "M2 6H28" })), "no measure: level edge or another part"),
  );

/** Width of the figures on paper, pixels of CSS: A4 less its margins. */
const PAPER_WIDTH = 688;

let watching = null;
let shown = null;

/** What has the focus, so that its like can have it after a change of the data. */
const focused = () => {
  const node = document.activeElement;
  const id = node?.closest?.("[id]")?.id;
  if (node?.id) return `#${CSS.escape(node.id)}`;
  const by = (name) => (node?.getAttribute?.(name) ? `[${name}="${CSS.escape(node.getAttribute(name))}"]` : "");
  const one = ["data-finding", "data-view", "aria-label", "data-act"].map(by).find(Boolean) ?? (node?.name ? `[name="${node.name}"]${by("value")}` : "");
  return one || (id && id !== "page" ? `#${CSS.escape(id)}` : "");
};
/** Which lists were opened. */
const openLists = () => [...document.querySelectorAll("#page details[open]")].map((d) => d.className);

const render = (raw) => {
  const data = prepared(raw);
  const { report } = data;
  const [focus, opened, before] = [focused(), openLists(), document.querySelector(".closer")?.getBoundingClientRect().top];
  watching?.disconnect();
  shown?.stop();
  const stage = (shown = makeStage(data));
  const closer = make("section", { class: "closer", "aria-labelledby": "closer" });
  const toStage = (show) => {
    closer.scrollIntoView({ behavior: stillness.matches ? "auto" : "smooth", block: "start" });
    show();
  };
  const onfinding = (finding) => toStage(() => stage.goTo(finding));
  const onview = (view) => toStage(() => stage.showView(view));
  const onplace = (name, place) => toStage(() => stage.goToPlace(name, place));
  closer.append(
    make("h2", { id: "closer" }, "Look closer"),
    make("p", { class: "small" }, "Point at a row to see its numbers: the dashed line is the drawing's width, the solid one the mesh's. Left and right as seen."),
    stage.node,
    chartLegend(),
  );
  const sheets = [...new Set(report.inputs.sheets.map((s) => fileName(s.path)))];
  // Made when it is needed: the page is ready sooner without.
  const printed = make("div", { class: "printed", "aria-hidden": "true" });
  const lineupBox = make("div", { class: "lineup-box" });
  const overview = make(
    "section",
    { class: "overview", "aria-label": "Verdict and findings" },
    make(
      "div",
      { class: "verdict" },
      make("p", { class: "what" }, make("b", {}, fileName(report.inputs.mesh.path)), " against ", listed(sheets)),
      make("h1", { class: report.verdict }, VERDICTS[report.verdict]),
      make("p", { class: "lede" }, verdictLine(data)),
      data.live && changesPanel(data, onplace),
    ),
    make("div", { class: "glance" }, lineupBox, legend(data)),
    make("div", { class: "words" }, makeFindings(data, onfinding)),
    printed,
  );
  // While somebody models the picture comes first, and the tables of the check before stand until it is painted.
  const parts = make("div", { class: "parts" }, data.live ? [...document.querySelectorAll(".parts > *")] : makeParts(data));
  if (data.live) requestAnimationFrame(() => setTimeout(() => shown === stage && parts.replaceChildren(...makeParts(data))));
  document.title = `${fileName(report.inputs.mesh.path)}: ${VERDICTS[report.verdict].toLowerCase()}`;
  document.getElementById("page").replaceChildren(hatchings(), ...(data.live ? [liveBar(data)] : []), overview, closer, ...[makeCourse(data)].filter(Boolean), parts);
  let width = 0;
  const arrangeFor = (now) => {
    if (!now || now === width) return;
    width = now;
    // What scrolls sideways can be scrolled from the keyboard.
    for (const box of document.querySelectorAll(".table-box")) set(box, { tabindex: box.scrollWidth > box.clientWidth ? 0 : null });
    // Beside the words or above them, whichever leaves the figures larger.
    const high = window.innerHeight;
    const [beside, above] = [
      { width: now - 430, most: bounded(high - 210, 300, 640) },
      { width: now, most: bounded(high - 420, 300, 560) },
    ];
    const scale = ({ width: w, most }) => (w > 300 ? arrange(data.views, w - NAMES, most).k : 0);
    const stacked = scale(above) > 1.12 * scale(beside);
    overview.classList.toggle("stacked", stacked);
    const { most } = stacked ? above : beside;
    const wide = now === PAPER_WIDTH ? now : Math.round(lineupBox.clientWidth);
    lineupBox.replaceChildren(makeLineup(data, wide, most, { onfinding, onview }));
  };
  watching = new ResizeObserver(() => arrangeFor(Math.round(overview.clientWidth)));
  watching.observe(overview);
  onbeforeprint = () => {
    if (!printed.firstChild) printed.append(...makePrinted(data));
    arrangeFor(PAPER_WIDTH);
  };
  onafterprint = () => arrangeFor(Math.round(overview.clientWidth));
  if (before === undefined) return;
  // The next check of the same page: what a person looked at stays where it was.
  arrangeFor(Math.round(overview.clientWidth));
  for (const d of document.querySelectorAll("#page details")) d.open = d.open || opened.includes(d.className);
  if (before < innerHeight / 2) scrollBy({ top: closer.getBoundingClientRect().top - before, behavior: "instant" });
  if (focus) document.querySelector(focus)?.focus({ preventScroll: true });
};

render(JSON.parse(document.getElementById("data").textContent));
// Whoever serves the page may hand it the next check.
addEventListener("check", (e) => render(e.detail));
document.documentElement.classList.add("ready");
