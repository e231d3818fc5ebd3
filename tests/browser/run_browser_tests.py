#!/usr/bin/env python3
"""run_browser_tests.py DWELLOG WRITE_PAGE_FILES FOLDER: the page in a real browser, first against a site
that the test decides, then against a running daemon. Everything it makes or installs goes below
FOLDER. Exit 77 = skipped, with the reason. DWELLOG_PICTURES=FOLDER keeps pictures for people."""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
from invented_site import make_site  # noqa: E402
from page_client import Daemon  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
DWELLOG, PAGE_FILES, FOLDER = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
PACKAGES = FOLDER / "packages"


def skip(reason):
    print(f"skipped: {reason}")
    sys.exit(77)


def program(*names):
    for name in names:
        if shutil.which(name):
            return shutil.which(name)
    return skip(f"{' or '.join(names)} is not installed")


def install_packages():
    wanted = (HERE / "package.json").read_text()
    kept = PACKAGES / "package.json"
    if kept.exists() and kept.read_text() == wanted and (PACKAGES / "node_modules").is_dir():
        return
    npm = program("npm")
    PACKAGES.mkdir(parents=True, exist_ok=True)
    kept.write_text(wanted)
    try:
        subprocess.run([npm, "install", "--no-package-lock", "--no-audit", "--no-fund", "--ignore-scripts",
                        "--fetch-retries=0", "--fetch-timeout=60000"],
                       cwd=PACKAGES, capture_output=True, timeout=120, check=True)
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
        kept.unlink()
        skip("npm could not install the packages of tests/browser/package.json")


def node(test, **more):
    environment = {**os.environ, "DWELLOG_PACKAGES": str(PACKAGES), "DWELLOG_CHROMIUM": CHROMIUM,
                   "DWELLOG_PAGE_FILES": PAGE_FILES, **more}
    return subprocess.Popen([NODE, "--test", str(HERE / test)], env=environment)


NODE = program("node", "nodejs")
CHROMIUM = program("chromium", "chromium-browser")
install_packages()
with tempfile.TemporaryDirectory(dir=FOLDER) as scratch:
    os.environ["DWELLOG_SCRATCH"] = scratch
    site = make_site(pathlib.Path(scratch))
    with Daemon(DWELLOG, site["job"]):
        of_daemon = node("page_actions_test.mjs", DWELLOG_SITE=json.dumps({**site, "job": str(site["job"])}))
        of_stub = [node("page_states_test.mjs"), node("page_notes_test.mjs")]
        statuses = [test.wait() for test in (of_daemon, *of_stub)]
sys.exit(1 if any(statuses) else 0)
