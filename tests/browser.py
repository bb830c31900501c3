"""A real browser without a screen, driven over a pair of pipes by its own protocol: pages, input, what it reports."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
PATIENCE_S = 60.0
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--remote-debugging-pipe",
)  # fmt: skip


class Browser:
    """One browser with one page; what the page asks of networks and says on its console is kept."""

    def __init__(self, folder: Path) -> None:
        assert BROWSER is not None
        self.events: list[dict[str, Any]] = []
        self._number, self._text = 0, b""
        self.profile = tempfile.mkdtemp(prefix="tablesim-browser-")
        (its_in, self._out), (self._in, its_out) = os.pipe(), os.pipe()
        # The protocol is read from descriptor 3 and written to 4.
        line = f'exec "$@" 3<&{its_in} 4>&{its_out}'
        self._process = subprocess.Popen(
            ["bash", "-c", line, "bash", BROWSER, *FLAGS, f"--user-data-dir={self.profile}", "about:blank"],
            pass_fds=(its_in, its_out), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(its_in)
        os.close(its_out)
        self._session: str | None = None
        pages = self.ask("Target.getTargets")["targetInfos"]
        target = next(one["targetId"] for one in pages if one["type"] == "page")
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")
        self.ask("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder), eventsEnabled=True)

    def ask(self, method: str, **params: Any) -> Any:
        """Send a command and wait for its answer; an error is an AssertionError."""
        self._number += 1
        sent: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if self._session is not None:
            sent["sessionId"] = self._session
        os.write(self._out, json.dumps(sent).encode() + b"\0")
        while True:
            said = self._read()
            if said.get("id") == self._number:
                assert "error" not in said, (method, said["error"])
                return said["result"]
            self.events.append(said)

    def _read(self) -> Any:
        while b"\0" not in self._text:
            more = os.read(self._in, 1 << 20)
            assert more, "the browser is gone"
            self._text += more
        message, _, self._text = self._text.partition(b"\0")
        return json.loads(message)

    def run(self, script: str) -> Any:
        """The value of an expression on the page, waited for if it is a promise."""
        found = self.ask("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def until(self, holds: Callable[[], Any]) -> Any:
        """Wait until something holds, and return it."""
        end = time.monotonic() + PATIENCE_S
        while not (found := holds()):
            assert time.monotonic() < end, "it never held"
            time.sleep(0.05)
        return found

    def look(self, wide: int, high: int, dark: bool = False, phone: bool = False) -> None:
        """The size of the screen, the person's liking for dark, and whether it is a phone with touch."""
        self.ask(
            "Emulation.setDeviceMetricsOverride", width=wide, height=high, deviceScaleFactor=2 if phone else 1,
            mobile=phone,
        )  # fmt: skip
        self.ask("Emulation.setTouchEmulationEnabled", enabled=phone)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.ask("Emulation.setEmulatedMedia", features=[scheme])

    def open(self, page: Path) -> None:
        """Open a file and wait for it."""
        self.events.clear()
        self.ask("Page.navigate", url=page.as_uri())
        self.until(lambda: self.run("document.readyState") == "complete" and self.run("location.href") != "about:blank")
        self.settle()

    def settle(self) -> None:
        """Wait until what was asked for is drawn."""
        self.run("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")

    def place(self, selector: str) -> tuple[float, float]:
        """Middle of an element that has been scrolled into sight [points]."""
        box = f"document.querySelector({json.dumps(selector)})"
        self.run(f"{box}.scrollIntoView({{block: 'center'}})")
        self.settle()
        x, y = self.run(f"(b => [b.x + b.width / 2, b.y + b.height / 2])({box}.getBoundingClientRect())")
        return x, y

    def touch(self, selector: str) -> None:
        """A tap of a finger."""
        x, y = self.place(selector)
        self.ask("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
        self.ask("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        self.settle()

    def slide(self, selector: str, share: float) -> None:
        """Drag a slider by finger from its middle to a share of its length."""
        x, y = self.place(selector)
        width = self.run(f"document.querySelector({json.dumps(selector)}).getBoundingClientRect().width")
        end = x + (share - 0.5) * width
        self.ask("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
        for k in range(1, 9):
            self.ask("Input.dispatchTouchEvent", type="touchMove", touchPoints=[{"x": x + (end - x) * k / 8, "y": y}])
        self.ask("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        time.sleep(0.6)  # a tap right after would stop the throw of the finger, and be no tap
        self.settle()

    def picture(self, path: Path, whole: bool = False) -> None:
        """Write what is seen, or the whole page, as a PNG."""
        found = self.ask("Page.captureScreenshot", format="png", captureBeyondViewport=whole, **self._clip(whole))
        path.write_bytes(base64.b64decode(found["data"]))

    def _clip(self, whole: bool) -> dict[str, Any]:
        if not whole:
            return {}
        size = self.ask("Page.getLayoutMetrics")["cssContentSize"]
        return {"clip": {"x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1}}

    def complaints(self) -> list[str]:
        """What went wrong on the page so far: exceptions, errors and warnings of console and browser."""
        self.run("0")
        told = []
        for event in self.events:
            params = event.get("params", {})
            if event["method"] == "Runtime.exceptionThrown":
                told.append(json.dumps(params["exceptionDetails"]))
            elif event["method"] == "Runtime.consoleAPICalled" and params["type"] in ("error", "warning", "assert"):
                told.append(json.dumps(params["args"]))
            elif event["method"] == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
                told.append(params["entry"]["text"])
        return told

    def requests(self) -> list[str]:
        """The addresses that the page has asked for so far."""
        self.run("0")
        return [e["params"]["request"]["url"] for e in self.events if e["method"] == "Network.requestWillBeSent"]

    def close(self) -> None:
        """End it and put its things away."""
        self._process.terminate()
        self._process.wait(20)
        os.close(self._out)
        os.close(self._in)
        shutil.rmtree(self.profile, ignore_errors=True)
