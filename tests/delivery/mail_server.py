#!/usr/bin/env python3
"""A mail server on loopback for tests (aiosmtpd).

usage: mail_server.py FOLDER MODE CERTIFICATE   (MODE: starttls, tls, plain; CERTIFICATE: name in FOLDER)
Prints its port and serves until it is killed. With TLS only user `site`, password in FOLDER/password, may send.
Each message that it takes over is FOLDER/mail-N.eml. Behaviour for the next messages (behaviour.py): ok; 451 or 550
(of the recipient); data451, data554 (after the message); drop (before its answer); slow; 535.
"""
import asyncio
import pathlib
import ssl
import sys

import aiosmtpd.smtp

import behaviour

FOLDER, MODE, CERTIFICATE = pathlib.Path(sys.argv[1]), sys.argv[2], sys.argv[3]


class Handler:
    def __init__(self):
        self.taken = 0
        self.now = "ok"

    async def handle_MAIL(self, server, session, envelope, address, options):
        self.now = behaviour.next_of(FOLDER)
        envelope.mail_from = address
        return "250 OK"

    async def handle_RCPT(self, server, session, envelope, address, options):
        if self.now in ("451", "550"):
            return f"{self.now} not this one"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        if self.now == "slow":
            await asyncio.sleep(60)
        if self.now == "drop":
            server.transport.abort()
            return "250 never seen"
        if self.now in ("data451", "data554"):
            return f"{self.now[4:]} not this message"
        (FOLDER / f"mail-{self.taken}.eml").write_bytes(
            f"X-To: {','.join(envelope.rcpt_tos)}\r\n".encode() + envelope.content)
        self.taken += 1
        return "250 taken over"


def authenticate(server, session, envelope, mechanism, data):
    right = data.login == b"site" and data.password.decode() == (FOLDER / "password").read_text()
    return aiosmtpd.smtp.AuthResult(success=right, handled=True if right else False)


async def main():
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(FOLDER / f"{CERTIFICATE}.pem", FOLDER / f"{CERTIFICATE}.key")
    handler = Handler()
    login = {} if MODE == "plain" else {"auth_required": True, "authenticator": authenticate}
    if MODE == "starttls":
        login |= {"tls_context": context, "require_starttls": True}
    if MODE == "tls":
        login |= {"auth_require_tls": False}  # it is inside TLS, which this class does not see
    server = await asyncio.get_running_loop().create_server(
        lambda: aiosmtpd.smtp.SMTP(handler, hostname="mail.example", **login), "127.0.0.1", 0,
        ssl=context if MODE == "tls" else None)
    print(server.sockets[0].getsockname()[1], flush=True)
    await server.serve_forever()


asyncio.run(main())
