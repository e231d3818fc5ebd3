#!/usr/bin/env python3
"""forged_store_test.py DWELLOG DWELLOG-VERIFY: what a reader finds who holds a checkpoint of an earlier
day, a job's public key and nothing else, after rows were edited with SQLite alone, the store was
cut, forked or written anew. The room is invented."""
import json
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile

DWELLOG, VERIFY = sys.argv[1], sys.argv[2]
FAILURES = []

JOB = {
    "format": "dwellog-job/1",
    "job": {"name": "Loft (invented)", "site_address": "none", "installer": "Fitter", "client": ""},
    "rooms": [{"id": "loft", "name": "Loft", "floor_area_m2": 20, "floor_product": "laminate"}],
    "boxes": [{"id": "book", "csv": {"time_column": "Time"},
               "channels": [{"index": 0, "id": "loft-t", "room": "loft", "role": "room_air_temperature",
                             "csv_column": "T", "csv_unit": "celsius"},
                            {"index": 1, "id": "loft-rh", "room": "loft", "role": "room_air_rh",
                             "csv_column": "RH", "csv_unit": "percent_rh"}]}]}


def run(*words, program=DWELLOG):
    done = subprocess.run([program, *map(str, words)], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


def must(*words):
    status, text = run(*words)
    if status != 0:
        sys.exit(f"dwellog {' '.join(map(str, words))}: exit {status}: {text}")
    return text


def csv_rows(first, count, warmer=0.0):
    lines = ["Time,T,RH"]
    for i in range(first, first + count):
        lines.append(f"2026-03-{2 + i // 288:02d}T{i // 12 % 24:02d}:{i % 12 * 5:02d}:00Z,"
                     f"{20 + warmer + (i % 7) / 10:.2f},{50 + (i % 11) / 10:.2f}")
    return "\n".join(lines) + "\n"


def import_rows(job, *span, warmer=0.0):
    table = job / "rows.csv"
    table.write_text(csv_rows(*span, warmer=warmer))
    must("import", job, table, "--box", "book")


def expect(what, status, words, found):
    code, text = found
    missing = [w for w in words if w not in text]
    if code != status or missing:
        FAILURES.append(f"{what}: exit {code}, expected {status}; lacks {missing}\n{text}")


def copy_of(job, name):
    target = job.parent / name
    shutil.copytree(job, target)
    return target


def edit(job, *statements):
    """As someone with SQLite at hand: the triggers that guard the rows go first."""
    with sqlite3.connect(job / "readings.sqlite") as db:
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            db.execute(f"DROP TRIGGER \"{name}\"")
        changed = sum(db.execute(s).rowcount for s in statements)
        if changed < len(statements):
            FAILURES.append(f"{statements}: changed {changed} rows, so the edit tests nothing")
    db.close()


def check_edits(job, since):
    """Each edit is found and located, with a checkpoint and without."""
    record = "(SELECT sequence FROM records ORDER BY sequence LIMIT 1 OFFSET 100)"
    edits = {
        "a reading edited": ("record", [f"UPDATE records SET raw_counts_0 = raw_counts_0 + 1 WHERE sequence = {record}"]),
        "a reading dropped": ("record", [f"DELETE FROM records WHERE sequence = {record}"]),
        "a reading dated back": ("record", [f"UPDATE records SET ticks_ms = ticks_ms - 60000 WHERE sequence = {record}"]),
        "a status changed": ("record", [f"UPDATE records SET statuses = statuses + 1 WHERE sequence = {record}"]),
        "a note edited": ("note", ["UPDATE notes SET content_json = replace(content_json, 'seen', 'not seen')"]),
        "a note's observer changed": ("note", ["UPDATE notes SET noted_by = 'Somebody else'"]),
        "a note dropped": ("note", ["DELETE FROM notes WHERE id = (SELECT max(id) FROM notes)"]),
        "a calibration edited": ("calibration", ["UPDATE calibrations SET gain = gain * 1.01"]),
        "an event dropped": ("event", ["DELETE FROM events WHERE id = (SELECT min(id) FROM events)"]),
    }
    for what, (kind, statements) in edits.items():
        forged = copy_of(job, "forged")
        edit(forged, *statements)
        words = ["FAILED: ", kind, "result: NOT PROVED"]
        expect(what, 2, words, run("verify", forged, "--key", job / "certificate-key.pub", "--since", since))
        expect(what + ", nothing to compare with", 2, words, run("verify", forged))
        status, text = run("certify", forged)
        if kind == "record" and status == 0:
            FAILURES.append(f"{what}: a certificate was made all the same: {text}")
        shutil.rmtree(forged)


def main():
    with tempfile.TemporaryDirectory() as folder:
        root = pathlib.Path(folder)
        job = root / "job"
        must("new", job)
        (job / "job.json").write_text(json.dumps(JOB))
        import_rows(job, 0, 288)
        must("note", job, "delivery", "--by", "Fitter", "--at", "2026-03-02T00:00:00Z")
        must("note", job, "gate", "flat", "met", "--by", "Fitter", "--at", "2026-03-02T01:00:00Z",
             "--remark", "seen")
        must("note", job, "calibration", "loft-rh", "--due", "2099-01-01T00:00:00Z", "--uncertainty", "1",
             "--reference", "paper 7", "--by", "Fitter", "--gain", "1.01")
        early = root / "handed-over.json"
        must("checkpoint", job, "-o", early)
        key = job / "certificate-key.pub"
        morning = copy_of(job, "morning")

        expect("nothing changed", 0, ["proved: every row", "result: PROVED"],
               run("verify", job, "--key", key, "--since", early))
        expect("no key", 3, ["no public key was given from outside", "result: INTACT"],
               run("verify", job, "--since", early))
        expect("no checkpoint", 3, ["self-declared", "result: INTACT"], run("verify", job, "--key", key))
        check_edits(job, early)

        import_rows(job, 288, 144)
        late = root / "later.json"
        must("checkpoint", job, "-o", late)
        expect("the log went on", 0, ["self-declared", "result: PROVED"],
               run("verify", job, "--key", key, "--since", early))
        expect("the log went on, both", 0, ["result: PROVED"],
               run("verify", job, "--key", key, "--since", early, late))

        expect("an older copy put back", 2, ["FAILED", "checkpoint"],
               run("verify", morning, "--key", key, "--since", late))
        expect("an older copy put back, old checkpoint", 0, ["result: PROVED"],
               run("verify", morning, "--key", key, "--since", early))

        # The key holder goes on from the same morning with other readings, and signs them.
        fork = copy_of(morning, "fork")
        import_rows(fork, 288, 144, warmer=2.0)
        forked = root / "forked.json"
        must("checkpoint", fork, "-o", forked)
        expect("a fork against the later checkpoint", 2, ["FAILED", "states another log"],
               run("verify", fork, "--key", key, "--since", early, late))
        expect("above the last checkpoint it can't be told", 0, ["self-declared", "result: PROVED"],
               run("verify", fork, "--key", key, "--since", early))

        # The key holder writes everything anew, with the right key.
        anew = root / "anew"
        must("new", anew)
        (anew / "job.json").write_text(json.dumps(JOB))
        for name in ("certificate-key.pub", "certificate-key.secret"):
            shutil.copy2(job / name, anew / name)
        import_rows(anew, 0, 432, warmer=2.0)
        must("checkpoint", anew)
        expect("a rewrite with the right key", 2, ["FAILED", "states another log"],
               run("verify", anew, "--key", key, "--since", early))
        expect("a rewrite that nothing was handed over of", 3, ["self-declared"],
               run("verify", anew, "--key", key))

        other = root / "other"
        must("new", other)
        expect("another key", 2, ["neither the one given"],
               run("verify", job, "--key", other / "certificate-key.pub", "--since", early))
        expect("a checkpoint of another key", 2, ["neither the one given"],
               run("verify", job, "--key", other / "certificate-key.pub", "--since", late))
        must("keys", job, "rotate")
        rotated = root / "rotated.json"
        handover = job / "keys" / "handover-1.json"
        import_rows(job, 432, 12)
        must("checkpoint", job, "-o", rotated)
        expect("a checkpoint of the next key", 0, ["result: PROVED"],
               run("verify", job, "--key", key.parent / "keys/certificate-key-1.pub",
                   "--handover", handover, "--since", early, rotated))
        expect("a checkpoint of the next key, without the hand-over", 2, ["neither the one given"],
               run("verify", job, "--key", key.parent / "keys/certificate-key-1.pub", "--since", rotated))

        check_certificate(root, job, early, fork, forked)
        expect("readings beside a folder", 1, ["belong to a certificate"],
               run("verify", job, "--readings", early))
        expect("no store", 1, ["dwellog: "], run("verify", root))
        flipped = root / "flipped.json"
        flipped.write_bytes(early.read_bytes().replace(b'"size":', b'"size":1'))
        expect("a checkpoint that was edited", 1, ["flipped.json"],
               run("verify", job, "--key", key, "--since", flipped))
        print("\n".join(FAILURES) or "found what is promised, told what can't be")
    return 1 if FAILURES else 0


def check_certificate(root, job, early, fork, forked):
    """The same checkpoint against a certificate with its log extract, by both programs."""
    must("certify", job)
    base = job / "certificates" / "loft-1"
    files = ["--key", job / "keys/certificate-key-1.pub", "--handover", job / "keys/handover-1.json",
             "--readings", f"{base}.readings.csv", "--log", f"{base}.log"]
    for program in (DWELLOG, VERIFY):
        words = ["verify"] if program == DWELLOG else []
        expect("a certificate with its log", 0, ["stand in the log", "result: PROVED"],
               run(*words, f"{base}.json", *files, "--since", early, program=program))
        expect("a certificate against a fork's checkpoint", 2, ["FAILED"],
               run(*words, f"{base}.json", *files, "--since", forked, program=program))
    must("certify", fork)
    forked_base = fork / "certificates" / "loft-1"
    mixed = ["--key", fork / "certificate-key.pub", "--readings", f"{forked_base}.readings.csv",
             "--log", f"{base}.log"]
    expect("the log of another store", 2, ["FAILED"], run("verify", f"{forked_base}.json", *mixed))
    expect("--since without the log", 1, ["--log"],
           run("verify", f"{base}.json", *files[:2], "--since", early))


sys.exit(main())
