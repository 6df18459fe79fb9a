"""Which files are shown as pictures: whole, still, of a bounded size, and nothing else besides."""

import io
import struct
import tracemalloc
import zlib

import pytest
from PIL import Image, ImageFile

from server.store import pictures


def picture(kind="JPEG", size=(64, 48), **options):
    file = io.BytesIO()
    Image.effect_noise(size, 80).convert("RGB").save(file, kind, **options)
    return file.getvalue()


def with_thumbnail():
    """A JPEG that carries a whole JPEG in its Exif block, as cameras write it."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x927C] = picture(size=(16, 12))
    return picture(exif=exif)


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (picture(), "image/jpeg"),
        (picture(progressive=True), "image/jpeg"),
        (picture(restart_marker_blocks=2), "image/jpeg"),
        (with_thumbnail(), "image/jpeg"),
        (picture() + bytes(100), "image/jpeg"),  # padding
        (picture("PNG"), "image/png"),
        (picture("WEBP"), "image/webp"),
        (picture("WEBP", lossless=True), "image/webp"),
    ],
)
def test_a_photo_is_known(content, kind):
    assert pictures.media_type(content) == kind


def png(width, height, data):
    """A PNG of 8-bit gray by hand, to lie with. Source: PNG (W3C), 5.3 and 11.2."""

    def chunk(name, body):
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def animated(kind):
    file = io.BytesIO()
    frames = [Image.new("RGB", (8, 8), color) for color in ("red", "blue")]
    frames[0].save(file, kind, save_all=True, append_images=frames[1:], duration=100)
    return file.getvalue()


def many_scans(scans):
    """A JPEG that repeats its first scan: each would cost a decoder a pass over the whole picture."""
    whole = picture(progressive=True, size=(600, 600))
    start = whole.index(b"\xff\xda")
    following = whole.index(b"\xff\xc4", start)
    return whole[:following] + whole[start:following] * scans + whole[following:]


TIFF = io.BytesIO()
Image.new("RGB", (4, 4)).save(TIFF, "TIFF")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xd8\xff\xd9",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"GIF89a/*" + b"x" * 100,
        b"%PDF-1.7",
        TIFF.getvalue(),
        picture()[:-2],
        picture("PNG")[:-12],
        picture("WEBP")[:-40],
        picture() + picture(),
        animated("PNG"),
        animated("WEBP"),
        png(40_000, 40_000, zlib.compress(bytes(1000))),
        png(8001, 8001, b""),
        many_scans(200),
    ],
    ids=range(15),
)
def test_anything_else_is_not_shown(content):
    assert pictures.media_type(content) == ""


@pytest.fixture
def decoded(monkeypatch):
    """The size of each picture whose pixels were asked for."""
    sizes, load = [], ImageFile.ImageFile.load

    def counted(image):
        sizes.append(image.size)
        return load(image)

    monkeypatch.setattr(ImageFile.ImageFile, "load", counted)
    return sizes


HOSTILE = {
    "far too large": png(40_000, 40_000, zlib.compress(bytes(1000))),
    "a little too large": png(8001, 8001, b""),
    "many scans": many_scans(200),
}


@pytest.mark.parametrize("content", HOSTILE.values(), ids=HOSTILE)
def test_what_would_cost_much_is_refused_before_it_is_decoded(decoded, content):
    assert pictures.media_type(content) == ""
    with pytest.raises(ValueError, match="picture"):
        pictures.clean(content)
    assert decoded == []
    pictures.media_type(picture())
    assert (64, 48) in decoded  # what is no attack is counted


def test_more_data_than_pixels_is_never_held_whole():
    content = png(100, 100, zlib.compress(bytes(50_000_000)))
    tracemalloc.start()
    pictures.media_type(content)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 1_000_000


@pytest.mark.parametrize("content", [picture()[:300], b"", png(8001, 8001, b""), many_scans(200)])
def test_the_desk_says_what_it_cannot_take(content):
    with pytest.raises(ValueError, match="picture"):
        pictures.clean(content)
