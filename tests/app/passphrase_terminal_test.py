#!/usr/bin/env python3
"""passphrase_terminal_test.py DWELLOG: a passphrase is asked for on the terminal without echo, and
where there is no terminal one line says so."""
import os
import pathlib
import pty
import subprocess
import sys
import tempfile

DWELLOG = sys.argv[1]
SECRET = b"open sesame"


def on_terminal(arguments, answers):
    """(exit status, all that was shown); each answer is typed when its prompt is there."""
    child, terminal = pty.fork()
    if child == 0:
        os.execv(DWELLOG, [DWELLOG, *arguments])
    shown = b""
    answers = list(answers)
    prompts = 0
    while True:
        try:
            piece = os.read(terminal, 4096)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        shown += piece
        while answers and shown.count(b": ") > prompts and shown.endswith(b": "):
            prompts = shown.count(b": ")
            os.write(terminal, answers.pop(0) + b"\n")
    _, status = os.waitpid(child, 0)
    os.close(terminal)
    return os.waitstatus_to_exitcode(status), shown


def main():
    errors = []

    def check(good, what):
        if not good:
            errors.append(what)

    with tempfile.TemporaryDirectory() as folder:
        job = str(pathlib.Path(folder) / "job")
        subprocess.run([DWELLOG, "new", job], check=True, stdout=subprocess.DEVNULL)
        secret = pathlib.Path(job) / "certificate-key.secret"
        status, shown = on_terminal(["keys", job, "protect"], [SECRET, b"open barley"])
        check(status == 1 and b"the two passphrases differ" in shown, f"differing: {status} {shown}")
        status, shown = on_terminal(["keys", job, "protect"], [SECRET, SECRET])
        check(status == 0 and SECRET not in shown, f"protect: {status} {shown}")
        check(b"sealed-secret" in secret.read_bytes(), "the key is not protected")
        status, shown = on_terminal(["keys", job, "unprotect"], [b"open barley"])
        check(status == 1 and b"wrong passphrase" in shown, f"wrong: {status} {shown}")
        status, shown = on_terminal(["keys", job, "unprotect"], [b""])
        check(status == 1 and b"no passphrase was given" in shown, f"none: {status} {shown}")
        none = subprocess.run([DWELLOG, "certify", job], start_new_session=True, stdin=subprocess.DEVNULL,
                              capture_output=True, text=True)
        check(none.returncode == 1 and none.stderr.count("\n") == 1 and "no terminal" in none.stderr,
              f"no terminal: {none.returncode} {none.stderr}")
        status, shown = on_terminal(["keys", job, "unprotect"], [SECRET])
        check(status == 0 and SECRET not in shown, f"unprotect: {status} {shown}")
        check(secret.read_bytes().startswith(b"dwellog-secret-seed-1 "), "the key is still protected")
    print("\n".join(errors) if errors else "asked without echo, refused without a terminal")
    return 1 if errors else 0


sys.exit(main())
