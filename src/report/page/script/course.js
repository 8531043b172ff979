// The course over earlier checks: a chart, a table, and finding by finding what changed since a chosen one.

/** Which check changes are counted from; it outlives a change of the data. */
const counted_from = { number: null };


const pointName = (p) => `No. ${p.number}${p.name ? `, ${clean(p.name)}` : ""}${p.time ? `, ${p.time.slice(0, 10)}` : ", this one"}`;

/** Two lines over the checks: rows outside tolerance (left scale) and the worst finding (right scale), each from 0. */
const courseChart = (points) => {
  const [w, h, left, right, top, bottom] = [640, 236, 46, 46, 30, 34];
  const round = (most) => [1, 2, 5, 10, 20, 50, 100].find((t) => t >= most) ?? 100;
  const step = (w - left - right) / Math.max(1, points.length - 1);
  const x = (i) => (points.length === 1 ? w / 2 : left + i * step);
  const lines = [
    { of: (p) => p.outside_pct, kind: "outside", name: "rows outside, %", at: left - 8, anchor: "end" },
    { of: (p) => p.worst_pct, kind: "worst", name: "worst off, % of the height", at: w - right + 8, anchor: "start" },
  ];
  const parts = [];
  for (const { of, kind, name, at, anchor } of lines) {
    const most = round(Math.max(0, ...points.map(of)));
    const y = (v) => h - bottom - (v / most) * (h - top - bottom);
    for (const share of [0, 0.5, 1]) {
      if (kind === "outside") parts.push(draw("path", { class: "rule", d: `M${left} ${y(share * most)}H${w - right}` }));
      parts.push(draw("text", { class: "course-scale", x: at, y: y(share * most) + 4, "text-anchor": anchor }, String(share * most)));
    }
    parts.push(draw("text", { class: `course-name ${kind}`, x: kind === "outside" ? left : w - right, y: 16, "text-anchor": kind === "outside" ? "start" : "end" }, name));
    parts.push(draw("path", { class: `course-line ${kind}`, d: points.map((p, i) => `${i ? "L" : "M"}${x(i)} ${y(of(p))}`).join("") }));
    parts.push(...points.map((p, i) => draw(kind === "outside" ? "circle" : "rect", kind === "outside" ? { class: `course-dot ${kind}`, cx: x(i), cy: y(of(p)), r: 4 } : { class: `course-dot ${kind}`, x: x(i) - 3.6, y: y(of(p)) - 3.6, width: 7.2, height: 7.2 }, draw("title", {}, `${pointName(p)}: ${fixed(of(p), 1)} %`))));
  }
  const every = Math.ceil(points.length / 16);
  points.forEach((p, i) => {
    if ((points.length - 1 - i) % every === 0) parts.push(draw("text", { class: "course-scale", x: x(i), y: h - 12, "text-anchor": "middle" }, String(p.number)));
  });
  return draw("svg", { class: "course-chart", viewBox: `0 0 ${w} ${h}`, role: "img", "aria-label": "Rows outside tolerance and the worst finding over the checks" }, parts);
};

const courseTable = (points) => {
  const views = [...new Set(points.flatMap((p) => p.views.map(([name]) => name)))];
  const share = (v) => (v === undefined ? "–" : `${fixed(v, 1)} %`);
  return table(
    "Figures of each check",
    ["No.", "When, UTC", "Called", "Verdict", "Findings", "Worst off", "Outside", ...views.map((v) => `${capital(clean(v))}, outside`)],
    [...points].reverse().map((p) => [
      String(p.number),
      p.time ? p.time.slice(0, 16).replace("T", " ") : "this one",
      p.name ? clean(p.name) : "",
      VERDICTS[p.verdict],
      String(p.findings),
      share(p.worst_pct),
      share(p.outside_pct),
      ...views.map((v) => share(p.views.find(([name]) => name === v)?.[1])),
    ]),
    { class: "numbers course-table" },
  );
};

/** What changed since a check, in words. */
const courseChanges = (changes) => {
  const amount = (f) => `${lengthOr(f.distance_was ?? 0)} → ${lengthOr(f.distance_now ?? 0)}${said.unit}`;
  const entries = changes.findings
    .filter((f) => f.how !== "stayed")
    .map((f) => [f.how, `${capital(clean(f.view))}: ${clean(f.text).split("; ")[0]}`, amount(f)]);
  const others = [...changes.others_new.map((t) => ["new", capital(clean(t)), ""]), ...changes.others_gone.map((t) => ["gone", capital(clean(t)), ""])];
  const stayed = changes.findings.filter((f) => f.how === "stayed").length;
  return [
    entries.length + others.length
      ? make(
          "ul",
          { class: "course-list" },
          [...entries, ...others].map(([how, words, off]) =>
            make("li", { class: how }, make("span", { class: "fares-word" }, FARES[how]), make("span", {}, words, off ? make("span", { class: "course-amount" }, off) : null)),
          ),
        )
      : make("p", { class: "small" }, changes.was === changes.now ? "No finding changed by as much as counts." : "The verdict changed."),
    stayed ? make("p", { class: "small" }, `${plural(stayed, "finding")} stayed.`) : null,
  ];
};

const makeCourse = (data) => {
  const { course } = data;
  if (!course || course.points.length < 2) return null;
  const id = "course";
  const panel = make("div", { class: "course-changes", "aria-live": "polite" });
  const show = (number) => {
    const since = course.since.find((s) => s.number === number) ?? course.since[0];
    counted_from.number = since.number;
    panel.replaceChildren(...courseChanges(since.changes).filter(Boolean));
  };
  const choice = make(
    "select",
    { id: "course-since", onchange: (e) => show(Number(e.target.value)) },
    course.since.map((s, i) => {
      const point = course.points.find((p) => p.number === s.number);
      return make("option", { value: String(s.number) }, `${i === 0 ? "the last check: " : ""}${point ? pointName(point) : `No. ${s.number}`}`);
    }),
  );
  const chosen = course.since.some((s) => s.number === counted_from.number) ? counted_from.number : course.since[0].number;
  choice.value = String(chosen);
  show(chosen);
  return make(
    "section",
    { class: "course", "aria-labelledby": id },
    make("h2", { id }, "Course"),
    make("div", { class: "course-panels" }, make("div", {}, courseChart(course.points)), make("div", {}, make("label", { class: "course-choice", for: "course-since" }, "What changed since ", choice), panel)),
    make("details", { class: "rest course-figures" }, make("summary", {}, `Figures of ${plural(course.points.length, "check")}`), courseTable(course.points)),
  );
};
