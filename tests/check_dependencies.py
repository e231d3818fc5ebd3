#!/usr/bin/env python3
"""Checks every #include of the project against the arrows of docs/architecture.md (A may include B)."""
import pathlib
import re
import sys

ARROWS = {
    "firmware-sim/core": [],
    "firmware-sim/target": ["firmware-sim/core"],
    "firmware-sim/sim": ["firmware-sim/core", "analysis/base"],
    "analysis/base": [],
    "analysis/physics": ["analysis/base"],
    "analysis/readiness": ["analysis/physics", "analysis/base"],
    "analysis/alerts": ["analysis/readiness", "analysis/base"],
    "analysis/evidence": ["analysis/base"],
    "analysis/timestamp": ["analysis/evidence", "analysis/base"],
    "analysis/drawing": ["analysis/base"],
    "analysis/certificate": ["analysis/readiness", "analysis/evidence", "analysis/drawing", "analysis/base"],
    "analysis/plan": ["analysis/readiness", "analysis/physics", "analysis/drawing", "analysis/base"],
    "logger/store": ["analysis/base", "analysis/evidence"],
    "logger/transfer": ["logger/store", "analysis/base"],
    "logger/ingest": ["firmware-sim/core", "logger/store", "analysis/base"],
    "logger/notify": ["logger/store", "logger/transfer", "analysis/alerts", "analysis/base"],
    "logger/anchor": ["logger/store", "logger/transfer", "analysis/timestamp", "analysis/evidence", "analysis/base"],
    "logger/verify": ["analysis/certificate", "analysis/timestamp", "analysis/evidence", "analysis/base"],
    "logger/web/http": ["logger/store", "analysis/base"],
    "logger/web/access": ["logger/store", "analysis/evidence", "analysis/base"],
    "logger/web/site": ["logger/web/access", "logger/store", "analysis/base"],
    "logger/web/page": ["logger/web/site", "logger/web/access", "logger/store", "analysis/drawing", "analysis/base"],
    "logger/web/api": ["logger/web/site", "logger/store", "analysis/base"],
    "logger/web/handler": ["logger/web/http", "logger/web/access", "logger/web/site", "logger/web/page", "logger/web/api",
                           "logger/store", "analysis/base"],
    "logger/app": ["*"],
    "tests": ["*"],
}
# The master may use the box's codec, never the box.
CODEC_ONLY = {"wire_format.hpp", "modbus_frame.hpp", "record_codec.hpp", "crc.hpp"}
INCLUDE = re.compile(r'^\s*#\s*include\s*"([^"]+)"')


def folder_of(path):
    for folder in sorted(ARROWS, key=len, reverse=True):
        if path.startswith(folder + "/"):
            return folder
    return None


def main():
    root = pathlib.Path(sys.argv[1] if len(sys.argv) > 1 else ".")
    errors = []
    seen = 0
    for source in sorted(p for top in ("firmware-sim", "analysis", "logger", "tests")
                         for p in (root / top).rglob("*.[ch]pp")):
        name = source.relative_to(root).as_posix()
        here = folder_of(name)
        if here is None:
            errors.append(f"{name}: its folder has no row in the arrows")
            continue
        for number, line in enumerate(source.read_text().splitlines(), 1):
            match = INCLUDE.match(line)
            if not match:
                continue
            seen += 1
            there = folder_of(match.group(1))
            if there is None:
                errors.append(f"{name}:{number}: include \"{match.group(1)}\" by its path from the project root")
            elif there == "tests" and here != "tests":
                errors.append(f"{name}:{number}: nothing may include tests")
            elif there != here and "*" not in ARROWS[here] and there not in ARROWS[here]:
                errors.append(f"{name}:{number}: {here} may not include {there}")
            elif (here == "logger/ingest" and there == "firmware-sim/core"
                  and pathlib.PurePath(match.group(1)).name not in CODEC_ONLY):
                errors.append(f"{name}:{number}: ingest may include only the codec of core")
    for top in sorted(p.name for p in root.iterdir() if not p.name.startswith(".")):
        if top not in {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE", "firmware-sim", "logger",
                       "analysis", "tests", "hardware", "docs", "build"} and not top.startswith("build"):
            errors.append(f"{top}: not one of the fixed top-level names")
    print("\n".join(errors) if errors else f"{seen} includes follow the arrows")
    if seen < 50:
        print(f"only {seen} includes seen: the check looked at the wrong folder")
        return 1
    return 1 if errors else 0


sys.exit(main())
