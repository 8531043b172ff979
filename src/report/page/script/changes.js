// What changed: since the last save or since the pinned version, in words, along the bars and on the picture.

/** Which of the two a person looks at; it outlives a change of the data. */
const compared = { since: "save" };

/** The changes that are looked at; null where there is nothing to compare with yet. */
const changesOf = (live) => (compared.since === "pin" ? live.since_pin : live.since_save);

/** The mesh's outline in the version that is compared with. */
const wasOf = (live, view) => (changesOf(live) ? (compared.since === "pin" ? view.pinned : view.before) : "") || "";


/** The side of a place: −1 left, 1 right, 0 both or along a gap. */
const sideOf = (edge) => ({ left: -1, right: 1 })[edge] ?? 0;

/** Whether two stretches of front and back view are one. */
const alike = (p, q) => {
  const shared = Math.min(p.y_to, q.y_to) - Math.max(p.y_from, q.y_from);
  return p.view === "front" && q.view === "back" && p.how === q.how && shared > 0.8 * Math.max(p.y_to - p.y_from, q.y_to - q.y_from);
};
/** The same of places, whose sides are then exchanged, and of findings. */
const samePlace = (p, q) => alike(p, q) && sideOf(p.edge) === -sideOf(q.edge) && (p.edge === "inner") === (q.edge === "inner");
const sameFinding = (f, g) => alike(f, g) && f.kind === g.kind;

/** Entries of the list: findings that changed, then places that moved elsewhere or within tolerance. */
const entriesOf = (changes) => {
  const towards = (how) => how === "better" || how === "gone";
  const all = changes.findings.filter((f) => f.how !== "stayed");
  const twinOf = (f) => all.find((o) => sameFinding(f, o));
  const second = new Set(all.map(twinOf).filter(Boolean));
  const findings = all.filter((f) => !second.has(f));
  const told = (p) =>
    all.some((f) => {
      const shared = Math.min(f.y_to, p.y_to) - Math.max(f.y_from, p.y_from);
      return f.view === p.view && towards(f.how) === towards(p.how) && shared > 0.5 * Math.min(f.y_to - f.y_from, p.y_to - p.y_from);
    });
  const [front, back] = ["front", "back"].map((name) => changes.places.filter((p) => p.view === name && !told(p)));
  const backs = new Set(back.filter((q) => front.some((p) => samePlace(p, q))));
  const title = (view, other) => capital(clean(view)) + (other ? ` and ${clean(other)}` : "");
  return [
    ...findings.map((f) => ({ ...f, title: title(f.view, twinOf(f)?.view), words: clean(f.text).split("; ")[0], at_y: (f.y_from + f.y_to) / 2, side: 0 })),
    ...changes.places
      .filter((p) => !told(p) && !backs.has(p))
      .map((p) => ({ ...p, title: title(p.view, front.includes(p) && back.some((q) => samePlace(p, q)) && "back"), words: clean(p.text).split(": ")[0], side: sideOf(p.edge) })),
  ];
};

/** Then and now on one scale: a ring at what it was, a disc at what it is, a mark at the tolerance. */
const thenAndNow = (entry, most, tolerance) => {
  const [w, r] = [112, 4];
  const at = (v) => r + 1 + (Math.min(v ?? 0, most) / most) * (w - 2 * r - 2);
  const [was, now] = [at(entry.distance_was), at(entry.distance_now)];
  const way = Math.sign(now - was);
  return draw(
    "svg",
    { class: "then-now", viewBox: `0 0 ${w} 16`, "aria-hidden": "true" },
    draw("path", { class: "extent-line", d: `M0 8H${w}` }),
    draw("path", { class: "extent-limit", d: `M${at(tolerance)} 1V15` }),
    Math.abs(now - was) > 2 * r && draw("path", { class: "way", d: `M${was + way * r} 8H${now - way * r}` }),
    draw("circle", { class: "then", cx: was, cy: 8, r }),
    draw("circle", { class: "now", cx: now, cy: 8, r }),
  );
};

const makeEntry = (entry, data, most, onplace) => {
  const off = (v) => (v === null || v === undefined ? "0" : length(v));
  return make(
    "li",
    { class: `change ${entry.how}` },
    make(
      "button",
      { type: "button", onclick: () => onplace(entry.view, entry) },
      make("span", { class: "how" }, FARES[entry.how]),
      make(
        "span",
        { class: "change-words" },
        make("span", { class: "change-head" }, `${entry.title}: ${entry.words}`),
        make(
          "span",
          { class: "change-amount" },
          thenAndNow(entry, most, data.tolerance),
          make("span", {}, `${off(entry.distance_was)} → ${off(entry.distance_now)}${said.unit}`, make("span", { class: "unseen" }, " off the drawing")),
          make("span", { class: "change-place" }, `y ${length(entry.y_from)} to ${length(entry.y_to)}`),
        ),
      ),
    ),
  );
};

/** The clock's time of a save. */
const clock = (ms) => new Date(ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", second: "2-digit", hour12: false });

/** What changed, with the choice of the version that is compared with. */
const changesPanel = (data, onplace) => {
  const { live } = data;
  if (!live.since_save && !live.since_pin) return make("p", { class: "changes-none" }, "What changes is shown here from the next save on.");
  const changes = changesOf(live);
  const choice = (since, words, there) =>
    make(
      "label",
      {},
      make("input", {
        type: "radio",
        name: "since",
        value: since,
        checked: compared.since === since,
        disabled: !there,
        onchange: () => {
          compared.since = since;
          dispatchEvent(new CustomEvent("check", { detail: current() }));
        },
      }),
      make("span", {}, words),
    );
  const choices = make(
    "fieldset",
    { class: "modes since" },
    make("legend", { class: "unseen" }, "Changes are counted from"),
    choice("save", "Since the last save", live.since_save),
    choice("pin", live.pinned === live.number ? "Since the pin" : `Since no. ${live.pinned}, ${clock(live.pinned_ms)}`, true),
  );
  const section = (...content) => make("section", { class: "changes", "aria-label": "What changed" }, choices, content);
  if (!changes) return section(make("p", { class: "changes-none" }, compared.since === "pin" ? "This is the pinned version." : "This is the first check."));
  const entries = entriesOf(changes);
  const stayed = changes.findings.filter((f) => f.how === "stayed");
  const most = Math.max(1.2 * data.tolerance, ...entries.flatMap((e) => [e.distance_was ?? 0, e.distance_now ?? 0]));
  const list = (part) => make("ul", { class: "change-list" }, part.map((e) => makeEntry(e, data, most, onplace)));
  const few = 6;
  const others = [...changes.others_new.map((t) => ["new", t]), ...changes.others_gone.map((t) => ["gone", t])];
  return section(
    entries.length ? list(entries.slice(0, few)) : null,
    entries.length > few ? make("details", { class: "rest more-changes" }, make("summary", {}, `${entries.length - few} more`), list(entries.slice(few))) : null,
    others.length ? make("ul", { class: "change-list" }, others.map(([how, t]) => make("li", { class: `change ${how} bare` }, make("span", { class: "how" }, FARES[how]), make("span", {}, capital(clean(t)))))) : null,
    stayed.length
      ? make("p", { class: "stayed" }, make("span", { class: "how" }, FARES.stayed), make("span", { class: "badge-row" }, stayed.sort((a, b) => a.number - b.number).map((f) => make("span", { class: f.excused ? "badge hollow" : "badge" }, String(f.number)))))
      : null,
    entries.length || others.length ? null : make("p", { class: "changes-none" }, changes.was === changes.now ? `No place moved by ${length(changes.counts_from)}${said.unit} or more.` : "The verdict changed."),
  );
};

/** How a finding fares, among its words. */
const changeOf = (data, finding, view) => {
  const change = changesOf(data.live)?.findings.find((f) => f.number === finding.number && f.view === view.meta.name);
  if (!change) return null;
  const by = measure(Math.abs((change.distance_now ?? 0) - (change.distance_was ?? 0)));
  const words = { new: "new", worse: `worse by ${by}`, better: `better by ${by}`, stayed: "stayed" }[change.how];
  return make("span", { class: `fares ${change.how}` }, words);
};

/** Bars beside the figure where an edge moved: full where it got worse, hollow where it got better. */
const movedBars = (data, view, place, area) => {
  const changes = changesOf(data.live);
  if (!changes) return [];
  return changes.places
    .filter((p) => p.view === view.meta.name)
    .flatMap((p) => {
      const [top, bottom] = [Math.max(place.y(p.y_to), area[1]), Math.min(place.y(p.y_from), area[3])];
      if (bottom - top < 1) return [];
      const at = { left: [area[0] + 6], right: [area[2] - 12], both: [area[0] + 6, area[2] - 12] }[p.edge] ?? [];
      return at.map((x) => draw("rect", { class: `moved-bar ${p.how}`, x, y: top, width: 6, height: Math.max(3, bottom - top), rx: 2 }, draw("title", {}, `${FARES[p.how]}: ${clean(p.text)}`)));
    });
};
