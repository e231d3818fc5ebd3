#!/usr/bin/env python3
"""rehearse_test.py DWELLOG SIMULATOR: a whole rehearsal from outside; the job's folder stays as it is,
nobody is told. The job and the site are invented."""
import hashlib
import json
import os
import pathlib
import signal
import subprocess
import sys
import tempfile

DWELLOG, SIMULATOR = sys.argv[1:3]
ENVIRONMENT = {**os.environ, "PATH": f"{pathlib.Path(SIMULATOR).parent}:{os.environ['PATH']}"}
FAILURES = []
# From the evening on the cable is out for an hour, in the quiet hours of one recipient.
SCENARIO = """start 2026-03-02T19:00:00Z
length 5h
at 15min cartons arrive
from 1h30min to 3h unplug line 1
"""


def run(*words, environment=None):
    done = subprocess.run([DWELLOG, *map(str, words)], capture_output=True, text=True, check=False,
                          env=environment or ENVIRONMENT)
    return done.returncode, done.stdout, done.stderr


def check(good, what):
    if not good:
        FAILURES.append(what)


def digests(folder):
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.rglob("*") if path.is_file()}


def make_job(job, told):
    run("new", job, "--name", "House (invented)", "--port", "/dev/nothing-here", "--box-serial", "4711")
    text = (job / "job.json").read_text()
    alerts = {"recipients": [
        {"id": "crew", "command": ["sh", "-c", f"cat >> {told}"]},
        {"id": "boss", "command": ["sh", "-c", f"cat >> {told}"], "quiet_hours": {"from": "20:00", "to": "23:00"}}]}
    begin = text.index('"alerts": {')
    (job / "job.json").write_text(text[:begin] + '"alerts": ' + json.dumps(alerts) + "\n}\n")


def check_rehearsal(job, scenario):
    code, out, err = run("rehearse", job, scenario, "--json")
    check(code == 0, f"rehearse: {code} {err}")
    if code != 0:
        return
    report = json.loads(out)
    check(report["format"] == "dwellog-rehearsal/1" and report["simulated"] is True, f"head: {out[:200]}")
    silent = [t for t in report["tellings"] if t["alert_key"] == "probe_silent/box-1" and t["kind"] == "fired"]
    check({t["recipient"] for t in silent} == {"crew", "boss"}, f"who is told of silence: {silent}")
    for telling in silent:
        held = telling["recipient"] == "boss"
        check(telling["held_by_quiet_hours"] is held, f"held: {telling}")
        check((telling["due_at_utc"] == "2026-03-02T23:00:00Z") is held, f"due: {telling}")
    check(report["verdicts"] and report["verdicts"][0]["room"] == "living-room", f"verdicts: {report['verdicts']}")
    code, out, _ = run("rehearse", job, scenario)
    words = " ".join(out.split())
    check(code == 0 and "nothing was sent" in out and "held by quiet hours since 2026-03-02 2" in words
          and "to crew: fired" in out and "Nobody acknowledges" in out, f"text: {out}")
    check(max(map(len, out.splitlines())) <= 80, "a line is wider than 80 columns")


def check_never_ready(job, scenario):
    """In five hours no room becomes ready; the report says what was missing."""
    _, out, _ = run("rehearse", job, scenario, "--json")
    gates = {(g["room"], g["gate"]): g for g in json.loads(out).get("never_ready", [])}
    dwell = gates.get(("living-room", "dwell"), {})
    check(dwell.get("state") in ("not met", "unknown") and dwell.get("reason"), f"why never ready: {gates}")
    check(all(gate["state"] != "met" for gate in gates.values()), f"a met gate holds nothing up: {gates}")
    _, out, _ = run("rehearse", job, scenario)
    check("Never ready" in out and "living-room, dwell " in out, f"why never ready, as text: {out}")


def children_of(pid):
    return [int(p.parent.name) for p in pathlib.Path("/proc").glob("[0-9]*/stat")
            if (fields := text_or_nothing(p).rpartition(")")[2].split()) and int(fields[1]) == pid]


def text_or_nothing(path):
    try:
        return path.read_text()
    except OSError:
        return ""


def check_signal(job, scratch):
    """A signal ends the programs it started and takes the folder with its key away."""
    program = subprocess.Popen([DWELLOG, "rehearse", job, "all-goes-well"], stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True, env=ENVIRONMENT)
    children = []
    while program.poll() is None and not (len(children) == 2 and list(scratch.glob("*/job/readings.sqlite"))):
        children = children_of(program.pid)
    program.send_signal(signal.SIGTERM)
    out, err = program.communicate(timeout=60)
    check(len(children) == 2, f"it ended before it had both children: {children}")
    check(program.returncode == 4 and err.count("\n") == 1 and "SIGTERM" in err and not out,
          f"a signal: {program.returncode} {out} {err}")
    check(not [child for child in children if pathlib.Path(f"/proc/{child}").exists()], "children are left behind")


def check_full_disk(job, folder):
    """Where the scratch folder's disk is full, that is said; needs a file system of its own."""
    small = folder / "small"
    small.mkdir()
    words = ('mount -t tmpfs -o size=64k none "$1" && shift && exec "$@"')
    command = ["unshare", "--map-root-user", "--mount", "sh", "-c", words, "sh", small]
    if subprocess.run([*command, "true"], capture_output=True, check=False).returncode != 0:
        print("no file system could be mounted: a full disk was not tried")
        return
    done = subprocess.run([*command, DWELLOG, "rehearse", job, "all-goes-well"], capture_output=True, text=True,
                          check=False, env={**ENVIRONMENT, "TMPDIR": str(small)})
    check(done.returncode == 4 and "no space left on the disk" in done.stderr and done.stderr.count("\n") == 1,
          f"a full disk: {done.returncode} {done.stderr}")
    store = small / "job"
    fill = f'"{DWELLOG}" new "{store}" --name X --port /dev/x --box-serial 1 >&2; ' \
           f'dd if=/dev/zero of="{small}/fill" bs=1k 2>/dev/null; exec "{DWELLOG}" status "{store}"'
    command[5] = 'mount -t tmpfs -o size=200k none "$1" && ' + fill
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    check(done.returncode == 4 and "no space left on the disk" in done.stderr, f"a full store: {done.stderr}")


def check_refusals(job, folder):
    code, _, err = run("rehearse", job, "no-such-scenario")
    check(code == 1 and "no-such-scenario" in err and err.count("\n") == 1, f"no such: {code} {err}")
    own = folder / "own"
    own.write_text(SCENARIO + "box 1\n")
    code, _, err = run("rehearse", job, own)
    check(code == 1 and "own:5: `box`" in err, f"own boxes: {code} {err}")
    own.write_text(SCENARIO + "at 1h nonsense\n")
    code, _, err = run("rehearse", job, own)
    check(code == 1 and "own:5" in err and "nonsense" in err, f"nonsense: {code} {err}")
    code, _, err = run("rehearse", folder / "nothing", own)
    check(code == 1 and f"`dwellog new {folder / 'nothing'}` makes a job folder" in err, f"no job: {code} {err}")
    # A copy of the program with nothing beside it and an empty PATH finds no simulator.
    alone = folder / "dwellog-alone"
    alone.write_bytes(pathlib.Path(DWELLOG).read_bytes())
    alone.chmod(0o755)
    done = subprocess.run([alone, "rehearse", job, own], capture_output=True, text=True, check=False,
                          env={**os.environ, "PATH": "/nowhere"})
    check(done.returncode == 1 and "probe-box-sim" in done.stderr, f"no simulator: {done.stderr}")


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        job, told, scenario = folder / "job", folder / "told", folder / "evening"
        scenario.write_text(SCENARIO)
        make_job(job, told)
        scratch = folder / "scratch"
        scratch.mkdir()
        ENVIRONMENT["TMPDIR"] = str(scratch)
        before = digests(job)
        check_rehearsal(job, scenario)
        check_never_ready(job, scenario)
        check_refusals(job, folder)
        check_signal(job, scratch)
        check_full_disk(job, folder)
        check(digests(job) == before and len(before) >= 4, "the job's folder was changed")
        check(not told.exists(), "somebody was told")
        check(not list(scratch.iterdir()), f"left behind: {list(scratch.iterdir())}")
    print("\n".join(FAILURES) or "as expected")
    return 1 if FAILURES else 0


sys.exit(main())
