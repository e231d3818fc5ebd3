#!/usr/bin/env python3
"""schema_test.py WRITER: docs/certificate-schema.json fits the committed example, freshly issued
certificates and a redacted copy, and refuses each kind of alteration of them."""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

try:
    from jsonschema import Draft202012Validator
except ImportError:
    print("skipped: python3-jsonschema (4 or later) is not installed")
    sys.exit(77)

ROOT = pathlib.Path(__file__).resolve().parents[2]


def members_of(value, path=()):
    """Every object of the document with its path."""
    if isinstance(value, dict):
        yield path, value
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from members_of(inner, path + (key,))


def at(document, path):
    for key in path:
        document = document[key]
    return document


def may_be_left_out(path, name):
    """What a copy may lack, tests that were not made, and members that came to the format later."""
    redactable = (".placement", ".by", ".remark", ".reason", ".action")
    if path in (("facts",), ("header", "fields")) and name == "subfloor_tests.rh":
        return True
    if path == ("facts",):
        return name.startswith(("parties.", "laying.")) or name == "room.name" or name.endswith(redactable)
    if path == ("header", "fields"):
        return name.startswith("laying.") or name.endswith(redactable)
    return name in ("value_at_zero", "frozen_after_s")


def altered_copies(document):
    """(what was done, copy) for each object and member: one unknown, one missing, one of another type."""
    for path, members in members_of(document):
        unknown = copy.deepcopy(document)
        at(unknown, path)["no_such_member"] = 1
        yield f"unknown member in {path}", unknown
        for name in members:
            if not may_be_left_out(path, name):
                missing = copy.deepcopy(document)
                del at(missing, path)[name]
                yield f"{path} without {name}", missing
            wrong = copy.deepcopy(document)
            at(wrong, path)[name] = [[]]
            yield f"{path}: {name} is [[]]", wrong


def main():
    schema = json.loads((ROOT / "docs/certificate-schema.json").read_text())
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    errors = []

    def check_good(name, document):
        errors.extend(f"{name}: {e.json_path}: {e.message[:200]}" for e in validator.iter_errors(document))

    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.argv[1], folder], check=True, stdout=subprocess.DEVNULL)
        fresh = {p.name: json.loads(p.read_text()) for p in sorted(pathlib.Path(folder).glob("*.json"))}
    if len(fresh) != 3:
        errors.append(f"the writer wrote {sorted(fresh)}, expected three certificates")
    for name, document in fresh.items():
        check_good(f"fresh {name}", document)
    example = json.loads((ROOT / "tests/evidence/example/certificate.json").read_text())
    check_good("the committed example", example)

    full = fresh["certificate-full.json"]
    full["facts"]["chart"]["value"]["series"] = full["facts"]["chart"]["value"]["series"][:1]
    refused = 0
    for what, document in altered_copies(full):
        if validator.is_valid(document):
            errors.append(f"accepted: {what}")
        refused += 1
    if refused < 700:
        errors.append(f"only {refused} alterations tried")
    print("\n".join(errors[:20]) if errors else f"five certificates fit, {refused} alterations do not")
    return 1 if errors else 0


sys.exit(main())
