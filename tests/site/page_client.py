"""A client of the page for tests: one daemon on a job of an invented room, requests to it, its answers
held against the description of the API."""
import http.client
import json
import re
import secrets
import socket
import subprocess

import jsonschema


def free_port():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return taken.getsockname()[1]


class Daemon:
    """dwellog run until the with-block ends."""

    def __init__(self, program, job):
        self.process = subprocess.Popen([program, "run", str(job)], stdout=subprocess.PIPE,
                                        stderr=subprocess.STDOUT, text=True)
        self.lines = []
        self.port = None

    def __enter__(self):
        for line in self.process.stdout:
            self.lines.append(line)
            found = re.search(r"page: http://127\.0\.0\.1:(\d+)/", line)
            if found:
                self.port = int(found.group(1))
                return self
        raise SystemExit("the daemon gave no page: " + "".join(self.lines))

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.stop()

    def stop(self):
        self.process.terminate()
        # By the reader that read the first lines: it may hold more than it gave.
        self.lines.append(self.process.stdout.read())
        self.process.wait(timeout=60)
        return self.process.returncode

    def resident_kib(self):
        with open(f"/proc/{self.process.pid}/status", encoding="ascii") as status:
            return int(re.search(r"VmRSS:\s+(\d+)", status.read()).group(1))


class Answer:
    def __init__(self, response):
        self.status = response.status
        self.headers = {name.lower(): value for name, value in response.getheaders()}
        self.body = response.read()

    @property
    def kind(self):
        return self.headers.get("content-type", "").split(";")[0]

    def json(self):
        return json.loads(self.body)


class Client:
    def __init__(self, port, headers=None):
        self.port = port
        self.headers = headers or {}

    def ask(self, method, path, body=None, **headers):
        sent = {**self.headers, **{name.replace("_", "-"): value for name, value in headers.items()}}
        if isinstance(body, (dict, list)):
            body = json.dumps(body)
            sent.setdefault("content-type", "application/json")
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        connection.request(method, path, body, sent)
        answer = Answer(connection.getresponse())
        connection.close()
        return answer

    def events(self):
        """(name, document) of each event, as they come."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        connection.request("GET", "/events", headers=self.headers)
        response = connection.getresponse()
        fields = {}
        while True:
            line = response.readline()
            if not line:
                return
            name, _, value = line.decode().rstrip("\n").partition(": ")
            if name and not name.startswith(":"):
                fields[name] = value
            elif not name and "data" in fields:
                yield fields.get("event"), json.loads(fields["data"])
                fields = {}


def patched(document, patch):
    """RFC 7396."""
    if not isinstance(patch, dict):
        return patch
    result = dict(document) if isinstance(document, dict) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = patched(result.get(key), value)
    return result


class Description:
    """openapi.json: whether an answer is one that it promises."""

    def __init__(self, path):
        with open(path, encoding="utf-8") as text:
            self.tree = json.load(text)

    def operations(self):
        for path, methods in self.tree["paths"].items():
            for method, operation in methods.items():
                yield method.upper(), path, operation

    def fault_of(self, method, path, answer):
        responses = self.tree["paths"][path][method.lower()]["responses"]
        promised = responses.get(str(answer.status))
        if promised is None:
            return f"status {answer.status} is not described"
        if "$ref" in promised:
            promised = self.tree["components"]["responses"][promised["$ref"].rsplit("/", 1)[1]]
        content = promised.get("content")
        if content is None:
            return f"a body that is not described: {answer.body[:80]!r}" if answer.body else None
        if answer.kind not in content and not any(kind.endswith("*") and answer.kind.startswith(kind[:-1])
                                                  for kind in content):
            return f"content type {answer.kind}, described {list(content)}"
        if answer.kind.endswith("json") and answer.kind in content:
            schema = {**content[answer.kind]["schema"], "components": self.tree["components"]}
            errors = list(jsonschema.Draft202012Validator(schema).iter_errors(answer.json()))
            return f"{errors[0].json_path}: {errors[0].message[:300]}" if errors else None
        return None


METRIC = re.compile(r'^([a-z_:][a-z0-9_:]*)(\{[a-z_]+="(?:[^"\\\n]|\\[\\"n])*"(?:,[a-z_]+="(?:[^"\\\n]|\\[\\"n])*")*\})? '
                    r'(-?[0-9.]+(?:e[+-]?[0-9]+)?)$')


def metrics_from(text):
    """Samples of the text exposition format 0.0.4 by name and labels; refuses what it does not allow."""
    samples, typed, order = {}, {}, []
    assert text.endswith("\n"), "the last line has no end"
    for line in text.splitlines():
        if line.startswith("# "):
            word, name, rest = line[2:].split(" ", 2)
            assert word in ("HELP", "TYPE"), line
            if word == "TYPE":
                assert name not in typed and rest in ("gauge", "counter"), line
                typed[name] = rest
                order.append(name)
            continue
        match = METRIC.match(line)
        assert match, f"no sample: {line}"
        name, labels, value = match.groups()
        assert order and order[-1] == name, f"{line}: not below its type"
        assert (name, labels) not in samples, f"{line}: twice"
        samples[name, labels] = float(value)
    return samples


def invented_password():
    return "invented-" + secrets.token_hex(8)
