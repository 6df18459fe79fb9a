"""A picked file is shown only if it is a picture by its bytes; all else runs nowhere and is a download."""

import base64
import hashlib
import io
import json
from typing import Any

from PIL import Image

from pwa.build import node
from server.store import pictures
from tests.helpers.servers import Server
from tests.phone.engines import Engine, Step, engine, engines, on

__all__ = ["engine", "engines"]

STEAL = "localStorage.setItem('stolen', 'yes')"
SVG = f"<svg xmlns='http://www.w3.org/2000/svg'><script>{STEAL}</script></svg>".encode()
HTML = f"<!doctype html><script>{STEAL}</script>".encode()


def picture(kind: str = "JPEG", **options: Any) -> bytes:
    file = io.BytesIO()
    Image.effect_noise((64, 48), 80).convert("RGB").save(file, kind, **options)
    return file.getvalue()


def film(kind: str) -> bytes:
    file = io.BytesIO()
    frames = [Image.new("RGB", (8, 8), color) for color in ("red", "blue")]
    frames[0].save(file, kind, save_all=True, append_images=frames[1:], duration=100)
    return file.getvalue()


def with_thumbnail() -> bytes:
    """A JPEG that carries a whole JPEG in its Exif block, as cameras write it."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x927C] = picture()
    return picture(exif=exif)


FILES = [
    picture(),
    picture(progressive=True),
    picture(restart_marker_blocks=2),
    picture() + bytes(100),
    with_thumbnail(),
    picture("PNG"),
    picture("WEBP"),
    picture("WEBP", lossless=True),
    b"",
    b"\xff\xd8\xff",
    b"\xff\xd8\xff\xe0",
    b"RIFF" + bytes(4) + b"WEBP",
    SVG,
    HTML,
    b"GIF89a/*" + b"x" * 100,
    b"%PDF-1.7",
    film("PNG"),
    film("WEBP"),
    picture() + HTML,
    picture("PNG") + HTML,
    picture("WEBP") + HTML,
    picture() + picture(),
    HTML + picture(),
    *(picture()[:length] for length in (3, 20, 400, -2, -1)),
    *(picture("PNG")[:length] for length in (8, 20, 60, -12, -1)),
    *(picture("WEBP")[:length] for length in (12, 20, -40, -2)),
]
JUDGE = """
import { mediaType } from "./phone/pictures.js";
let given = "";
for await (const part of process.stdin) given += part;
const files = JSON.parse(given).map((text) => Uint8Array.from(Buffer.from(text, "base64")));
console.log(JSON.stringify(files.map((bytes) => mediaType(bytes.buffer))));
"""

# Files under the types that they claim, as a worker of an earlier version kept them.
KEEP = """(async () => {
  const opening = indexedDB.open("layby");
  await new Promise((done) => (opening.onsuccess = done));
  const transaction = opening.result.transaction("photos", "readwrite");
  for (const { sha256, type, text } of FILES) {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
    transaction.objectStore("photos").put({ sha256, type, size: bytes.byteLength, bytes });
  }
  transaction.oncomplete = () => { opening.result.close(); document.title = "kept"; };
})()"""
# Opened in every way that a page has; then what the headers say, and whether a picture is drawn.
OPEN = """(async () => {
  const told = [];
  for (const hash of HASHES) {
    const frame = document.createElement("iframe");
    frame.src = `/photo/${hash}`;
    document.body.append(frame);
    const image = new Image();
    image.src = `/photo/${hash}`;
    await new Promise((done) => (image.onload = image.onerror = done));
    const { headers } = await fetch(`/photo/${hash}`);
    told.push([image.naturalWidth, ...NAMES.map((name) => headers.get(name))]);
  }
  window.told = JSON.stringify(told);
  setTimeout(() => (document.title = "opened"), 1000);
})()"""
NAMES = ["Content-Type", "Content-Security-Policy", "X-Content-Type-Options", "Content-Disposition"]
# The whole window; what became a download leaves it where it was.
VISIT = """(() => {
  document.title = "visiting";
  location.href = "/photo/HASH";
  setTimeout(() => (document.title = "waited"), 1500);
})()"""


def test_the_phone_judges_a_file_like_the_server() -> None:
    given = json.dumps([base64.b64encode(file).decode() for file in FILES])
    said = json.loads(node.run(["--input-type=module", "-e", JUDGE], given))
    assert said == [pictures.media_type(file) for file in FILES]
    assert {"", "image/jpeg", "image/png", "image/webp"} == set(said)


def test_what_is_no_picture_never_runs_and_is_a_download(engine: Engine, server: Server) -> None:
    files = [("image/png", picture("PNG")), ("image/svg+xml", SVG), ("text/html", HTML),
             ("text/html", picture() + HTML), ("image/svg+xml", picture())]  # fmt: skip
    hashes = [hashlib.sha256(content).hexdigest() for _, content in files]
    rows = [
        {"sha256": sha256, "type": kind, "text": base64.b64encode(content).decode()}
        for sha256, (kind, content) in zip(hashes, files, strict=True)
    ]
    app = server.url
    opened = OPEN.replace("HASHES", json.dumps(hashes)).replace("NAMES", json.dumps(NAMES))
    steps: list[Step] = [
        {"open": f"{app}/", "until": on("/") + " && document.querySelector('#unsent') !== null", "tell": "1"},
        {"run": KEEP.replace("FILES", json.dumps(rows)), "until": "document.title === 'kept'", "tell": "1"},
        {"run": opened, "until": "document.title === 'opened'", "tell": "window.told"},
    ]
    for sha256 in hashes[1:4]:
        steps.append({"open": f"{app}/rescue.html", "until": on("/rescue.html"), "tell": "1"})
        gone = f"document.title === 'waited' || {on(f'/photo/{sha256}')}"
        steps.append({"run": VISIT.replace("HASH", sha256), "until": gone, "tell": "location.pathname"})
    steps.append(
        {"open": f"{app}/rescue.html", "until": on("/rescue.html"), "tell": "localStorage.getItem('stolen')"}
    )
    told = engine.tour(steps)
    sandbox = ["default-src 'none'; sandbox", "nosniff"]
    shown = {kind: [kind, *sandbox, None] for kind in ("image/png", "image/jpeg")}
    kept = [
        ["application/octet-stream", *sandbox, f'attachment; filename="{sha256[:16]}.bin"']
        for sha256 in hashes
    ]
    widths = [width for width, *_ in json.loads(told[2])]
    headers = [rest for _, *rest in json.loads(told[2])]
    assert headers == [shown["image/png"], *kept[1:4], shown["image/jpeg"]]
    assert (widths[0], widths[4]) == (64, 64)
    assert [told[at] for at in (4, 6, 8)] == ["/rescue.html"] * 3
    assert told[-1] is None
