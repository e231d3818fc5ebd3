#!/usr/bin/env python3
"""watchdog_test.py DWELLOG: the running daemon says READY and WATCHDOG to its service manager, and
goes silent when the thread of its event loop or of its writer is really stopped; it is loud again
when that goes on. Skipped (77) where threads can't be stopped by their parent."""
import ctypes
import os
import pathlib
import signal
import socket
import subprocess
import sys
import tempfile

DWELLOG = sys.argv[1]
PATIENCE_USEC = 300_000
SILENCE_S = 1.5  # five times the patience
PRESENCE_S = 60  # far more than a slow machine needs; waited for only when it fails
PTRACE_DETACH, PTRACE_SEIZE, PTRACE_INTERRUPT = 17, 0x4206, 0x4207
WALL = 0x40000000
LIBC = ctypes.CDLL(None, use_errno=True)
LIBC.ptrace.argtypes = [ctypes.c_long, ctypes.c_long, ctypes.c_void_p, ctypes.c_void_p]


def ptrace(request, thread):
    if LIBC.ptrace(request, thread, None, None) != 0:
        if request == PTRACE_SEIZE:
            print("this process may not stop threads here:", os.strerror(ctypes.get_errno()))
            sys.exit(77)
        raise OSError(ctypes.get_errno(), "ptrace")


def next_notice(receiver, timeout_s):
    receiver.settimeout(timeout_s)
    try:
        return receiver.recv(4096)
    except socket.timeout:
        return None


def drain(receiver):
    receiver.setblocking(False)
    try:
        while True:
            receiver.recv(4096)
    except BlockingIOError:
        pass


def beats(receiver):
    drain(receiver)
    return next_notice(receiver, PRESENCE_S) == b"WATCHDOG=1"


def is_silent_without(receiver, thread):
    ptrace(PTRACE_SEIZE, thread)
    ptrace(PTRACE_INTERRUPT, thread)
    os.waitpid(thread, WALL)
    drain(receiver)
    next_notice(receiver, SILENCE_S / 5)  # one answer may have been on its way
    silent = next_notice(receiver, SILENCE_S) is None
    ptrace(PTRACE_DETACH, thread)
    return silent


def main():
    errors = []
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([DWELLOG, "new", folder / "job", "--port", folder / "no-adapter"],
                       check=True, stdout=subprocess.DEVNULL)
        receiver = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        receiver.bind(str(folder / "notify"))
        environment = dict(os.environ, NOTIFY_SOCKET=str(folder / "notify"),
                           WATCHDOG_USEC=str(PATIENCE_USEC))
        environment.pop("WATCHDOG_PID", None)
        with open(folder / "log", "wb") as log:
            daemon = subprocess.Popen([DWELLOG, "run", folder / "job"], env=environment,
                                      stdout=log, stderr=log)
        try:
            seen = set()
            while not {b"READY=1", b"WATCHDOG=1"} <= seen:
                notice = next_notice(receiver, PRESENCE_S)
                if notice is None:
                    errors.append(f"only {seen} within {PRESENCE_S} s")
                    break
                seen.add(notice)
            threads = sorted(int(t) for t in os.listdir(f"/proc/{daemon.pid}/task"))
            if len(threads) < 2 or threads[0] != daemon.pid:
                errors.append(f"threads {threads} of {daemon.pid}: no writer thread")
            else:
                # The writer's is the first that the daemon makes.
                for what, thread in (("event loop", threads[0]), ("writer", threads[1])):
                    if not is_silent_without(receiver, thread):
                        errors.append(f"WATCHDOG=1 although the thread of the {what} stands still")
                    if not beats(receiver):
                        errors.append(f"no WATCHDOG=1 after the {what} went on")
            daemon.send_signal(signal.SIGTERM)
            while (notice := next_notice(receiver, PRESENCE_S)) != b"STOPPING=1":
                if notice is None:
                    errors.append("no STOPPING=1 after SIGTERM")
                    break
            if (status := daemon.wait(timeout=PRESENCE_S)) != 0:
                errors.append(f"exit status {status} after SIGTERM")
        finally:
            if daemon.poll() is None:
                daemon.kill()
                daemon.wait()
        if errors:
            errors.append((folder / "log").read_text())
    print("\n".join(errors) if errors else "the watchdog is fed by the event loop and the writer")
    return 1 if errors else 0


sys.exit(main())
