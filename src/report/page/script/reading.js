// One row's numbers: in words for the ear, in a small table for the eye, and as two widths on the picture.

/** What a row says, in one sentence. */
const rowInWords = (view, row) => {
  const [left, right] = view.meta.edges;
  const parts = view.meta.parts[row[ROW.parts]];
  const where = `Height ${length(row[ROW.y])}${said.unit}${parts ? `, ${parts}` : ""}: `;
  if (row[ROW.outer] === null) {
    if (!row[ROW.drawing].length && !row[ROW.mesh].length) return `${where}nothing`;
    return where + (row[ROW.drawing].length ? "drawn, but not in the mesh" : "in the mesh, but not drawn");
  }
  const width = row[ROW.outer];
  const same = !/[1-9]/.test(length(width));
  const how = same ? "mesh as wide as drawn" : `mesh ${measure(Math.abs(width))} ${width > 0 ? "wider" : "narrower"} than drawn`;
  return `${where}${how}; ${left} ${signed(row[ROW.left])}, ${right} ${signed(row[ROW.right])}`;
};

/** The widths of a row's outermost ends and of all its spans together. */
const widthsOf = (spans) => {
  const ends = outer(spans);
  if (!ends) return { left: null, right: null, outer: null, solid: null };
  let solid = 0;
  for (let i = 0; i < spans.length; i += 2) solid += spans[i + 1] - spans[i];
  return { left: ends[0], right: ends[1], outer: ends[1] - ends[0], solid };
};

/** What an edge's difference is worth. */
const EDGE_SAYS = [null, "runs level here", "belongs to another part here"];

/** The table of a row. */
const makeReading = (view, row) => {
  const [left, right] = view.meta.edges.map(capital);
  const d = widthsOf(row[ROW.drawing]);
  const m = widthsOf(row[ROW.mesh]);
  const line = (name, values, show, props) => make("tr", props, make("th", { scope: "row" }, name), values.map((v) => make("td", {}, show(v))));
  const inside = view.findings.filter((f) => f.y_from <= row[ROW.y] && row[ROW.y] <= f.y_to);
  const notes = [];
  [Math.floor(row[ROW.edges] / 3), row[ROW.edges] % 3].forEach((says, side) => {
    if (says && row[ROW.outer] !== null) notes.push(`The ${view.meta.edges[side]} edge ${EDGE_SAYS[says]}: no measure.`);
  });
  if (row[ROW.drawing].length && row[ROW.sure] < 60) notes.push(`The drawing's edge is unsure here: ${row[ROW.sure]} of 100.`);
  const columns = ["left", "right", "outer", "solid"];
  return [
    make(
      "p",
      { class: "row-head" },
      make("span", { class: "row-height" }, `y ${length(row[ROW.y])}`, make("small", {}, said.unit)),
      make("span", { class: "row-part" }, view.meta.parts[row[ROW.parts]] ?? ""),
      inside.map(badge),
    ),
    make(
      "table",
      { class: "row-table" },
      make("caption", { class: "unseen" }, rowInWords(view, row)),
      make("thead", {}, make("tr", {}, make("td", {}), [left, right, "Width", "Solid"].map((h) => make("th", { scope: "col" }, h)))),
      make(
        "tbody",
        {},
        line("drawing", columns.map((c) => d[c]), lengthOr),
        line("mesh", columns.map((c) => m[c]), lengthOr),
        line("off by", [row[ROW.left], row[ROW.right], row[ROW.outer], row[ROW.solid]], signedOr, { class: "off" }),
      ),
    ),
    notes.map((n) => make("p", { class: "row-note" }, n)),
  ];
};

/** The two widths of a row on the picture, gaps left out, and the row across the charts. */
const drawRow = (view, row, place, area, columns, charts) => {
  const y = place.y(row[ROW.y]);
  const inside = (x) => Math.min(Math.max(x, area[0]), area[2]);
  const out = [draw("path", { class: "row-rule", d: `M${area[0]} ${y}H${columns[1][1] + 6}` })];
  for (const [spans, kind, by] of [
    [row[ROW.drawing], "drawing", -6],
    [row[ROW.mesh], "mesh", 6],
  ]) {
    if (!spans.length) continue;
    let d = "";
    for (let i = 0; i < spans.length; i += 2) {
      const [a, b] = [place.x(spans[i]), place.x(spans[i + 1])];
      d += `M${inside(a)} ${y + by}H${inside(b)}M${a} ${y + by - 5}v10M${b} ${y + by - 5}v10`;
    }
    out.push(draw("path", { class: "width halo", d }), draw("path", { class: `width ${kind}`, d }));
  }
  const [d, m] = [outer(row[ROW.drawing]), outer(row[ROW.mesh])];
  if (d && m) {
    const says = [Math.floor(row[ROW.edges] / 3), row[ROW.edges] % 3];
    [row[ROW.left], row[ROW.right]].forEach((v, side) => {
      if (says[side]) return;
      // Below the widths: the number of a finding may stand beside them.
      const x = side === 0 ? Math.min(place.x(d[0]), place.x(m[0])) - 4 : Math.max(place.x(d[1]), place.x(m[1])) + 4;
      if (x < area[0] + 34 || x > area[2] - 34) return;
      out.push(draw("text", { class: `row-label ${side === 0 ? "end" : ""}`, x, y: y + 27 }, signed(v)));
    });
  }
  charts.at(row, columns).forEach((x) => {
    if (x !== null) out.push(draw("circle", { class: "on-curve", cx: x, cy: y, r: 3.6 }));
  });
  return out;
};
