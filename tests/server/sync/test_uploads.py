"""Photos by tus 1.0: against its text (tus.io/protocols/resumable-upload) and with tuspy, outside client."""

import base64
import dataclasses
import hashlib
import io
import os
import socket
import time
from pathlib import Path

import pytest
from PIL import Image
from tusclient import client as tusclient

from pwa.app import contract
from server.sync import uploads


def picture(kind="JPEG", size=(40, 30)):
    file = io.BytesIO()
    Image.effect_noise(size, 80).convert("RGB").save(file, kind)
    return file.getvalue()


def sha(content):
    return hashlib.sha256(content).hexdigest()


def metadata(**fields):
    return ",".join(f"{key} {base64.b64encode(value.encode()).decode()}" for key, value in fields.items())


def create(phone, content, **headers):
    given = {
        "Tus-Resumable": "1.0.0",
        "Upload-Length": str(len(content)),
        "Upload-Metadata": metadata(sha256=sha(content), type="image/jpeg"),
        **headers,
    }
    return phone.http.post("/uploads", headers=given)


def patch(phone, place, content, offset, **headers):
    given = {
        "Tus-Resumable": "1.0.0",
        "Content-Type": "application/offset+octet-stream",
        "Upload-Offset": str(offset),
        **headers,
    }
    return phone.http.patch(place, content=content, headers=given)


def offset(phone, place):
    answer = phone.http.head(place, headers={"Tus-Resumable": "1.0.0"})
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"
    return int(answer.headers["Upload-Offset"])


def upload(phone, content):
    place = create(phone, content).headers["Location"]
    return patch(phone, place, content, 0)


def tus(phone, server):
    headers = {"Authorization": f"Bearer {phone.token}"}
    return tusclient.TusClient(server.url + "/uploads", headers=headers)


def cut(phone, server, place, content, sent):
    """A PATCH whose connection breaks after `sent` bytes."""
    head = (
        f"PATCH {place} HTTP/1.1\r\nHost: {server.url[7:]}\r\nAuthorization: Bearer {phone.token}\r\n"
        f"Tus-Resumable: 1.0.0\r\nContent-Type: application/offset+octet-stream\r\nUpload-Offset: 0\r\n"
        f"Content-Length: {len(content)}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", server.settings.port)) as connection:
        connection.sendall(head.encode() + content[:sent])
        time.sleep(0.3)


def test_options_say_what_the_server_can(server, phone):
    answer = phone.http.options("/uploads", headers={"Authorization": ""})
    assert answer.status_code == 204
    assert answer.headers["Tus-Version"] == "1.0.0"
    assert set(answer.headers["Tus-Extension"].split(",")) == {"creation", "checksum"}
    assert set(answer.headers["Tus-Checksum-Algorithm"].split(",")) == {"sha1", "sha256"}
    assert int(answer.headers["Tus-Max-Size"]) == contract.PHOTO_BYTES


def test_tuspy_uploads_in_chunks_and_the_bytes_are_the_same(server, phone):
    content = picture(size=(500, 400))
    uploader = tus(phone, server).uploader(
        file_stream=io.BytesIO(content),
        chunk_size=20_000,
        metadata={"sha256": sha(content)},
        upload_checksum=True,
    )
    uploader.upload()
    answer = phone.http.get(f"/photos/{sha(content)}")
    assert answer.content == content
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert (server.settings.data / "photos" / sha(content)).read_bytes() == content


def test_tuspy_resumes_what_a_cut_connection_left(server, phone):
    content = picture("PNG", (1300, 1300))
    place = create(phone, content).headers["Location"]
    cut(phone, server, place, content, 2_000_000)
    assert 1_900_000 < offset(phone, place) <= 2_000_000
    uploader = tus(phone, server).uploader(file_stream=io.BytesIO(content), url=server.url + place)
    assert uploader.offset > 1_900_000
    uploader.upload()
    assert phone.http.get(f"/photos/{sha(content)}").content == content


def test_what_arrived_outlives_the_server(server, phone):
    content = picture(size=(600, 600))
    place = create(phone, content).headers["Location"]
    patch(phone, place, content[:1000], 0)
    server.stop()
    server.start()
    assert offset(phone, place) == 1000
    assert patch(phone, place, content[1000:], 1000).status_code == 204
    assert phone.http.get(f"/photos/{sha(content)}").content == content


def test_a_phone_that_forgot_the_address_goes_on_all_the_same(phone):
    content = picture()
    patch(phone, create(phone, content).headers["Location"], content[:100], 0)
    assert create(phone, content).headers["Upload-Offset"] == "100"


def test_a_photo_that_is_here_counts_as_sent(phone, another):
    content = picture()
    assert upload(phone, content).status_code == 204
    for device in (phone, another()):
        answer = create(device, content)
        assert (answer.status_code, answer.headers["Upload-Offset"]) == (201, str(len(content)))
        assert offset(device, answer.headers["Location"]) == len(content)


def test_a_record_makes_its_photo_wanted_until_it_is_here(phone, another):
    content = picture()
    record = phone.write("", kind="photo", sha256=sha(content))
    assert phone.sync(*record)["photos_wanted"] == [sha(content)]
    assert another().sync()["photos_wanted"] == []
    upload(phone, content)
    assert phone.sync()["photos_wanted"] == []


def test_a_photo_may_come_before_its_record(phone):
    content = picture()
    upload(phone, content)
    assert phone.sync(*phone.write("", kind="photo", sha256=sha(content)))["photos_wanted"] == []


@pytest.mark.parametrize("algorithm", ["sha1", "sha256"])
def test_a_damaged_chunk_is_dropped(phone, algorithm):
    content = picture()
    place = create(phone, content).headers["Location"]
    digest = base64.b64encode(hashlib.new(algorithm, content).digest()).decode()
    damaged = bytes([content[0] ^ 1]) + content[1:]
    answer = patch(phone, place, damaged, 0, **{"Upload-Checksum": f"{algorithm} {digest}"})
    assert answer.status_code == 460
    assert offset(phone, place) == 0
    assert patch(phone, place, content, 0, **{"Upload-Checksum": f"{algorithm} {digest}"}).status_code == 204


def test_an_unknown_checksum_is_refused(phone):
    content = picture()
    place = create(phone, content).headers["Location"]
    for header in ("md5 AAAA", "sha1", "sha1 ?"):
        assert patch(phone, place, content, 0, **{"Upload-Checksum": header}).status_code == 400


def test_another_content_than_announced_is_refused(phone):
    content = picture()
    place = create(phone, content).headers["Location"]
    answer = patch(phone, place, b"x" * len(content), 0)
    assert (answer.status_code, answer.json()["error"]) == (460, "other_photo")
    assert phone.http.get(f"/photos/{sha(content)}").status_code == 404
    assert upload(phone, content).status_code == 204


def test_the_rules_of_the_core_protocol(phone):
    content = picture()
    place = create(phone, content).headers["Location"]
    assert patch(phone, place, content, 5).status_code == 409
    assert patch(phone, place, content, 0, **{"Content-Type": "image/jpeg"}).status_code == 415
    old = patch(phone, place, content, 0, **{"Tus-Resumable": "0.2.2"})
    assert (old.status_code, old.headers["Tus-Version"]) == (412, "1.0.0")
    assert patch(phone, place, content + b"more", 0).status_code == 413
    assert offset(phone, place) == 0
    override = {"X-HTTP-Method-Override": "PATCH", "Content-Type": "application/offset+octet-stream"}
    answer = phone.http.post(
        place, content=content, headers={"Tus-Resumable": "1.0.0", "Upload-Offset": "0", **override}
    )
    assert (answer.status_code, answer.headers["Upload-Offset"]) == (204, str(len(content)))


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Upload-Length": "0"}, 413),
        ({"Upload-Length": str(contract.PHOTO_BYTES + 1)}, 413),
        ({"Upload-Length": "many"}, 400),
        ({"Upload-Length": "-1"}, 400),
        ({"Upload-Metadata": ""}, 400),
        ({"Upload-Metadata": "sha256 ???"}, 400),
        ({"Upload-Metadata": metadata(sha256="../../etc/passwd")}, 400),
        ({"Upload-Metadata": "a b," * 5000}, 400),
        ({"Tus-Resumable": "2.0.0"}, 412),
        ({"Authorization": "Bearer nobody"}, 401),
    ],
)
def test_an_upload_that_cannot_be_is_not_begun(phone, headers, status):
    answer = create(phone, b"content", **headers)
    assert answer.status_code == status
    assert set(answer.json()) == {"error", "message"}


def test_one_phone_cannot_touch_anothers_upload(phone, another):
    content = picture()
    place = create(phone, content).headers["Location"]
    assert patch(another(), place, b"x", 0).status_code == 404
    assert offset(phone, place) == 0


@pytest.mark.parametrize("place", ["/uploads/..%2F..%2Flayby.db", "/uploads/nothing", "/uploads/" + "0" * 64])
def test_no_address_reaches_another_file(phone, place):
    assert phone.http.head(place, headers={"Tus-Resumable": "1.0.0"}).status_code in (400, 404)
    assert patch(phone, place, b"x", 0).status_code in (400, 404, 405)


def test_photos_need_a_token_or_a_session(server, phone, browser):
    content = picture("WEBP")
    upload(phone, content)
    path = f"/photos/{sha(content)}"
    assert phone.http.get(path, headers={"Authorization": ""}).status_code == 401
    assert (
        browser.get(path).content == browser.get(f"/desk{path.replace('photos', 'photo')}").content == content
    )


def bomb():
    """A small PNG that claims 20,000 x 20,000 pixels."""
    file = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(file, "PNG")
    return file.getvalue()


@pytest.mark.parametrize(
    "content",
    [b"<script>alert(1)</script>", b"\xff\xd8\xff\xe0<script>", picture()[:400], picture("GIF"), bomb],
    ids=["html", "html with a JPEG's first bytes", "half a JPEG", "GIF", "bomb"],
)
def test_what_is_no_picture_is_kept_and_never_shown(server, phone, browser, content):
    content = content() if callable(content) else content
    assert upload(phone, content).status_code == 204
    assert (server.settings.data / "photos" / sha(content)).read_bytes() == content
    assert phone.http.get(f"/photos/{sha(content)}").status_code == 415
    shown = browser.get(f"/desk/photo/{sha(content)}", follow_redirects=True)
    assert shown.headers["Content-Type"] == "image/svg+xml"


def test_a_picture_has_no_rights(phone):
    content = picture()
    upload(phone, content)
    headers = phone.http.get(f"/photos/{sha(content)}").headers
    assert headers["Content-Type"] == "image/jpeg"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in headers["Content-Security-Policy"]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("more", [b"<script>alert(1)</script>", b"PK\x03\x04" + b"x" * 40])
def test_a_picture_that_is_something_else_as_well_is_a_download_at_most(phone, browser, kind, more):
    content = picture(kind) + more
    upload(phone, content)
    assert phone.http.get(f"/photos/{sha(content)}").status_code == 415
    place = f"/desk/photo/{sha(content)}"
    on_page = browser.get(place, headers={"Sec-Fetch-Dest": "image"})
    assert on_page.headers["Location"] == "/static/photo-not-here.svg"
    alone = browser.get(place, headers={"Sec-Fetch-Dest": "document"})
    assert alone.content == content
    assert alone.headers["Content-Type"] == "application/octet-stream"
    assert alone.headers["Content-Disposition"].startswith("attachment")
    assert alone.headers["X-Content-Type-Options"] == "nosniff"


def test_a_phone_may_send_only_so_much(phone, server):
    server.shop.settings = dataclasses.replace(server.settings, device_bytes=10_000)
    content = picture(size=(60, 60))
    assert len(content) < 10_000
    assert upload(phone, content).status_code == 204
    answer = create(phone, bytes(10_001 - len(content)))
    assert (answer.status_code, answer.json()["error"]) == (413, "quota")
    assert create(phone, content).status_code == 201  # what is here costs nothing


def test_a_phone_may_leave_only_so_many_half_sent(phone, another):
    for number in range(uploads.MAX_COMING):
        assert create(phone, b"%d" % number).status_code == 201
    assert create(phone, b"one more").json()["error"] == "too_many"
    assert create(phone, b"1").status_code == 201  # a known one goes on
    assert create(another(), b"one more").status_code == 201


def test_a_disk_that_is_almost_full_is_kept_for_records(phone, server):
    server.shop.settings = dataclasses.replace(server.settings, spare_bytes=10**18)
    answer = create(phone, picture())
    assert (answer.status_code, answer.json()["error"]) == (507, "disk_full")
    assert phone.sync(*phone.write("a note"))["refused"] == []


def test_what_nobody_goes_on_with_is_given_up_at_a_start(phone, server):
    place = create(phone, b"never finished").headers["Location"]
    part = next((server.settings.data / "photos" / "partial").iterdir())
    os.utime(part, (0, 0))
    server.stop()
    server.start()
    assert not part.exists()
    assert phone.http.head(place, headers={"Tus-Resumable": "1.0.0"}).status_code == 404


def test_nothing_is_left_of_a_finished_upload(server, phone):
    upload(phone, picture())
    assert list(Path(server.settings.data / "photos" / "partial").iterdir()) == []


def test_a_photo_moved_to_its_place_but_not_listed_is_not_asked_for_again(server, phone):
    """As after a kill between the two."""
    content = picture()
    upload(phone, content)
    sha256 = hashlib.sha256(content).hexdigest()
    with server.shop.store.transaction() as db:
        db.execute("delete from photos where sha256 = ?", [sha256])
        row = {"device": phone.state["id"], "sha256": sha256, "length": len(content), "metadata": ""}
        db.table("uploads").insert(row)
    again = create(phone, content)
    assert (again.status_code, again.headers["Upload-Offset"]) == (201, str(len(content)))
    assert server.shop.photos.find(sha256).path.read_bytes() == content
    assert server.shop.store.rows("select 1 from uploads") == []
