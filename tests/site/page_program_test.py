#!/usr/bin/env python3
"""page_program_test.py DWELLOG OPENAPI: the page and the API of a running daemon, from outside. Every
described path is asked by everyone there is, and each answer held against the description. Room and
readings are invented."""
import datetime
import json
import pathlib
import re
import socket
import sys
import tempfile
import urllib.parse

import jsonschema

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "app"))
from page_client import Client, Daemon, Description, free_port, invented_password, metrics_from, patched
from program_rig import DWELLOG, FAILURES, JOB, expect, must, run

DESCRIPTION = Description(sys.argv[2])
ROLES = ("viewer", "crew", "owner")
RANK = {"nobody": 0, "shared": 1, "viewer": 2, "crew": 3, "owner": 4}
JPEG = b"\xff\xd8\xff\xe0 invented"


def check(what, holds, found=""):
    if not holds:
        FAILURES.append(f"{what}: {str(found)[:400]}")


def make_job(folder, port):
    job = folder / "job"
    must("new", job)
    (job / "job.json").write_text(json.dumps({**JOB, "page": {"port": port}}))
    now = datetime.datetime.now(datetime.timezone.utc).replace(second=0, microsecond=0)
    rows = ["Time,T,RH"]
    for i in range(150):
        at = now - datetime.timedelta(minutes=5 * (150 - i))
        rows.append(f"{at:%Y-%m-%dT%H:%M:%SZ},{20 + (i % 7) / 10:.2f},{50 + (i % 11) / 10:.2f}")
    (folder / "rows.csv").write_text("\n".join(rows) + "\n")
    must("import", job, folder / "rows.csv", "--box", "book")
    must("note", job, "delivery", "--by", "Fitter", "--at", f"{now - datetime.timedelta(hours=10):%Y-%m-%dT%H:%M:%SZ}")
    must("certify", job)
    return job


def token_of(job, role):
    text = must("users", job, "token", f"program-{role}", "--role", role)
    return re.search(r"[A-Za-z0-9_-]{43}", text).group(0)


def add_user(job, name, role):
    password = invented_password()
    file = job.parent / "password"
    file.write_text(password + "\n")
    file.chmod(0o600)
    must("users", job, "add", name, "--role", role, "--password-file", file)
    return password


def log_in(port, name, password):
    answer = Client(port).ask("POST", "/login", urllib.parse.urlencode({"name": name, "password": password}),
                              content_type="application/x-www-form-urlencoded")
    cookie = answer.headers.get("set-cookie", "").split(";")[0]
    return answer, Client(port, {"cookie": cookie})


def wait_for_rooms(client):
    """The newest status once the first snapshot is made, and the open stream."""
    events = client.events()
    status = {}
    for name, document in events:
        status = document if name == "status" else patched(status, document)
        if status["rooms"]:
            return status, events
    raise SystemExit("the stream of events ended")


# What stands in the place of each parameter, and what is sent.
FILLED = {"{room}": "loft", "{chart}": "climate-rh", "{number}": "loft-1", "{kind}": "json",
          "{name}": "page.css", "{token}": "A" * 43, "{id}": "s999", "{sha256}": "0" * 64}
BODIES = {"/api/v1/notes": {"kind": "remark", "remark": "heater on"},
          "/api/v1/alerts/acknowledge": {"key": "out_of_band/nowhere"},
          "/api/v1/links": {"hours": 1, "label": "invented"},
          "/api/v1/photos": JPEG,
          "/login": "name=nobody&password=wrong-guess-1"}
EXPECTED = {("POST", "/api/v1/alerts/acknowledge"): 404, ("GET", "/api/v1/photos/{sha256}"): 404,
            ("DELETE", "/api/v1/links/{id}"): 404, ("POST", "/login"): 401, ("GET", "/s/{token}"): 303,
            ("POST", "/api/v1/notes"): 201, ("POST", "/api/v1/photos"): 201, ("POST", "/api/v1/links"): 201,
            ("POST", "/logout"): 303}


def check_every_path(clients):
    for method, path, operation in DESCRIPTION.operations():
        if path == "/events":
            continue  # never ends; wait_for_rooms reads it
        target = path
        for name, value in FILLED.items():
            target = target.replace(name, value)
        least = operation.get("x-least-role")
        for who, client in clients.items():
            if path in ("/login", "/s/{token}") and who != "nobody":
                continue  # wrong attempts are counted
            body = BODIES.get(path) if method == "POST" else None
            kind = {"content_type": "application/x-www-form-urlencoded"} if path == "/login" else {}
            answer = client.ask(method, target, body, **kind)
            fault = DESCRIPTION.fault_of(method, path, answer)
            check(f"{method} {target} by {who}", fault is None, fault)
            if least is None or RANK[who] >= RANK[least]:
                wanted = EXPECTED.get((method, path), 200)
            elif who == "nobody":
                wanted = 303 if path == "/" else 401
            else:
                wanted = 403
            check(f"{method} {target} by {who}: status", answer.status == wanted, (answer.status, answer.body))
            check(f"{method} {target} by {who}: nosniff", answer.headers.get("x-content-type-options") == "nosniff")


WRONG = [("GET", "/api/v1/rooms/{room}/series", "?limit=0", 400), ("GET", "/api/v1/rooms/{room}/series", "?from=noon", 400),
         ("GET", "/api/v1/rooms/{room}/series", "?limit=10001", 400),
         ("GET", "/api/v1/rooms/{room}/series", "?channel=none", 404),
         ("GET", "/api/v1/rooms/{room}/series", "?from=2026-01-02T00:00:00Z&to=2026-01-01T00:00:00Z", 422),
         ("GET", "/api/v1/rooms/{room}/charts/{chart}.svg", "?hours=-1", 400),
         ("GET", "/api/v1/rooms/{room}/charts/{chart}.svg", "?hours=100000", 422),
         ("GET", "/api/v1/notes", "?limit=201", 400), ("GET", "/api/v1/audit", "?before=x", 400)]


def check_errors(owner):
    for method, path, query, status in WRONG:
        target = path.replace("{room}", "loft").replace("{chart}", "climate-rh") + query
        answer = owner.ask(method, target)
        fault = DESCRIPTION.fault_of(method, path, answer)
        check(f"{target}", fault is None and answer.status == status, (fault, answer.status, answer.body))
    for body, status in (({"kind": "gate"}, 422), ({"kind": "remark", "remark": "x", "colour": 1}, 422), ([], 400)):
        answer = owner.ask("POST", "/api/v1/notes", body)
        fault = DESCRIPTION.fault_of("POST", "/api/v1/notes", answer)
        check(f"note {body}", fault is None and answer.status == status, (fault, answer.status, answer.body))
    answer = owner.ask("POST", "/api/v1/photos", b"GIF89a")
    check("a photo of another kind", answer.status == 422, answer.status)


def check_series(viewer):
    whole = viewer.ask("GET", "/api/v1/rooms/loft/series?limit=10000").json()
    check("series: all there", len(whole["points"]) == 300 and whole["next_from_utc"] is None, len(whole["points"]))
    joined, query = [], "?limit=77"
    while query:
        page = viewer.ask("GET", "/api/v1/rooms/loft/series" + query).json()
        joined += page["points"]
        query = page["next_from_utc"] and "?limit=77&from=" + urllib.parse.quote(page["next_from_utc"])
    check("series: pages joined are the whole", joined == whole["points"])


def check_notes_and_stream(daemon, crew, status, events):
    answer = crew.ask("POST", "/api/v1/photos", JPEG)
    check("a photo is kept", answer.status == 201, (answer.status, answer.body))
    digest = answer.json().get("sha256")
    if FAILURES:
        return
    made = crew.ask("POST", "/api/v1/notes", {"kind": "gate", "subject": "clean", "answer": "met",
                                              "remark": "swept", "photos": [digest]})
    check("a note is made", made.status == 201, made.body)
    for name, document in events:
        check("after the first comes a patch", name == "patch", name)
        status = patched(status, document)
        if any(note["id"] == made.json()["id"] for note in status["notes"]):
            break
    shown = next(note for note in status["notes"] if note["id"] == made.json()["id"])
    check("the note as shown", shown["text"] == "clean: met. swept" and shown["by"] == "program-crew" and
          shown["photos"] == [digest], shown)
    whole = crew.ask("GET", "/api/v1/status").json()
    check("patches lead to the document", {**status, "at_utc": 0} == {**whole, "at_utc": 0})
    photo = crew.ask("GET", "/api/v1/photos/" + digest)
    check("the photo comes back", photo.body == JPEG and photo.kind == "image/jpeg", photo.kind)


def check_answered_gate(crew):
    """A gate by its question, asked twice under one key; nothing is stored twice."""
    asked = crew.ask("GET", "/api/v1/questions").json()
    heating = next(question for question in asked["questions"] if question["gate"] == "heating_kind")
    check("the room asks it", "heating_kind" in asked["rooms"][0]["gates"], asked["rooms"])
    body = {"kind": "gate", "subject": "heating_kind", "choice": heating["choices"][0]["word"]}
    key = {"idempotency_key": '"8e03978e-40d5-43dd-bc93-6894a57f9324"'}
    made = [crew.ask("POST", "/api/v1/notes", body, **key) for _ in range(2)]
    check("the first answer again", [one.status for one in made] == [201, 201] and made[0].body == made[1].body,
          [(one.status, one.body) for one in made])
    notes = crew.ask("GET", "/api/v1/notes").json()["notes"]
    check("stored once", sum(note["text"].startswith("heating_kind: met. Answered: ") for note in notes) == 1, notes)
    for other, headers, status in (({**body, "choice": "water"}, key, 422), (body, {"idempotency_key": "bare"}, 400)):
        answer = crew.ask("POST", "/api/v1/notes", other, **headers)
        fault = DESCRIPTION.fault_of("POST", "/api/v1/notes", answer)
        check(f"key {headers} with {other}", fault is None and answer.status == status, (fault, answer.status, answer.body))


def check_conditional(viewer):
    for path in ("/api/v1/status", "/api/v1/openapi.json", "/api/v1/certificates",
                 "/api/v1/rooms/loft/charts/climate-temperature.svg?hours=1"):
        for attempt in range(3):  # between the two a minute may end, or something may be recorded
            first = viewer.ask("GET", path)
            again = viewer.ask("GET", path, if_none_match=first.headers.get("etag", ""))
            if again.status == 304:
                break
        check(f"{path}: 304", (again.status, again.body) == (304, b""), again.status)


def check_shared(port, owner):
    made = owner.ask("POST", "/api/v1/links", {"hours": 2, "label": "client"}).json()
    opened = Client(port).ask("GET", made["path"])
    shared = Client(port, {"cookie": opened.headers["set-cookie"].split(";")[0]})
    answer = shared.ask("GET", "/api/v1/status")
    document = answer.json()
    only = {"$ref": "#/components/schemas/SharedStatus", "components": DESCRIPTION.tree["components"]}
    errors = list(jsonschema.Draft202012Validator(only).iter_errors(document))
    check("the shared status is what is described", not errors, errors and errors[0].message)
    check("the shared status names nobody", b"Fitter" not in answer.body and b"swept" not in answer.body)
    withdrawn = owner.ask("DELETE", "/api/v1/links/" + made["id"])
    check("a link is withdrawn", withdrawn.status == 204, withdrawn.status)
    check("and its reader is out", shared.ask("GET", "/api/v1/status").status == 401)
    return document


def check_metrics(viewer):
    answer = viewer.ask("GET", "/metrics")
    check("kind of the figures", answer.headers["content-type"].startswith("text/plain; version=0.0.4"))
    samples = metrics_from(answer.body.decode())
    check("verdict", sum(v for (name, _), v in samples.items() if name == "dwellog_room_verdict") == 1, samples)
    celsius = [v for (name, _), v in samples.items() if name == "dwellog_channel_celsius"]
    check("a temperature", len(celsius) == 1 and 19 < celsius[0] < 21, celsius)
    check("disk", samples["dwellog_disk_free_bytes", None] > 0)


def check_audit(owner):
    entries = owner.ask("GET", "/api/v1/audit?limit=200").json()["entries"]
    actions = {entry["action"] for entry in entries if "action" in entry}
    check("the audit", actions >= {"login", "login-refused", "note", "photo", "link-made", "link-withdrawn",
                                   "certificate-fetched", "refused"}, actions)
    check("the audit names nobody", "Fitter" not in json.dumps(entries) and "program-" not in json.dumps(entries))


def check_page(port, job):
    password = add_user(job, "Fitter", "crew")
    refused, _ = log_in(port, "Fitter", "not the password")
    check("a wrong password", refused.status == 401, refused.status)
    answer, browser = log_in(port, "Fitter", password)
    check("signed in", answer.status == 303 and "HttpOnly" in answer.headers["set-cookie"], answer.headers)
    page = browser.ask("GET", "/")
    check("the page shows the room", page.status == 200 and b"Loft" in page.body, page.status)
    note = browser.ask("POST", "/api/v1/notes", {"kind": "remark", "remark": "forged"})
    check("a change by cookie alone", note.status == 403, note.status)


def check_same_as_command(job, viewer):
    _, text = run("status", job, "--json")
    printed = json.loads(text)
    served = {}
    for name, document in viewer.events():
        served = document if name == "status" else patched(served, document)
        if [note["id"] for note in served["notes"]] == [note["id"] for note in printed["notes"]]:
            break
    for key in ("at_utc", "logger_seen_at_utc", "evidence_log"):  # the audit writes meanwhile
        printed.pop(key)
        served.pop(key)
    check("dwellog status --json is the same document", printed == served,
          [(printed[key], served.get(key)) for key in printed if printed[key] != served.get(key)])


def check_running(job, port):
    with Daemon(DWELLOG, job) as daemon:
        clients = {"nobody": Client(port)}
        for role in ROLES:
            clients[role] = Client(port, {"authorization": "Bearer " + token_of(job, role)})
        status, events = wait_for_rooms(clients["viewer"])
        check("forecast and limits", status["rooms"][0]["forecast"]["earliest_utc"] and
              status["rooms"][0]["limits"]["temperature_low_celsius"] == 17.0, status["rooms"][0])
        check("the certificate is listed", [c["number"] for c in status["certificates"]] == ["loft-1"])
        check_notes_and_stream(daemon, clients["crew"], status, events)
        check_answered_gate(clients["crew"])
        check_series(clients["viewer"])
        check_every_path(clients)
        check_errors(clients["owner"])
        check_conditional(clients["viewer"])
        check_shared(port, clients["owner"])
        check_metrics(clients["viewer"])
        check_page(port, job)
        check_audit(clients["owner"])
        check_same_as_command(job, clients["viewer"])
        print(f"resident {daemon.resident_kib()} KiB")
        taken = run("run", job)
        expect("a second logger", 4, ["another dwellog run"], taken)
        check("the daemon stops", daemon.stop() == 0, daemon.lines)


def check_unreadable_users(job, port):
    """Collecting goes on; nobody gets in until the file is mended."""
    users = job / "access" / "users.json"
    token = token_of(job, "owner")
    sound = users.read_bytes()
    users.write_bytes(sound[:100])
    expect("check", 1, ["users.json: damaged"], run("check", job))
    expect("inspect", 1, ["users.json: damaged"], run("inspect", job))
    with Daemon(DWELLOG, job) as daemon:
        client = Client(port, {"authorization": "Bearer " + token})
        check("a token opens nothing", client.ask("GET", "/api/v1/status").status == 401)
        answer, _ = log_in(port, "Fitter", "any password")
        fault = DESCRIPTION.fault_of("POST", "/login", answer)
        check("the page says why", answer.status == 503 and b"its list of users" in answer.body and not fault,
              (answer.status, fault))
        answer = Client(port).ask("GET", "/s/" + "A" * 43)
        check("a link says why", answer.status == 503 and not DESCRIPTION.fault_of("GET", "/s/{token}", answer),
              answer.status)
        users.write_bytes(sound)
        check("mended", client.ask("GET", "/api/v1/status").status == 200)
        check("the daemon stops", daemon.stop() == 0, daemon.lines)
        told = [line for line in "".join(daemon.lines).splitlines() if "nobody gets in" in line]
        check("the log says it once", len(told) == 1 and "users.json: damaged" in told[0], daemon.lines)


def check_refusals(job, port):
    with socket.socket() as squatter:
        squatter.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        squatter.bind(("127.0.0.1", port))
        squatter.listen()
        code, text = run("run", job)
        check("a taken port", code == 4 and str(port) in text and len(text.splitlines()) == 1, (code, text))
    tree = json.loads((job / "job.json").read_text())
    tree["page"] = {"port": port, "tls_certificate": "none.crt", "tls_key": "none.key"}
    (job / "job.json").write_text(json.dumps(tree))
    expect("check of a missing certificate", 1, ["page.tls_certificate", "none."], run("check", job))
    code, text = run("run", job)
    check("a missing certificate", code == 1 and "none." in text and len(text.splitlines()) == 1, (code, text))


def main():
    with tempfile.TemporaryDirectory() as folder:
        port = free_port()
        job = make_job(pathlib.Path(folder), port)
        check_running(job, port)
        check_unreadable_users(job, port)
        check_refusals(job, port)
        print("\n".join(FAILURES) or "as expected")
    return 1 if FAILURES else 0


try:
    sys.exit(main())
except (KeyError, TypeError, StopIteration):
    print("\n".join(FAILURES))
    raise
