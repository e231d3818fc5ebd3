"""What a test server does next: one word a line of FOLDER/behaviour, used up from the front; none left: ok."""
import pathlib
import threading

_lock = threading.Lock()


def next_of(folder):
    path = pathlib.Path(folder, "behaviour")
    with _lock:
        words = path.read_text().split() if path.exists() else []
        if not words:
            return "ok"
        path.write_text("\n".join(words[1:]))
        return words[0]
