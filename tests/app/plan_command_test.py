#!/usr/bin/env python3
"""plan_command_test.py DWELLOG: dwellog plan from outside: what it says, its exit statuses, the job
pack and what it never overwrites. Rooms and prices are invented."""
import copy
import json
import math
import pathlib
import re
import subprocess
import sys
import tempfile

from program_rig import FAILURES, JOB, expect, must, new_job, run

PLAN = {
    "size": "5 m x 4 m",
    "doors": [{"wall": 1, "from_corner": "1 m", "width": "0.9 m", "adjoining_height": "-8 mm"}],
    "panel": {"length": "1.2 m", "width": "20 cm", "per_pack": 8},
    "underlay": {"roll_width": "1 m", "roll_length": "10 m"},
    "barrier": {"roll_width": "2 m", "roll_length": "25 m"},
    "prices": {"currency": "EUR", "pack": 41.5},
    "laying_on": "2026-05-04",
    "source": "common practice"}
STACK = {"carton_length_m": 1.29, "carton_width_m": 0.21, "carton_height_m": 0.09, "carton_mass_kg": 15,
         "cartons_high": 3, "cartons_wide": 1, "stacks": 4, "bottom": "battens"}


def write(job, plan=None, stack=True, second=None):
    tree = copy.deepcopy(JOB)
    tree["rooms"][0]["plan"] = plan if plan is not None else PLAN
    if stack:
        tree["rooms"][0]["stack"] = STACK
    if second is not None:
        tree["rooms"].append({**copy.deepcopy(tree["rooms"][0]), "id": "hall", "name": "Hall", "plan": second})
        tree["boxes"].append({"id": "leaf", "csv": {"time_column": "Time"}, "channels": [
            {**channel, "id": "hall" + channel["id"], "room": "hall"}
            for channel in tree["boxes"][0]["channels"]]})
    (job / "job.json").write_text(json.dumps(tree, indent=1))


def changed(**keys):
    return {**copy.deepcopy(PLAN), **keys}


def words_of(pdf):
    text = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True)
    return " ".join(text.stdout.split())


def check_said(job):
    write(job)
    found = run("plan", job)
    # 20 m2 x 1.10 / 1.92 m2 = 11.46: 12 cartons of 41.50.
    expect("plan", 0, ["12 cartons", "22.00 m²", "12 x 41.50 = 498.00 EUR", "no price is given for", "1 bar",
                       "Reducer", "on 2026-05-04: cartons there"], found)
    wide = [line for line in found[1].splitlines() if len(line) > 80]
    if wide:
        FAILURES.append(f"lines wider than 80 columns: {wide}")
    tree = json.loads(must("plan", job, "--json"))
    lines = {line["item"]: line for line in tree["order"]["lines"]}
    if lines["laminate"]["quantity"] != 12 or lines["laminate"]["price"] != 498.0:
        FAILURES.append(f"the order in JSON: {lines}")
    room = tree["rooms"][0]
    stacking = room["stackings"][0]
    if len(room["stack_places"]) != stacking["stacks"]:
        FAILURES.append(f"places of stacks: {room['stack_places']}, stacking {stacking}")
    if sum(place["cartons"] for place in room["stack_places"]) != room["cartons"]:
        FAILURES.append(f"cartons in the stacks are not those of the room: {room['stack_places']}")
    # 2026-05-04 less the lead of whole seconds.
    if room["laying_on"] != "2026-05-04T00:00:00Z" or not room["deliver_by"].startswith("2026-05-0"):
        FAILURES.append(f"dates: {room['laying_on']} {room['deliver_by']}")
    expect("imperial", 0, ["236.8 ft²", "lb/ft²"], run("plan", job, "--units", "imperial"))
    inch = json.loads(must("plan", job, "--json", "--units", "imperial"))
    if inch != tree:
        FAILURES.append("JSON changes with the units for people")
    colder = json.loads(must("plan", job, "--json", "--carton-celsius", "-15"))["rooms"][0]["stackings"]
    if min(s["warm_up_hours"] for s in colder) <= min(s["warm_up_hours"] for s in room["stackings"]):
        FAILURES.append("colder cartons warm through no later")


def check_frame(job):
    """Every place in JSON is in the room as job.json describes it, also where rows are turned."""
    for degrees in (0, 90, 30, 180):
        write(job, changed(rows_degrees=degrees))
        room = json.loads(must("plan", job, "--json"))["rooms"][0]
        points = [corner for place in room["stack_places"] for corner in place["corners"]]
        if not points or not all(0 <= p["x_m"] <= 5 and 0 <= p["y_m"] <= 4 for p in points):
            FAILURES.append(f"stacks outside of the room with rows at {degrees}: {points}")
        if room["rows_degrees"] != degrees:
            FAILURES.append(f"rows at {degrees}: {room['rows_degrees']}")
        # Middles of pieces from where the part begins: along the rows and across them.
        turn = math.radians(degrees)
        begin = room["parts"][0]["begins_at"]
        for row in room["parts"][0]["rows"]:
            across = row["from_m"] + row["width_m"] / 2
            for piece in row["pieces"]:
                along = piece["from_m"] + piece["length_m"] / 2
                x = begin["x_m"] + along * math.cos(turn) - across * math.sin(turn)
                y = begin["y_m"] + along * math.sin(turn) + across * math.cos(turn)
                if not piece["slanted"] and not (0 <= x <= 5 and 0 <= y <= 4):
                    FAILURES.append(f"a piece at {x}; {y} with rows at {degrees}")


def check_rips(job):
    """Rows of 38 cm in an L: 0.28 m and four whole rows are 1.80 m, the wall lies at 1.98 m."""
    ell = changed(outline=["0;0", "5;0", "5;2", "3;2", "3;4", "0;4"], doors=[],
                  panel={"length": "1.29 m", "width": "38 cm", "per_pack": 8})
    del ell["size"]
    write(job, ell)
    room = json.loads(must("plan", job, "--json"))["rooms"][0]
    pieces = room["parts"][0]["rows"][5]["pieces"]
    # 1.98 - 1.80 m.
    if abs(pieces[-1]["rip_to_m"] - 0.18) > 1e-6 or abs(pieces[-1]["ripped_by_wall"]["next_row_m"] - 0.20) > 1e-6:
        FAILURES.append(f"the piece at the wall: {pieces[-1]}")
    notches = [notch for piece in pieces for notch in piece["notches"]]
    if [n["side"] for n in notches] != ["next_row"] or abs(notches[0]["from_near_edge_m"] - 0.18) > 1e-6:
        FAILURES.append(f"notches: {notches}")
    if pieces[0]["rip_to_m"] is not None or room["least_panels"] > room["panels"] or room["least_panels"] < 1:
        FAILURES.append(f"a piece off the wall: {pieces[0]}, {room['least_panels']} of {room['panels']}")
    expect("rips in words", 0, ["piece 4: ripped to 18.0 cm", "row 6: a wall lies inside",
                                "more panel than floor"], run("plan", job))


def check_shared_doorway(job):
    door = {"wall": 1, "from_corner": "1 m", "width": "0.9 m"}
    write(job, changed(doors=[{**door, "adjoins": "hall"}]),
          second=changed(doors=[{**door, "adjoins": JOB["rooms"][0]["id"]}]))
    expect("a doorway of two rooms", 0, [f"0.90 m of it counted with {JOB['rooms'][0]['id']}", "in a doorway, once"],
           run("plan", job))
    tree = json.loads(must("plan", job, "--json"))
    if tree["rooms"][1]["trim"]["counted_with_other_rooms"] != [{"with_room": JOB["rooms"][0]["id"], "width_m": 0.9}]:
        FAILURES.append(f"counted elsewhere: {tree['rooms'][1]['trim']}")
    expect("no such room", 1, ["room `nope` is not in job.json; it has", "hall"], run("plan", job, "--room", "nope"))


def check_pack(job, folder):
    write(job)
    must("note", job, "gate", "flat", "met", "--by", "Fitter", "--at", "2026-03-02T08:00:00Z")
    pdf, again = folder / "pack.pdf", folder / "again.pdf"
    expect("a pack", 0, ["pack.pdf"], run("plan", job, "--pdf", pdf))
    must("plan", job, "--pdf", again)
    if pdf.read_bytes() != again.read_bytes():
        FAILURES.append("the same job gives another pack")
    text = words_of(pdf)
    for words in ("Job pack", "Loft (invented)", "12 cartons", "by 2026-05-0", "on 2026-05-04", "Cut list",
                  "Cartons in the room", "Is the subfloor clean", "Met, Fitter, 2026-03-02 08:00 UTC",
                  "silica dust", "SHA-256"):
        if words not in text:
            FAILURES.append(f"the pack lacks: {words}")
    if re.search(r"\bsafe\b|guarantee", text):
        FAILURES.append("the pack promises something")
    kept = pdf.read_bytes()
    expect("a pack that is there", 1, ["is there already; nothing was written"], run("plan", job, "--pdf", pdf))
    if pdf.read_bytes() != kept:
        FAILURES.append("a pack was overwritten")
    drawings = folder / "drawings"
    expect("drawings", 0, ["loft-rows.svg", "loft-site.svg"], run("plan", job, "--drawings", drawings))
    for name in ("loft-rows.svg", "loft-site.svg"):
        drawn = (drawings / name).read_text()
        if not drawn.lstrip().startswith("<?xml") or "<svg" not in drawn:
            FAILURES.append(f"{name} is no SVG")
    other = folder / "other.pdf"
    expect("a drawing that is there", 1, ["loft-rows.svg is there already; nothing was written"],
           run("plan", job, "--drawings", drawings, "--pdf", other))
    if other.exists():
        FAILURES.append("a pack was written although a drawing was in the way")
    expect("no folder for it", 1, ["nowhere"], run("plan", job, "--pdf", folder / "nowhere" / "pack.pdf"))
    letter = folder / "letter.pdf"
    must("plan", job, "--pdf", letter, "--paper", "letter", "--units", "imperial")
    info = subprocess.run(["pdfinfo", str(letter)], capture_output=True, text=True, check=True).stdout
    if "612 x 792" not in info:
        FAILURES.append(f"--paper letter: {info}")
    capital = folder / "capital.pdf"
    must("plan", job, "--pdf", capital, "--paper", "Letter", "--units", "imperial")
    if capital.read_bytes() != letter.read_bytes():
        FAILURES.append("--paper Letter is not --paper letter")


def check_refused(job):
    """Each bad key names file, line and key, and nothing is printed of a plan."""
    door = {"wall": 1, "from_corner": "1 m", "width": "0.9 m"}
    cases = [
        ("a door beyond its wall", changed(doors=[{**door, "from_corner": "4.5 m"}]), ["doors[0].width", "0.40 m"]),
        ("an item outside of the room", changed(fixed_items=[{"name": "hearth", "outline": ["9;1", "10;1", "9;2"]}]),
         ["fixed_items[0].outline", "inside the room"]),
        ("a wall that is not there", changed(doors=[{**door, "wall": 9}]), ["doors[0].wall", "walls 1 to 4"]),
        ("two words for one thing", changed(doors=[{**door, "transition": "to_edge", "adjoining_height": "1 cm"}]),
         ["adjoining_height", "leave one out"]),
        ("a height without a unit that exists", changed(doors=[{**door, "adjoining_height": "-8 miles"}]),
         ["adjoining_height", "miles"]),
        ("a heater beyond its wall", changed(heaters=[{**door, "width": "7 m"}]), ["heaters[0].width"]),
        ("a price without a currency", changed(prices={"pack": 3}), ["prices.currency"]),
        ("a day that is not", changed(laying_on="2026-02-30"), ["laying_on"]),
        ("a floor that bears nothing", changed(floor_bears_kg_per_m2=1), ["floor_bears_kg_per_m2", "kg/m²"]),
        ("a bar without a length", changed(profile_bar="0 m"), ["profile_bar"]),
        ("a panel of a street's length", changed(panel={**PLAN["panel"], "length": "100 m"}),
         ["plan.panel.length", "6.00 m"]),
        ("a roll of 2 cm", changed(underlay={"roll_width": "1 m", "roll_length": "2 cm"}), ["underlay.roll_length"]),
        ("a roll no wider than its lap", changed(barrier={"roll_width": "45 cm", "roll_length": "25 m"}),
         ["barrier.roll_width", "lap of 0.45 m"]),
        ("a bar of 1 mm", changed(trim_bar="1 mm"), ["plan.trim_bar", "0.20 m"]),
        ("a step of 8 m", changed(doors=[{**door, "adjoining_height": "8 m"}]), ["adjoining_height", "0.50 m"]),
        ("doors over each other", changed(doors=[door, {**door, "from_corner": "1.5 m"}]),
         ["doors[1].from_corner", "0.40 m of it"]),
        ("a pipe in the wall", changed(pipes=[{"name": "riser", "at": "0; 2", "diameter": "2 cm"}]), ["pipes[0].at"]),
        ("a pipe as wide as the room", changed(pipes=[{"name": "riser", "at": "2; 2", "diameter": "5 m"}]),
         ["pipes[0].diameter", "2.00 m"]),
        ("an item outside", changed(fixed_items=[{"name": "hearth", "outline": ["4; 1", "6; 1", "6; 2"]}]),
         ["fixed_items[0].outline", "hearth"]),
        ("a comma", changed(size="5,2 m x 4,1 m"), ["plan.size", "comma"])]
    for what, plan, words in cases:
        write(job, plan)
        found = run("plan", job)
        expect(what, 1, words, found)
        if not re.search(r"job\.json:\d+: rooms\[0\]\.plan\.", found[1]):
            FAILURES.append(f"{what}: no file, line and key: {found[1]}")
    write(job, second=changed(prices={"currency": "EUR", "pack": 40}))
    expect("two prices of one thing", 1, ["rooms[1].plan.prices.pack", "rooms[0]"], run("plan", job))
    write(job, second=changed(prices={"currency": "USD"}))
    expect("two currencies", 1, ["rooms[1].plan.prices.currency", "\"USD\""], run("plan", job))
    write(job, second=changed(prices={"currency": "EUR"}))
    # 44 m2 / 1.92 m2 = 22.9.
    expect("one price for both rooms", 0, ["23 x 41.50 = 954.50 EUR"], run("plan", job))
    write(job, changed(doors=[{**door, "from_corner": "0"}]))
    expect("a door that begins at a corner", 0, ["door in wall 1"], run("plan", job))
    write(job)
    expect("cartons of no temperature", 1, ["--carton-celsius"], run("plan", job, "--carton-celsius", "nan"))
    for option in ("--pdf", "--drawings"):
        expect(f"{option} without a name", 1, [option, "found nothing"], run("plan", job, option, ""))
    for size in ("5 m X 4 m", "5 m \u00d7 4 m"):
        write(job, changed(size=size))
        expect(size, 0, ["20.0 m"], run("plan", job))
    write(job, changed(doors=[{**door, "from_corner": "0", "adjoining_height": "+8 mm"}],
                       heaters=[{"wall": 2, "from_corner": "0", "width": "1 m"}]))
    expect("from the corner", 0, ["edge profile"], run("plan", job))
    write(job, changed(size="9 m x 4 m", kept_at_celsius=39))
    expect("unlike the rest of the room", 0, ["worth a look", "36 m²", "39 °C", "own band"], run("plan", job))
    looks = json.loads(must("plan", job, "--json"))["worth_a_look"]
    if not any("39 °C" in line for line in looks):
        FAILURES.append(f"worth a look, in JSON: {looks}")
    write(job)
    expect("a room that is not there", 1, ["`attic`"], run("plan", job, "--room", "attic"))


def check_corners_either_way(job):
    """A door in wall 1 stays where it is drawn when the corners are written clockwise."""
    around = ["0; 0", "5; 0", "5; 3", "2; 3", "2; 4", "0; 4"]
    doors = {"anticlockwise": {"wall": 2, "from_corner": "0.5 m", "width": "0.9 m"},
             "clockwise": {"wall": 5, "from_corner": "1.6 m", "width": "0.9 m"}}
    outlines = {"anticlockwise": around, "clockwise": around[:1] + around[:0:-1]}
    places = {}
    for way, outline in outlines.items():
        plan = changed(outline=outline, doors=[doors[way]])
        del plan["size"]
        write(job, plan)
        places[way] = json.loads(must("plan", job, "--json"))["rooms"][0]
    # What is for people names walls and corners as they were written; the places stay.
    for place in places.values():
        for test in (place["slab_tests"] or {"places": []})["places"]:
            test["walls"] = sorted(wall["distance_m"] for wall in test["walls"])
    words = {way: (place.pop("first_row"), place.pop("remarks")[-1][:14]) for way, place in places.items()}
    if words != {"anticlockwise": ("along the wall from corner 1 to 2", "door in wall 2"),
                 "clockwise": ("along the wall from corner 6 to 1", "door in wall 5")}:
        FAILURES.append(f"corners clockwise, in words: {words}")
    if places["clockwise"] != places["anticlockwise"]:
        FAILURES.append(f"corners clockwise: {places}")


def check_rows(job):
    """Light, pipes, joints at doors, the cut list."""
    pipe = {"name": "radiator", "at": "1.5 m; 0.5 m", "diameter": "22 mm"}
    write(job, changed(pipes=[pipe], light_degrees=90))
    expect("rows along the light", 0, ["radiator: a hole of 4.2 cm", "Cut list", "row 1 ", " of panel "],
           run("plan", job))
    if json.loads(must("plan", job, "--json"))["rooms"][0]["first_row"] != "along the wall from corner 2 to 3":
        FAILURES.append("the first row does not lie along the light")
    write(job, changed(pipes=[dict(pipe, at="90 m; 0 m")]))
    expect("a pipe elsewhere", 1, ["pipes[0].at", "can't be planned", "radiator at 90.00 m"], run("plan", job))
    write(job, changed(pipes=[dict(pipe, at="1.5 m")]))
    expect("a pipe nowhere", 1, ["job.json:", "pipes[0].at", "two lengths"], run("plan", job))
    write(job, changed(doors=[{"wall": 1, "from_corner": "0.5 m", "width": "0.9 m", "adjoins": "hall"}]))
    remarks = json.loads(must("plan", job, "--json"))["rooms"][0]["remarks"]
    if not any("the floor of hall adjoins" in remark for remark in remarks):
        FAILURES.append(f"a floor that adjoins: {remarks}")
    write(job, changed(pipes=[pipe], light_degrees=90))
    room = json.loads(must("plan", job, "--json"))["rooms"][0]
    if room["pipes"][0]["hole_m"] != 0.042 or len(room["gaps"]) != 2 or room["parts"][0]["rules_broken"]:
        FAILURES.append(f"pipes, gaps, rules: {room['pipes']} {room['gaps']} {room['parts'][0]['rules_broken']}")


def check_without_cartons(job):
    write(job, stack=False)
    expect("no size of cartons", 0, ["rooms[].stack"], run("plan", job))
    write(job, changed(size="0.9 m x 0.9 m", doors=[], panel={**PLAN["panel"], "length": "0.6 m"}))
    expect("a room too small for a stack", 0, ["Stacking"], run("plan", job))


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        job = folder / "job"
        new_job(job)
        check_said(job)
        check_frame(job)
        check_rips(job)
        check_shared_doorway(job)
        check_pack(job, folder)
        check_refused(job)
        check_corners_either_way(job)
        check_rows(job)
        check_without_cartons(job)
        print("\n".join(FAILURES) or "as expected")
    return 1 if FAILURES else 0


sys.exit(main())
