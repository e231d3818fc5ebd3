#!/usr/bin/env python3
"""slab_notes_test.py DWELLOG: tests of a slab as they are noted: their arithmetic, readings that come
too early or too late, what status says while a test runs, the certificate. The room is invented."""
import json
import pathlib
import sys
import tempfile

import program_rig
from program_rig import FAILURES, expect, import_rows, must, new_job, run

HOLES = ("--hole", "40,74.2,19.5", "--hole", "41,71", "--hole", "38,70.1")
DRILLED = "2026-03-02T02:00:00Z"


def check_probes(job):
    note = ("note", job, "rh-test", *HOLES, "--by", "Fitter")
    whole = (*note, "--thickness", "100", "--service-hours", "60")
    expect("no time of drilling", 1, ["--drilled"], run(*whole))
    expect("no thickness", 1, ["--thickness"], run(*note, "--service-hours", "60", "--drilled", DRILLED))
    expect("read before it was drilled", 1, ["is after the reading"],
           run(*whole, "--drilled", DRILLED, "--at", "2026-03-02T01:00:00Z"))
    early = ("--drilled", DRILLED, "--at", "2026-03-02T22:00:00Z")
    expect("read after 20 h", 1, ["20.0 h after drilling", "24 h or more", "from 2026-03-03 02:00 UTC", "--as-found"],
           run(*whole, *early))
    expect("a cold room", 1, ["--service-hours 20.0 h", "48 h", "not before 2026-03-04 07:00 UTC"],
           run(*note, "--thickness", "100", "--service-hours", "20", "--drilled", DRILLED, "--at",
               "2026-03-03T03:00:00Z"))
    expect("a hole that is no number", 1, ["`deep` is no number"], run(*whole, "--hole", "deep,70"))
    expect("a humidity as a fraction", 1, ["humidity shown 0.742 %RH; expected 1 to 105 %RH"], run(*whole, "--hole", "40,0.742"))
    _, status = run("status", job)
    if "probe test of" in status:
        FAILURES.append("a refused reading was stored: " + status)
    expect("kept as found", 0, ["40 mm: 74.2 %RH at 19.5 °C, read 20.0 h after drilling", "can't be used"],
           run(*whole, *early, "--as-found"))
    expect("the gate says why it does not count", 3, ["less than 24 h after its hole was drilled"], words(job))
    must("note", job, "test-begun", "rh", "--at", DRILLED, "--by", "Fitter")
    expect("a proper reading", 0, ["0.4 x 100 mm = 40 mm", "read 25.0 h after drilling", "74.2 %RH at the wettest place"],
           run(*whole, "--at", "2026-03-03T03:00:00Z"))
    expect("read once more, the sleeves as noted", 0, ["read 26.0 h after drilling"],
           run(*whole, "--at", "2026-03-03T04:00:00Z"))
    expect("the gate", 3, ["[x] slab", "gave 74.2 %RH"], words(job))
    expect("deeper than the slab", 1, ["400.0 mm", "the slab is 100.0 mm thick"],
           run(*whole, "--hole", "400,70", "--at", "2026-03-03T04:00:00Z"))
    expect("drilled before the pour", 1, ["before the slab was poured"],
           run(*whole, "--drilled", "2025-01-01T00:00:00Z", "--at", "2026-03-03T04:00:00Z"))
    expect("drilled before the drilling as noted", 1, ["is before the drilling as noted", DRILLED, "2026-03-01T02:00:00Z"],
           run(*whole, "--drilled", "2026-03-01T02:00:00Z", "--at", "2026-03-03T04:00:00Z"))
    expect("delivered before the pour", 1, ["delivery: 1999-01-01T00:00:00Z is before the slab was poured"],
           run("note", job, "delivery", "--by", "Fitter", "--at", "1999-01-01T00:00:00Z"))
    one = ("note", job, "rh-test", "--by", "Fitter", "--thickness", "100", "--service-hours", "60", "--at",
           "2026-03-03T05:00:00Z", "--hole")
    expect("one dry hole", 0, ["too few places"], run(*one, "40,60"))
    expect("what counts goes on deciding", 3, ["[x] slab", "gave 74.2 %RH"], words(job))
    expect("one wet hole", 0, ["slab: not met.", "gave 79.0 %RH"], run(*one, "40,79"))
    expect("one wet hole refuses", 2, ["[ ] slab", "gave 79.0 %RH"], words(job))
    must(*whole, "--at", "2026-03-03T06:00:00Z")
    expect("read before, noted after", 0, [], run(*one, "40,79"))
    expect("the reading that was made last counts", 3, ["[x] slab", "gave 74.2 %RH"], words(job))


def words(job):
    status, text = run("status", job)
    return status, " ".join(text.split())


def check_dishes(job):
    note = ("note", job, "dish-test", "--service-hours", "72", "--by", "Fitter", "--at", "2026-03-03T02:00:00Z")
    expect("a short exposure", 1, ["50.0 h", "60 h to 72 h", "may be weighed from 2026-03-03 12:00 UTC"],
           run(*note, "--dish", "6.0,0.0427,50"))
    expect("a long exposure", 1, ["80.0 h", "set a fresh dish"], run(*note, "--dish", "6.0,0.0427,80"))
    # 6.0 g / (0.0427 m2 x 66 h) x 24 h = 51.1 g/m2; / 4.88243 = 10.5 lb/1000 ft2.
    expect("its arithmetic", 0, ["6.00 g / (0.0427 m² x 66.0 h) = 51.1 g/m² in 24 h = 10.5 lb/1000 ft² in 24 h"],
           run(*note, "--dish", "6.0,0.0427,66"))
    expect("kept as found", 0, ["50.0 h"], run(*note, "--dish", "6.0,0.0427,50", "--as-found"))
    expect("--as-found of another kind", 1, ["belongs to"], run("note", job, "remark", "x", "--as-found", "--by", "F"))


def check_stated_hours(folder):
    """Invented: 20 degC and 50 %RH every 5 minutes for 30 h, then 30 %RH for 30 h, then 12 h of nothing."""
    job = folder / "stated"
    must("new", job)
    (job / "job.json").write_text(json.dumps(program_rig.JOB))
    lines = ["Time,T,RH"]
    for i in range(12 * 60 + 1):
        day, hour = divmod(i // 12, 24)
        lines.append(f"2026-03-{2 + day:02d}T{hour:02d}:{i % 12 * 5:02d}:00Z,"
                     f"{20 + i % 2 / 10:.1f},{(50 if i < 360 else 30) + i % 3 / 10:.1f}")
    (job / "rows.csv").write_text("\n".join(lines) + "\n")
    must("import", job, job / "rows.csv", "--box", "book")
    note = ("note", job, "rh-test", *HOLES, "--thickness", "100", "--drilled", "2026-03-02T00:00:00Z", "--by", "F")
    # The 48 h before 03-05T00:00: 6 h inside, less one interval where it went out, 30 h outside, 12 h nothing.
    at = ("--at", "2026-03-05T00:00:00Z")
    expect("against the log", 1, ["--service-hours 48.0 h: the log shows the room outside the climate to keep for 30.0 h",
                                  "expected 48 h inside, a tenth less at most; --as-found"],
           run(*note, "--service-hours", "48", *at))
    if "probe test of" in run("status", job)[1]:
        FAILURES.append("a refused reading was stored")
    found = run(*note, "--service-hours", "48", *at, "--as-found")
    expect("kept as found", 0, ["as in use: 48.0 h stated; logged 5.9 h of these in the climate to keep, 30.0 h outside, "
                                "12.0 h not known", "can't be used"], (found[0], " ".join(found[1].split())))
    expect("what the log contradicts does not count", 3, ["[?] slab"], words(job))
    # Of 84 h before 03-05T12:00 only 30 are outside: 54 are left, more than 43.2.
    found = run(*note, "--service-hours", "84", "--at", "2026-03-05T12:00:00Z")
    expect("long enough otherwise", 0, ["84.0 h stated; logged 29.9 h of these"], (found[0], " ".join(found[1].split())))
    found = run(*note, "--service-hours", "48", "--at", "2026-03-09T00:00:00Z")
    expect("without a log", 0, ["as in use: 48.0 h stated; the log shows nothing of these", "slab: met"],
           (found[0], " ".join(found[1].split())))


def check_running(job):
    expect("a test of no kind", 1, ["rh", "dish"], run("note", job, "test-begun", "carbide", "--by", "Fitter"))
    must("note", job, "test-begun", "dish", "--at", "2026-03-04T06:00:00Z", "--by", "Fitter")
    expect("longer than since they were set", 1, ["66.0 h", "noted as set 2026-03-04 06:00 UTC", "30.0 h before"],
           run("note", job, "dish-test", "--service-hours", "72", "--by", "Fitter", "--dish", "6,0.0427,66", "--at",
               "2026-03-05T12:00:00Z"))
    _, text = words(job)
    for part in ("Dishes set 2026-03-04 06:00 UTC", "weigh them from 2026-03-06 18:00 UTC to 2026-03-07 06:00 UTC",
                 "60 h to 72 h under the cover"):
        if part not in text:
            FAILURES.append(f"status of a running test lacks `{part}`: {text}")
    _, document = run("status", job, "--json")
    begun = json.loads(document)["rooms"][0]["slab_tests_begun"]
    if begun != [{"test": "dish", "begun_at_utc": "2026-03-04T06:00:00Z", "read_from_utc": "2026-03-06T18:00:00Z",
                  "read_until_utc": "2026-03-07T06:00:00Z", "because": begun[0]["because"]}]:
        FAILURES.append(f"status --json of a running test: {begun}")


def check_certificate(job):
    must("certify", job)
    base = job / "certificates/loft-1"
    facts = json.loads(pathlib.Path(f"{base}.json").read_text())["facts"]
    if len(facts["subfloor_tests.rh"]["value"]["places"]) != 3:
        FAILURES.append("the certificate lacks the probes")
    expect("it verifies", 3, [], run("verify", f"{base}.json"))
    expect("with its key", 0, ["recomputed from the readings"], run("verify", f"{base}.json", "--key", job / "certificate-key.pub",
                                               "--readings", f"{base}.readings.csv"))


def planned(folder, changes, second=None):
    """What plan and its JSON say of a room of 6 x 5 m with these keys of slab_tests."""
    job = folder / f"plan{len(list(folder.iterdir()))}"
    must("new", job)
    text = json.loads(json.dumps(program_rig.JOB))
    room = text["rooms"][0]
    room.update(floor_area_m2=30, slab_poured_at="2025-10-01",
                slab_build={"thickness_mm": 100, "drying": "one_side"},
                plan={"size": "6 m x 5 m", "source": "invented", "slab_tests": changes,
                      "panel": {"length": "1.3 m", "width": "20 cm", "per_pack": 8}})
    if second is not None:
        text["rooms"].append({**json.loads(json.dumps(room)), "id": "hall", "name": "Hall", **second})
        box = json.loads(json.dumps(text["boxes"][0]).replace("loft", "hall").replace("book", "hall-book"))
        text["boxes"].append(box)
    (job / "job.json").write_text(json.dumps(text, indent=1))
    status, words_of_it = run("plan", job)
    _, document = run("plan", job, "--json")
    return status, " ".join(words_of_it.split()), document


def check_plan(folder):
    status, text, document = planned(folder, {})
    expect("where to test", 0, ["3 places: 3 for the first 93 m²", "T3", "m from wall 1-2", "40 mm: 0.4 of 100 mm",
                                "locate heating pipes", "24 h after drilling", "60 h to 72 h", "the end of 2025-11-30"], (status, text))
    tests = json.loads(document)["rooms"][0]["slab_tests"]
    for place in tests["places"]:
        if not (0.9 <= place["x_m"] <= 5.1 and 0.9 <= place["y_m"] <= 4.1 and len(place["walls"]) == 2):
            FAILURES.append(f"a place is not where it belongs: {place}")
    if len(tests["places"]) != 3 or tests["depth_mm"] != 40:
        FAILURES.append(f"plan --json: {tests}")
    # 30 + 30 m2 on one slab: 3 places, 2 and 1; by its own area each is asked for 3.
    status, text, document = planned(folder, {}, {})
    expect("two rooms on one slab", 0, ["3 over the whole slab, shared by area with hall", "probes_at_least 2",
                                        "probes_at_least 1"], (status, text))
    _, text, document = planned(folder, {}, {"slab_poured_at": "2025-11-01"})
    if "over the whole slab" in text:
        FAILURES.append("rooms poured on different days share a slab")
    status, text, document = planned(folder, {"wettest_at": "6 m; 0.1 m", "wettest_because": "poured last", "from_walls": "0.5 m"})
    expect("a place on the wall is no place in the room", 1, ["wettest_at", "does not lie in the room", "job.json:"],
           (status, text))
    status, text, document = planned(folder, {"wettest_at": "5.9 m; 0.1 m", "wettest_because": "poured last",
                                              "from_walls": "0.5 m"})
    first = json.loads(document)["rooms"][0]["slab_tests"]["places"][0]
    if not (first["expected_wettest"] and abs(first["x_m"] - 5.5) < 0.1 and abs(first["y_m"] - 0.5) < 0.1):
        FAILURES.append(f"the wettest place: {first}")
    expect("one key without the other", 1, ["belong together", "job.json:"], planned(folder, {"wettest_at": "1 m; 1 m"})[:2])
    expect("no length", 1, ["from_walls", "job.json:"], planned(folder, {"from_walls": "wide"})[:2])


def main():
    program_rig.JOB["rooms"][0]["slab_poured_at"] = "2025-10-01"
    with tempfile.TemporaryDirectory() as folder:
        job = pathlib.Path(folder) / "job"
        new_job(job)
        import_rows(job, 0, 400)
        check_probes(job)
        check_dishes(job)
        check_running(job)
        check_certificate(job)
        check_stated_hours(pathlib.Path(folder))
        check_plan(pathlib.Path(folder))
    print("\n".join(FAILURES) or "as expected")
    return 1 if FAILURES else 0


sys.exit(main())
