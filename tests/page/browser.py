"""Chromium without a window, spoken to through its DevTools pipe: the pages as their readers see them."""

import base64
import contextlib
import fcntl
import json
import os
import shutil
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

EXECUTABLE = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)

_QUIET = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--hide-scrollbars",
    "--remote-debugging-pipe",
)


class Browser:
    """One page of a browser."""

    def __init__(self, write: int, read: int) -> None:
        self._write, self._read, self._rest = write, read, b""
        self._number, self._session = 0, ""
        self.events: list[dict[str, Any]] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **parameters: Any) -> Any:
        """Have something done, and return what comes of it."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while (told := self._message()).get("id") != self._number:
            self.events.append(told)
        assert "error" not in told, (method, told["error"])
        return told["result"]

    def _message(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            more = os.read(self._read, 1 << 20)
            if not more:
                raise EOFError("the browser has gone")
            self._rest += more
        text, _, self._rest = self._rest.partition(b"\0")
        return dict(json.loads(text))

    def open(self, page: Path, width: int, height: int) -> None:
        """Load a page from the disk in a window of some size; events begin anew."""
        self.events.clear()
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.call("Page.navigate", url=page.resolve().as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._message())

    def value(self, expression: str) -> Any:
        """Return what a script's expression is worth on the page."""
        told = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in told, told["exceptionDetails"]
        return told["result"].get("value")

    def complaints(self) -> list[str]:
        """Return what the console complained of, and what was asked for from elsewhere."""
        kinds = {"Runtime.exceptionThrown", "Log.entryAdded", "Runtime.consoleAPICalled"}
        said = [json.dumps(event["params"]) for event in self.events if event.get("method") in kinds]
        asked = [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]
        return said + [url for url in asked if not url.startswith(("file:", "data:"))]

    def printed(self) -> bytes:
        """Return the page as a PDF, as the print dialogue makes it."""
        made = self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        return base64.b64decode(made["data"])

    def photograph(self, *, whole: bool = False) -> bytes:
        """Return the window, or the whole page, as a PNG."""
        made = self.call("Page.captureScreenshot", captureBeyondViewport=whole)
        return base64.b64decode(made["data"])


@contextlib.contextmanager
def browser(folder: Path) -> Iterator[Browser]:
    """Start a browser with its profile in a folder, and end it and its children afterwards."""
    assert EXECUTABLE is not None
    ours_read, theirs_write = os.pipe()
    theirs_read, ours_write = os.pipe()
    high = [fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 10) for end in (theirs_read, theirs_write)]

    def ends() -> None:  # a browser reads from 3 and writes to 4
        os.dup2(high[0], 3)
        os.dup2(high[1], 4)

    process = subprocess.Popen(
        [EXECUTABLE, *_QUIET, f"--user-data-dir={folder}"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        close_fds=False,
        preexec_fn=ends,
        start_new_session=True,
    )
    for end in (theirs_read, theirs_write, *high):
        os.close(end)
    try:
        yield Browser(ours_write, ours_read)
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGTERM)
        process.wait(timeout=20)
        for end in (ours_read, ours_write):
            os.close(end)
