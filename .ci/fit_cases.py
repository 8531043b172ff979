"""Fits the drawn cases and holds what comes back: the planted faults go, views that agreed stay, nothing gets worse.

Usage: fit_cases.py PROGRAM CASES
"""

import json
import pathlib
import subprocess
import sys
import tempfile

# A fault is gone where the 95th percentile of the outer width is below a fifth of what it was, or below this percentage
# of the figure's height.
GONE_PCT = 0.3
# The drawn views of this one contradict each other: the mesh can only take the mean.
CONTRADICTING = {"no-captions-uneven-views"}
# Parts are missing on purpose: nothing else is off, and nothing may move far.
UNFINISHED = {"unfinished-body", "unfinished-no-height"}
# What falls short, with its reason: the crotch of legs that touch rises only in part.
KNOWN = {("light-on-dark-two-files", "findings"), ("arms-hang-mesh-agrees", "width")}


def vertices(text):
    return [line for line in text.splitlines() if line.startswith("v ")]


def others(text):
    return [line for line in text.splitlines() if not line.startswith("v ")]


def main(program, cases):
    failed = []
    for folder in sorted(pathlib.Path(cases).iterdir()):
        truth = folder / "truth.json"
        if not truth.is_file():
            continue
        truth = json.loads(truth.read_text())
        name = folder.name
        if truth.get("kind") not in ("drawing", "arms") or name == "unreadable-sheet":
            continue
        with tempfile.TemporaryDirectory() as out:
            fitted = pathlib.Path(out) / "fitted.obj"
            command = [program, "fit", str(folder / "mesh.obj"), "--quiet", "--no-page", "--out", out]
            command += ["--mesh-out", str(fitted)]
            for view, image in truth["images"].items():
                command += [f"--{view}", str(folder / image)]
            command += truth.get("args") or []
            if name in UNFINISHED:
                command.append("--unfinished")
            done = subprocess.run(command, capture_output=True, text=True)
            problems = []
            if done.returncode not in (0, 1):
                failed.append(f"{name}: {done.stderr.strip()}")
                continue
            report = json.loads((pathlib.Path(out) / "report.json").read_text())
            fit, height = report["fit"], report["figure_height"]
            before, after = (folder / "mesh.obj").read_text(), fitted.read_text()
            if others(before) != others(after) or len(vertices(before)) != len(vertices(after)):
                problems.append(("file", "other lines than vertices changed"))
            width = lambda v: 100 * v["outer_diff_p95_abs"] / height
            for view, was in fit["before"].items():
                now = fit["after"][view]
                limit = max(width(was) / 5, GONE_PCT)
                # Where nothing was off the width stays what it was.
                limit = max(limit, width(was) if width(was) < 1 else 0)
                if name not in CONTRADICTING | UNFINISHED and view != "three-quarter" and width(now) > limit:
                    problems.append(("width", f"{view} {width(was):.2f} to {width(now):.2f} %, limit {limit:.2f}"))
            if fit["worse"] and name not in CONTRADICTING:
                problems.append(("worse", "; ".join(fit["worse"])))
            if name not in CONTRADICTING | UNFINISHED and report["verdict"] != "on-model":
                problems.append(("findings", report["verdict"]))
            if name in UNFINISHED and fit["largest_move"] > 0.0026 * height:
                problems.append(("moved", f"{100 * fit['largest_move'] / height:.2f} % of the height"))
            told = [f"{what}: {text}" for what, text in problems if (name, what) not in KNOWN]
            known = [text for what, text in problems if (name, what) in KNOWN]
            print("ok  " if not told else "FAIL", name, "; ".join(told), f"(known: {'; '.join(known)})" if known else "")
            failed += [f"{name}: {t}" for t in told]
    for line in failed:
        print(line, file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
