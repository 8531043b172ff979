// One view large: drawing and mesh with fade, wipe and slow alternation, zoom and pan, the charts beside, a row's numbers.

/** Zoom: 1 shows the whole figure. */
const MOST_ZOOM = 40;
const ZOOM_STEP = 1.35;
/** Room around the figure, pixels. */
const STAGE_PAD = 26;
const STAGE_HEAD = 50;
const STAGE_FOOT = 30;
/** Milliseconds between two changes: fewer than one a second, far below the three flashes of WCAG 2.3.1. */
const ALTERNATE_EVERY = 1500;
const MODES = { together: "Together", fade: "Fade", wipe: "Wipe", alternate: "Alternate" };

const stillness = matchMedia("(prefers-reduced-motion: reduce)");
const bounded = (v, low, high) => Math.min(Math.max(v, low), Math.max(low, high));

/** What a person has chosen; it outlives a change of the data. */
const chosen = { view: null, mode: "together", share: { fade: 0.5, wipe: 0.5 }, side: 0, running: true, other: null, was: true, zoom: {}, row: {} };

/** The stage. `data` is what render made of the page's data. */
const makeStage = (data) => {
  const svg = draw("svg", { class: "stage-drawing" });
  const panel = make("div", { class: "reading" });
  const here = make("div", { class: "here" });
  chosen.other ??= Boolean(data.report.settings.smooth);
  const box = make("div", {
    class: "stage-box",
    id: "picture",
    tabindex: 0,
    role: "slider",
    "aria-orientation": "vertical",
    "aria-describedby": "keys-help",
  });
  const hint = make("p", { class: "hint", hidden: true }, "Click the picture first, then the wheel zooms.");
  box.append(svg, hint);
  let view = null;
  let figure = null;
  let charts = null;
  let size = [0, 0];
  let timer = 0;
  const overlay = draw("g", { class: "overlay" });
  const moved = draw("g", { class: "moved-bars" });
  const handle = draw("g", { class: "wipe-handle" }, draw("path", { class: "halo" }), draw("path", {}), draw("circle", { r: 9 }));

  const zoomOf = () => (chosen.zoom[view.meta.name] ??= { z: 1, x: 0.5, y: 0.5 });
  const rowOf = () => (view.meta.name in chosen.row ? rowAt(view.rows, chosen.row[view.meta.name]) : view.firstRow);

  /** Where everything lies at the present size and zoom. */
  const layout = () => {
    const [w, h] = size;
    const chart = bounded(w * 0.14, 46, 128);
    const gap = w > 620 ? 26 : 12;
    const right = w - 10;
    const columns = [
      [right - 2 * chart - gap, right - chart - gap],
      [right - chart, right],
    ];
    const area = [0, STAGE_HEAD, columns[0][0] - gap, h - STAGE_FOOT];
    const { z, x, y } = zoomOf();
    const [ew, eh] = view.meta.extent;
    const [aw, ah] = [area[2] - area[0], area[3] - area[1]];
    const side = w > 620 ? 58 : 30;
    const fit = Math.min((aw - 2 * side) / ew, (ah - 2 * STAGE_PAD) / eh);
    const k = fit * z;
    // The middle of the area shows the place (x, y), shares of the figure's extent.
    const left = (area[0] + area[2]) / 2 - x * ew * k;
    const top = (area[1] + area[3]) / 2 - y * eh * k;
    return { area, columns, place: placeAt(view.meta, k, left, top), k, fit };
  };

  const paint = () => {
    if (!view || size[0] < 50) return;
    const { area, columns, place } = layout();
    set(svg, { viewBox: `0 0 ${size[0]} ${size[1]}`, width: size[0], height: size[1] });
    const clip = svg.querySelector("#stage-area rect");
    set(clip, { x: area[0], y: area[1], width: area[2] - area[0], height: area[3] - area[1] });
    set(svg.querySelector(".paper"), { x: area[0], y: area[1], width: area[2] - area[0], height: area[3] - area[1] });
    figure.lay(place, area, (f) => goTo(f));
    charts.lay(place, columns, area);
    const mode = chosen.mode === "alternate" ? "fade" : chosen.mode;
    figure.show(mode, chosen.mode === "alternate" ? chosen.side : (chosen.share[mode] ?? 0.5), area);
    svg.classList.toggle("alternating", chosen.mode === "alternate");
    svg.classList.toggle("with-other", chosen.other);
    svg.classList.toggle("without-was", !chosen.was);
    moved.replaceChildren(...(data.live && chosen.was ? movedBars(data, view, place, area) : []));
    const row = view.rows[rowOf()];
    const y = place.y(row[ROW.y]);
    overlay.replaceChildren(...(y >= area[1] && y <= area[3] ? drawRow(view, row, place, area, columns, charts) : []));
    if (chosen.mode === "wipe") {
      const x = area[0] + chosen.share.wipe * (area[2] - area[0]);
      const d = `M${x} ${area[1]}V${area[3]}`;
      handle.children[0].setAttribute("d", d);
      handle.children[1].setAttribute("d", d);
      set(handle.children[2], { cx: x, cy: area[1] + 18 });
      set(handle, { visibility: null });
    } else set(handle, { visibility: "hidden" });
    seen.textContent = chosen.side ? "mesh" : "drawing";
    box.style.touchAction = zoomOf().z > 1 ? "none" : "pan-y";
    box.classList.toggle("zoomed", zoomOf().z > 1);
  };

  let waiting = false;
  const repaint = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      paint();
    });
  };

  const speak = () => {
    const row = view.rows[rowOf()];
    set(box, {
      "aria-label": `Rows of the ${clean(view.meta.name)} view`,
      "aria-valuemin": length(view.rows.at(-1)[ROW.y]).replace("−", "-"),
      "aria-valuemax": length(view.rows[0][ROW.y]).replace("−", "-"),
      "aria-valuenow": length(row[ROW.y]).replace("−", "-"),
      "aria-valuetext": rowInWords(view, row),
    });
    panel.replaceChildren(...makeReading(view, row).flat(Infinity));
  };

  const pointAt = (index) => {
    const next = bounded(index, 0, view.rows.length - 1);
    if (next === rowOf() && view.meta.name in chosen.row) return;
    chosen.row[view.meta.name] = view.rows[next][ROW.y];
    speak();
    repaint();
  };

  /** Keeps the figure in sight. */
  const settle = (zoom) => {
    zoom.z = bounded(zoom.z, 1, MOST_ZOOM);
    if (zoom.z === 1) [zoom.x, zoom.y] = [0.5, 0.5];
    zoom.x = bounded(zoom.x, 0, 1);
    zoom.y = bounded(zoom.y, 0, 1);
  };

  /** Zooms by a factor; the place under the pixel `at` stays there. */
  const zoomBy = (factor, at) => {
    const zoom = zoomOf();
    const before = layout();
    const middle = [(before.area[0] + before.area[2]) / 2, (before.area[1] + before.area[3]) / 2];
    const [px, py] = at ?? middle;
    const [ux, uy] = [before.place.unitX(px), before.place.unitY(py)];
    zoom.z = bounded(zoom.z * factor, 1, MOST_ZOOM);
    const after = layout();
    zoom.x += (ux - after.place.unitX(px)) / view.meta.extent[0];
    zoom.y -= (uy - after.place.unitY(py)) / view.meta.extent[1];
    settle(zoom);
    tell();
    repaint();
  };

  const panBy = (dx, dy) => {
    const zoom = zoomOf();
    const { k } = layout();
    zoom.x -= dx / k / view.meta.extent[0];
    zoom.y -= dy / k / view.meta.extent[1];
    settle(zoom);
    repaint();
  };

  const whole = () => {
    chosen.zoom[view.meta.name] = { z: 1, x: 0.5, y: 0.5 };
    tell();
    repaint();
  };

  /** Shows a view; `keep` leaves the focus where it is. */
  const showView = (next) => {
    view = next;
    chosen.view = view.meta.name;
    figure = makeFigure(view, "s", data.tolerance);
    charts = makeCharts(view, "s", data.tolerance);
    svg.replaceChildren(
      draw("defs", {}, draw("clipPath", { id: "stage-area" }, draw("rect"))),
      draw("g", { "clip-path": "url(#stage-area)" }, draw("rect", { class: "paper" }), figure.node, moved, handle),
      charts.node,
      overlay,
      draw("g", { "clip-path": "url(#stage-area)" }, figure.marks),
    );
    for (const tab of tabs.children) {
      const on = tab.dataset.view === view.meta.name;
      set(tab, { "aria-selected": String(on), tabindex: on ? 0 : -1 });
    }
    otherBox.hidden = !view.other;
    wasBox.hidden = !view.was;
    here.replaceChildren(
      make("h3", {}, view.findings.length ? "In this view" : "Nothing is off in this view"),
      make(
        "ul",
        {},
        view.findings.map((f) =>
          make("li", {}, make("button", { type: "button", class: "short", onclick: () => goTo(f) }, badge(f), make("span", {}, headOf(f)))),
        ),
      ),
    );
    speak();
    tell();
    paint();
  };

  /** Shows a stretch of a view: its rows large, its worst row; close by at its only spot, whole if it has more. */
  const lookAt = (next, { y_from, y_to, worst_y }, spots) => {
    chosen.row[next.meta.name] = worst_y;
    view = next;
    const [ew, eh] = next.meta.extent;
    const tall = Math.max(y_to - y_from, 0.06 * eh);
    const row = next.rows[rowAt(next.rows, worst_y)];
    const ends = bothOuter(row) ?? [next.meta.origin[0], next.meta.origin[0] + ew];
    // Both edges stay in sight if both are meant; a single one is looked at closer.
    const both = spots.length !== 1 || ends[1] - ends[0] < 2.5 * tall;
    const x = both ? (ends[0] + ends[1]) / 2 : spots[0][0];
    const { fit, area } = layout();
    const byHeight = (area[3] - area[1]) / (2.2 * tall) / fit;
    const byWidth = both ? (area[2] - area[0] - 130) / Math.max(ends[1] - ends[0], 1e-9) / fit : byHeight;
    const z = bounded(Math.min(byHeight, byWidth), 1, 12);
    chosen.zoom[next.meta.name] = {
      z,
      x: (x - next.meta.origin[0]) / ew,
      y: (next.meta.origin[1] - (y_from + y_to) / 2) / eh,
    };
    settle(chosen.zoom[next.meta.name]);
    showView(next);
    box.focus({ preventScroll: true });
  };

  /** Shows a finding. */
  const goTo = (finding) => {
    const next = data.views.find((v) => v.findings.includes(finding));
    if (next) lookAt(next, finding, spotsOf(next, finding, data.tolerance));
  };

  /** Shows a stretch of a view by its name; `side` −1 is its left edge, 1 its right one, 0 both. */
  const goToPlace = (name, { y_from, y_to, at_y, side }) => {
    const next = data.views.find((v) => v.meta.name === name);
    if (!next) return;
    const ends = bothOuter(next.rows[rowAt(next.rows, at_y)]);
    lookAt(next, { y_from, y_to, worst_y: at_y }, ends && side ? [[ends[side < 0 ? 0 : 1], at_y, side]] : []);
  };

  // ---- alternation

  const alternate = () => {
    clearInterval(timer);
    timer = 0;
    if (chosen.mode === "alternate" && chosen.running && !stillness.matches) {
      timer = setInterval(() => {
        if (document.hidden) return;
        chosen.side = 1 - chosen.side;
        paint();
      }, ALTERNATE_EVERY);
    }
    go.textContent = stillness.matches ? "Show the other" : chosen.running ? "Hold" : "Go on";
  };

  // ---- controls

  const tabs = make(
    "div",
    { class: "tabs", role: "tablist", "aria-label": "Views" },
    data.views.map((v) =>
      make(
        "button",
        { type: "button", role: "tab", "data-view": v.meta.name, "aria-controls": "stage-panel", onclick: () => showView(v) },
        viewTitle(v.meta),
        make("span", { class: "tab-count", "aria-label": plural(v.findings.length, "finding") }, String(v.findings.length || "")),
      ),
    ),
  );
  tabs.addEventListener("keydown", (e) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
    if (!step) return;
    const at = (data.views.indexOf(view) + step + data.views.length) % data.views.length;
    showView(data.views[at]);
    tabs.children[at].focus();
    e.preventDefault();
  });

  const shareInput = make("input", { type: "range", min: 0, max: 100, step: 1, class: "share" });
  const shareBox = make("label", { class: "share-box" }, make("span", {}, "drawing"), shareInput, make("span", {}, "mesh"));
  shareInput.addEventListener("input", () => {
    chosen.share[chosen.mode] = shareInput.valueAsNumber / 100;
    sayShare();
    repaint();
  });
  const go = make("button", {
    type: "button",
    class: "plain",
    onclick: () => {
      if (stillness.matches) chosen.side = 1 - chosen.side;
      else chosen.running = !chosen.running;
      alternate();
      paint();
    },
  });
  const seen = make("span", { class: "seen" });
  const goBox = make("span", { class: "go-box" }, go, seen);
  const modes = make(
    "fieldset",
    { class: "modes" },
    make("legend", { class: "unseen" }, "How drawing and mesh are laid over each other"),
    Object.entries(MODES).map(([mode, word]) =>
      make(
        "label",
        {},
        make("input", { type: "radio", name: "mode", value: mode, checked: chosen.mode === mode, onchange: () => choose(mode) }),
        make("span", {}, word),
      ),
    ),
  );
  const sayShare = () => {
    const percent = Math.round(100 * chosen.share[chosen.mode]);
    const words = chosen.mode === "wipe" ? `drawing on the left ${percent} %, mesh on the right` : `${100 - percent} % drawing, ${percent} % mesh`;
    set(shareInput, { "aria-label": MODES[chosen.mode], "aria-valuetext": words });
  };
  const choose = (mode, again = false) => {
    chosen.mode = mode;
    const shared = mode === "fade" || mode === "wipe";
    shareBox.hidden = !shared;
    goBox.hidden = mode !== "alternate";
    if (shared) {
      shareInput.value = 100 * chosen.share[mode];
      sayShare();
    }
    if (!again) chosen.running = true;
    alternate();
    paint();
  };
  stillness.addEventListener("change", alternate);

  const otherInput = make("input", { type: "checkbox", checked: chosen.other });
  otherInput.addEventListener("change", () => {
    chosen.other = otherInput.checked;
    paint();
  });
  const otherBox = make("label", { class: "check" }, otherInput, make("span", {}, data.report.settings.smooth ? "show the cage's outline" : "show the smoothed outline"));

  const wasInput = make("input", { type: "checkbox", checked: chosen.was });
  wasInput.addEventListener("change", () => {
    chosen.was = wasInput.checked;
    paint();
  });
  const wasBox = make("label", { class: "check" }, wasInput, make("span", {}, "show the mesh before"));

  const button = (sign, name, onclick) => make("button", { type: "button", class: "zoom", "aria-label": name, title: name, onclick }, sign);
  const level = make("output", { class: "zoom-level" });
  const tell = () => {
    level.textContent = `${fixed(zoomOf().z, zoomOf().z < 10 ? 1 : 0)}×`;
  };
  const zooms = make(
    "div",
    { class: "zooms", role: "group", "aria-label": "Zoom" },
    button("−", "Smaller", () => zoomBy(1 / ZOOM_STEP)),
    level,
    button("+", "Larger", () => zoomBy(ZOOM_STEP)),
    make("button", { type: "button", class: "plain", onclick: whole }, "Whole figure"),
  );

  // ---- pointer

  const fingers = new Map();
  let dragging = null;
  const local = (e) => {
    const r = svg.getBoundingClientRect();
    return [e.clientX - r.left, e.clientY - r.top];
  };
  const nearHandle = ([x]) => {
    if (chosen.mode !== "wipe") return false;
    const { area } = layout();
    return Math.abs(area[0] + chosen.share.wipe * (area[2] - area[0]) - x) < 16;
  };
  const wipeTo = ([x]) => {
    const { area } = layout();
    chosen.share.wipe = bounded((x - area[0]) / (area[2] - area[0]), 0, 1);
    shareInput.value = 100 * chosen.share.wipe;
    sayShare();
    repaint();
  };
  const rowUnder = (at) => rowAt(view.rows, layout().place.unitY(at[1]));
  box.addEventListener("pointerdown", (e) => {
    const at = local(e);
    fingers.set(e.pointerId, at);
    hint.hidden = true;
    if (e.target.closest?.(".disc")) return;
    dragging = fingers.size === 1 ? (nearHandle(at) ? "wipe" : "pan") : "pinch";
    if (e.pointerType !== "mouse") pointAt(rowUnder(at));
    if (dragging === "wipe" || e.pointerType === "mouse") box.setPointerCapture(e.pointerId);
  });
  box.addEventListener("pointermove", (e) => {
    const at = local(e);
    const before = fingers.get(e.pointerId);
    if (!before) {
      pointAt(rowUnder(at));
      return;
    }
    if (dragging === "wipe") wipeTo(at);
    else if (fingers.size === 2) {
      const still = [...fingers].find(([id]) => id !== e.pointerId)[1];
      const apart = (a) => Math.max(10, Math.hypot(a[0] - still[0], a[1] - still[1]));
      panBy((at[0] - before[0]) / 2, (at[1] - before[1]) / 2);
      zoomBy(apart(at) / apart(before), [(at[0] + still[0]) / 2, (at[1] + still[1]) / 2]);
    } else if (zoomOf().z > 1) panBy(at[0] - before[0], at[1] - before[1]);
    else pointAt(rowUnder(at));
    fingers.set(e.pointerId, at);
  });
  for (const name of ["pointerup", "pointercancel"]) {
    box.addEventListener(name, (e) => {
      fingers.delete(e.pointerId);
      if (!fingers.size) dragging = null;
    });
  }
  box.addEventListener("dblclick", (e) => zoomBy(2, local(e)));
  box.addEventListener(
    "wheel",
    (e) => {
      // A wheel over a picture that nobody chose scrolls the page, as everywhere else.
      if (!e.ctrlKey && !e.metaKey && document.activeElement !== box) {
        hint.hidden = false;
        return;
      }
      hint.hidden = true;
      const out = e.deltaY > 0;
      if (!e.ctrlKey && out && zoomOf().z === 1) return;
      e.preventDefault();
      const pixels = e.deltaMode === 1 ? 16 * e.deltaY : e.deltaY;
      zoomBy(Math.exp(-bounded(pixels, -120, 120) * (e.ctrlKey ? 0.01 : 0.0025)), local(e));
    },
    { passive: false },
  );
  box.addEventListener("pointerleave", () => {
    hint.hidden = true;
  });

  // ---- keys

  box.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const many = Math.max(1, Math.round(view.rows.length / 25));
    const pan = { ArrowUp: [0, 60], ArrowDown: [0, -60], ArrowLeft: [60, 0], ArrowRight: [-60, 0] }[e.key];
    const rows = { ArrowUp: -1, ArrowDown: 1, PageUp: -many, PageDown: many, Home: -Infinity, End: Infinity }[e.key];
    const numbered = /^[1-9]$/.test(e.key) && data.all.find((f) => f.number === Number(e.key));
    if (e.shiftKey && pan) panBy(...pan);
    else if (rows !== undefined) {
      pointAt(rowOf() + rows);
      follow();
    } else if (e.key === "ArrowLeft" || e.key === "ArrowRight") {
      if (chosen.mode === "fade" || chosen.mode === "wipe") {
        chosen.share[chosen.mode] = bounded(chosen.share[chosen.mode] + (e.key === "ArrowLeft" ? -0.05 : 0.05), 0, 1);
        shareInput.value = 100 * chosen.share[chosen.mode];
        sayShare();
        repaint();
      }
    } else if (e.key === "+" || e.key === "=") zoomBy(ZOOM_STEP);
    else if (e.key === "-") zoomBy(1 / ZOOM_STEP);
    else if (e.key === "0") whole();
    else if (numbered) goTo(numbered);
    else return;
    e.preventDefault();
  });
  /** Keeps the row in sight. */
  const follow = () => {
    const { place, area } = layout();
    const y = place.y(view.rows[rowOf()][ROW.y]);
    if (y < area[1] + 20) panBy(0, area[1] + 20 - y);
    else if (y > area[3] - 20) panBy(0, area[3] - 20 - y);
  };

  const keys = make(
    "details",
    { class: "keys" },
    make("summary", {}, "Keys"),
    make(
      "p",
      { id: "keys-help" },
      "On the picture: up and down move the row, Page Up and Page Down by more, Home and End to crown and ground. Plus and minus zoom, 0 shows the whole figure, Shift with the arrows moves it. Left and right change fade and wipe. 1 to 9 go to a finding.",
    ),
  );
  const node = make(
    "div",
    { class: "stage" },
    make("div", { class: "controls" }, tabs, modes, zooms),
    make(
      "div",
      { class: "stage-panel", id: "stage-panel", role: "tabpanel", "aria-label": "The view large" },
      make("div", { class: "stage-left" }, box, make("div", { class: "control-more" }, shareBox, goBox, otherBox, wasBox)),
      make("aside", { class: "beside", "aria-label": "The row's numbers" }, panel, here, keys),
    ),
  );
  const sized = new ResizeObserver(() => {
    size = [box.clientWidth, box.clientHeight];
    paint();
  });
  sized.observe(box);
  showView(data.views.find((v) => v.meta.name === chosen.view) ?? data.worstView);
  choose(chosen.mode, true);
  /** Another stage takes its place. */
  const stop = () => {
    clearInterval(timer);
    sized.disconnect();
    stillness.removeEventListener("change", alternate);
  };
  return { node, goTo, goToPlace, showView, stop };
};
