#!/usr/bin/env python3
"""gate_notes_test.py DWELLOG: gates answered and measured by `dwellog note`, what is still to note,
the guide over a pipe and on a terminal. The readings are invented."""
import hashlib
import json
import os
import pathlib
import pty
import select
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "app"))
from program_rig import DWELLOG, FAILURES, JOB, expect, import_rows, must, new_job, run  # noqa: E402

# One height 6 mm low: the worst gap is 6 mm, 3 mm of filler over 0.25 m x 0.25 m are 0.19 litres.
DIPPED = "0,0,0,0,0\n0,0,0,0,0\n0,0,-6,0,0\n0,0,0,0,0\n0,0,0,0,0\n"
LEVEL = DIPPED.replace("-6", "-2")
BY = ("--by", "Fitter")


def status_of(job):
    return json.loads(run("status", job, "--json")[1])


def gate_of(job, gate):
    return next(g for g in status_of(job)["rooms"][0]["gates"] if g["id"] == "site." + gate)


def missing_of(job):
    return {m["what"]: m for m in status_of(job)["rooms"][0]["missing"]}


def check_flat(job):
    flat = ("note", job, "gate", "flat")
    grid = job / "heights.csv"
    grid.write_text(DIPPED)
    drawing = job / "map.svg"
    expect("a dip", 0, ["gate flat not met", "Worst gap 6.0 mm, allowed 3 mm in 1 m", "fill   6.0 mm at row 3",
                        "filler 0.19 litres", "6.0v"],
           run(*flat, "--grid", grid, "--spacing", "25 cm", "--map", drawing, *BY))
    if not drawing.read_text().startswith("<?xml"):
        FAILURES.append("no map was drawn")
    expect("a map over a file", 1, ["is there already"],
           run(*flat, "--grid", grid, "--spacing", "25 cm", "--map", grid, *BY))
    if grid.read_text() != DIPPED:
        FAILURES.append("a map was drawn over the readings")
    expect("the opposite by hand", 1, ["`met`, but the readings say: Worst gap 6.0 mm", "leave the answer out"],
           run(*flat, "met", "--grid", grid, "--spacing", "25 cm", *BY))
    expect("the same by hand", 0, ["gate flat not-met"],
           run(*flat, "not-met", "--grid", grid, "--spacing", "25 cm", *BY))
    reason = gate_of(job, "flat")
    if reason["state"] != "not met" or "Worst gap 6.0 mm, allowed 3 mm in 1 m (common practice)" not in reason["reason"]:
        FAILURES.append(f"grounds: {reason}")
    expect("a bare word against readings", 0, ["stated without grounds, after the readings of"], run(*flat, "met", *BY))
    expect("a bare word again", 0, ["after the readings of"], run(*flat, "met", *BY))
    reason = gate_of(job, "flat")
    if reason["state"] != "met" or "Stated without readings, after the readings of" not in reason["reason"]:
        FAILURES.append(f"stated: {reason}")
    expect("seen before, noted after", 0, ["what was seen later", "(met), still counts"],
           run(*flat, "not-met", "--at", "2026-03-01T08:00:00Z", *BY))
    if gate_of(job, "flat")["state"] != "met":
        FAILURES.append("a note of an earlier time took the place of a later one")
    # 25 heights, each for 0.25 m x 0.25 m: 1.5625 m2.
    grid.write_bytes(b"\xef\xbb\xbf" + LEVEL.encode())
    expect("levelled", 0, ["gate flat met", "5 rows of 5 heights, which stand for 1.6 of 20.0 m2"], run(*flat, "--grid", grid, "--spacing", "25 cm x 25 cm", *BY))
    if "Stated" in gate_of(job, "flat")["reason"]:
        FAILURES.append("new readings leave the bare word behind")
    expect("a straightedge", 0, ["gate flat met", "Worst gap 2.0 mm"],
           run(*flat, "--line", "0 cm=0 mm, 50 cm=2 mm, 1 m=0 mm", *BY))


def check_flat_in_inches(job):
    # 3/16 in = 4.7625 mm under 10 ft = 3.048 m. The same dip in mm, in bare inches and with its unit.
    flat = ("note", job, "gate", "flat", "--units", "imperial", *BY)
    changed = json.loads(json.dumps(JOB))
    (job / "job.json").write_text(json.dumps(changed))
    changed["rooms"][0]["flatness"] = {"within": "3/16 in", "straightedge": "10 ft", "source": "Product sheet 7"}
    (job / "job.json").write_text(json.dumps(changed))
    grid = job / "inches.csv"
    told = ["Worst gap 0.25 in, allowed 0.188 in over 10' (Product sheet 7)", "fill   0.25 in at row 3, height 3 (1' 8",
            "US fl oz", "in inches; v fill", "0.25v", "of 215.3 ft2"]
    for cell, unit in (("-1/4", "in"), ("-0.25 in", "mm"), ("-6.35 mm", "in"), ("-6.35", "mm")):
        grid.write_text(DIPPED.replace("-6", cell))
        drawing = job / f"map{len(list(job.glob('map*')))}.svg"
        expect(f"a dip of {cell}", 0, told, run(*flat, "--grid", grid, "--heights", unit, "--spacing", "10 in",
                                                "--map", drawing))
    reason = gate_of(job, "flat")["reason"]
    if "Worst gap 6.3 mm [0.25 in], allowed 4.7625 mm in 3.048 m [0.188 in over 10']" not in reason or \
            "asked was" in reason:
        FAILURES.append(f"grounds for either reader: {reason}")
    expect("a line in inches", 0, ["Worst gap 0.19 in", "line 1, 1' 4"],
           run(*flat, "--line", "0 in=0 in, 16 in=3/16 in, 32 in=0 in"))
    grid.write_text("0,1/4,0\n")
    expect("a fraction of a millimetre", 1, ["inches.csv:1: height 2: `1/4`; expected mm"],
           run(*flat, "--grid", grid, "--spacing", "10 in"))
    expect("heights in feet", 1, ["--heights: ft not in {mm,in}"],
           run(*flat, "--grid", grid, "--heights", "ft", "--spacing", "10 in"))
    expect("too far apart", 1, ["two readings lie 5' 10\" apart"],
           run(*flat, "--line", "0 in=0 in, 70 in=2 in, 80 in=0 in"))
    for limit, words in (({"within": "3/16 in", "within_mm": 3, "straightedge_m": 1}, ["stands beside within_mm"]),
                         ({"within": "3/16 in"}, ["required key is missing, or straightedge"]),
                         ({"within": "2 in", "straightedge": "10 ft"}, ["is not within 0.5 mm .. 20 mm"])):
        changed["rooms"][0]["flatness"] = {**limit, "source": "x"}
        (job / "job.json").write_text(json.dumps(changed))
        expect(f"a limit of {limit}", 1, words, run("check", job))
    (job / "job.json").write_text(json.dumps(JOB))


def check_flat_refusals(job):
    flat = ("note", job, "gate", "flat")
    grid = job / "heights.csv"
    notes = len(status_of(job)["notes"])
    for text, words in (("0,0,0\n0,0\n", [":2: 2 heights; expected 3"]), ("0,x,0\n", [":1: height 2: `x`; expected mm"]),
                        ("0,1e9,0\n", ["`1e9`"]), ("\n", ["no heights"]), ("0,0\n0,0\n", ["no three in a line"])):
        grid.write_text(text)
        expect(f"heights {text!r}", 1, words, run(*flat, "--grid", grid, "--spacing", "25 cm", *BY))
    grid.write_text(LEVEL)
    expect("no spacing", 1, ["--grid needs --spacing"], run(*flat, "--grid", grid, *BY))
    expect("too coarse", 1, ["heights lie 60 cm apart", "50 cm at most"],
           run(*flat, "--grid", grid, "--spacing", "60 cm", *BY))
    expect("spacing in no unit known", 1, ["--spacing 25 ells"], run(*flat, "--grid", grid, "--spacing", "25 ells", *BY))
    expect("spacing alone", 1, ["--spacing goes with --grid"], run(*flat, "--spacing", "25 cm", *BY))
    expect("finer than a floor is measured", 1, ["1 cm to 5 m"], run(*flat, "--grid", grid, "--spacing", "1 mm", *BY))
    expect("no file", 1, ["No such file"], run(*flat, "--grid", job / "none.csv", "--spacing", "25 cm", *BY))
    expect("a line without gaps", 1, ["`50 cm`; expected PLACE=GAP"],
           run(*flat, "--line", "0 cm=0 mm, 50 cm, 1 m=0 mm", *BY))
    expect("a gap in metres", 1, ["`2`; expected a gap of 0 to 100 mm, with its unit"],
           run(*flat, "--line", "0 cm=0 mm, 50 cm=2, 1 m=0 mm", *BY))
    expect("readings for another gate", 1, ["readings: not for gate clean, which takes --found clean|dusty|dirty"],
           run("note", job, "gate", "clean", "--grid", grid, "--spacing", "25 cm", *BY))
    grid.write_text("0;0,5;0\n0;-;0\n0;0;+1\n")
    expect("a decimal comma and a hole", 0, ["8 readings"], run(*flat, "--grid", grid, "--spacing", "25 cm", *BY))
    if len(status_of(job)["notes"]) != notes + 1:
        FAILURES.append("a refused note was stored")


def check_answers(job):
    note = ("note", job, "gate")
    expect("bathroom", 0, ["room_kind: not met", "written approval", "common practice, no source"],
           run(*note, "room_kind", "--use", "bathroom", *BY))
    expect("bathroom, allowed", 0, ["gate room_kind met", "allowed in writing: letter of 2 March"],
           run(*note, "room_kind", "--use", "bathroom", "--approval", "letter of 2 March", *BY))
    expect("water in the floor", 0, ["heating_kind: open", "special instructions"],
           run(*note, "heating_kind", "--heating", "water", *BY))
    open_one = missing_of(job).get("heating_kind", {})
    if "open: ask the floor's supplier" not in open_one.get("why", "") or "--approval TEXT" not in open_one["command"]:
        FAILURES.append(f"open heating: {open_one}")
    open_gate = gate_of(job, "heating_kind")
    if open_gate["state"] != "unknown" or "Ask the floor's supplier" not in open_gate["action"] or \
            not open_gate["reason"].startswith("Still open, as noted by Fitter on") or \
            "warm water in the floor" not in open_gate["reason"]:
        FAILURES.append(f"an open answer: {open_gate}")
    expect("met by hand while open", 1, ["`met`, but warm water"],
           run(*note, "heating_kind", "met", "--heating", "water", *BY))
    expect("water, allowed", 0, ["gate heating_kind met"],
           run(*note, "heating_kind", "--heating", "water", "--approval", "supplier's paper 7", *BY))
    expect("barrier without below", 1, ["--below ``", "crawl_space"],
           run(*note, "vapour_barrier", "--barrier", "present", *BY))
    expect("no barrier", 0, ["vapour_barrier: not met"],
           run(*note, "vapour_barrier", "--below", "concrete", "--barrier", "none", *BY))
    status, text = run("status", job)
    expect("how to note it again", 2, ["Put it right, look again and note it. dwellog note", "gate vapour_barrier "],
           (status, " ".join(text.replace("\\\n", " ").split())))
    status, text = guided(job, "\n" * 5)
    expect("the guide asks for it again", 0, ["so far: vapour_barrier: not met. Answered: none; below it concrete"],
           (status, " ".join(text.split())))
    expect("an approval of nothing", 1, ["an approval changes nothing for"],
           run(*note, "vapour_barrier", "--below", "concrete", "--barrier", "none", "--approval", "me", *BY))
    expect("a word that is none", 1, ["--use `attic`", "living|bedroom"], run(*note, "room_kind", "--use", "attic", *BY))
    expect("another gate's option", 1, ["--use: not for gate clean"], run(*note, "clean", "--use", "living", *BY))
    expect("an answer to no gate", 1, ["--use belongs to a note of gate"],
           run("note", job, "remark", "x", "--use", "living", *BY))
    changed = json.loads(json.dumps(JOB))
    changed["rooms"][0]["subfloor_kind"] = "screed"
    changed["rooms"][0]["flatness"] = {"within_mm": 2.5, "straightedge_m": 2, "source": "Product sheet 7"}
    (job / "job.json").write_text(json.dumps(changed))
    must(*note, "flat", "not-met", *BY)
    if "flat within 2.5 mm under a straightedge of 2 m?" not in gate_of(job, "flat")["reason"]:
        FAILURES.append(f"the job's limit is not asked for: {gate_of(job, 'flat')}")
    (job / "job.json").write_text(json.dumps({**changed, "rooms": [{k: v for k, v in changed["rooms"][0].items()
                                                                    if k != "flatness"}]}))
    must(*note, "flat", "met", *BY)
    expect("below from job.json", 0, ["its seams taped; below it", "screed"], run(*note, "vapour_barrier", "--barrier", "built_in", *BY))
    expect("below against job.json", 1, ["subfloor_kind in job.json is screed"],
           run(*note, "vapour_barrier", "--below", "tile", "--barrier", "built_in", *BY))


def guided(job, answers):
    done = subprocess.run([DWELLOG, "note", job, "guide", *BY], input=answers, capture_output=True, text=True,
                          check=False)
    return done.returncode, done.stdout + done.stderr


def check_guide_over_a_pipe(job):
    before = set(missing_of(job))
    if before != {"clean", "solid", "old_glue_removed", "conditioned", "delivery", "rh-test"}:
        FAILURES.append(f"still to note: {before}")
    expect("the guide ends with its answers", 0, ["1 of 4", "clean: met", "still to note", "solid: not noted yet",
                                                  "gate solid --found WORD --by NAME"], guided(job, "?\nnothing\n1\n"))
    expect("skipped and ended", 0, ["1 of 3", "What is left of an older covering?"], guided(job, "\nq\n"))
    expect("a photo that is not there", 0, ["No such file", "nothing was noted", "solid: met"],
           guided(job, "solid\nnone.jpg\nsolid\n\nq\n"))
    if "solid" in missing_of(job) or "clean" in missing_of(job):
        FAILURES.append("the guide's answers were not stored")
    expect("temporary heat, allowed", 0, ["conditioned: met"], guided(job, "\n2\nsite manager, 3 March\n\n"))
    expect("no room of that name", 1, ["room `attic`"], run("note", job, "guide", "--room", "attic", *BY))
    expect("words beside the guide", 1, ["takes no such word"], run("note", job, "guide", "clean", *BY))


def check_guide_on_a_terminal(job):
    child, terminal = pty.fork()
    if child == 0:
        os.execv(DWELLOG, [DWELLOG, "note", str(job), "guide", *BY])
    shown = b""
    answers = [b"never_any", b""]
    while select.select([terminal], [], [], 60)[0]:
        try:
            piece = os.read(terminal, 4096)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        shown += piece
        if answers and shown.endswith((b"answer: ", b"none): ")):
            os.write(terminal, answers.pop(0) + b"\n")
    _, status = os.waitpid(child, 0)
    os.close(terminal)
    expect("the guide on a terminal", 0, ["old_glue_removed: met", "still to note", "delivery: not noted yet"],
           (os.waitstatus_to_exitcode(status), shown.decode()))


def check_certificate(job):
    import_rows(job, 0, 288)
    within = (*BY, "--at", "2026-03-02T10:00:00Z")
    first, second = job / "first.jpg", job / "second.jpg"
    first.write_bytes(b"\xff\xd8\xff invented 1")
    second.write_bytes(b"\xff\xd8\xff invented 2")
    must("note", job, "gate", "flat", "--line", "0 cm=0 mm, 50 cm=7 mm, 1 m=0 mm", "--photo", first, *within)
    must("note", job, "gate", "flat", "met", "--photo", second, *within)
    must("note", job, "gate", "room_kind", "--use", "bathroom", "--approval", "letter of Ms Example", *within)
    must("note", job, "dish-test", "--dish", "0.9,0.0613,64", "--service-hours", "72", *within)
    must("note", job, "carbide-test", "--sample", "2.6", *within)
    must("note", job, "gate", "clean", "met", *within)
    must("note", job, "gate", "heating_kind", "--heating", "water", *within)
    must("certify", job)
    certificate = job / "certificates/loft-1.json"
    facts = json.loads(certificate.read_text())["facts"]
    grounds = [facts[path]["value"] for path in facts if path.endswith(".grounds")]
    answers = facts["open_answers"]["value"]
    if [a["gate"] for a in answers] != ["heating_kind"] or "supplier" not in answers[0]["to_do"]:
        FAILURES.append(f"open answers in the certificate: {answers}")
    if "Still open, as noted by Fitter" not in (job / "certificates/loft-1.html").read_text():
        FAILURES.append("the page lacks the open answer")
    grounds = [text for text in grounds if not text.startswith("Answered")]
    # A photo of what was said first is no evidence of what was said next, at the same minute.
    photos = {photo["sha256"]: photo["subject"] for photo in facts["photos"]["value"]}
    if photos.get(hashlib.sha256(first.read_bytes()).hexdigest()) != "superseded.gate.flat" or \
            photos.get(hashlib.sha256(second.read_bytes()).hexdigest()) != "gate.flat":
        FAILURES.append(f"photos: {photos}")
    page = (job / "certificates/loft-1.html").read_text()
    # 0.9 g / (0.0613 m2 x 64 h) = 5.51 g/m2 in 24 h
    for words in ("5.5 g/m² in 24 h; no limit set", "2.60 CM-%; no limit set", "(earlier, superseded)"):
        if words not in page:
            FAILURES.append(f"the page lacks `{words}`")
    expect("tests in status", 3, ["Dish test of 2026-03-02 10:00 UTC: 5.5 g/m² in 24 h; job.json sets no limit"],
           (lambda found: (found[0], " ".join(found[1].split())))(run("status", job)))
    if len(grounds) != 1 or "Stated without readings, after the readings of 2026-03-02, not met: Worst gap 7.0" not in grounds[0]:
        FAILURES.append(f"grounds in the certificate: {grounds}")
    if "Stated without readings" not in (job / "certificates/loft-1.html").read_text():
        FAILURES.append("the page lacks the grounds")
    readings = next((job / "certificates").glob("loft-1*readings*"))
    expect("verified with grounds", 0, ["recomputed from the readings"],
           run("verify", certificate, "--key", job / "certificate-key.pub", "--readings", readings))
    copy = job / "copy.json"
    must("redact", certificate, "--personal", "-o", copy)
    expect("a redacted copy", 0, ["recomputed from the readings"],
           run("verify", copy, "--key", job / "certificate-key.pub", "--readings", readings))
    must("print", copy, "--html", job / "copy.html")
    for ground in ("Worst gap 7.0 mm", "warm water", "Ms Example", "Fitter"):
        if ground not in certificate.read_text():
            FAILURES.append(f"the certificate lacks `{ground}`")
        personal = ground in ("Ms Example", "Fitter")
        for name in (copy, job / "copy.html"):
            if (ground in name.read_text()) == personal:
                FAILURES.append(f"`{ground}` {'stands' if personal else 'is missing'} in {name.name}, redacted")


def check_what_was_noted_later(job):
    for at in ("2026-03-02T02:00:00Z", "2026-03-02T01:00:00Z"):
        must("note", job, "delivery", "--at", at, *BY)
    must("note", job, "calibration", "loft-t", "--due", "2027-06-01T00:00:00Z", "--uncertainty", "0.2",
         "--reference", "Sheet 1", "--offset", "-0.5", "--at", "2026-03-02T06:00:00Z", *BY)
    must("certify", job, "--from", "2026-03-02T04:00:00Z")
    certificate = job / "certificates/loft-2.json"
    noted = json.loads(certificate.read_text())["facts"]["noted"]["value"]
    found = [(n["subject"], n["at"], n["set_aside"]) for n in noted if not n["subject"].endswith("-test")]
    if found != [("delivery", "2026-03-02T01:00:00Z", ""), ("delivery", "2026-03-02T02:00:00Z", "noted anew"),
                 ("calibration.loft-t", "2026-03-02T06:00:00Z", "")]:
        FAILURES.append(f"what was noted: {noted}")
    page = (job / "certificates/loft-2.html").read_text()
    for words in ("Written down over a day after it was so: Delivery of the cartons, of 2026-03-02 01:00",
                  "loft-t from 2026-03-02 06:00: gain 1.0000, offset -0.50 K", "begins 3 h after the delivery",
                  "before the issue", "noted anew; does not count"):
        if words not in page.replace("\u2212", "-"):
            FAILURES.append(f"the page lacks `{words}`")
    expect("verified with what was noted later", 0,
           ["note: the period begins 3 h after the delivery", "note: the period ended",
            "values of loft-t are calibrated from 2026-03-02T06:00:00Z on: gain 1.0000, offset -0.50 celsius",
            f"{len(noted)} of the {len(noted)} other things that a person noted were written down over a day after",
            "delivery of 2026-03-02T02:00:00Z (noted anew) does not count"],
           run("verify", certificate, "--key", job / "certificate-key.pub"))


def main():
    with tempfile.TemporaryDirectory() as folder:
        job = pathlib.Path(folder) / "job"
        new_job(job)
        for check in (check_flat, check_flat_in_inches, check_flat_refusals, check_answers, check_guide_over_a_pipe,
                      check_guide_on_a_terminal, check_certificate, check_what_was_noted_later):
            check(job)
        print("\n".join(FAILURES) or "as expected")
    return 1 if FAILURES else 0


sys.exit(main())
