"""Judges a file that says it is a photo: what it is, whether it may be shown, and a clean copy of it.

Hostile files cost a bounded amount of memory and time: three formats, a limit of pixels before anything is
decoded, a limit of scans for progressive JPEGs, one picture decoded at a time.
"""

import io
import re
import threading
import warnings

from PIL import Image, ImageOps

MAX_PIXELS = 64_000_000  # decoded this is 192 MB, and no phone's picture needs more
MAX_SCANS = 50  # of a progressive JPEG; encoders write about ten, and each costs a pass over all pixels
LONG_SIDE = 2000  # what a photo taken at the desk is scaled to, as on the phone
TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}

_decoding = threading.Lock()


def media_type(content: bytes) -> str:
    """The type of a picture that may be shown, or "" for anything else.

    It may if Pillow reads all of it, it is one still picture, and nothing stands behind its end: a file that
    is a picture and something else as well (a page, an archive) is kept as evidence, but never shown.
    """
    try:
        with _decoding, _opened(content) as image:
            kind = image.format or ""
            if getattr(image, "n_frames", 1) != 1 or content[end(content, kind) :].strip(b"\0"):
                return ""
            image.load()
            return TYPES[kind]
    except Exception:  # however a decoder fails over hostile bytes, the file is evidence and is kept
        return ""


def clean(content: bytes) -> tuple[bytes, int, int]:
    """A JPEG that is upright, no larger than needed, and without where and when it was taken.

    Raises:
        ValueError: it is no picture that can be read.
    """
    with _decoding:
        try:
            with _opened(content) as image:
                upright = ImageOps.exif_transpose(image).convert("RGB")
        except (OSError, SyntaxError):
            raise ValueError("This picture is damaged; it ends too early.") from None
        upright.thumbnail((LONG_SIDE, LONG_SIDE))
        written = io.BytesIO()
        Image.frombytes("RGB", upright.size, upright.tobytes()).save(written, "JPEG", quality=88)
        return written.getvalue(), upright.width, upright.height


def _opened(content: bytes) -> Image.Image:
    """A picture of a known kind and a bounded size, not decoded yet.

    Raises:
        ValueError: it is none.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(content), formats=list(TYPES))
    except (OSError, SyntaxError, Image.DecompressionBombError):
        raise ValueError("This file is not a picture that Layby can read (JPEG, PNG or WebP).") from None
    if image.width * image.height > MAX_PIXELS:
        raise ValueError("This picture is too large: more than 64 megapixels.")
    if image.format == "JPEG":
        end(content, "JPEG")
    return image


def end(content: bytes, kind: str) -> int:
    """Where a picture ends in its file.

    Raises:
        ValueError: it does not end, or has more scans than an encoder writes.
    """
    if kind == "JPEG":
        return _jpeg_end(content)
    if kind == "PNG":
        return _png_end(content)
    size = int.from_bytes(content[4:8], "little")  # WebP: one RIFF chunk, padded to an even length
    return 8 + size + size % 2


# A marker: 0xFF and a code. 0 after 0xFF stands for the data byte 0xFF, D0 to D7 restart within a scan.
# Source: ITU-T T.81 (JPEG), B.1.1.
_MARKER = re.compile(rb"\xff+[^\x00\xd0-\xd7\xff]", re.DOTALL)
_END, _SCAN, _ALONE = 0xD9, 0xDA, 0x01


def _jpeg_end(content: bytes) -> int:
    at, scans = 2, 0
    while found := _MARKER.search(content, at):
        at, code = found.end(), content[found.end() - 1]
        if code == _END:
            return at
        scans += code == _SCAN
        if scans > MAX_SCANS:
            raise ValueError("This picture has more scans than a camera writes.")
        if code != _ALONE:
            at += int.from_bytes(content[at : at + 2], "big")
    raise ValueError("This picture is damaged; it ends too early.")


def _png_end(content: bytes) -> int:
    """Chunks: length, name, data, checksum, up to IEND. Source: PNG (W3C), 5.3."""
    at = 8
    while at + 12 <= len(content):
        name = content[at + 4 : at + 8]
        at += 12 + int.from_bytes(content[at : at + 4], "big")
        if name == b"IEND":
            return at
    raise ValueError("This picture is damaged; it ends too early.")
