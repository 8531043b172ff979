// The page while it is served, in a real browser: node --test tests/page/watch.test.mjs, with the program built (DRAWNTRUE
// names it, target/release otherwise).
//
// Outside references: WCAG 2.2 (W3C; contrast 1.4.3, flashes 2.3.1, status messages 4.1.3), Content Security Policy Level 3
// (W3C), the browser itself.

import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import { copyFileSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";

import { KEYS, sleep, start } from "./driver.mjs";

const ROOT = new URL("../..", import.meta.url).pathname;
const PROGRAM = process.env.DRAWNTRUE ?? join(ROOT, "target/release/drawntrue");
/** Milliseconds after which something that has not happened does not happen. */
const NEVER = 30_000;

const folder = mkdtempSync(join(tmpdir(), "drawntrue-watch-"));
const source = readFileSync(join(ROOT, "refs/tamsel.obj"), "utf8");
let browser;
let program;

/** Starts the program on a mesh of its own and gives its address and a way to end it. */
const watch = async (name, obj, ...more) => {
  const mesh = join(folder, `${name}.obj`);
  writeFileSync(mesh, obj);
  const child = spawn(PROGRAM, ["watch", mesh, "--sheet", join(folder, "sheet.png"), "--unit", "cm", "--out", join(folder, name), ...more], { stdio: ["pipe", "pipe", "inherit"] });
  let said = "";
  child.stdout.on("data", (d) => (said += d));
  for (const since = Date.now(); !/\n {2}1 {2}/.test(said); await sleep(20)) assert.ok(Date.now() - since < NEVER, said);
  const ended = new Promise((done) => child.on("exit", done));
  return { mesh, url: said.match(/http:\/\/\S+/)[0], end: (signal = "SIGINT") => (child.kill(signal), ended) };
};

/** The mesh with its vertices moved. */
const moved = (obj, move) =>
  obj
    .split("\n")
    .map((l) => (l.startsWith("v ") ? `v ${move(...l.slice(2).trim().split(/\s+/).map(Number)).map((v) => v.toFixed(6)).join(" ")}` : l))
    .join("\n");

const text = (css) => browser.run((c) => document.querySelector(c)?.textContent ?? null, css);
const all = (css) => browser.run((c) => [...document.querySelectorAll(c)].map((n) => n.textContent), css);
/** Waits until something holds in the page. */
const until = async (f, ...list) => {
  for (const since = Date.now(); ; await sleep(20)) {
    const value = await browser.run(f, ...list);
    if (value) return value;
    assert.ok(Date.now() - since < NEVER, `it never holds: ${f}`);
  }
};
const shown = (number) => until((n) => document.querySelector(".live-words")?.textContent.includes(`No. ${n},`), number);

before(async () => {
  copyFileSync(join(ROOT, "refs/tamsel-sheet.png"), join(folder, "sheet.png"));
  program = await watch("demo", source);
  browser = await start();
  await browser.size(1440, 900);
  await browser.media("light", "reduce");
});

after(async () => {
  await browser?.stop();
  await program?.end();
  rmSync(folder, { recursive: true, force: true });
});

test("it follows a save without being loaded anew; zoom, place, row and view stay", async () => {
  await browser.log();
  await browser.go(program.url);
  await until(() => document.documentElement.classList.contains("ready"));
  await browser.run(() => (window.kept = 1));
  await browser.click("[data-view=side]");
  await browser.run(() => document.querySelector(".closer").scrollIntoView());
  await browser.run(() => document.querySelector("#picture").focus());
  await browser.keys("+", "+", "+", KEYS.down, KEYS.down, KEYS.down);
  await browser.chord(KEYS.shift, KEYS.up);
  await browser.click("input[value=wipe]");
  const place = () =>
    browser.run(() => ({
      kept: window.kept,
      zoom: document.querySelector(".zoom-level").textContent,
      row: document.querySelector(".row-height").textContent,
      view: document.querySelector("[role=tab][aria-selected=true]").dataset.view,
      mode: document.querySelector("[name=mode]:checked").value,
      focus: document.activeElement.getAttribute("value"),
      stage: Math.round(document.querySelector(".stage").getBoundingClientRect().top),
      figure: document.querySelector(".stage .mesh-line").parentNode.getAttribute("transform"),
    }));
  const was = await place();
  // A wider thigh in the front view: the side view's outline, and so its extent, stays.
  writeFileSync(program.mesh, moved(source, (x, y, z) => [x * (y > 28 && y < 45 ? 1.25 : 1), y, z]));
  await shown(2);
  assert.deepEqual(await place(), was);
  // The new result it is: the front view has more findings than before.
  assert.ok((await all(".change")).some((t) => /^(New|Worse)/.test(t)));
  assert.deepEqual(await browser.log(), []);
});

test("what is better, worse and stayed stands on the first screen, and leads to its place", async () => {
  writeFileSync(program.mesh, moved(source, (x, y, z) => [x * (y > 28 && y < 45 ? 1.1 : 1), y, z]));
  await shown(3);
  await browser.run(() => scrollTo(0, 0));
  const list = await all(".changes .change");
  assert.ok(list.some((t) => /^(Better|Gone)/.test(t)), list.join("\n"));
  assert.ok((await text(".stayed")).startsWith("Stayed"));
  const bottom = await browser.run(() => document.querySelector(".changes").getBoundingClientRect().bottom);
  assert.ok(bottom < 900, `${bottom}`);
  await browser.click(".changes .change button");
  assert.equal(await text("[role=tab][aria-selected=true]").then((t) => t.startsWith("Front")), true);
  assert.notEqual(await text(".zoom-level"), "1.0×");
  // The mesh before is drawn, and bars say where it moved.
  assert.ok(await browser.run(() => document.querySelector(".stage .was-line").getAttribute("d").length > 100));
  assert.ok((await browser.run(() => document.querySelectorAll(".moved-bar.better").length)) > 0);
  // Against the first version it is worse.
  await browser.run(() => scrollTo(0, 0));
  await browser.click("[name=since][value=pin]");
  assert.ok((await all(".changes .change")).some((t) => /^(New|Worse)/.test(t)));
  await browser.click("[name=since][value=save]");
});

test("keys and buttons pin and place", async () => {
  await browser.keys("p");
  await until(() => document.querySelector("[data-act=pin]").textContent.startsWith("Pinned"));
  writeFileSync(program.mesh, moved(source, (x, y, z) => [1.03 * x, 1.03 * y, 1.03 * z]));
  await shown(4);
  assert.match(await text(".live-words"), /placement held/);
  const height = await text("h1 + .lede");
  await browser.click("[data-act=place]");
  await shown(5);
  assert.doesNotMatch(await text(".live-words"), /placement held/);
  assert.notEqual(await text("h1 + .lede"), height);
  writeFileSync(program.mesh, source);
  await shown(6);
  await browser.keys("f");
  await shown(7);
});

test("a broken file shows its error, the last good result stays, and the next save mends it", async () => {
  const words = await all(".finding-head");
  writeFileSync(program.mesh, "v 1 2\n");
  await until(() => !document.querySelector(".live-trouble").hidden);
  assert.match(await text(".live-trouble"), /demo\.obj: line 1: .*The last good result stays/);
  assert.equal(await browser.run(() => document.querySelector(".live-trouble").getAttribute("role")), "alert");
  assert.deepEqual(await all(".finding-head"), words);
  writeFileSync(program.mesh, moved(source, (x, y, z) => [x, y, z * (y > 28 && y < 45 ? 1.1 : 1)]));
  await shown(8);
  assert.equal(await browser.run(() => document.querySelector(".live-trouble").hidden), true);
});

test("however fast somebody saves, pictures change less than three times a second", async () => {
  await browser.run(() => {
    window.changes = [];
    new MutationObserver(() => window.changes.push(performance.now())).observe(document.getElementById("page"), { childList: true });
  });
  for (let k = 0; k < 40; k++) {
    writeFileSync(program.mesh, moved(source, (x, y, z) => [x * (1 + 0.001 * k), y, z]));
    await sleep(50);
  }
  await sleep(2000);
  const times = await browser.run(() => window.changes);
  assert.ok(times.length >= 3, `${times.length} pictures`);
  for (let i = 3; i < times.length; i++) assert.ok(times[i] - times[i - 3] > 1000, `${times}`);
  // The last save it is that is shown.
  writeFileSync(program.mesh, source);
  await until(() => document.querySelectorAll(".change").length > 0);
});

test("nothing is dropped that is being dragged, and it follows afterwards", async () => {
  const number = () => text(".live-words").then((t) => Number(t.match(/No\. (\d+)/)[1]));
  await sleep(1500);
  const was = await number();
  await browser.run(() => document.querySelector(".closer").scrollIntoView());
  await browser.point("#picture", [0.3, 0.5], { type: "pointerDown", button: 0 });
  writeFileSync(program.mesh, moved(source, (x, y, z) => [x * 1.02, y, z]));
  await sleep(1500);
  assert.equal(await number(), was);
  await browser.point("#picture", [0.3, 0.55], { type: "pointerUp", button: 0 });
  await until((n) => Number(document.querySelector(".live-words").textContent.match(/No\. (\d+)/)[1]) > n, was);
});

test("it fits beside a modelling window, and texts keep their contrast in both schemes", async () => {
  for (const scheme of ["light", "dark"]) {
    await browser.media(scheme, "reduce");
    await browser.size(480, 1000);
    await sleep(150);
    const [page, screen] = await browser.run(() => [document.documentElement.scrollWidth, innerWidth]);
    assert.ok(page <= screen, `${page} > ${screen}`);
    const low = await browser.run(() => {
      const channels = (c) => c.match(/[\d.]+/g).slice(0, 3).map(Number);
      // WCAG 2.2, relative luminance and contrast ratio.
      const light = (c) => {
        const [r, g, b] = channels(c).map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
      };
      const ground = (n) => {
        for (let e = n; e; e = e.parentElement) {
          const c = getComputedStyle(e).backgroundColor;
          if (!c.endsWith(", 0)")) return c;
        }
        return getComputedStyle(document.documentElement).backgroundColor;
      };
      return [...document.querySelectorAll(".live-words, .live button, .how, .change-head, .change-amount span, .since span, .fares, .stayed .how")]
        .filter((n) => n.getClientRects().length)
        .map((n) => {
          const [a, b] = [light(getComputedStyle(n).color), light(ground(n))].sort((x, y) => y - x);
          return [(a + 0.05) / (b + 0.05), n.className, n.textContent];
        })
        .filter(([ratio]) => ratio < 4.5);
    });
    assert.deepEqual(low, [], scheme);
  }
  await browser.media("light", "reduce");
  await browser.size(1440, 900);
});

test("from save to new picture with a mesh of some 50,000 quads", async (t) => {
  const fine = join(folder, "fine.obj");
  const made = spawnSync(PROGRAM, ["smooth", join(ROOT, "refs/tamsel.obj"), "--steps", "2", "--mesh-out", fine], { encoding: "utf8" });
  assert.equal(made.status, 0, made.stderr);
  const obj = readFileSync(fine, "utf8");
  const other = await watch("watched", obj);
  try {
    await browser.go(other.url);
    await sleep(2500);
    await browser.run(() => {
      window.painted = [];
      const page = document.getElementById("page");
      // The frame after the change has been handed on: twice a frame's callback.
      new MutationObserver(() => requestAnimationFrame(() => setTimeout(() => window.painted.push(Date.now())))).observe(page, { childList: true });
    });
    const took = [];
    for (let k = 1; k <= 30; k++) {
      const next = moved(obj, (x, y, z) => [x * (1 + 0.002 * (k % 13)), y, z]);
      writeFileSync(`${other.mesh}.new`, next);
      if (k % 2) renameSync(`${other.mesh}.new`, other.mesh);
      else writeFileSync(other.mesh, next);
      const saved = Date.now();
      await sleep(250);
      // Asked for seldom: the browser's answers take from the time that is measured.
      for (const since = Date.now(); (await browser.run(() => window.painted.length)) < k; await sleep(250)) assert.ok(Date.now() - since < NEVER);
      took.push((await browser.run(() => window.painted.at(-1))) - saved);
      await sleep(900);
    }
    took.sort((a, b) => a - b);
    const at = (share) => took[Math.round(share * (took.length - 1))];
    t.diagnostic(`${obj.match(/^f /gm).length} faces, ${took.length} saves: median ${at(0.5)} ms, 90 % within ${at(0.9)}, most ${at(1)}`);
    t.diagnostic(took.join(" "));
  } finally {
    assert.equal(await other.end(), 0);
  }
});

test("when the program stops, the page says so and keeps what it shows", async () => {
  await browser.go(program.url);
  await sleep(500);
  const words = await all(".finding-head");
  assert.equal(await program.end(), 0);
  await until(() => document.querySelector(".live").dataset.state === "stopped");
  assert.match(await text(".live-trouble"), /stopped/);
  assert.deepEqual(await all(".finding-head"), words);
  // Started again on the same port, the page goes on by itself.
  const port = new URL(program.url).port;
  program = await watch("demo", source, "--port", port);
  await until(() => document.querySelector(".live").dataset.state === "watching");
});
