"""What the companion stands on, and what it must not carry: `python -m tests.security`.

Writes a bill of materials of the environment (CycloneDX) to out/sbom.json, looks for secrets in the
tree, and asks the package index for known vulnerabilities. Ends with 1 when something is found. An
index that gives no answer is said, and counts as nothing known: without a network this one question
stays open.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
SBOM = ROOT / "out" / "sbom.json"
BIN = Path(sys.executable).parent
# Hashes and chains of them are everywhere in a record's tests; these two take each for a key.
NOT_FOR_HASHES = ("HexHighEntropyString", "Base64HighEntropyString")


def bill_of_materials() -> int:
    """Write the bill; how many components it lists."""
    SBOM.parent.mkdir(exist_ok=True)
    command = [BIN / "cyclonedx-py", "environment", "--of", "JSON", "-o", SBOM, BIN.parent]
    subprocess.run(command, check=True, capture_output=True)
    return len(json.loads(SBOM.read_text(encoding="utf-8"))["components"])


def secrets() -> dict[str, Any]:
    """Files that seem to hold a key or password."""
    skipped = [part for name in NOT_FOR_HASHES for part in ("--disable-plugin", name)]
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, check=True, capture_output=True)
    files = listed.stdout.decode().splitlines()
    command = [BIN / "detect-secrets", "scan", *skipped, *files]
    found = subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    return dict(json.loads(found.stdout)["results"])


def vulnerabilities() -> tuple[list[str], int]:
    """Packages with a known vulnerability, and how many the index told nothing of."""
    command = [BIN / "pip-audit", "--skip-editable", "-f", "json", "--progress-spinner", "off"]
    told = subprocess.run(command, capture_output=True, check=False)
    if not told.stdout:
        raise SystemExit(f"security: pip-audit gave nothing: {told.stderr.decode()[-500:]}")
    packages = json.loads(told.stdout)["dependencies"]
    bad = [
        f"{package['name']} {package['version']}: {fault['id']}"
        for package in packages
        for fault in package.get("vulns", ())
    ]
    return bad, sum("skip_reason" in package for package in packages)


def main() -> int:
    """All three; 1 when something was found."""
    print(f"security: {bill_of_materials()} components in {SBOM.relative_to(ROOT)}")
    keys = secrets()
    for name, found in keys.items():
        print(f"security: {name} line {found[0]['line_number']}: {found[0]['type']}")
    bad, silent = vulnerabilities()
    for line in bad:
        print(f"security: {line}")
    if silent:
        print(f"security: NOT AUDITED: the index told nothing of {silent} packages")
    print(f"security: {len(keys)} secrets, {len(bad)} known vulnerabilities")
    return 1 if keys or bad else 0


if __name__ == "__main__":
    sys.exit(main())
