// A headless browser by WebDriver (W3C Recommendation "WebDriver"), with nothing but Node: Debian's chromium and chromedriver.

import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

const BROWSER = process.env.CHROMIUM ?? "/usr/bin/chromium";
const DRIVER = process.env.CHROMEDRIVER ?? "/usr/bin/chromedriver";
/** Milliseconds until the driver must answer. */
const STARTS_WITHIN = 30_000;
/** The key under which WebDriver gives elements. */
const ELEMENT = "element-6066-11e4-a52e-4f735466cecf";

export const isThere = () => [BROWSER, DRIVER].every((p) => existsSync(p));

/** Keys as WebDriver names them. */
export const KEYS = { up: "\ue013", down: "\ue015", left: "\ue012", right: "\ue014", home: "\ue011", end: "\ue010", pageDown: "\ue00f", tab: "\ue004", enter: "\ue007", shift: "\ue008", space: "\ue00d" };

const freePort = () =>
  new Promise((done) => {
    const server = createServer().listen(0, "127.0.0.1", () => {
      const { port } = server.address();
      server.close(() => done(port));
    });
  });

export const sleep = (ms) => new Promise((done) => setTimeout(done, ms));

/** Starts a browser of its own; `size` is that of the page. */
export const start = async (size = [1440, 900]) => {
  const port = await freePort();
  const driver = spawn(DRIVER, [`--port=${port}`], { stdio: "ignore" });
  const folder = mkdtempSync(join(tmpdir(), "page-"));
  const ask = async (method, path, body) => {
    const answer = await fetch(`http://127.0.0.1:${port}${path}`, { method, body: body && JSON.stringify(body) });
    const { value } = await answer.json();
    if (!answer.ok) throw new Error(`${path}: ${value?.message ?? answer.status}`);
    return value;
  };
  for (const since = Date.now(); ; ) {
    try {
      if ((await ask("GET", "/status")).ready) break;
    } catch {
      if (Date.now() - since > STARTS_WITHIN) throw new Error("the driver does not start");
    }
    await sleep(50);
  }
  const args = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--force-color-profile=srgb", "--homepage=about:blank", `--user-data-dir=${folder}`, `--window-size=${size}`];
  const capabilities = {
    alwaysMatch: {
      browserName: "chrome",
      "goog:chromeOptions": { binary: BROWSER, args },
      "goog:loggingPrefs": { browser: "ALL", performance: "ALL" },
    },
  };
  const { sessionId } = await ask("POST", "/session", { capabilities });
  const path = `/session/${sessionId}`;
  const browser = {
    go: (url) => ask("POST", `${path}/url`, { url }),
    /** Runs a function in the page. */
    run: (f, ...list) => ask("POST", `${path}/execute/sync`, { script: `return (${f})(...arguments)`, args: list }),
    cdp: (cmd, params = {}) => ask("POST", `${path}/goog/cdp/execute`, { cmd, params }),
    element: async (css) => (await ask("POST", `${path}/element`, { using: "css selector", value: css }))[ELEMENT],
    click: async (css) => ask("POST", `${path}/element/${await browser.element(css)}/click`, {}),
    /** Sends keys to what has the focus. */
    keys: async (...list) => {
      const actions = list.flatMap((value) => [
        { type: "keyDown", value },
        { type: "keyUp", value },
      ]);
      await ask("POST", `${path}/actions`, { actions: [{ type: "key", id: "keys", actions }] });
    },
    /** Keys held together. */
    chord: async (...list) => {
      const actions = [...list.map((value) => ({ type: "keyDown", value })), ...list.toReversed?.().map((value) => ({ type: "keyUp", value }))];
      await ask("POST", `${path}/actions`, { actions: [{ type: "key", id: "keys", actions }] });
    },
    /** Moves the pointer over an element, to a share of its width and height; `then` are further pointer actions. */
    point: async (css, [x, y], ...then) => {
      const box = await browser.run((c) => {
        const r = document.querySelector(c).getBoundingClientRect();
        return [r.left, r.top, r.width, r.height];
      }, css);
      const at = ([a, b]) => ({ type: "pointerMove", duration: 0, x: Math.round(box[0] + a * box[2]), y: Math.round(box[1] + b * box[3]) });
      const actions = [at([x, y]), ...then.map((a) => (Array.isArray(a) ? at(a) : a))];
      await ask("POST", `${path}/actions`, { actions: [{ type: "pointer", id: "mouse", parameters: { pointerType: "mouse" }, actions }] });
    },
    /** Two fingers on an element, each from one share of its size to another. */
    pinch: async (css, ...fingers) => {
      const box = await browser.run((c) => {
        const r = document.querySelector(c).getBoundingClientRect();
        return [r.left, r.top, r.width, r.height];
      }, css);
      const at = ([a, b], duration) => ({ type: "pointerMove", duration, x: Math.round(box[0] + a * box[2]), y: Math.round(box[1] + b * box[3]) });
      const actions = fingers.map(([from, to], i) => ({
        type: "pointer",
        id: `finger${i}`,
        parameters: { pointerType: "touch" },
        actions: [at(from, 0), { type: "pointerDown", button: 0 }, at(to, 200), { type: "pointerUp", button: 0 }],
      }));
      await ask("POST", `${path}/actions`, { actions });
    },
    wheel: async (css, deltaY) => {
      const origin = { [ELEMENT]: await browser.element(css) };
      const actions = [{ type: "scroll", x: 0, y: 0, deltaX: 0, deltaY, duration: 0, origin }];
      await ask("POST", `${path}/actions`, { actions: [{ type: "wheel", id: "wheel", actions }] });
    },
    screenshot: async () => Buffer.from(await ask("GET", `${path}/screenshot`), "base64"),
    print: async () => Buffer.from(await ask("POST", `${path}/print`, { background: true, page: { width: 21, height: 29.7 }, shrinkToFit: false }), "base64"),
    /** Lines of the console, and what a document requested, since the last call. */
    log: async () => ask("POST", `${path}/se/log`, { type: "browser" }),
    requests: async (document) => {
      const lines = await ask("POST", `${path}/se/log`, { type: "performance" });
      return lines
        .map((l) => JSON.parse(l.message).message)
        .filter((m) => m.method === "Network.requestWillBeSent" && m.params.documentURL === document)
        .map((m) => m.params.request.url);
    },
    size: (width, height) => browser.cdp("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: 1, mobile: false }),
    /** `scheme` is light or dark, `motion` is reduce or no-preference. */
    media: (scheme, motion = "no-preference", media = "") =>
      browser.cdp("Emulation.setEmulatedMedia", {
        media,
        features: [
          { name: "prefers-color-scheme", value: scheme },
          { name: "prefers-reduced-motion", value: motion },
        ],
      }),
    stop: async () => {
      try {
        await ask("DELETE", path);
      } catch {
        // The browser is gone already.
      }
      driver.kill();
      rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
    },
  };
  return browser;
};
