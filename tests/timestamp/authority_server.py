#!/usr/bin/env python3
"""A time stamping authority on loopback for tests: `openssl ts -reply` behind HTTP.

usage: authority_server.py FOLDER [PORT]   (FOLDER made by make_authority.sh)
Prints its port, then serves until it is killed. The path says how it behaves:
/good /other /expired /refused /wrong-digest /wrong-nonce /garbage /empty /long /slow /type /error /redirect
/to-file. Each request is counted in FOLDER/requests.log.
"""
import http.server
import pathlib
import subprocess
import sys
import tempfile
import time

FOLDER = pathlib.Path(sys.argv[1])
STOPPED = FOLDER / "offline"  # while this file is there every request fails


def openssl(*arguments):
    subprocess.run(["openssl", *arguments], cwd=FOLDER, check=True, capture_output=True)


def reply(request, signer="tsa", *more):
    with tempfile.TemporaryDirectory(dir=FOLDER) as folder:
        query, answer = pathlib.Path(folder, "q"), pathlib.Path(folder, "a")
        query.write_bytes(request)
        openssl("ts", "-reply", "-config", "authority.cnf", "-queryfile", str(query), "-signer", f"{signer}.pem",
                "-inkey", f"{signer}.key", "-out", str(answer), *more)
        return answer.read_bytes()


def request_for(digest_hex, *more):
    with tempfile.TemporaryDirectory(dir=FOLDER) as folder:
        query = pathlib.Path(folder, "q")
        openssl("ts", "-query", "-digest", digest_hex, "-sha256", "-cert", "-out", str(query), *more)
        return query.read_bytes()


def with_algorithm(request, old, new):
    assert request.count(old) == 1
    return request.replace(old, new)


def answer_to(path, request):
    """(status, type, body, pause before the body in s)"""
    kind = "application/timestamp-reply"
    if path == "/good":
        return 200, kind, reply(request), 0
    if path == "/other":
        return 200, kind, reply(request, "other-tsa"), 0
    if path == "/expired":
        return 200, kind, reply(request, "expired"), 0
    if path == "/refused":  # SHA-384 (joint-iso-itu-t 2.16.840.1.101.3.4.2.2) is none of its digests
        sha256, sha384 = bytes.fromhex("608648016503040201"), bytes.fromhex("608648016503040202")
        return 200, kind, reply(with_algorithm(request, sha256, sha384)), 0
    if path == "/wrong-digest":
        return 200, kind, reply(request_for("00" * 32)), 0
    if path == "/wrong-nonce":
        at = request.index(bytes.fromhex("0420")) + 2  # the digest, an octet string of 32
        return 200, kind, reply(request_for(request[at:at + 32].hex())), 0
    if path == "/garbage":
        return 200, kind, b"\x30\x82\x10\x00not a time stamp", 0
    if path == "/empty":
        return 200, kind, b"", 0
    if path == "/long":
        return 200, kind, b"\x30" * (64 * 1024 + 1), 0
    if path == "/slow":
        return 200, kind, reply(request), 30
    if path == "/type":
        return 200, "text/html; charset=utf-8", b"<p>log in first</p>", 0
    return 500, "text/plain", b"broken", 0


class Handler(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        request = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        with open(FOLDER / "requests.log", "a") as log:
            log.write(f"{self.path} {self.headers.get('Content-Type')} {len(request)}\n")
        if STOPPED.exists():
            self.send_error(503)
            return
        if self.path in ("/redirect", "/to-file"):
            self.send_response(307)
            self.send_header("Location", "/good" if self.path == "/redirect" else "file:///etc/hostname")
            self.end_headers()
            return
        status, kind, body, pause = answer_to(self.path, request)
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.flush()
        time.sleep(pause)
        try:
            self.wfile.write(body)
        except OSError:
            pass  # the client went away, as it should from a slow one

    def log_message(self, *_):
        pass


class Server(http.server.ThreadingHTTPServer):
    daemon_threads = True


server = Server(("127.0.0.1", int(sys.argv[2]) if len(sys.argv) > 2 else 0), Handler)
print(server.server_address[1], flush=True)
server.serve_forever()
