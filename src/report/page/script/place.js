// Where things lie: between a view's units and the pixels of a drawing on the page.

/** Field numbers of a row; see the program's `report/page/data.rs`. */
const ROW = { y: 0, sure: 1, parts: 2, edges: 3, left: 4, right: 5, outer: 6, solid: 7, drawing: 8, mesh: 9 };

/** A place: pixels a unit, and the pixel of the view's upper left corner. */
const placeAt = (meta, k, left, top) => ({
  k,
  x: (x) => left + (x - meta.origin[0]) * k,
  y: (y) => top + (meta.origin[1] - y) * k,
  unitX: (px) => (px - left) / k + meta.origin[0],
  unitY: (px) => meta.origin[1] - (px - top) / k,
  /** For what is given in steps. */
  steps: `translate(${left} ${top}) scale(${k * meta.step})`,
});

/** First and last end of a row's spans, of the drawing, the mesh or both; null where there are none. */
const outer = (spans) => (spans.length ? [spans[0], spans.at(-1)] : null);
const bothOuter = (row) => {
  const all = [...row[ROW.drawing], ...row[ROW.mesh]];
  return all.length ? [Math.min(...all), Math.max(...all)] : null;
};

/** Index of the row nearest to a height; rows run from the top down. */
const rowAt = (rows, y) => {
  let [low, high] = [0, rows.length - 1];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (rows[middle][ROW.y] > y) low = middle + 1;
    else high = middle;
  }
  const before = Math.max(0, low - 1);
  return Math.abs(rows[before][ROW.y] - y) < Math.abs(rows[low][ROW.y] - y) ? before : low;
};

/** Where a finding is: places `[x, y, side]`, side −1 left and 1 right; as in the pictures of the check. */
const spotsOf = (view, finding, tolerance) => {
  const { rows, axis } = view;
  const side = (x) => (x < axis ? -1 : 1);
  if (finding.kind === "missing" || finding.kind === "extra") {
    let best = null;
    for (const row of rows) {
      if (row[ROW.y] < finding.y_from || row[ROW.y] > finding.y_to) continue;
      const ends = outer(row[ROW.drawing]) ?? outer(row[ROW.mesh]);
      if (ends && (!best || ends[1] - ends[0] > best[0])) best = [ends[1] - ends[0], (ends[0] + ends[1]) / 2, row[ROW.y]];
    }
    return best ? [[best[1], best[2], side(best[1])]] : [];
  }
  const row = rows[rowAt(rows, finding.worst_y)];
  const [d, m] = [outer(row[ROW.drawing]), outer(row[ROW.mesh])];
  if (!d || !m) return [];
  const ends = [...row[ROW.drawing], ...row[ROW.mesh]].sort((a, b) => a - b);
  const y = row[ROW.y];
  if (finding.kind.startsWith("gap")) {
    const within = [Math.max(d[0], m[0]), Math.min(d[1], m[1])];
    const covers = (spans, x) => spans.some((_, i) => i % 2 === 0 && spans[i] <= x && x <= spans[i + 1]);
    const inner = [within[0], ...ends.filter((x) => within[0] < x && x < within[1]), within[1]];
    let best = null;
    for (let i = 1; i < inner.length; i++) {
      const x = (inner[i - 1] + inner[i]) / 2;
      if (covers(row[ROW.drawing], x) === covers(row[ROW.mesh], x)) continue;
      if (!best || inner[i] - inner[i - 1] > best[0]) best = [inner[i] - inner[i - 1], x];
    }
    return best ? [[best[1], y, side(best[1])]] : [];
  }
  const left = [(ends[0] + ends[1]) / 2, y, -1];
  const right = [(ends.at(-1) + ends.at(-2)) / 2, y, 1];
  const [l, r] = [Math.abs(d[0] - m[0]), Math.abs(d[1] - m[1])];
  if (l > tolerance && r > tolerance) return [right, left];
  return [l > tolerance || (r <= tolerance && l > r) ? left : right];
};

/** Discs for the findings of a view, each with a line to its spot, clear of the figure and of each other. */
const discsOf = (view, place, area, tolerance) => {
  const RADIUS = 10.5;
  const CLEAR = 9;
  const taken = [];
  const out = [];
  for (const finding of view.findings) {
    for (const [x, y, side] of spotsOf(view, finding, tolerance)) {
      const spot = [place.x(x), place.y(y)];
      if (spot[0] < area[0] || spot[0] > area[2] || spot[1] < area[1] || spot[1] > area[3]) continue;
      const beside = (py) => {
        const top = rowAt(view.rows, place.unitY(py - RADIUS - 4));
        const bottom = rowAt(view.rows, place.unitY(py + RADIUS + 4));
        let far = spot[0] * side;
        for (let i = top; i <= bottom; i += Math.max(1, (bottom - top) >> 4)) {
          const ends = bothOuter(view.rows[i]);
          if (ends) far = Math.max(far, side * place.x(ends[side < 0 ? 0 : 1]));
        }
        return side * far + side * (RADIUS + CLEAR);
      };
      let best = null;
      for (const step of [0, -1, 1, -2, 2, -3, 3]) {
        const py = Math.min(Math.max(spot[1] + (step * (2 * RADIUS + 3)) / 2, area[1] + RADIUS), area[3] - RADIUS);
        const px = Math.min(Math.max(beside(py), area[0] + RADIUS + 2), area[2] - RADIUS - 2);
        const free = taken.every(([a, b]) => Math.hypot(a - px, b - py) > 2 * RADIUS + 3);
        const cost = Math.abs(px - spot[0]) + 2 * Math.abs(py - spot[1]) + (free ? 0 : 1e4);
        if (!best || cost < best[0]) best = [cost, px, py];
      }
      taken.push([best[1], best[2]]);
      out.push({ finding, spot, side, at: [best[1], best[2]] });
    }
  }
  return out;
};
