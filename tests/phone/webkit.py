"""WebKitGTK's MiniBrowser stands for an iPhone: the same engine and storage, driven by its own inspector.

WebDriver would only give a private window. Here the profile outlives the browser; a private window is a flag.
"""

import base64
import json
import os
import shutil
import signal
import socket
import subprocess
import time
from pathlib import Path
from typing import Any

from pwa.build import node

PLACES = ("/usr/lib/*/webkit2gtk-4.1/MiniBrowser", "/usr/libexec/webkit2gtk-4.1/MiniBrowser")
PATIENCE = 60  # seconds
PIECE = 32_000  # characters that the inspector takes at once


def minibrowser() -> str | None:
    """MiniBrowser, if a display to put it on is installed as well."""
    found = [str(path) for place in PLACES for path in Path("/").glob(place[1:])]
    return found[0] if found and shutil.which("Xvfb") else None


class WebKit:
    """One window. Every word of JavaScript runs in the page it shows."""

    def __init__(self, profile: Path, *flags: str) -> None:
        program = minibrowser()
        assert program
        self._display = subprocess.Popen(
            ["Xvfb", "-displayfd", "1", "-screen", "0", "1024x1024x24", "-nolisten", "tcp"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self._display.stdout
        port = _free_port()
        environment = {
            **os.environ,
            "HOME": str(profile),
            "DISPLAY": f":{self._display.stdout.readline().strip()}",
            "WEBKIT_INSPECTOR_HTTP_SERVER": f"127.0.0.1:{port}",
        }
        self._browser = subprocess.Popen(
            [program, *flags, "about:blank"],
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        self._bridge = subprocess.Popen(
            [str(node.NODE), str(Path(__file__).with_name("webkit.mjs")), str(port)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def run(self, script: str) -> Any:
        """The value of an expression, or what its promise settles to."""
        assert self._bridge.stdin and self._bridge.stdout
        self._bridge.stdin.write(json.dumps(script) + "\n")
        self._bridge.stdin.flush()
        said = json.loads(self._bridge.stdout.readline())
        assert "value" in said, f"{script[:500]}: {said}"
        return said["value"]

    def wait(self, script: str) -> Any:
        """Ask again until the value is true; a page on its way to another one may not answer."""
        deadline = time.monotonic() + PATIENCE
        while True:
            try:
                value = self.run(script)
            except AssertionError as error:
                value = None
                assert time.monotonic() < deadline, error
            if value:
                return value
            assert time.monotonic() < deadline, f"never true: {script}\non the page:\n{self.text}"
            time.sleep(0.05)

    @property
    def text(self) -> str:
        return str(self.run("document.body.innerText"))

    def open(self, url: str) -> None:
        self.run(f"void (window.left = true, location.href = {json.dumps(url)})")
        self.wait("!window.left && document.readyState === 'complete'")

    def see(self, words: str) -> None:
        self.wait(f"document.body?.innerText.includes({json.dumps(words)})")

    def fill(self, selector: str, text: str) -> None:
        field = f"document.querySelector({json.dumps(selector)})"
        self.wait(f"{field} !== null")
        self.run(
            f"(field => {{ field.value = {json.dumps(text)};"
            f" field.dispatchEvent(new Event('input', {{bubbles: true}})); }})({field})"
        )

    def press(self, selector: str, words: str = "") -> None:
        found = (
            f"[...document.querySelectorAll({json.dumps(selector)})]"
            f".find(it => it.innerText.includes({json.dumps(words)}))"
        )
        self.wait(found + " !== undefined")
        self.run(f"void {found}.click()")

    def choose(self, selector: str, name: str, kind: str, content: bytes) -> None:
        """Choose a file as a person does in the picker."""
        self.wait(f"document.querySelector({json.dumps(selector)}) !== null")
        text = base64.b64encode(content).decode()
        self.run("void (window.chosen = '')")
        for at in range(0, len(text), PIECE):
            self.run(f"void (window.chosen += '{text[at : at + PIECE]}')")
        self.run(
            f"""(() => {{
                const bytes = Uint8Array.from(atob(window.chosen), (letter) => letter.charCodeAt(0));
                const files = new DataTransfer();
                files.items.add(new File([bytes], {json.dumps(name)}, {{type: "{kind}"}}));
                const input = document.querySelector({json.dumps(selector)});
                input.files = files.files;
                input.dispatchEvent(new Event("change", {{bubbles: true}}));
            }})()"""
        )

    def stored(self, store: str) -> list[Any]:
        """Everything in one of the phone's IndexedDB stores; photos without their bytes."""
        rows: list[Any] = json.loads(
            self.run(
                f"""new Promise((done, fail) => {{
                    const opening = indexedDB.open("layby");
                    opening.onerror = () => fail(opening.error);
                    opening.onsuccess = () => {{
                        const all = opening.result.transaction("{store}").objectStore("{store}").getAll();
                        all.onsuccess = () => {{ opening.result.close(); done(JSON.stringify(
                            all.result.map(({{bytes, ...rest}}) =>
                                bytes ? {{...rest, length: bytes.byteLength}} : rest))); }};
                    }};
                }})"""
            )
        )
        return rows

    def install(self, url: str) -> None:
        """Visit for the first time and wait until everything is kept, then open the app."""
        self.open(f"{url}/")
        self.wait("document.querySelector('#open:not([hidden])') !== null")
        self.press("#open")
        self.wait("document.querySelector('h1')?.innerText === 'Jobs'")

    def start_job(self, unit: str) -> str:
        """Start a job through the screens; returns its path."""
        self.press("a", "Start a job")
        self.fill("[name=unit]", unit)
        self.fill("[name=complaint]", "no power uphill")
        self.press("[value=bay]")
        self.press("[value=electric]")
        self.press("button", "Start")
        self.wait(f"document.querySelector('h1')?.innerText === {json.dumps(unit)}")
        return str(self.run("location.pathname"))

    def kill_network_process(self) -> None:
        """What iOS does to it when memory is short: all IndexedDB connections are lost under live pages."""
        search = ["pgrep", "-g", str(self._browser.pid), "WebKitNetworkPr"]
        os.kill(int(subprocess.check_output(search, text=True)), signal.SIGKILL)

    def kill(self) -> None:
        self._bridge.kill()
        os.killpg(self._browser.pid, signal.SIGKILL)
        self._display.kill()
        for process in (self._bridge, self._browser, self._display):
            process.wait()


def _free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])
