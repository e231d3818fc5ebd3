#!/usr/bin/env python3
"""An HTTP receiver on loopback for tests (standard library).

usage: web_server.py FOLDER CERTIFICATE   (CERTIFICATE: name in FOLDER, - for plain HTTP)
Prints its port and serves until it is killed. Each request is a line of FOLDER/requests.jsonl; what PUT brought is
FOLDER/put-N. Behaviour for the next requests (behaviour.py): ok, a status, drop, slow, redirect, long,
long-STATUS.
"""
import base64
import http.server
import json
import pathlib
import ssl
import sys
import time

import behaviour

FOLDER, CERTIFICATE = pathlib.Path(sys.argv[1]), sys.argv[2]
COUNT = [0]


class Handler(http.server.BaseHTTPRequestHandler):
    def take(self):
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        now = behaviour.next_of(FOLDER)
        now, _, said = now.partition("-")
        status = int(said) if said else int(now) if now.isdigit() else {"ok": 204, "redirect": 302}.get(now, 200)
        with open(FOLDER / "requests.jsonl", "a") as log:
            print(json.dumps({"method": self.command, "path": self.path, "status": status, "bytes": len(body),
                              "headers": {k.lower(): v for k, v in self.headers.items()},
                              "body": base64.b64encode(body).decode()}), file=log)
        if self.command == "PUT" and status < 300 and now != "drop":
            (FOLDER / f"put-{COUNT[0]}").write_bytes(body)
            COUNT[0] += 1
        if now == "drop":
            self.connection.close()
            return
        if now == "slow":
            time.sleep(60)
        self.send_response(status)
        if now == "redirect":
            self.send_header("Location", "http://127.0.0.1:1/elsewhere")
        answer = b"x" * 100_000 if now == "long" else b""
        if status != 204:
            self.send_header("Content-Length", str(len(answer)))
        self.end_headers()
        try:
            self.wfile.write(answer)
        except OSError:
            pass  # the client had enough of it

    do_POST = do_PUT = do_GET = take

    def log_message(self, *_):
        pass


class Server(http.server.ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, *_):
        pass  # clients that refuse the certificate


server = Server(("127.0.0.1", 0), Handler)
if CERTIFICATE != "-":
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(FOLDER / f"{CERTIFICATE}.pem", FOLDER / f"{CERTIFICATE}.key")
    server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
print(server.server_address[1], flush=True)
server.serve_forever()
