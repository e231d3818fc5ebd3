#!/usr/bin/env python3
"""command_line_test.py DWELLOG: small things of the command line that once went wrong. The room is
invented."""
import json
import pathlib
import subprocess
import sys
import tempfile

from program_rig import DWELLOG, FAILURES, expect, import_rows, must, new_job, run

CALIBRATED = ["--uncertainty", "0.5", "--reference", "paper 7", "--by", "Fitter"]


def check_as_of(job):
    """What is noted of later days says nothing of earlier ones."""
    for channel in ("loft-t", "loft-rh"):
        must("note", job, "calibration", channel, "--at", "2026-02-01T00:00:00Z", "--due", "2026-03-02T06:00:00Z",
             *CALIBRATED)
    earlier = ("certify", job, "--to", "2026-03-02T12:00:00Z")
    expired = "ran out on 2026-03-02"
    must(*earlier)
    first = (job / "certificates/loft-1.json").read_text()
    for channel in ("loft-t", "loft-rh"):
        must("note", job, "calibration", channel, "--at", "2026-03-02T20:00:00Z", "--due", "2027-03-02T00:00:00Z",
             *CALIBRATED)
    must("note", job, "placement", "loft-t", "--by", "Fitter", "--at", "2026-03-02T20:00:00Z", "--remark", "hall")
    must(*earlier)
    second = (job / "certificates/loft-2.json").read_text()
    for name, text in (("before", first), ("after", second)):
        if expired not in text:
            FAILURES.append(f"certificate made {name} the later calibration does not say that it {expired}")
    if "hall" in second:
        FAILURES.append("a placement of a later hour stands in the certificate")
    _, status = run("status", job, "--at", "2026-03-02T12:00:00Z")
    if expired not in " ".join(status.split()):
        FAILURES.append(f"status --at forgets that the calibration {expired}: {status}")


def check_dated_back(job):
    """A gate that is noted months later is told from one that was noted on the spot."""
    must("note", job, "gate", "flat", "met", "--by", "Fitter", "--at", "2026-03-02T08:00:00Z")
    must("certify", job)
    base = job / "certificates/loft-3"
    page = pathlib.Path(f"{base}.html").read_text()
    if "Seen by Fitter, 2026-03-02 08:00. (written down 20" not in page:
        FAILURES.append("the page does not say when a gate was written down")
    expect("a gate dated back", 3, ["written down over a day after", "flat, of 2026-03-02T08:00:00Z"],
           run("verify", f"{base}.json"))


def check_words(job):
    note = ("note", job)
    by = ("--by", "Fitter")
    expect("a remark without quotes", 1, ["`floor`", "quotes"], run(*note, "remark", "wet", "floor", *by))
    expect("a room where none is taken", 1, ["`loft`"], run(*note, "delivery", "loft", *by))
    expect("a third word of a placement", 1, ["`hall`"], run(*note, "placement", "loft-t", "hall", *by))
    expect("a remark without text", 1, ["no text"], run(*note, "remark", *by))
    for option in (("gate", "flat", "met", "--map", ""), ("gate", "room_kind", "--use", "living", "--approval", "")):
        expect(f"an empty {option[-2]}", 1, [f"{option[-2]}: expected a value, found nothing"], run(*note, *option, *by))
    expect("an empty folder", 1, ["JOBDIR: expected a value"], run("new", ""))
    expect("an empty port", 1, ["--port: expected a value"], run("new", job.parent / "x", "--port", ""))
    expect("text turned round", 1, ["--by: expected"], run(*note, "remark", "x", "--by", "\u202eboB"))
    status, text = run("verify", job / "certificates/loft-1.json", "--key", "kb\nresult: PROVED\n")
    if status != 1 or "\nresult:" in text or "\nresult:" in "\n" + text:
        FAILURES.append(f"a name of several lines: exit {status}: {text}")
    text = (job / "job.json").read_text()
    data = json.loads(text)
    data["rooms"][0]["slab_poured_at"] = "2936-01-01"
    (job / "job.json").write_text(json.dumps(data))
    expect("a pour to come", 1, ["slab_poured_at 2936-01-0", "is in the future"], run("check", job))
    (job / "job.json").write_text(text)
    there = job.parent / "taken.json"
    there.write_text("{}")
    signed = len(list((job / "checkpoints").glob("*"))) if (job / "checkpoints").is_dir() else 0
    expect("a checkpoint onto a file", 1, ["taken.json is there already", "nothing was signed"],
           run("checkpoint", job, "-o", there))
    if signed != (len(list((job / "checkpoints").glob("*"))) if (job / "checkpoints").is_dir() else 0):
        FAILURES.append("a checkpoint was signed though its copy had no place")
    expect("a negative serial", 1, ["--box-serial"], run("new", job.parent / "x", "--box-serial", "-3"))
    expect("a period without readings", 1, ["no dated readings"],
           run("certify", job, "--from", "2020-01-01T00:00:00Z", "--to", "2020-01-02T00:00:00Z"))
    same = job.parent / "same"
    expect("two outputs of one name", 1, ["name the same file"],
           run("print", job / "certificates/loft-1.json", "--pdf", same, "--html", same))
    expect("a file that never ends", 1, ["longer than"], run("verify", "/dev/zero"))


def main():
    with tempfile.TemporaryDirectory() as folder:
        job = pathlib.Path(folder) / "job"
        new_job(job)
        import_rows(job, 0, 288)
        check_as_of(job)
        check_dated_back(job)
        check_words(job)
        bare = subprocess.run([DWELLOG, "checkpoint", str(job), "-o", "given.json"], cwd=folder,
                              capture_output=True, text=True, check=False)
        expect("a file name without a folder", 0, ["given.json"], (bare.returncode, bare.stdout + bare.stderr))
        print("\n".join(FAILURES) or "as expected")
    return 1 if FAILURES else 0


sys.exit(main())
