// One view's drawing and mesh, laid over each other: picture, areas, hatching, outlines and numbers.

/** The two hatchings, once for the whole page: over leans one way and is coarse, under the other way and is fine. */
const hatchings = () =>
  draw(
    "svg",
    { class: "unseen", width: 0, height: 0, "aria-hidden": "true" },
    draw(
      "defs",
      {},
      [
        ["over", 7.5, 3.2, -45],
        ["under", 4.2, 1.2, 45],
      ].map(([side, apart, thick, turn]) =>
        draw(
          "pattern",
          { id: `hatch-${side}`, width: apart, height: apart, patternUnits: "userSpaceOnUse", patternTransform: `rotate(${turn})` },
          draw("rect", { width: apart, height: apart, class: `tint-${side}` }),
          draw("rect", { width: apart, height: thick, class: `line-${side}` }),
        ),
      ),
    ),
  );

/** An arrow with its tip at `b`, its tail behind `a`, in pixels. */
const arrowFrom = (a, b) => {
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  const [dx, dy] = [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
  const back = (d, aside) => `${b[0] - d * dx - aside * dy} ${b[1] - d * dy + aside * dx}`;
  const shaft = `M${back(long + 13, 0)}L${back(5, 0)}`;
  const head = `M${back(0, 0)}L${back(7.5, 3.6)}L${back(7.5, -3.6)}z`;
  return draw("g", { class: "arrow" }, draw("path", { class: "arrow-halo", d: shaft + head }), draw("path", { class: "arrow-shaft", d: shaft }), draw("path", { class: "arrow-head", d: head }));
};

/** Where an edge belongs: the arrow's tip lies there, its tail behind where the edge is now. */
const arrow = (place, { from, to }) => arrowFrom(...[from, to].map(([x, y]) => [place.x(x), place.y(y)]));

/** A figure in a drawing. `id` is its own among all figures of the page. */
const makeFigure = (view, id, tolerance) => {
  const { meta } = view;
  // Far beyond anything: what is outside an outline is this less the outline.
  const around = "M-9e5-9e5H9e5V9e5H-9e5z";
  const clip = (name, d) => draw("clipPath", { id: `${id}-${name}` }, draw("path", { d, "clip-rule": "evenodd" }));
  const clips = [
    clip("in-mesh", view.mesh),
    clip("in-drawing", view.drawing),
    clip("out-mesh", around + view.mesh),
    clip("out-drawing", around + view.drawing),
  ];
  const wipes = ["left", "right"].map((n) => draw("clipPath", { id: `${id}-${n}` }, draw("rect")));
  const bands = draw("clipPath", { id: `${id}-bands` });
  const scene = (...nodes) => draw("g", {}, nodes);
  const image =
    view.image && meta.picture
      ? draw("image", {
          class: meta.picture.dark ? "picture dark" : "picture",
          href: view.image,
          width: meta.picture.size[0],
          height: meta.picture.size[1],
          transform: `matrix(${meta.picture.matrix.join(" ")})`,
          preserveAspectRatio: "none",
        })
      : null;
  const scenes = [
    scene(image),
    scene(draw("path", { class: "mesh-inside", d: view.mesh })),
    scene(
      view.other && draw("path", { class: "other-line", d: view.other }),
      view.was && draw("path", { class: "was-line", d: view.was }),
      draw("path", { class: "mesh-line", d: view.mesh }),
    ),
    scene(draw("path", { class: "drawing-line", d: view.drawing })),
  ];
  const hatch = (side, inside, outside) => {
    const rects = [draw("rect", { class: "within", fill: `url(#hatch-${side})` }), draw("rect", { fill: `url(#hatch-${side})`, "clip-path": `url(#${id}-bands)` })];
    const clear = draw("rect", { class: "clear" });
    const node = draw("g", { "clip-path": `url(#${id}-${inside})` }, draw("g", { "clip-path": `url(#${id}-${outside})` }, clear, rects));
    return { node, rects: [clear, ...rects] };
  };
  const over = hatch("over", "in-mesh", "out-drawing");
  const under = hatch("under", "in-drawing", "out-mesh");
  const layers = {
    picture: draw("g", { class: "layer blended" }, scenes[0]),
    inside: draw("g", { class: "layer" }, scenes[1]),
    hatch: draw("g", { class: "layer" }, over.node, under.node),
    mesh: draw("g", { class: "layer" }, scenes[2]),
    drawing: draw("g", { class: "layer" }, scenes[3]),
  };
  const marks = draw("g", { class: "marks" });
  let placed = [];
  const node = draw("g", { class: "figure" }, draw("defs", {}, clips, wipes, bands), Object.values(layers));

  /** Lays it into an area `[left, top, right, bottom]`. */
  const lay = (place, area, onfinding) => {
    const [left, top, right, bottom] = area;
    const box = { x: left, y: top, width: right - left, height: bottom - top };
    for (const s of scenes) set(s, { transform: place.steps });
    for (const c of clips) set(c.firstChild, { transform: place.steps });
    for (const r of [...over.rects, ...under.rects]) set(r, box);
    bands.replaceChildren(
      ...view.findings.map((f) => {
        const y = place.y(f.y_to);
        return draw("rect", { x: left, width: box.width, y, height: Math.max(0, place.y(f.y_from) - y) });
      }),
    );
    const discs = (placed = discsOf(view, place, area, tolerance));
    marks.replaceChildren(
      ...(view.compared.arrows ?? []).map((a) => arrow(place, a)),
      ...discs.map(({ spot, at }) => draw("path", { class: "leader", d: `M${spot}L${at}` })),
      ...discs.map(({ spot }) => draw("circle", { class: "spot", cx: spot[0], cy: spot[1], r: 2.6 })),
      ...discs.map(({ finding, at }) =>
        disc(finding, ...at, { class: `${finding.excused ? "disc hollow" : "disc"} pointed`, onclick: () => onfinding?.(finding) }),
      ),
    );
  };

  /** What is seen: `together`, `fade` (share 0 is the drawing, 1 the mesh) or `wipe` (share from the left is the drawing). */
  const show = (mode, share, [left, top, right, bottom]) => {
    const wipe = mode === "wipe";
    const edge = left + share * (right - left);
    set(wipes[0].firstChild, { x: left, y: top, width: Math.max(0, edge - left), height: bottom - top });
    set(wipes[1].firstChild, { x: edge, y: top, width: Math.max(0, right - edge), height: bottom - top });
    const fade = mode === "fade";
    const of = { picture: [0, 1 - share], drawing: [0, 1 - share], inside: [1, share], mesh: [1, share] };
    for (const [name, [side, opacity]] of Object.entries(of)) {
      set(layers[name], {
        "clip-path": wipe ? `url(#${id}-${["left", "right"][side]})` : null,
        opacity: fade ? Math.min(1, opacity * 1.25) : null,
      });
    }
    set(layers.hatch, { visibility: mode === "together" ? null : "hidden" });
    node.classList.toggle("single", mode !== "together");
  };
  return { node, marks, lay, show, discs: () => placed };
};
