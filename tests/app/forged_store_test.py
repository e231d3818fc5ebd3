#!/usr/bin/env python3
"""forged_store_test.py DWELLOG DWELLOG-VERIFY: what a reader finds who holds a checkpoint of an earlier
day, a job's public key and nothing else, after rows were edited with SQLite alone, the store was
cut, forked or written anew. The room is invented."""
import pathlib
import re
import shutil
import sqlite3
import sys
import tempfile

from program_rig import DWELLOG, FAILURES, expect, import_rows, must, new_job, run

VERIFY = sys.argv[2]


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
        "a note put in behind the log": ("note", [
            "INSERT INTO notes SELECT id + 100, at_utc_us, noted_utc_us, kind, room_id, noted_by, "
            "'{\"gate\":\"clean\",\"met\":true}', salt FROM notes WHERE kind = 'gate'"]),
        "a reading put in behind the log": ("record", [
            "INSERT INTO records SELECT box, boot, sequence + 1000, ticks_ms + 1000, flags, statuses, "
            "raw_counts_0, raw_counts_1, raw_counts_2, raw_counts_3, raw_counts_4, raw_counts_5, "
            f"raw_counts_6, raw_counts_7 FROM records WHERE sequence = {record}"]),
        "an event dropped": ("event", ["DELETE FROM events WHERE id = (SELECT min(id) FROM events)"]),
    }
    for what, (kind, statements) in edits.items():
        forged = copy_of(job, "forged")
        edit(forged, *statements)
        words = ["FAILED: ", kind, "result: NOT PROVED"]
        expect(what, 2, words, run("verify", forged, "--key", job / "certificate-key.pub", "--since", since))
        expect(what + ", nothing to compare with", 2, words, run("verify", forged))
        status, text = run("certify", forged)
        if status == 0:
            FAILURES.append(f"{what}: a certificate was made all the same: {text}")
        shutil.rmtree(forged)


def main():
    with tempfile.TemporaryDirectory() as folder:
        root = pathlib.Path(folder)
        job = root / "job"
        new_job(job)
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
        new_job(anew)
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
    check_hidden_rows(root, job, base, files, early)
    must("certify", fork)
    forked_base = fork / "certificates" / "loft-1"
    mixed = ["--key", fork / "certificate-key.pub", "--readings", f"{forked_base}.readings.csv",
             "--log", f"{base}.log"]
    expect("the log of another store", 2, ["FAILED"], run("verify", f"{forked_base}.json", *mixed))
    expect("--since without the log", 1, ["--log"],
           run("verify", f"{base}.json", *files[:2], "--since", early))


def check_hidden_rows(root, job, base, files, early):
    """Rows of an import behind hashes can't be told; that is said, and nothing more is claimed."""
    status, text = run("verify", f"{base}.json", *files, "--since", early)
    if not re.search(r"not proved: that no row of the imported box book is left out", text):
        FAILURES.append(f"an import is taken for complete (exit {status}): {text}")
    # What a foreign file says may not move the cursor or begin a line.
    readings = pathlib.Path(f"{base}.readings.csv").read_bytes()
    hostile = root / "hostile.csv"
    hostile.write_bytes(readings.replace(b"book,0", "bo\x1b[2J\u202ek,0".encode(), 1))
    status, text = run("verify", f"{base}.json", *files[:5], hostile)
    if status != 2 or "\x1b" in text or "\u202e" in text:
        FAILURES.append(f"a hostile file writes to the terminal (exit {status}): {text!r}")


sys.exit(main())
