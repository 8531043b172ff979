"""Every package that the program is built from has a licence that deny.toml allows, and comes from a registry.

Needs Python 3.11 and cargo only, no network. Exit status 1 with one line for each package that is not allowed.
"""

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def allowed(expression: str, allow: set[str]) -> bool:
    """Whether an SPDX expression (SPDX 2.3, annex D) can be met with allowed licences. `/` is an old form of OR."""
    tokens = re.findall(r"[()]|[^\s()/]+", expression.replace("/", " OR "))

    def either() -> bool:
        met = both()
        while tokens and tokens[0] == "OR":
            tokens.pop(0)
            other = both()
            met = met or other
        return met

    def both() -> bool:
        met = one()
        while tokens and tokens[0] == "AND":
            tokens.pop(0)
            other = one()
            met = met and other
        return met

    def one() -> bool:
        token = tokens.pop(0)
        if token == "(":
            met = either()
            tokens.pop(0)
            return met
        name = token
        if tokens and tokens[0] == "WITH":
            tokens.pop(0)
            name += " WITH " + tokens.pop(0)
        return name in allow

    return either()


def main() -> int:
    allow = set(tomllib.loads((ROOT / "deny.toml").read_text())["licenses"]["allow"])
    # The check itself: an expression that must fail, and ones that must not.
    assert allowed("MIT", {"MIT"}) and not allowed("GPL-3.0", {"MIT"})
    assert not allowed("MIT AND GPL-3.0", {"MIT"}) and allowed("(GPL-3.0 OR MIT) AND MIT", {"MIT"})
    command = ["cargo", "metadata", "--format-version", "1", "--locked"]
    packages = json.loads(subprocess.run(command, cwd=ROOT, check=True, capture_output=True).stdout)["packages"]
    wrong = 0
    for package in packages:
        what = f"{package['name']} {package['version']}"
        licence = package["license"]
        if not licence or not allowed(licence, allow):
            print(f"{what}: the licence {licence} is not allowed by deny.toml")
            wrong += 1
        source = package["source"]
        if source is not None and not source.startswith("registry+"):
            print(f"{what}: comes from {source.split('#')[0]}, not from a registry")
            wrong += 1
    print(f"{len(packages)} packages, {wrong} not allowed")
    return 1 if wrong else 0


sys.exit(main())
