#!/usr/bin/env bash
# Runs the README's main command on the demo and checks what it writes: just the three planted faults.
set -euo pipefail
cd "$(dirname "$0")/.."
out=target/ci-demo
rm -rf "$out"
status=0
target/release/drawntrue check refs/tamsel.obj --sheet refs/tamsel-sheet.png --unit cm --out "$out" || status=$?
[ "$status" = 1 ] || { echo "exit status $status, should be 1"; exit 1; }
python3 - "$out" <<'PY'
import json, pathlib, sys
out = pathlib.Path(sys.argv[1])
report = json.loads((out / "report.json").read_text())
assert report["schema"] == "drawntrue.report/1" and report["verdict"] == "off-model", report["verdict"]
for view in report["views"]:
    assert (out / f"overlay-{view['name']}.png").read_bytes()[:4] == b"\x89PNG", view["name"]
assert (out / "report.html").read_text().startswith("<!doctype html>")
assert (out / "rows.csv").read_text().startswith("view,y,drawing_left,")
for view in report["views"]:
    for f in view["findings"]:
        print(f"demo: {view['name']}: {f['kind']} {f['y_from']:.1f} to {f['y_to']:.1f}, {f['outer_diff']:.2f}")
# The waist shows in front and back; head and thighs in the side view only.
found = sorted((v["name"], f["kind"]) for v in report["views"] for f in v["findings"])
assert found == [("back", "thin"), ("front", "thin"), ("side", "shifted"), ("side", "thick")], found
PY
