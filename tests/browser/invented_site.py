"""A job of one invented room whose readings end now: sixty hours, a gap, and a cold end that sets off an
alert; with people who may do different things and a certificate."""
import datetime
import json
import math
import pathlib
import sys

TESTS = pathlib.Path(__file__).resolve().parent.parent
sys.path[:0] = [str(TESTS / "app"), str(TESTS / "site")]
from page_client import free_port, invented_password  # noqa: E402
from program_rig import must  # noqa: E402

CHANNELS = [("air-t", "room_air_temperature", "T", "celsius"), ("air-rh", "room_air_rh", "RH", "percent_rh"),
            ("core-t", "stack_core_temperature", "C", "celsius"), ("slab-rh", "slab_rh", "S", "percent_rh")]
ROLES = ("viewer", "crew", "owner")


def job_with_page(port):
    room = {"id": "loft", "name": "Loft", "floor_area_m2": 20, "floor_product": "Laminate, click"}
    channels = [{"index": i, "id": name, "room": "loft", "role": role, "csv_column": column, "csv_unit": unit}
                for i, (name, role, column, unit) in enumerate(CHANNELS)]
    return {"format": "dwellog-job/1",
            "job": {"name": "Loft (invented)", "site_address": "1 Sample Street", "installer": "A. Sample", "client": "B. Sample"},
            "rooms": [room], "page": {"port": port}, "collect_every_seconds": 5,
            "alerts": {"rules": {"out_of_band": {"fire_after_minutes": 0}}},
            "boxes": [{"id": "book", "csv": {"time_column": "Time"}, "channels": channels}]}


def rows_until(now):
    lines = ["Time,T,RH,C,S"]
    for i in range(720):
        if 300 <= i < 324:
            continue
        at = now - datetime.timedelta(minutes=5 * (720 - i))
        air = 15.2 if i > 690 else 20 + math.sin(i / 40)
        lines.append(f"{at:%Y-%m-%dT%H:%M:%SZ},{air:.2f},{50 + 2 * math.sin(i / 25):.2f},"
                     f"{20 - 12 * math.exp(-i / 90):.2f},{78 - i / 240:.2f}")
    return "\n".join(lines) + "\n"


def make_site(folder):
    """Gives {"job", "port", "passwords": {role: password}}; names are those of the roles."""
    job, port = folder / "job", free_port()
    must("new", job)
    (job / "job.json").write_text(json.dumps(job_with_page(port)))
    now = datetime.datetime.now(datetime.timezone.utc).replace(second=0, microsecond=0)
    (folder / "rows.csv").write_text(rows_until(now))
    must("import", job, folder / "rows.csv", "--box", "book")
    must("note", job, "delivery", "--by", "A. Sample", "--at", f"{now - datetime.timedelta(hours=58):%Y-%m-%dT%H:%M:%SZ}")
    must("certify", job)
    passwords = {}
    (folder / "password").touch(mode=0o600)
    for role in ROLES:
        passwords[role] = invented_password()
        (folder / "password").write_text(passwords[role] + "\n")
        must("users", job, "add", role, "--role", role, "--password-file", folder / "password")
    return {"job": job, "port": port, "passwords": passwords}
