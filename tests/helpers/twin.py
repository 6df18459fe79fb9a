"""Calls one function on CPython and on MicroPython, and insists that both say the same."""

import functools
import importlib
import json
import math
import re
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from pwa.build import node, python_pack

ROOT = Path(__file__).parents[2]


@functools.cache
def packed() -> str:
    """The phone's Python as JSON, path -> source; its templates take half a second to compile."""
    return json.dumps(python_pack.sources())


class MicroPython:
    """The phone's interpreter in a Node process, with all that the build packs for the phone."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory()
        sources = Path(self._folder.name) / "sources.json"
        sources.write_text(packed(), "utf-8")
        self._process = subprocess.Popen(
            [str(node.NODE), str(ROOT / "tests/helpers/interpreter.mjs"), str(sources)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )

    def call(self, **request: Any) -> dict[str, Any]:
        assert self._process.stdin and self._process.stdout
        self._process.stdin.write(crossing(request) + "\n")
        self._process.stdin.flush()
        line = self._process.stdout.readline()
        if not line:
            raise RuntimeError("MicroPython stopped")
        answer: dict[str, Any] = json.loads(line)
        return answer

    @property
    def pid(self) -> int:
        return self._process.pid

    def close(self) -> None:
        self._process.kill()
        self._process.wait()
        self._folder.cleanup()


def crossing(value: Any) -> str:
    """JSON as JavaScript writes it, on one line: letters as they are, halves of pairs escaped."""
    text = json.dumps(value, ensure_ascii=False)
    return re.sub("[\ud800-\udfff\u2028\u2029]", lambda odd: f"\\u{ord(odd[0]):04x}", text)


class Twin:
    """Stands for one module; its functions run on both interpreters and return CPython's result."""

    def __init__(self, micropython: MicroPython, module: str) -> None:
        self._micropython, self._name = micropython, module
        self._module = importlib.import_module(module)

    def __getattr__(self, name: str) -> Any:
        here = getattr(self._module, name)
        if callable(here):
            return lambda *args, **kwargs: self._both(name, here, args, kwargs)
        there = self._micropython.call(module=self._name, name=name, call=False, args=[], kwargs={})
        _insist(name, jsonable(here), there.get("value", there))
        return here

    def _both(self, name: str, here: Any, args: tuple[Any, ...], kwargs: dict[str, Any]) -> Any:
        answer = self._micropython.call(
            module=self._name, name=name, call=True, args=jsonable(args), kwargs=jsonable(kwargs)
        )
        try:
            result = here(*args, **kwargs)
        except Exception as error:
            assert answer == {"error": type(error).__name__, "message": str(error)}, f"{name}: {answer}"
            raise
        assert "value" in answer, f"{name}: MicroPython raised {answer}"
        _insist(name, jsonable(result), answer["value"])
        return result


def jsonable(value: Any) -> Any:
    return json.loads(json.dumps(value))


def _insist(name: str, here: Any, there: Any) -> None:
    assert equal(here, there), f"{name}: CPython says {here!r}, MicroPython says {there!r}"


def equal(a: Any, b: Any) -> bool:
    """Equal JSON, floats to 1e-9 relative (the two C libraries differ in the last digit)."""
    if isinstance(a, bool) or isinstance(b, bool) or not isinstance(a, (int, float, list, dict)):
        return bool(a == b and type(a) is type(b))
    if isinstance(a, list):
        return isinstance(b, list) and len(a) == len(b) and all(map(equal, a, b))
    if isinstance(a, dict):
        return isinstance(b, dict) and a.keys() == b.keys() and all(equal(a[key], b[key]) for key in a)
    return isinstance(b, (int, float)) and math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)
