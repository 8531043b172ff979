// The row charts: how far the mesh reaches beyond the drawing at the left and at the right edge, at the picture's own heights.
// Outwards is beyond, as in the picture: to the left in the left chart, to the right in the right one.

/** The scale reaches this many tolerances at least, and as far as all but a share of the rows. */
const LEAST_REACH = 2.5;
const BEYOND = 0.02;
const SLACK = 1.1;

/** What one edge says in one row: a number, `only` (one of the two has the row) or `none` (no measure). */
const markOf = (row, side) => {
  const v = row[side === 0 ? ROW.left : ROW.right];
  if (v === null) return "only";
  const says = side === 0 ? Math.floor(row[ROW.edges] / 3) : row[ROW.edges] % 3;
  return says === 0 ? v : "none";
};

const reachOf = (view, tolerance) => {
  const all = [0, 1].flatMap((side) => view.rows.map((r) => markOf(r, side)).filter((v) => typeof v === "number"));
  all.forEach((v, i) => (all[i] = Math.abs(v)));
  all.sort((a, b) => a - b);
  const high = all[Math.floor((1 - BEYOND) * all.length)] ?? 0;
  const listedMost = view.findings
    .filter((f) => ["thick", "thin", "shifted"].includes(f.kind))
    .flatMap((f) => [f.left_diff, f.right_diff])
    .reduce((m, v) => Math.max(m, Math.abs(v ?? 0)), 0);
  const reach = SLACK * Math.max(high, Math.min(listedMost, all.at(-1) ?? 0), LEAST_REACH * tolerance);
  return reach > 0 && Number.isFinite(reach) ? reach : 1;
};

/** All views' charts side by side, for paper: there the view large is left out. */
const makePrinted = (data) => {
  const [high, top, chart, gap, names] = [440, 62, 92, 16, 96];
  const shown = data.views.slice(0, 3);
  const wide = names + shown.length * (2 * chart + gap) + (shown.length - 1) * 44;
  let left = names;
  const parts = shown.map((view, i) => {
    const charts = makeCharts(view, `p${i}`, data.tolerance);
    const k = (high - top - 34) / view.meta.extent[1];
    const area = [0, top, 0, high - 30];
    const place = placeAt(view.meta, k, 0, top + 2);
    charts.lay(place, [[left, left + chart], [left + chart + gap, left + 2 * chart + gap]], area);
    const title = draw("text", { class: "view-name", x: left + chart + gap / 2, y: 12 }, viewTitle(view.meta));
    const named = i === 0 && !view.above ? view.meta.heights.filter(([, , guide]) => !guide) : [];
    const at = spread(named.map(([, y]) => place.y(y)), 13, top, high - 30);
    const labels = named.map(([name, y], n) => draw("text", { class: "height-name", x: left - 10, y: at[n] + 4 }, `${name} ${length(y)}`));
    left += 2 * chart + gap + 44;
    return [title, labels, charts.node];
  });
  return [make("h2", {}, "Row by row"), draw("svg", { viewBox: `0 0 ${wide} ${high}` }, parts)];
};

/** Both charts of a view. */
const makeCharts = (view, id, tolerance) => {
  const { meta, rows } = view;
  const reach = reachOf(view, tolerance);
  const y = (row) => ((meta.origin[1] - row[ROW.y]) / meta.step).toFixed(0);
  const sides = [0, 1].map((side) => {
    const out = side === 0 ? -1 : 1;
    const runs = [];
    const bare = [];
    rows.forEach((row, i) => {
      const mark = markOf(row, side);
      if (typeof mark === "number") {
        const v = out * Math.max(-1.02 * reach, Math.min(1.02 * reach, mark));
        if (!runs.length || runs.at(-1).end !== i - 1) runs.push({ points: [], end: i });
        runs.at(-1).points.push([(v / meta.step).toFixed(0), y(row)]);
        runs.at(-1).end = i;
      } else if (bare.length && bare.at(-1).end === i - 1 && bare.at(-1).mark === mark) {
        bare.at(-1).end = i;
      } else bare.push({ mark, start: i, end: i });
    });
    const line = runs.map((r) => `M${r.points.map((p) => p.join(" ")).join("L")}`).join("");
    const area = runs.map((r) => `M0 ${r.points[0][1]}L${r.points.map((p) => p.join(" ")).join("L")}L0 ${r.points.at(-1)[1]}z`).join("");
    const areaClip = draw("clipPath", { id: `${id}-area${side}` }, draw("path", { d: area }));
    const halves = ["over", "under"].map((kind) => draw("rect", { fill: `url(#hatch-${kind})`, "clip-path": `url(#${id}-area${side})` }));
    const nodes = {
      band: draw("rect", { class: "band" }),
      heights: draw("g", {}),
      zero: draw("path", { class: "zero" }),
      curve: draw("path", { class: "curve", d: line }),
      bare: draw("g", {}),
      scale: draw("g", { class: "scale" }),
      head: draw("g", { class: "chart-head" }),
    };
    return { side, out, bare, areaClip, halves, nodes };
  });
  const clip = draw("clipPath", { id: `${id}-charts` }, draw("rect"));
  const node = draw(
    "g",
    { class: "charts" },
    draw("defs", {}, clip, sides.map((s) => s.areaClip)),
    draw(
      "g",
      { "clip-path": `url(#${id}-charts)` },
      sides.map((s) => [s.nodes.band, s.nodes.heights, s.halves, s.nodes.zero, s.nodes.curve, s.nodes.bare]),
    ),
    sides.map((s) => [s.nodes.scale, s.nodes.head]),
  );

  /** Lays the charts: `columns` are the left and right side of each, `area` has their top and bottom. */
  const lay = (place, columns, [, top, , bottom]) => {
    set(clip.firstChild, { x: columns[0][0] - 6, y: top, width: columns[1][1] - columns[0][0] + 12, height: bottom - top });
    sides.forEach((s) => {
      const [a, b] = columns[s.side];
      const middle = (a + b) / 2;
      const k = (b - a) / 2 / reach;
      const t = `translate(${middle} ${place.y(meta.origin[1])}) scale(${k * meta.step} ${place.k * meta.step})`;
      set(s.areaClip.firstChild, { transform: t });
      set(s.nodes.curve, { transform: t });
      const box = { y: top, height: bottom - top };
      const band = Math.min(tolerance * k, (b - a) / 2);
      set(s.nodes.band, { ...box, x: middle - band, width: 2 * band });
      // Over lies on the outer side of the middle, under on the inner one.
      const outerHalf = { ...box, x: s.out < 0 ? a - 6 : middle, width: (b - a) / 2 + 6 };
      const innerHalf = { ...box, x: s.out < 0 ? middle : a - 6, width: (b - a) / 2 + 6 };
      set(s.halves[0], outerHalf);
      set(s.halves[1], innerHalf);
      set(s.nodes.zero, { d: `M${middle} ${top}V${bottom}` });
      s.nodes.heights.replaceChildren(
        ...meta.heights.filter(([, , guide]) => !guide).map(([, h]) => draw("path", { class: "rule", d: `M${a} ${place.y(h)}H${b}` })),
      );
      s.nodes.bare.replaceChildren(
        ...s.bare.map(({ mark, start, end }) => {
          const [from, to] = [place.y(rows[start][ROW.y]), place.y(rows[end][ROW.y])];
          return draw("path", { class: mark === "only" ? "dots" : "rungs", d: `M${middle} ${from - 1.5}V${to + 1.5}` });
        }),
      );
      const tick = roundLength(0.85 * reach, [8, 6, 5, 4, 3, 2, 1]);
      const shown = Number(tick.toPrecision(3));
      s.nodes.scale.replaceChildren(
        ...[-1, 0, 1].flatMap((v) => {
          const x = middle + s.out * v * tick * k;
          const text = v === 0 ? "0" : `${v < 0 ? "−" : "+"}${shown}`;
          return [draw("path", { class: "tick", d: `M${x} ${bottom}v5` }), draw("text", { x, y: bottom + 18 }, text)];
        }),
      );
      const name = capital(meta.edges[s.side]);
      const wide = b - a > 88;
      const words = s.side === 0 ? ["beyond", "short"] : ["short", "beyond"];
      s.nodes.head.replaceChildren(
        draw("text", { class: "edge-name", x: middle, y: top - (wide ? 25 : 10) }, wide ? `${name} edge` : name),
        ...(wide ? [draw("text", { class: "beyond", x: a, y: top - 8 }, words[0]), draw("text", { class: "beyond end", x: b, y: top - 8 }, words[1])] : []),
      );
    });
  };

  /** Where a row's values lie, for the marks on the curves; null where an edge says nothing. */
  const at = (row, columns) =>
    sides.map((s) => {
      const v = markOf(row, s.side);
      const [a, b] = columns[s.side];
      return typeof v === "number" ? (a + b) / 2 + (s.out * Math.max(-reach, Math.min(reach, v)) * (b - a)) / 2 / reach : null;
    });
  return { node, lay, at };
};
