"""Two more browser engines than Chromium's, driven by what their own packages bring; nothing is fetched for it.

Gecko as Debian's firefox-esr, by Marionette, the socket that it listens on for WebDriver's commands. WebKit as Debian's
webkit2gtk-driver, by WebDriver over HTTP (W3C, WebDriver Level 2), its window on an Xvfb screen.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Protocol

import pytest

PATIENCE = 120
"""Seconds that a browser may take to start, or to answer."""
MINI = "webkit2gtk-4.*/MiniBrowser"
KEYS = {"End": "\ue010", "Home": "\ue011", "PageUp": "\ue00e", "PageDown": "\ue00f", "ArrowLeft": "\ue012",
        "ArrowRight": "\ue014", "Enter": "\ue007", "Escape": "\ue00c"}  # fmt: skip
"""Keys without a sign of their own: W3C, WebDriver Level 2, 15.4.2, key actions."""


class Wire(Protocol):
    """What carries a WebDriver command to a browser."""

    def call(self, name: str, body: dict[str, Any]) -> Any:
        """Call one of COMMANDS by its name; return its value."""


COMMANDS = {
    "open": ("POST", "/url", "WebDriver:Navigate"),
    "run": ("POST", "/execute/sync", "WebDriver:ExecuteScript"),
    "act": ("POST", "/actions", "WebDriver:PerformActions"),
    "size": ("POST", "/window/rect", "WebDriver:SetWindowRect"),
    "shot": ("GET", "/screenshot", "WebDriver:TakeScreenshot"),
}
"""Each command by name: over HTTP its method and path; in Marionette its own name."""


class Engine:
    """A browser with one window."""

    def __init__(self, name: str, wire: Wire) -> None:
        """Take the browser as it has begun."""
        self.name, self._wire = name, wire

    def open(self, path: Path, width: int, height: int) -> None:
        """Show a file in a window of about that size."""
        self.go_to(path.as_uri(), width, height)

    def go_to(self, address: str, width: int, height: int) -> None:
        """Show what is at an address in a window of about that size."""
        self._wire.call("size", {"x": 0, "y": 0, "width": width, "height": height})
        self._wire.call("open", {"url": address})

    def run(self, script: str, *args: Any) -> Any:
        """Return what the body of a function returns in the page."""
        return self._wire.call("run", {"script": script, "args": list(args)})

    def press(self, *names: str) -> None:
        """Press keys one after another, on whatever has the focus."""
        for name in names:
            key = KEYS.get(name, name)
            steps = [{"type": kind, "value": key} for kind in ("keyDown", "keyUp")]
            self._wire.call("act", {"actions": [{"type": "key", "id": "keys", "actions": steps}]})

    def click(self, selector: str) -> None:
        """Press the left button on the middle of an element."""
        script = "const b = document.querySelector(arguments[0]).getBoundingClientRect();"
        x, y = self.run(script + "return [b.left + b.width / 2, b.top + b.height / 2];", selector)
        steps: list[dict[str, Any]] = [{"type": "pointerMove", "duration": 0, "x": round(x), "y": round(y)}]
        steps += [{"type": kind, "button": 0} for kind in ("pointerDown", "pointerUp")]
        self._wire.call("act", {"actions": [{"type": "pointer", "id": "mouse", "actions": steps}]})

    def picture(self) -> bytes:
        """Return the window as PNG."""
        shot = self._wire.call("shot", {})
        return base64.b64decode(shot["value"] if isinstance(shot, dict) else shot)


def missing(what: str, package: str) -> None:
    """Skip, since something is not here; fail under CI, unless a reason is given there."""
    why = f"no {what} here: apt-get install {package}"
    if os.environ.get("CI") and not (os.environ.get("NO_BROWSER") or os.environ.get("NO_ENGINES")):
        pytest.fail(why)
    pytest.skip(why)


# ---- Gecko -----------------------------------------------------------------------------------------


class Marionette:
    """Marionette's wire: `length:[0, number, command, parameters]` there, `length:[1, number, error, result]` back."""

    def __init__(self, port: int) -> None:
        """Connect, and begin a session."""
        self._line = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE)
        self._number = 0
        self._read()
        self.send("WebDriver:NewSession", {})

    def close(self) -> None:
        """Hang up."""
        self._line.close()

    def call(self, name: str, body: dict[str, Any]) -> Any:
        """Run a command; return its value alone, where it has one."""
        found = self.send(COMMANDS[name][2], body)
        return found["value"] if isinstance(found, dict) and set(found) == {"value"} else found

    def send(self, command: str, body: dict[str, Any]) -> Any:
        """Send a command and wait for its answer."""
        self._number += 1
        said = json.dumps([0, self._number, command, body]).encode()
        self._line.sendall(b"%d:%s" % (len(said), said))
        _, _, error, result = self._read()
        assert error is None, error
        return result

    def _read(self) -> Any:
        size = b""
        while not size.endswith(b":"):
            size += self._some(1)
        return json.loads(self._some(int(size[:-1])))

    def _some(self, count: int) -> bytes:
        found = b""
        while len(found) < count:
            more = self._line.recv(count - len(found))
            assert more, "the browser has gone"
            found += more
        return found


@contextmanager
def gecko(folder: Path) -> Iterator[Engine]:
    """Start Gecko with a profile of its own in an empty folder."""
    path = shutil.which("firefox-esr") or shutil.which("firefox")
    if path is None:
        missing("firefox-esr", "firefox-esr")
    (folder / "user.js").write_text('user_pref("marionette.port", 0);\nuser_pref("ui.prefersReducedMotion", 1);\n')
    command = [str(path), "--headless", "--marionette", "--no-remote", "--profile", str(folder)]
    env = {**os.environ, "HOME": str(folder), "MOZ_DISABLE_AUTO_SAFE_MODE": "1"}
    with _running(command, env):
        wire = Marionette(int(_wait_for(folder / "MarionetteActivePort")))
        try:
            yield Engine("gecko", wire)
        finally:
            wire.close()


# ---- WebKit ----------------------------------------------------------------------------------------


class Http:
    """The wire of WebDriver over HTTP."""

    def __init__(self, port: int, options: dict[str, Any]) -> None:
        """Begin a session."""
        self._base = f"http://127.0.0.1:{port}/session"
        wanted = {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}}
        session = self._ask("POST", "", wanted)["sessionId"]
        self._base += f"/{session}"

    def call(self, name: str, body: dict[str, Any]) -> Any:
        """Run a command."""
        method, path, _ = COMMANDS[name]
        return self._ask(method, path, body if method == "POST" else None)

    def end(self) -> None:
        """End the session, and the browser with it."""
        self._ask("DELETE", "", None)

    def _ask(self, method: str, path: str, body: dict[str, Any] | None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self._base + path, data, {"Content-Type": "application/json"}, method=method)
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            return json.load(answer)["value"]


@contextmanager
def webkit(folder: Path) -> Iterator[Engine]:
    """Start WebKit in the small browser that comes with it, on a screen that no one sees."""
    driver, screen = shutil.which("WebKitWebDriver"), shutil.which("Xvfb")
    browser = next((p for base in ("/usr/lib", "/usr/libexec") for p in sorted(Path(base).glob(f"**/{MINI}"))), None)
    if driver is None or screen is None or browser is None:
        missing("WebKit and Xvfb", "webkit2gtk-driver xvfb")
    out, into = os.pipe()
    command = [str(screen), "-displayfd", str(into), "-screen", "0", "1600x1200x24", "-nolisten", "tcp"]
    with _running(command, dict(os.environ), keep=(into,)):
        display = os.read(out, 20).decode().strip()
        env = {
            **os.environ, "DISPLAY": f":{display}", "GDK_BACKEND": "x11", "HOME": str(folder),
            "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1", "LIBGL_ALWAYS_SOFTWARE": "1",
        }  # fmt: skip
        port = _free_port()
        with _running([str(driver), f"--port={port}"], env):
            _wait_for_port(port)
            wire = Http(port, {"binary": str(browser), "args": ["--automation"]})
            try:
                yield Engine("webkit", wire)
            finally:
                wire.end()


@contextmanager
def _running(command: list[str], env: dict[str, str], keep: tuple[int, ...] = ()) -> Iterator[None]:
    """Run a program as long as it is needed."""
    nothing = subprocess.DEVNULL
    process = subprocess.Popen(command, env=env, stdin=nothing, stdout=nothing, stderr=nothing, pass_fds=keep)
    try:
        yield
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _wait_for(path: Path) -> str:
    """Return what a file holds, once it is there."""
    end = time.monotonic() + PATIENCE
    while not (path.exists() and (text := path.read_text().strip())):
        assert time.monotonic() < end, f"{path.name} never came"
        time.sleep(0.1)
    return text


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port


def _wait_for_port(port: int) -> None:
    end = time.monotonic() + PATIENCE
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            assert time.monotonic() < end, "the driver never listened"
            time.sleep(0.1)
        else:
            return


ENGINES = {"gecko": gecko, "webkit": webkit}
