// The page while it is served: it listens for the next check, says how things stand, and asks for a placement or a pin.

/** Milliseconds between two pictures: fewer than three a second (WCAG 2.3.1), however often somebody saves. */
const APART = 340;

const listening = { state: { error: null, unwritten: null }, connected: true, data: null, next: null, timer: 0, last: 0, held: false, pictures: new Map() };

/** The data that are shown. */
const current = () => listening.data;

const ask = async (what) => {
  try {
    const answer = await fetch(what, { method: "POST" });
    if (!answer.ok) throw new Error(answer.statusText);
  } catch {
    listening.connected = false;
    sayState();
  }
};
const askPlacement = () => ask("/place");
const askPin = () => ask("/pin");

/** The bar on top: which check this is, and the two wishes. */
const liveBar = (data) => {
  listening.data ??= JSON.parse(document.getElementById("data").textContent);
  const { live } = data;
  const bar = make(
    "header",
    { class: "live" },
    make(
      "p",
      { class: "live-line" },
      make("span", { class: "live-mark", "aria-hidden": "true" }),
      make("span", { class: "live-words" }),
    ),
    make(
      "div",
      { class: "live-acts" },
      make("button", { type: "button", class: "plain", "data-act": "place", title: "Lays the drawing on the mesh anew (F)", onclick: askPlacement }, "Fresh placement ", make("kbd", {}, "F")),
      make("button", { type: "button", class: "plain", "data-act": "pin", title: "Counts changes from this version on (P)", onclick: askPin }, live.pinned === live.number ? "Pinned " : "Pin this version ", make("kbd", {}, "P")),
    ),
    make("p", { class: "live-trouble", role: "alert", hidden: true }),
  );
  sayState(bar, data);
  return bar;
};

/** Says how things stand. */
const sayState = (bar = document.querySelector(".live"), data = listening.data) => {
  if (!bar || !data) return;
  const { live } = data;
  const { error, unwritten } = listening.state;
  const mark = listening.connected ? (error ? "broken" : "watching") : "stopped";
  bar.dataset.state = mark;
  const number = `No. ${live.number}, saved ${clock(live.saved_ms)}`;
  bar.querySelector(".live-words").textContent = `${{ watching: "Watching", broken: "Last good version", stopped: "Stopped" }[mark]} · ${number}${live.held ? " · placement held" : ""}`;
  const trouble = bar.querySelector(".live-trouble");
  const words = listening.connected ? (error ? `${capital(clean(error))}. The last good result stays.` : unwritten ? capital(clean(unwritten)) : "") : "The program does not answer: it was stopped. The last result stays; it goes on when the program is started again on this port.";
  if (trouble.textContent !== words) trouble.textContent = words;
  trouble.hidden = !words;
};

/** Keeps a picture decoded, so that a figure that is drawn anew has it at once. */
const keepPictures = async (data) => {
  const names = new Set(data.views.filter(Boolean).map((v) => v.image).filter(Boolean));
  for (const name of names) {
    if (listening.pictures.has(name)) continue;
    const picture = new Image();
    picture.src = name;
    listening.pictures.set(name, picture);
    await picture.decode().catch(() => null);
  }
  for (const name of listening.pictures.keys()) if (!names.has(name)) listening.pictures.delete(name);
};

/** Shows what came last, not while something is dragged and not too often. */
const showNext = () => {
  clearTimeout(listening.timer);
  if (!listening.next || listening.held) return;
  const wait = listening.last + APART - performance.now();
  if (wait > 0) {
    listening.timer = setTimeout(showNext, wait);
    return;
  }
  listening.data = listening.next;
  listening.next = null;
  listening.last = performance.now();
  dispatchEvent(new CustomEvent("check", { detail: listening.data }));
};

const listen = () => {
  const first = JSON.parse(document.getElementById("data").textContent);
  listening.data = first;
  keepPictures(first);
  const source = new EventSource(`/events?has=${first.live.revision}`);
  source.addEventListener("check", async (e) => {
    const data = JSON.parse(e.data);
    const known = data.views.every((v) => !v?.image || listening.pictures.has(v.image));
    if (!known) await keepPictures(data);
    listening.next = data;
    showNext();
  });
  source.addEventListener("state", (e) => {
    listening.state = JSON.parse(e.data);
    listening.connected = true;
    sayState();
  });
  source.addEventListener("error", () => {
    listening.connected = false;
    sayState();
  });
  addEventListener("pointerdown", () => (listening.held = true), true);
  for (const name of ["pointerup", "pointercancel"]) {
    addEventListener(name, () => {
      listening.held = false;
      // After what the page itself does about it.
      setTimeout(showNext);
    }, true);
  }
  addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || e.repeat || e.target.closest?.("input[type=text], textarea")) return;
    const act = { f: askPlacement, p: askPin }[e.key.toLowerCase()];
    if (!act) return;
    e.preventDefault();
    act();
  });
};
listen();
