// The course over earlier checks in the page, and the page of a cast, in a real browser: node --test tests/page, with the
// program built (DRAWNTRUE names it, target/release otherwise).

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";

import { sleep, start } from "./driver.mjs";

const ROOT = new URL("../..", import.meta.url).pathname;
const PROGRAM = process.env.DRAWNTRUE ?? join(ROOT, "target/release/drawntrue");
const MESH = join(ROOT, "refs/tamsel.obj");
const SHEET = join(ROOT, "refs/tamsel-sheet.png");
const HOSTILE = `x' onerror=window.harm=1 & "quoted"`;

const folder = mkdtempSync(join(tmpdir(), "drawntrue-course-"));
const out = join(folder, "out");
let browser;

const run = (...args) => {
  const done = spawnSync(PROGRAM, args, { cwd: ROOT, encoding: "utf8", maxBuffer: 1 << 26 });
  assert.ok([0, 1, 2].includes(done.status), done.stderr);
  return done;
};

/** The demo's mesh with all that lies above the neck moved back: its head sits 3.6 too far forward. */
const moved = (by) => {
  const to = join(folder, "tamsel.obj");
  const lines = readFileSync(MESH, "utf8").split("\n");
  const move = (line) => {
    const [, x, y, z] = line.split(/\s+/);
    return Number(y) > 106 ? `v ${x} ${y} ${Number(z) - by}` : line;
  };
  writeFileSync(to, lines.map((l) => (l.startsWith("v ") ? move(l) : l)).join("\n"));
  return to;
};

const all = (css) => browser.run((c) => [...document.querySelectorAll(c)].map((n) => n.textContent), css);
const open = async (file, scheme = "light") => {
  await browser.size(1440, 900);
  await browser.media(scheme);
  await browser.go(pathToFileURL(file).href);
  await sleep(120);
};

before(async () => {
  for (const [by, name] of [[0, "first"], [1.8, "half way"], [3.6, "there"]]) {
    run("check", moved(by), "--sheet", SHEET, "--unit", "cm", "--out", out, "--quiet", "--as", name);
  }
  browser = await start();
});

after(async () => {
  await browser?.stop();
  rmSync(folder, { recursive: true, force: true });
});

test("the page shows the course, and asks for nothing", async () => {
  await browser.log();
  await open(join(out, "report.html"));
  assert.deepEqual(await browser.log(), []);
  assert.equal((await all(".course-dot.outside")).length, 3);
  const rows = await all(".course-table tbody tr");
  assert.equal(rows.length, 3);
  assert.ok(rows[0].includes("this one") && rows[0].includes("there") && rows[2].includes("first"), rows.join("\n"));
});

test("what changed is what progress says, since the last check and since a chosen one", async () => {
  const told = JSON.parse(run("progress", out, "--since", "first", "--json").stdout);
  assert.deepEqual(told.points.map((p) => p.name), ["first", "half way", "there"]);
  assert.deepEqual(told.since.map((s) => s.number), [2, 1]);
  const head = told.since[1].changes.findings.find((f) => f.view === "side" && f.number_was === 1);
  assert.ok(["gone", "better"].includes(head.how) && head.parts.includes("head"), JSON.stringify(head));
  await open(join(out, "report.html"));
  for (const { number, changes } of told.since) {
    await browser.run((n) => {
      const choice = document.getElementById("course-since");
      choice.value = String(n);
      choice.dispatchEvent(new Event("change"));
    }, number);
    const words = (await all(".course-list li")).join("\n").toLowerCase();
    const changed = changes.findings.filter((f) => f.how !== "stayed");
    assert.equal((await all(".course-list li")).length, changed.length + changes.others_new.length + changes.others_gone.length);
    for (const f of changed) assert.ok(words.includes(f.text.split("; ")[0]) && words.includes(f.how), `${f.text}\n${words}`);
  }
});

test("the first page of a folder has no course, and --no-history none either", async () => {
  const alone = join(folder, "alone");
  for (const more of [[], ["--no-history"]]) {
    run("check", MESH, "--sheet", SHEET, "--out", alone, "--quiet", ...more);
    await open(join(alone, "report.html"));
    assert.deepEqual(await all(".course"), []);
  }
});

test("the page of a cast opens without an error, its links lead to the characters' pages, names are text", async () => {
  const cast = join(folder, "cast.toml");
  const one = (name, mesh) => `[[character]]\nname = ${JSON.stringify(name)}\nmesh = ${JSON.stringify(mesh)}\nsheet = ${JSON.stringify(SHEET)}\n`;
  const fit = HOSTILE.replaceAll('"', "“");
  writeFileSync(cast, one("Tamsel", MESH) + one(fit, MESH) + one("Absent", join(folder, "<b>none.obj")));
  const show = join(folder, "show");
  assert.equal(run("check", "--cast", cast, "--out", show, "--quiet").status, 2);
  await browser.log();
  for (const scheme of ["light", "dark"]) {
    await open(join(show, "cast.html"), scheme);
    assert.deepEqual(await browser.log(), []);
    assert.equal(await browser.run(() => window.harm === undefined && document.querySelectorAll("script, b").length), 0);
    assert.ok(await browser.run(() => document.querySelector(".standing img").naturalWidth === 1920));
    assert.ok(await browser.run(() => document.documentElement.scrollWidth <= innerWidth));
  }
  const names = await all(".characters tbody th");
  assert.ok(names.includes(fit) && names[0] === "Absent", names.join("\n"));
  const links = await browser.run(() => [...document.querySelectorAll(".characters a")].map((a) => a.href));
  assert.equal(links.length, 2);
  for (const link of links) {
    await browser.go(link);
    await sleep(120);
    assert.equal((await all("h1"))[0], "Off model");
  }
});
