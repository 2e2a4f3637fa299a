"""A headless Chromium, driven over its own pipe with the standard library alone.

Source of the words on the pipe: Chrome DevTools Protocol, version 1.3. Messages are JSON, each ended by a zero byte.
"""

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
import time

# What a key is called on the pipe: code and Windows virtual key code.
KEYS = {
    "Enter": ("Enter", 13, "\r"),
    "Tab": ("Tab", 9, ""),
    "Escape": ("Escape", 27, ""),
    "ArrowRight": ("ArrowRight", 39, ""),
    "ArrowLeft": ("ArrowLeft", 37, ""),
    "End": ("End", 35, ""),
    "Home": ("Home", 36, ""),
    " ": ("Space", 32, " "),
}


class Trouble(Exception):
    """The browser did not do what was asked."""


def program():
    """The browser that is there, or none."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)


class Browser:
    """One browser with one page."""

    def __init__(self):
        self.home = tempfile.mkdtemp(prefix="page-check-")
        self.downloads = os.path.join(self.home, "downloads")
        os.mkdir(self.downloads)
        to_it, from_us = os.pipe()
        from_it, by_it = os.pipe()
        # Out of the way of 3 and 4, where the browser looks for its pipe.
        theirs = [fcntl.fcntl(fd, fcntl.F_DUPFD, 20) for fd in (to_it, by_it)]

        def place():
            os.dup2(theirs[0], 3)
            os.dup2(theirs[1], 4)

        words = [
            program(),
            "--headless=new",
            "--remote-debugging-pipe",
            "--disable-gpu",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--user-data-dir=" + os.path.join(self.home, "profile"),
        ]
        if os.geteuid() == 0:
            # Its sandbox does not run as root; nothing is opened but files of our own.
            words.append("--no-sandbox")
        self.process = subprocess.Popen(
            words + ["about:blank"],
            preexec_fn=place,
            pass_fds=(3, 4),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for fd in (to_it, by_it, *theirs):
            os.close(fd)
        self.out, self.into = from_us, from_it
        self.buffer, self.number, self.events, self.session = b"", 0, [], None
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for room in ("Page", "Runtime", "Log", "Network", "Performance", "DOM", "Accessibility"):
            self.ask(room + ".enable")
        self.ask_browser("Browser.setDownloadBehavior", behavior="allow", downloadPath=self.downloads)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            self.ask_browser("Browser.close")
            self.process.wait(10)
        except (Trouble, OSError, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait()
        os.close(self.out)
        os.close(self.into)
        shutil.rmtree(self.home, ignore_errors=True)

    def _read(self, until):
        """The next message, or none where the time is over."""
        while b"\0" not in self.buffer:
            left = until - time.monotonic()
            if left <= 0 or not select.select([self.into], [], [], left)[0]:
                return None
            more = os.read(self.into, 1 << 20)
            if not more:
                raise Trouble("the browser has gone")
            self.buffer += more
        text, self.buffer = self.buffer.split(b"\0", 1)
        return json.loads(text)

    def _send(self, method, params, session):
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self.out, data) :]
        until = time.monotonic() + 120
        while True:
            got = self._read(until)
            if got is None:
                raise Trouble(f"{method}: no answer")
            if got.get("id") == self.number:
                if "error" in got:
                    raise Trouble(f"{method}: {got['error']}")
                return got["result"]
            if "method" in got:
                self.events.append(got)

    def ask(self, method, **params):
        """Asks the page."""
        return self._send(method, params, self.session)

    def ask_browser(self, method, **params):
        """Asks the browser."""
        return self._send(method, params, None)

    def told(self, *methods):
        """What it has told of a kind, by itself."""
        return [event["params"] for event in self.events if event["method"] in methods]

    def wait(self, method, seconds=60):
        """Waits for an event."""
        until = time.monotonic() + seconds
        while not self.told(method):
            got = self._read(until)
            if got is None:
                raise Trouble(f"{method} never came")
            if "method" in got:
                self.events.append(got)

    def open(self, path):
        """Opens a file and waits until it is there."""
        self.events.clear()
        self.ask("Page.navigate", url="file://" + os.path.abspath(path))
        self.wait("Page.loadEventFired")

    def run(self, text):
        """What an expression comes to in the page."""
        got = self.ask("Runtime.evaluate", expression=text, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in got:
            raise Trouble(f"{text}: {got['exceptionDetails']}")
        return got["result"].get("value")

    def key(self, name, shift=False):
        """One key, down and up."""
        code, number, text = KEYS.get(name, ("", ord(name.upper()) if len(name) == 1 else 0, name))
        common = {"key": name, "code": code, "windowsVirtualKeyCode": number}
        if shift:
            common["modifiers"] = 8
        down = {"type": "keyDown" if text else "rawKeyDown", **common}
        if text:
            down["text"] = text
        self.ask("Input.dispatchKeyEvent", **down)
        self.ask("Input.dispatchKeyEvent", type="keyUp", **common)

    def keys(self, text):
        """A text, key by key."""
        for sign in text:
            self.key(sign)

    def tab_to(self, test, shift=False, most=1000):
        """Goes from one control to the next until one stands a test on `it`."""
        for _ in range(most):
            self.key("Tab", shift)
            if self.run(f"(it => Boolean({test}))(document.activeElement)"):
                return
        raise Trouble(f"no way by Tab to {test}")

    def screen(self, width, height, mobile=False):
        """How large the page's window is."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=mobile,
        )

    def media(self, scheme="light", still=False):
        """Which scheme of colours is wished for, and whether things may move."""
        features = [
            {"name": "prefers-color-scheme", "value": scheme},
            {"name": "prefers-reduced-motion", "value": "reduce" if still else "no-preference"},
        ]
        self.ask("Emulation.setEmulatedMedia", features=features)

    def picture(self, path, **more):
        """What the window shows, as PNG."""
        data = self.ask("Page.captureScreenshot", format="png", **more)["data"]
        with open(path, "wb") as file:
            file.write(base64.b64decode(data))

    def paper(self, path, inches):
        """The page on paper, as PDF; its own margins hold."""
        data = self.ask(
            "Page.printToPDF",
            paperWidth=inches[0],
            paperHeight=inches[1],
            preferCSSPageSize=False,
            marginTop=0.47,
            marginBottom=0.47,
            marginLeft=0.47,
            marginRight=0.47,
        )["data"]
        with open(path, "wb") as file:
            file.write(base64.b64decode(data))
