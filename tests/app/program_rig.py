"""What tests of the whole program from outside share: a job of one invented room with an imported
box, running commands, and what they were expected to say."""
import json
import subprocess
import sys

DWELLOG = sys.argv[1]
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


def new_job(job):
    must("new", job)
    (job / "job.json").write_text(json.dumps(JOB))


def import_rows(job, *span, warmer=0.0):
    table = job / "rows.csv"
    table.write_text(csv_rows(*span, warmer=warmer))
    must("import", job, table, "--box", "book")


def expect(what, status, words, found):
    code, text = found
    missing = [w for w in words if w not in text]
    if code != status or missing:
        FAILURES.append(f"{what}: exit {code}, expected {status}; lacks {missing}\n{text}")
