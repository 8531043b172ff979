// All views side by side at one scale on one ground line: what is off and where, at a glance.

/** Space beside a figure: for nothing, and for a finding's number with its amount where the figure is widest. */
const ROOM = [22, 68];
/** Pixels that a figure is high at least, about: where it is narrower, a number stands in what its width leaves. */
const HIGH = 240;
/** How far a number moves up or down to be clear of others, as a share of the figure's height. */
const NEAR = 0.05;

/** The space that a view's findings need beside it. */
const roomOf = (view, tolerance) => {
  const { origin, extent } = view.meta;
  let room = ROOM[0];
  for (const finding of view.findings) {
    for (const [, y, side] of spotsOf(view, finding, tolerance)) {
      // Where numbers crowd, one moves up or down.
      for (const by of [-NEAR, 0, NEAR]) {
        const ends = bothOuter(view.rows[rowAt(view.rows, y + by * extent[1])]);
        if (!ends) continue;
        const left = side < 0 ? ends[0] - origin[0] : origin[0] + extent[0] - ends[1];
        room = Math.max(room, ROOM[1] - (left / extent[1]) * HIGH);
      }
    }
  }
  return room;
};

/** Room for the names of heights, where there is room at all. */
const NAMES = 112;
/** Above the figures for the views' names, below for the scale. */
const HEAD = 40;
const FOOT = 30;
/** Figures are smaller than this only where no wider one fits. */
const LEAST_HEIGHT = 210;

/** The largest of 1, 2 and 5 times a power of ten that is at most `most`. */
const roundLength = (most, steps = [5, 2, 1]) => {
  const power = 10 ** Math.floor(Math.log10(most));
  return (steps.find((s) => s * power <= most) ?? 1) * power;
};

/** Moves labels apart: each as near to where it belongs as the others let it. */
const spread = (wanted, size, low, high) => {
  const out = wanted.map((y) => y);
  for (let i = 1; i < out.length; i++) out[i] = Math.max(out[i], out[i - 1] + size);
  let limit = high;
  for (let i = out.length - 1; i >= 0; i--) {
    out[i] = Math.min(out[i], limit);
    limit = out[i] - size;
  }
  return out.map((y) => Math.max(y, low));
};

/** Which views stand in which row, and the scale. */
const arrange = (views, width, most) => {
  const height = Math.max(...views.map((v) => v.meta.extent[1]));
  const sum = (list) => list.reduce((s, v) => s + v.meta.extent[0], 0);
  const one = Math.min((width - views.reduce((s, v) => s + 2 * v.room, 0)) / sum(views), most / height);
  if (one * height >= Math.min(LEAST_HEIGHT, most)) return { k: one, rows: [views] };
  const k = Math.min(...views.map((v) => (width - 2 * v.room) / v.meta.extent[0]), (LEAST_HEIGHT * 1.15) / height);
  const rows = [[]];
  let used = 0;
  for (const v of views) {
    const takes = v.meta.extent[0] * k + 2 * v.room;
    if (used + takes > width && rows.at(-1).length) {
      rows.push([]);
      used = 0;
    }
    rows.at(-1).push(v);
    used += takes;
  }
  return { k, rows };
};

/** Beside each disc by how much the edge that it points at is off. */
const amounts = (view, figure, tolerance) => {
  for (const { finding, at, side } of figure.discs()) {
    const v = side < 0 ? finding.left_diff : finding.right_diff;
    const measured = ["thick", "thin", "shifted"].includes(finding.kind) && v !== null && Math.abs(v) > 0.5 * tolerance;
    if (!measured) continue;
    figure.marks.append(draw("text", { class: side < 0 ? "off-by end" : "off-by", x: at[0] + side * 15, y: at[1] + 4.8 }, signed(v)));
  }
};

/** The drawing of all views. `onfinding` is told of a finding that is pointed at, `onview` of a view. */
const makeLineup = (data, width, most, { onfinding, onview }) => {
  const views = data.views;
  const named = width > 640;
  const inner = width - (named ? NAMES : 0);
  const { k, rows } = arrange(views, inner, most);
  const parts = [];
  let top = HEAD;
  rows.forEach((row, r) => {
    // What is seen from above has no height in common with the others: it stands on the same line.
    const crown = Math.max(...row.map((v) => v.meta.extent[1]));
    const ground = top + crown * k;
    const taken = row.reduce((s, v) => s + v.meta.extent[0] * k + 2 * v.room, 0);
    const gap = Math.max(0, Math.min(60, (inner - taken) / row.length));
    let left = (named ? NAMES : 0) + Math.max(0, (inner - taken - gap * (row.length - 1)) / (named ? 8 : 2));
    const rules = draw("g", {});
    parts.push(rules);
    const labels = [];
    row.forEach((v, i) => {
      const w = v.meta.extent[0] * k + 2 * v.room;
      const lowest = v.above ? v.meta.origin[1] - v.meta.extent[1] : data.report.ground_y;
      const place = placeAt(v.meta, k, left + v.room, ground - (v.meta.origin[1] - lowest) * k);
      const area = [left, top - 8, left + w, ground + 8];
      const figure = makeFigure(v, `l${views.indexOf(v)}`, data.tolerance);
      figure.lay(place, area, onfinding);
      figure.show("together", 0.5, area);
      amounts(v, figure, data.tolerance);
      parts.push(
        draw("rect", { class: "hit", x: area[0], y: area[1], width: w, height: area[3] - area[1], onclick: () => onview(v) }),
        figure.node,
        figure.marks,
        draw("text", { class: "view-name", x: left + w / 2, y: top - 22 }, viewTitle(v.meta)),
      );
      if (i === 0 && named && !v.above) labels.push(...v.meta.heights.map(([name, y, guide]) => ({ name, y, guide, at: place.y(y) })));
      left += w + gap;
    });
    const right = left - gap;
    rules.append(draw("path", { class: "ground", d: `M${named ? NAMES : 4} ${ground}H${right}` }));
    const shown = labels.filter((l) => l.at >= top - 8 && l.at <= ground + 8);
    const at = spread(shown.map((l) => l.at), 16, top - 4, ground + 10);
    shown.forEach((l, i) => {
      rules.append(
        draw("path", { class: l.guide ? "rule guide" : "rule", d: `M${NAMES - 12} ${at[i]}L${NAMES - 4} ${l.at}H${right}` }),
        draw("text", { class: "height-name", x: NAMES - 18, y: at[i] + 4 }, `${l.name} ${length(l.y)}`),
      );
    });
    if (r === rows.length - 1) {
      const bar = roundLength(120 / k);
      const x = named ? NAMES : 8;
      parts.push(
        draw("path", { class: "bar", d: `M${x} ${ground + 16}v8m0-4h${bar * k}m0-4v8` }),
        draw("text", { class: "bar-name", x: x + bar * k + 8, y: ground + 24 }, `${Number(bar.toPrecision(3))}${said.unit || " units"}`),
      );
    }
    top = ground + HEAD + 16;
  });
  const high = top - HEAD - 16 + FOOT + 6;
  const names = listed(views.map((v) => clean(v.meta.name)));
  return draw(
    "svg",
    { class: data.report.settings.smooth ? "lineup with-other" : "lineup", viewBox: `0 0 ${width} ${high}`, role: "img", "aria-label": `Mesh over drawing: ${names} view at one scale. The findings are listed in words.` },
    parts,
  );
};
