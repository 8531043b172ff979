// What stands behind the picture, in tables: figures, heights, arms, smoothing, audit, reading, settings.

const part = (title, ...content) => {
  const id = idOf(title);
  return make("section", { class: "part", "aria-labelledby": id }, make("h2", { id }, title), content);
};

/** A table: heads are `[words, class]` or words; the first cell of a row is its head. */
const table = (caption, heads, rows, props) =>
  make(
    "div",
    { class: "table-box", role: "region", "aria-label": caption },
    make(
      "table",
      props,
      make("caption", { class: "unseen" }, caption),
      make("thead", {}, make("tr", {}, heads.map((h) => make("th", { scope: "col" }, h)))),
      make(
        "tbody",
        {},
        rows.map((row) => {
          const { cells, ...rest } = Array.isArray(row) ? { cells: row } : row;
          return make("tr", rest, cells.map((c, i) => (i === 0 ? make("th", { scope: "row" }, c) : make("td", {}, c))));
        }),
      ),
    ),
  );

const notes = (list) => (list.length ? make("ul", { class: "notes" }, list.map((t) => make("li", {}, capital(t)))) : null);

/** How sure a reading is, in words and as a number. */
const sureness = (v) => {
  const word = v >= 0.9 ? "sure" : v >= 0.7 ? "fairly sure" : v >= 0.5 ? "barely sure" : "not sure enough";
  return `${word} (${fixed(v, 2)})`;
};

const figuresPart = (data) =>
  part(
    "Views in figures",
    table(
      "How far mesh and drawing lie apart in each view",
      ["View", "Outlines apart, mean", "95 % within", "at most", "Width off, mean", "95 % within", "at most", "Overlap", "Rows outside"],
      data.views.map(({ meta, compared: { summary: s } }) => [
        viewTitle(meta),
        length(s.contour_mean),
        length(s.contour_p95),
        length(s.contour_max),
        length(s.outer_diff_mean_abs),
        length(s.outer_diff_p95_abs),
        length(s.outer_diff_max_abs),
        `${fixed(100 * s.iou, 1)} %`,
        `${s.rows_outside} of ${s.rows_total}`,
      ]),
      { class: "numbers" },
    ),
    make("p", { class: "small" }, `Lengths${said.unit ? ` in${said.unit}` : " in the mesh's unit"}. Differences are mesh minus drawing: + means that the mesh is wider, or reaches beyond the drawing.`),
  );

const heightsPart = (data) => {
  const { report } = data;
  if (!report.landmarks.length) return null;
  const ground = report.ground_y;
  const above = (v) => (v === null || v === undefined ? "–" : length(v - ground));
  const seen = (s) => (s ? `${s.confidence < 0.7 ? "?\u2009" : ""}${above(s.y)}` : "–");
  const share = (v) => (v === null || v === undefined ? "–" : fixed((100 * (v - ground)) / report.figure_height, 1));
  const heads = (h) => (h === null || h === undefined ? "–" : fixed(h, 2));
  const drawn = (l) => (l.drawing_front ?? l.drawing_side)?.y;
  const withHeads = report.landmarks.some((l) => l.drawing_heads !== null || l.mesh_heads !== null);
  const rows = report.landmarks.map((l) => ({
    class: l.difference !== null && Math.abs(l.difference) > data.tolerance ? "off" : null,
    cells: [l.name, seen(l.drawing_front), seen(l.drawing_side), above(l.mesh), signedOr(l.difference), share(drawn(l)), share(l.mesh), ...(withHeads ? [heads(l.drawing_heads), heads(l.mesh_heads)] : [])],
  }));
  const doubtful = report.landmarks.some((l) => [l.drawing_front, l.drawing_side].some((s) => s && s.confidence < 0.7));
  const lines = report.landmarks.filter((l) => [l.drawing_front, l.drawing_side].some((s) => s && s.found !== "outline")).map((l) => l.name);
  return part(
    "Heights and proportions",
    table(
      "Heights of landmarks above the ground, in drawing and mesh",
      ["Height of", "drawn, front", "drawn, side", "mesh", "off by", "drawn, % of height", "mesh, % of height", ...(withHeads ? ["drawn, heads", "mesh, heads"] : [])],
      rows,
      { class: "numbers" },
    ),
    make(
      "p",
      { class: "small" },
      "Above the ground. ",
      withHeads ? "A head reaches from crown to chin, each figure's own. " : "No chin is seen, so heights are not counted in heads. ",
      doubtful ? "? marks what the outline does not show clearly. " : "",
      lines.length ? `By a line of the sheet or the setup: ${listed(lines)}.` : "",
    ),
  );
};

/** Landmarks against a canon of proportions or another character: information. */
const canonPart = (data) => {
  const canon = data.report.proportions;
  if (!canon) return null;
  const or = (v, show) => (v === null || v === undefined ? "–" : show(v));
  const share = (v) => or(v, (x) => fixed(x, 1));
  const off = (v) => or(v, (x) => `${x >= 0.05 ? "+" : ""}${fixed(x, 1)}`);
  const heads = (v) => or(v, (x) => fixed(x, 2));
  return part(
    "Against a canon",
    table(
      "Heights of landmarks against a canon, percent of the height and heads",
      ["Height of", "drawn, %", "mesh, %", "canon, %", "drawn off by", "mesh off by", "drawn, heads", "mesh, heads", "canon, heads"],
      canon.rows.map((r) => [r.name, share(r.drawing_pct), share(r.mesh_pct), share(r.canon_pct), off(r.drawing_off_pct), off(r.mesh_off_pct), heads(r.drawing_heads), heads(r.mesh_heads), heads(r.canon_heads)]),
      { class: "numbers" },
    ),
    make("p", { class: "small" }, `Canon ${clean(canon.canon)}: ${clean(canon.source)}. Information, no finding.`),
  );
};

const armsPart = (data) => {
  const arms = data.report.arms ?? [];
  const flat = data.views.flatMap((v) => v.compared.limbs.map((l) => ({ view: capital(clean(v.meta.name)), ...l })));
  if (!arms.length && !flat.length) return null;
  const degrees = (v) => (v === null || v === undefined ? "–" : `${fixed(v, 1)}°`);
  const both = (drawn, mesh) => `${lengthOr(drawn)} / ${lengthOr(mesh)}`;
  return part(
    "Arms",
    arms.length
      ? [
          table(
            "The arms as drawn and in the mesh",
            ["The character's", "hangs, drawn", "mesh turned by", "elbow, drawn / mesh", "wrist, drawn / mesh", "fingertip, drawn / mesh", "length, drawn / mesh", "length off by"],
            arms.map((a) => [
              `${a.side} arm`,
              degrees(a.angle_deg),
              degrees(a.turned_deg),
              both(a.elbow_y, a.mesh_elbow_y),
              both(a.wrist_y, a.mesh_wrist_y),
              both(a.fingertip_y, a.mesh_fingertip_y),
              both(a.length, a.mesh_length),
              signedOr(a.length_diff),
            ]),
            { class: "numbers" },
          ),
          notes([
            ...arms.map((a) => clean(a.text)),
            // Both arms are often alike: what is said of both stands once.
            ...new Set(arms.flatMap((a) => [...(a.practice ?? []), ...(a.shoulder_bends ?? []).map((b) => `shoulder bent, ${b.text}`)]).map(clean)),
          ].filter(Boolean)),
        ]
      : null,
    flat.length
      ? [
          make("p", { class: "small" }, "Arms that lie flatter than 45 degrees are measured square to their own axis. Left and right as seen."),
          table(
            "Flat arms, measured across",
            ["View", "limb", "below the horizontal", "upper edge, farthest off", "lower edge, farthest off", "outside tolerance"],
            flat.map((l) => {
              const farthest = (name) => l.sections.reduce((m, s) => (Math.abs(s[name]) > Math.abs(m) ? s[name] : m), 0);
              return [l.view, l.part, degrees(l.below_horizontal_deg), signed(farthest("upper_diff")), signed(farthest("lower_diff")), l.findings.length ? l.findings.map((f) => clean(f.text)).join("; ") : "nothing"];
            }),
          ),
        ]
      : null,
  );
};

const smoothPart = (data) => {
  const shown = data.views.filter((v) => v.compared.other_surface);
  if (!shown.length) return null;
  const smooth = data.report.settings.smooth;
  const [own, other] = smooth ? ["smoothed surface", "cage"] : ["cage", "smoothed surface"];
  return part(
    "Cage and smoothed surface",
    make("p", { class: "small" }, `The ${own} decides; the ${other} is information. Outer width off by:`),
    table(
      "Cage and smoothed surface against the drawing",
      ["View", `${own}, mean`, "95 % within", "at most", `${other}, mean`, "95 % within", "at most"],
      shown.map(({ meta, compared: { summary: s, other_surface: o } }) => [
        viewTitle(meta),
        ...[s, o].flatMap((x) => [x.outer_diff_mean_abs, x.outer_diff_p95_abs, x.outer_diff_max_abs]).map(length),
      ]),
      { class: "numbers" },
    ),
    notes(shown.flatMap((v) => v.compared.other_surface.lost.map((l) => `${clean(v.meta.name)} view: ${clean(l.text)}`))),
  );
};

/** What a fit did, where this mesh came of one. */
const fitPart = (data) => {
  const { fit } = data.report;
  if (!fit) return null;
  const views = data.views.filter(({ meta }) => fit.before[meta.name] && fit.after[meta.name]);
  const said = [
    `${plural(fit.moved, "vertex", "vertices")} moved, the farthest by ${measure(fit.largest_move)}; ${fit.unmeasured} of them are on no outline: they went along and were not measured.`,
    ...fit.arms.map((a) => `${a.side} arm ${a.shortened > 0 ? "shortened" : "lengthened"} by ${measure(Math.abs(a.shortened))}.`),
    ...(fit.cut ? [`${plural(fit.cut, "vertex", "vertices")} would go farther than ${measure(fit.max_move)}.`] : []),
    ...(fit.held_back ? [`${plural(fit.held_back, "vertex", "vertices")} went with their neighbours, so that no face turns over and nothing goes through itself.`] : []),
    ...fit.rest.map((r) => `Left: ${clean(r.text)}.`),
    ...fit.worse.map((w) => `${clean(w)}.`),
  ];
  return part(
    "The fit that made this mesh",
    table(
      "How far mesh and drawing lie apart in each view, before and after",
      ["View", "Outlines apart before, mean", "95 % within", "after, mean", "95 % within", "Rows outside before", "after"],
      views.map(({ meta }) => {
        const [a, b] = [fit.before[meta.name], fit.after[meta.name]];
        return [viewTitle(meta), length(a.contour_mean), length(a.contour_p95), length(b.contour_mean), length(b.contour_p95), String(a.rows_outside), String(b.rows_outside)];
      }),
      { class: "numbers" },
    ),
    notes(said),
  );
};

const auditPart = (data) => {
  const audit = data.report.mesh_audit;
  const { mesh } = data.report.inputs;
  const counts = [plural(mesh.vertices, "vertex", "vertices"), plural(mesh.faces, "face"), plural(mesh.quads, "quad"), plural(mesh.triangles, "triangle"), mesh.ngons ? plural(mesh.ngons, "face with more corners", "faces with more corners") : ""];
  const checks = audit?.checks ?? [];
  return part(
    "The mesh by itself",
    make("p", {}, audit ? `${capital(clean(audit.text))}. This takes no part in the verdict.` : "It was not audited."),
    audit?.failed.length && !checks.length
      ? table("Checks that failed", ["Check", "faults"], audit.failed.map(([id, count]) => [clean(id).replaceAll("-", " "), String(count)]), { class: "numbers" })
      : null,
    checks.length ? table("Checks of the mesh", ["Check", "outcome", "what was found"], checks.map((c) => [clean(c.id).replaceAll("-", " "), c.outcome, clean(c.text)])) : null,
    make("p", { class: "small" }, `${counts.filter(Boolean).join(", ")}.`),
  );
};

const HOW = {
  fit: "found by laying the outlines on each other",
  "figure-height": "from the figure height that was given",
  scale: "scale given, ground found",
  ground: "ground given, scale found",
  "scale-and-ground": "scale and ground given",
  held: "held from an earlier run",
};

const readingPart = (data) => {
  const { report } = data;
  const { sheet, placement: p } = report;
  const remarks = sheet.views.flatMap((v) => v.warnings.map((w) => `${clean(v.name)} view: ${clean(w)}`));
  const contrary = sheet.agreement.landmarks.filter((l) => l.contradicts);
  const agreement = [
    ...contrary.map(
      (l) =>
        `The ${l.name} is drawn ${fixed(Math.abs(l.diff_pct), 1)} % of the height ${l.diff_pct > 0 ? "higher" : "lower"} in the side view than in the front view` +
        (l.mesh_nearer ? `; the mesh is nearer to the ${l.mesh_nearer} view.` : "."),
    ),
    ...(sheet.agreement.landmarks.length && !contrary.length ? [`Front and side view agree in ${plural(sheet.agreement.landmarks.length, "landmark")}.`] : []),
    ...(sheet.agreement.symmetry ? [`The front view is its own mirror image to ${fixed(sheet.agreement.symmetry.mean_pct, 2)} % of the height on average, ${fixed(sheet.agreement.symmetry.worst_pct, 2)} % at worst.`] : []),
  ];
  const placed = [`Place of the drawing on the mesh: ${HOW[p.how] ?? p.how}`];
  if (p.scale_uncertainty_pct > 0) placed.push(`scale ±${fixed(p.scale_uncertainty_pct, 2)} %`);
  if (p.ground_uncertainty > 0) placed.push(`ground ±${measure(p.ground_uncertainty)}`);
  if (p.outline_share !== null && p.outline_share !== undefined) placed.push(`by ${fixed(100 * p.outline_share, 0)} % of the outline`);
  const turned = sheet.images.map((image, i) => ({ image, name: fileName(report.inputs.sheets[i]?.path ?? "") })).filter(({ image }) => Math.abs(image.skew_deg) >= 0.05);
  return part(
    "How the sheet was read",
    table(
      "How each drawn view was read, and how sure that is",
      ["View", "reading", "line", "taller than the leading view", "mesh's outline on the drawing", "read mirrored"],
      sheet.views.map((v, i) => {
        const compared = report.views.find((c) => c.name === v.name);
        const place = p.views.find((c) => c.name === v.name);
        const taller = sheet.agreement.height_diff_pct[i];
        return [
          capital(clean(v.name)),
          sureness(v.confidence),
          v.line_px > 0 ? `${fixed(v.line_px, 1)} px` : "none",
          taller === undefined ? "–" : `${taller > 0.05 ? "+" : ""}${fixed(taller, 1)} %`,
          place ? `${fixed(100 * place.agreeing, 0)} %` : "–",
          compared ? (compared.mirrored ? "yes" : "no") : "not compared",
        ];
      }),
      { class: "readings" },
    ),
    make("p", {}, `${placed.join(", ")}.`),
    p.doubt ? make("p", {}, capital(clean(p.doubt))) : null,
    notes([...agreement, ...remarks, ...turned.map(({ image, name }) => `${name} is turned by ${fixed(image.skew_deg, 1)}° and was levelled.`), ...report.notes.map(clean)]),
  );
};

const settingsPart = (data) => {
  const { report, version } = data;
  const shown = (v) => (v === null ? "not given" : v === true ? "yes" : v === false ? "no" : Array.isArray(v) ? (v.length ? v.map(clean).join(", ") : "all") : typeof v === "object" ? Object.values(v).map(String).join(" ") : clean(v) || "none");
  const names = { tolerance_pct: "tolerance, % of the height", tolerance_width_pct: "tolerance, % of the width" };
  const files = [
    ["mesh", report.inputs.mesh],
    ...report.inputs.sheets.map((s) => ["drawing", s]),
    ...(report.inputs.setup ? [["setup", report.inputs.setup]] : []),
  ];
  return part(
    "To repeat it",
    make(
      "dl",
      { class: "settings" },
      Object.entries(report.settings).map(([k, v]) => make("div", {}, make("dt", {}, names[k] ?? k.replaceAll("_", " ")), make("dd", {}, k === "skip_groups" && !v.length ? "none" : shown(v)))),
    ),
    table(
      "Files that were read",
      ["File", "what", "size", "SHA-256"],
      files.map(([what, f]) => [fileName(f.path), what, f.width_px ? `${f.width_px} × ${f.height_px} px` : f.faces ? plural(f.faces, "face") : "–", make("code", {}, f.sha256)]),
      { class: "files" },
    ),
    make("p", { class: "small" }, `Made by drawntrue ${clean(version)} from ${clean(report.schema)}. The same files and settings give the same page.`),
  );
};

const makeParts = (data) => [figuresPart, heightsPart, canonPart, armsPart, smoothPart, fitPart, auditPart, readingPart, settingsPart].map((p) => p(data)).filter(Boolean);
