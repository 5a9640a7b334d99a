"""A part that is judged again whenever its files are saved, and its page, for one browser on this machine.

Served to 127.0.0.1 alone, at an address that nobody guesses: the page, its frame and what state it is in, nothing else.
"""

from __future__ import annotations

import json
import secrets
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from cam.ground.problem import Problem, ProblemError, printable

HOME = "127.0.0.1"


class Watched:
    """The last page of a part that could be drawn, and what is wrong with the part now.

    Attributes:
        version: counts the times that the part was judged.
    """

    def __init__(self, draw: Callable[[], tuple[str, Sequence[Problem]]]) -> None:
        """Begin with nothing judged.

        Args:
            draw: returns the page and why the job may not be cut; raises ProblemError where there can be no page.
        """
        self._draw = draw
        self._lock = threading.Lock()
        self.version = 0
        self._page, self._page_version = "", 0
        self._problems = ""

    def judge(self) -> tuple[Problem, ...]:
        """Judge the part as it stands on the disk.

        Returns:
            What is wrong with it.
        """
        page = ""
        problems: tuple[Problem, ...] = ()
        try:
            page, found = self._draw()
            problems = tuple(found)
        except ProblemError as refused:
            problems = refused.problems
        with self._lock:
            self.version += 1
            self._problems = "" if page else printable("\n".join(map(str, problems)))
            if page:
                self._page, self._page_version = page, self.version
        return problems

    def state(self) -> str:
        """Return what the frame asks for: JSON of the version, the version of the page, and problems without a page."""
        with self._lock:
            return json.dumps({"version": self.version, "page": self._page_version, "problems": self._problems})

    def page(self) -> str:
        """Return the page, HTML; "" where none could be drawn yet."""
        with self._lock:
            return self._page


def serve(watched: Watched, title: str) -> tuple[ThreadingHTTPServer, str]:
    """Serve a part's page in a thread of its own, on a free port.

    Args:
        title: title of the frame.

    Returns:
        The server, to be shut down, and the address to open.
    """
    from cam.picture.page import policy_of
    from posts.environment import TEMPLATES, find_markup

    script, style = ((TEMPLATES / name).read_text(encoding="utf-8") for name in ("watch.js", "watch.css"))
    frame = find_markup("watch.html.j2").render(title=title, script=script, style=style)
    policy = f"{policy_of(script, style)}; frame-src 'self'; connect-src 'self'; frame-ancestors 'none'"
    token = secrets.token_urlsafe(16)

    class Handler(BaseHTTPRequestHandler):
        """Answers three addresses."""

        def do_GET(self) -> None:
            if self.headers.get("Host") not in (f"{HOME}:{port}", f"localhost:{port}"):
                self.send_error(403)
                return
            path = self.path.partition("?")[0]
            answers: dict[str, tuple[str, Callable[[], str]]] = {
                f"/{token}/": ("text/html", lambda: frame),
                f"/{token}/page": ("text/html", watched.page),
                f"/{token}/state": ("application/json", watched.state),
            }
            if path not in answers:
                self.send_error(404)
                return
            kind, body = answers[path]
            data = body().encode()
            self.send_response(200)
            self.send_header("Content-Type", f"{kind}; charset=utf-8")
            self.send_header("Content-Length", str(len(data)))
            self.send_header("Cache-Control", "no-store")
            self.send_header("X-Content-Type-Options", "nosniff")
            self.send_header("Referrer-Policy", "no-referrer")
            if path.endswith("/"):
                self.send_header("Content-Security-Policy", policy)
            self.end_headers()
            self.wfile.write(data)

        def log_message(self, *_: object) -> None:
            """Say nothing of each request."""

    server = ThreadingHTTPServer((HOME, 0), Handler)
    port = int(server.socket.getsockname()[1])
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server, f"http://{HOME}:{port}/{token}/"


def saved(files: Callable[[], frozenset[Path]], stop: threading.Event) -> Iterator[None]:
    """Yield at once, and again whenever a file was saved, written anew or taken away, until stop is set.

    Their folders are watched, as an editor puts a new file in the place of the old one; and once a second their stamps
    are compared, so that nothing is missed that was saved while the files were judged, or on a disk that tells nothing.

    Args:
        files: called anew each time, as a part may come to name another shop file; as before while there is no part.

    Raises:
        ProblemError: what files raises at first.
    """
    from watchfiles import watch

    wanted = files()
    while not stop.is_set():
        with suppress(ProblemError):
            wanted = files()
        seen = _stamps(wanted)
        yield
        folders = {file.parent for file in wanted if file.parent.is_dir()}
        for _ in watch(*folders, stop_event=stop, recursive=False, rust_timeout=1000, yield_on_timeout=True):
            if _stamps(wanted) != seen:
                break


def _stamps(files: frozenset[Path]) -> frozenset[tuple[Path, tuple[int, int]]]:
    """Return when each file was last written, and how long it is; zeros for one that is not there."""
    found = []
    for file in files:
        try:
            stat = file.stat()
        except OSError:
            found.append((file, (0, 0)))
        else:
            found.append((file, (stat.st_mtime_ns, stat.st_size)))
    return frozenset(found)
