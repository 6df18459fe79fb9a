"""The build: content, templates, engine and app into `pwa/dist`, ready for a phone to keep.

Same input, same bytes: nothing here reads a clock, and every list is sorted.
"""

import functools
import hashlib
import inspect
import json
import shutil
import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from pwa.app import contract
from pwa.build import icons, licences, node, python_pack, templates
from pwa.build.cache import NO_CACHE, Cache
from pwa.build.checks import imports, template_names, unfinished
from pwa.build.content import reader
from pwa.build.content.schema import Content
from pwa.build.handbook import book
from pwa.build.model import bif, compiler
from pwa.templates import environment

PWA = Path(__file__).parent.parent
DIST = PWA / "dist"
CONTENT = PWA.parent / "content"
# Pages that need neither Python nor the worker. The first stands for the site as long as no worker answers.
STATIC_PAGES = {
    "failed.html": "failed.html",
    "files-damaged.html": "files-damaged.html",
    "full.html": "full.html",
    "install.html": "index.html",
    "newer.html": "newer.html",
    "not-stored.html": "not-stored.html",
    "other-site.html": "other-site.html",
    "rescue.html": "rescue.html",
}
UNKNOWN = "version-not-known-yet"

Say = Callable[[str], None]


def build(
    target: Path = DIST,
    root: Path = CONTENT,
    say: Say = lambda line: None,
    *,
    cache: Cache = NO_CACHE,
    dev: bool = False,
) -> str:
    """Build everything into `target`, replacing what was there only when all of it succeeded.

    Args:
        cache: where to keep what the next build can use again.
        dev: for `layby dev` alone: phones and the desk take such a build without asking, and show tracebacks.

    Returns:
        The version: a hash over every file.

    Raises:
        UnfinishedError: what `layby new` left open is not filled in yet.
        ContentError: something in content/ is wrong; the message lists each place.
        TemplateError: a template cannot be read, or names what is not there.
        PhonePythonError: a module does not compile for MicroPython, or cannot be imported there.
        NodeError: the phone's JavaScript does not bundle.
    """
    unfinished.check()
    say("content")
    loaded = reader.load(root, number=True)
    files: dict[str, bytes] = {}
    say("pages")
    template_names.check()
    files |= _pages(loaded)
    files |= _static(cache)
    if dev:
        files |= _for_dev(files)
    say("python for the phone")
    files["phone/content.json"] = compact(for_app(loaded))
    files["phone/python.pack"] = python_pack.pack(cache)
    beside = ThreadPoolExecutor(1)
    imported = beside.submit(imports.check, files["phone/python.pack"], cache)
    beside.shutdown(wait=False)
    files["phone/template-lines.json"] = compact(templates.line_map(cache))
    files["phone/micropython.wasm"] = (
        node.MODULES / "@micropython/micropython-webassembly-pyscript/micropython.wasm"
    ).read_bytes()
    say("workers")
    files["phone/recording.js"] = _bundle("phone/recording.js").encode()
    version, files["worker.js"] = bundle_worker(hashes(files), dev)
    network = compiler.network(loaded.causes, loaded.findings)
    files["network.bif"] = bif.bif(network).encode()  # for other programs; phones do not keep it
    files["version.json"] = compact({"version": version})
    imported.result()
    replace(target, files)
    say(f"done, version {version}, {len(files)} files")
    return version


def for_app(content: Content) -> dict[str, Any]:
    """What the notebook is given as `content`: plain data, the compiled model, and a version."""
    data = content.model_dump()
    data["model"] = compiler.compile(content)
    data["version"] = hashlib.sha256(compact(data)).hexdigest()[:16]
    return data


def compact(data: Any) -> bytes:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()


def _pages(content: Content) -> dict[str, bytes]:
    jinja = environment()

    def render(name: str, context: dict[str, Any]) -> str:
        return jinja.get_template(name).render(context)

    pages = {path.removeprefix("/"): html for path, html in book.pages(content, render).items()}
    pages |= {path: render(f"fallback/{name}", {}) for name, path in STATIC_PAGES.items()}
    pages["licences.html"] = render("handbook/licences.html", {"notices": licences.notices()})
    files = {path + "index.html" if path.endswith("/") else path: html for path, html in pages.items()}
    return {path: html.encode() for path, html in files.items()}


def _static(cache: Cache) -> dict[str, bytes]:
    files = {f"static/{path.name}": path.read_bytes() for path in (PWA / "static").glob("*.js")}
    sheets = sorted(
        (PWA / "static/css").glob("*.css"), key=lambda path: (path.name != "layby.css", path.name)
    )
    files["static/layby.css"] = b"\n".join(sheet.read_bytes() for sheet in sheets)
    files["static/htmx.js"] = (node.MODULES / "htmx.org/dist/htmx.min.js").read_bytes()
    files["static/lean-qr.js"] = (node.MODULES / "lean-qr/index.mjs").read_bytes()
    files["static/icon.svg"] = icons.SVG.encode()
    files["static/photo-not-here.svg"] = icons.PHOTO_NOT_HERE.encode()
    files["static/photo-damaged.svg"] = icons.PHOTO_DAMAGED.encode()
    drawn_by = inspect.getsource(icons)
    for size in (180, 192, 512):
        icon = cache.kept(f"{drawn_by}\n{size}", functools.partial(icons.png, size))
        files[f"static/icon-{size}.png"] = icon
    files["layby.webmanifest"] = compact(MANIFEST)
    return files


def _for_dev(files: dict[str, bytes]) -> dict[str, bytes]:
    """The script that takes each build at once, on every page that has scripts."""
    return {
        "static/dev.js": (PWA / "static/dev/dev.js").read_bytes(),
        "static/page.js": b'import "/static/dev.js";\n' + files["static/page.js"],
    }


MANIFEST = {
    "id": "/",
    "name": "Layby",
    "short_name": "Layby",
    "description": "Offline notebook and diagnostic partner for diesel technicians",
    "start_url": "/",
    "scope": "/",
    "display": "standalone",
    "background_color": "#fbf9f3",
    "theme_color": icons.INK,
    "icons": [
        {
            "src": f"/static/icon-{size}.png",
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": purpose,
        }
        for size in (192, 512)
        for purpose in ("any", "maskable")
    ],
}


def hashes(files: dict[str, bytes]) -> dict[str, str]:
    """Address -> SHA-256 of each file, which is what the worker keeps and checks."""
    return {"/" + path: hashlib.sha256(data).hexdigest() for path, data in sorted(files.items())}


def bundle_worker(files: dict[str, str], dev: bool = False) -> tuple[str, bytes]:
    """The version and the worker: one classic script that carries the list of everything it has to keep.

    The version covers the worker's own code too, so that two builds never share a cache.
    """
    script = _bundle("phone/worker.js", PRECACHE={"version": UNKNOWN, "files": files}, DEV=dev)
    version = hashlib.sha256(script.encode()).hexdigest()[:16]
    return version, script.replace(UNKNOWN, version).encode()


def _bundle(entry: str, **known: Any) -> str:
    """One worker's script; `known` is what only the build knows, by the names that the script calls it."""
    return node.run(["build/bundle.mjs", entry], given=json.dumps(known | {"CONTRACT": agreed()}))


def agreed() -> dict[str, Any]:
    """What the phone's JavaScript and the server must agree on, by name."""
    return {name: value for name, value in vars(contract).items() if name.isupper()}


def replace(target: Path, files: dict[str, bytes]) -> None:
    """Write all files beside `target`, then swap the folders, so that no half-written build is served."""
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=".dist-", dir=target.parent))
    fresh.chmod(0o755)
    for path, data in files.items():
        file = fresh / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(data)
    old = target.with_name(f".{target.name}-old")
    shutil.rmtree(old, ignore_errors=True)
    if target.exists():
        target.rename(old)
    fresh.rename(target)
    shutil.rmtree(old, ignore_errors=True)
