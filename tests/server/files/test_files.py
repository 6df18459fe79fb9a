"""Jobs as files at the desk, over real HTTP: given out, taken in elsewhere, and what not to believe."""

import hashlib
import io
import json
import struct
import zipfile

import httpx
import pytest
from PIL import Image

from pwa.app import contract
from pwa.app.record import chain
from server.files import layout, take_in
from tests.helpers.servers import Device, PlainBook, Server, sign_in


@pytest.fixture
def other(tmp_path):
    """A second shop, which knows nothing of the first."""
    (tmp_path / "second").mkdir()
    running = Server(tmp_path / "second", tmp_path / "dist", PlainBook())
    yield running
    running.stop()


def desk_of(server):
    client = httpx.Client(base_url=server.url, headers={"Sec-Fetch-Site": "same-origin"}, timeout=60)
    sign_in(server.shop, client)
    return client


def picture(colour="red"):
    content = io.BytesIO()
    Image.new("RGB", (40, 30), colour).save(content, "JPEG")
    return content.getvalue()


def sealed(phone, *drafts):
    """Records of any job, as texts."""
    random = hashlib.sha256(f"{phone.state}".encode()).hexdigest() * len(drafts)
    texts, phone.state = chain.seal(list(drafts), phone.state, 1_764_065_263_000, random, "")
    return texts


def note(job, text):
    return chain.draft(job, "note", {"text": text})


def photo(job, content):
    return chain.draft(job, "photo", {"sha256": hashlib.sha256(content).hexdigest()})


def packed(texts, photos=(), **members):
    """A file as Layby makes it, for what no Layby would put in."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr("records.jsonl", "".join(layout.line(text) for text in texts))
        for number, content in enumerate(photos):
            out.writestr(f"photos/{number}", content)
        for name, content in members.items():
            out.writestr(name, content)
    return file.getvalue()


def take(desk, content, status=200):
    answer = desk.post("/desk/files", content=content, headers={"Content-Type": "application/zip"})
    assert answer.status_code == status, answer.text
    return answer.json()


def texts_of(server):
    return sorted(server.shop.ledger.texts())


def keep(server, content):
    part = server.shop.photos.partial / "test"
    part.write_bytes(content)
    server.shop.photos.keep(part, hashlib.sha256(content).hexdigest(), 0)


def test_all_jobs_go_to_another_shop_byte_for_byte(server, phone, browser, other):
    phone.sync(*sealed(phone, note("a", "one"), photo("a", picture()), note("b", "naïve “quote” 🚚")))
    keep(server, picture())
    answer = browser.get("/desk/files/all")
    assert answer.headers["Content-Type"] == "application/zip"
    assert "attachment" in answer.headers["Content-Disposition"]
    told = take(desk_of(other), answer.content)
    assert told == {"jobs": 2, "taken": 3, "had": 0, "photos": 1, "refused": 0, "named": []}
    assert texts_of(other) == texts_of(server)
    assert other.shop.photos.has(hashlib.sha256(picture()).hexdigest())
    again = take(desk_of(other), answer.content)
    assert (again["taken"], again["had"], again["photos"]) == (0, 3, 0)


def test_the_file_is_what_the_handbook_says(server, phone, browser):
    phone.sync(*sealed(phone, note("a", "one"), photo("a", picture()), photo("b", picture("blue"))))
    keep(server, picture())
    with zipfile.ZipFile(io.BytesIO(browser.get("/desk/files/a").content)) as file:
        assert file.testzip() is None
        about = json.loads(file.read("layby.json"))
        lines = file.read("records.jsonl").decode().splitlines()
        photos = [name for name in file.namelist() if name.startswith("photos/")]
    assert (about["format"], about["version"], about["job"]) == ("layby", 1, "a")
    assert (about["records"], about["photos"], about["photos_missing"]) == (2, 1, [])
    assert set(lines) <= set(texts_of(server))
    assert photos == [f"photos/{hashlib.sha256(picture()).hexdigest()}.jpg"]


def test_photos_that_are_not_here_are_named(server, phone, browser):
    phone.sync(*sealed(phone, photo("a", picture())))
    with zipfile.ZipFile(io.BytesIO(browser.get("/desk/files/a").content)) as file:
        assert json.loads(file.read("layby.json"))["photos_missing"] == [
            hashlib.sha256(picture()).hexdigest()
        ]


def test_one_job_goes_without_the_others_and_the_phone_syncs_the_rest_later(server, browser, other):
    phone = Device(other)
    texts = sealed(phone, note("a", "1"), note("b", "2"), note("a", "3"), note("b", "4"))
    of_a = packed([texts[0], texts[2]])
    assert take(desk_of(other), of_a)["taken"] == 2
    assert texts_of(other) == sorted([texts[0], texts[2]])
    said = phone.sync(*texts)
    assert len(said["taken"]) == 4
    assert said["refused"] == []
    assert texts_of(other) == sorted(texts)
    assert other.shop.ledger.device(phone.state["id"], "")["seq"] == 4
    more = sealed(phone, note("a", "5"))
    assert len(phone.sync(*more)["taken"]) == 1


def test_other_phones_get_what_a_file_brought(server, phone, browser, another):
    stranger = another()
    texts = sealed(stranger, note("a", "1"), note("b", "2"), note("a", "3"))
    take(browser, packed([texts[0], texts[2]]))
    assert phone.sync()["records"] == [texts[0], texts[2]]
    stranger.sync(*texts)
    assert phone.sync()["records"] == [texts[1]]


def test_a_gap_closes_when_the_other_file_comes(server, browser, phone):
    texts = sealed(phone, note("a", "1"), note("b", "2"), note("a", "3"))
    take(browser, packed([texts[2]]))
    assert [(gap["from"], gap["to"]) for gap in server.shop.ledger.gaps()] == [(1, 2)]
    told = take(browser, packed(reversed(texts)))
    assert (told["taken"], told["had"]) == (2, 1)
    assert server.shop.ledger.gaps() == []


def test_what_a_file_leaves_out_is_named_at_the_desk_and_on_every_phone(server, browser, phone, another):
    texts = sealed(phone, *(note("a" if n in (3, 6, 7) else "b", str(n)) for n in range(1, 9)))
    take(browser, packed([texts[2], texts[5], texts[6]]))
    gaps = [(gap["name"], gap["from"], gap["to"]) for gap in another().sync()["gaps"]]
    assert gaps == [("Bay 2 phone", 1, 2), ("Bay 2 phone", 4, 5)]
    page = browser.get("/desk/devices").text
    assert (
        "Bay 2 phone: entries 4 to 5 are not at the shop yet. They are on that phone; send from it." in page
    )
    assert phone.sync(*texts)["gaps"] == []


def test_a_gap_of_a_phone_that_never_joined_is_named_by_what_it_calls_itself(server, browser, other):
    stranger = Device(other, "Roadside phone")
    name = chain.draft(contract.SHOP, "person", {"name": "Roadside phone"})
    texts = sealed(stranger, name, note("b", "1"), note("a", "2"))
    take(browser, packed([texts[2]]))
    nameless = f"device {stranger.state['id'][:4]}"
    assert f"{nameless}: entries 1 to 2 are not at the shop yet." in browser.get("/desk/devices").text
    take(browser, packed([texts[0], texts[2]]))
    assert "Roadside phone: entry 2 is not at the shop yet." in browser.get("/desk/devices").text


def test_the_file_of_a_job_tells_the_names_of_those_who_wrote_in_it(server, browser, phone, another):
    second = another()
    for device, name in ((phone, "Bay 2"), (second, "Anna")):
        said = chain.draft(contract.SHOP, "person", {"name": name})
        device.sync(*sealed(device, said, note("a" if device is phone else "b", "1")))
    with zipfile.ZipFile(io.BytesIO(browser.get("/desk/files/a").content)) as file:
        records = [json.loads(line) for line in file.read("records.jsonl").splitlines()]
    assert [(record["kind"], record["device"]) for record in records] == [
        ("note", phone.state["id"]),
        ("person", phone.state["id"]),
    ]


def test_a_changed_record_beside_its_neighbour_is_refused_by_name(server, browser, phone):
    texts = sealed(phone, note("a", "1"), note("a", "2"), note("a", "3"))
    forged = [texts[0], texts[1].replace('"2"', '"9"'), texts[2]]
    told = take(browser, packed(forged))
    assert (told["taken"], told["refused"]) == (2, 1)
    assert "Entry 3" in told["named"][0]
    told = take(browser, packed(texts))
    assert any("Another record is here" in line for line in told["named"])


def test_the_devices_own_word_counts_more_than_a_file(server, browser, phone, another):
    reader = another()
    texts = sealed(phone, note("a", "1"), note("a", "2"))
    take(browser, packed([texts[1].replace('"2"', '"forged"')]))
    assert len(reader.sync()["records"]) == 1
    said = phone.sync(*texts)
    assert (len(said["taken"]), said["refused"]) == (2, [])
    assert texts_of(server) == sorted(texts)
    assert sorted(reader.sync()["records"]) == sorted(texts)
    assert any(
        "the device's own counts" in row["message"] for row in server.shop.ledger.refusals(phone.state["id"])
    )


def test_the_desk_goes_on_as_another_device_when_a_file_has_more_of_its_chain(server, browser, other):
    """Its folder was put back, or its next entry was forged: no number is used twice, nothing is lost."""
    for text in ("one", "two", "three"):
        browser.post("/desk/notes", data={"text": text})
    texts = list(server.shop.ledger.texts())
    (before,) = server.shop.access.desks()
    assert take(browser, packed(texts))["had"] == 3
    assert server.shop.access.desks() == [before]
    with server.shop.store.transaction() as db:  # the desk as an old backup would bring it back
        db.execute("delete from records where seq > 1")
    assert take(browser, packed([texts[2]]))["taken"] == 1
    assert take(browser, packed(texts))["taken"] == 1
    browser.post("/desk/notes", data={"text": "four"})
    assert sorted(texts_of(server))[:3] == sorted(texts)
    four = json.loads(max(server.shop.ledger.texts(), key=lambda text: json.loads(text)["clock"]))
    assert (four["data"]["text"], four["seq"]) == ("four", 1)
    assert four["device"] != before


def test_a_record_with_a_line_break_of_its_own_survives(server, phone, browser, other):
    text = sealed(phone, note("a", "1"))[0].replace(', "kind"', ',\n "kind"')
    phone.sync(text)
    take(desk_of(other), browser.get("/desk/files/all").content)
    assert texts_of(other) == [text]


def test_only_photos_that_a_record_names_are_kept_whatever_they_are_called(server, browser, phone):
    wanted, other_one = picture(), picture("blue")
    told = take(browser, packed(sealed(phone, photo("a", wanted)), [other_one, wanted, wanted[:-9]]))
    assert (told["photos"], told["refused"]) == (1, 2)
    assert all("no entry names it" in line for line in told["named"])
    assert server.shop.photos.has(hashlib.sha256(wanted).hexdigest())
    assert not server.shop.photos.has(hashlib.sha256(other_one).hexdigest())


def test_names_in_the_file_lead_nowhere(server, browser, phone, tmp_path):
    evil = {"../../escaped": b"x", "/etc/escaped": b"x", "photos/../../../escaped": b"x"}
    before = {path for path in tmp_path.rglob("*") if path.is_file()}
    take(browser, packed(sealed(phone, note("a", "1")), [], **evil))
    after = {path for path in tmp_path.rglob("*") if path.is_file()}
    assert {path.name for path in after - before} <= {"layby.db-wal", "layby.db-shm"}


@pytest.mark.parametrize(
    "line",
    ["{", "[]", "7", '"seven"', '{"id": "x"}', "\ud83d", "[" * 5000, '{"a": NaN}', "x" * 300_000],
    ids=range(9),
)
def test_lines_that_are_no_records_are_named_and_the_rest_is_kept(server, browser, phone, line):
    good = sealed(phone, note("a", "1"))
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr("records.jsonl", f"{line}\n{good[0]}\n".encode(errors="surrogatepass"))
    told = take(browser, file.getvalue())
    assert (told["taken"], told["refused"]) == (1, 1)
    assert told["named"][0].startswith("Line 1: this is no entry.")


@pytest.mark.parametrize("content", [b"", b"x", b"PK\5\6", b"PK\3\4" + b"\0" * 60, b"PK\5\6" + b"\xff" * 18])
def test_what_is_no_zip_is_refused(browser, content):
    assert take(browser, content, 422)["message"].endswith(".")


def test_a_zip_cut_or_damaged_anywhere_never_breaks_the_server(browser, phone, server):
    whole = packed(sealed(phone, photo("a", picture()), note("a", "1")), [picture()])
    for at in range(0, len(whole), 23):
        for damaged in (whole[:at], whole[:at] + b"\xff" + whole[at + 1 :]):
            answer = browser.post("/desk/files", content=damaged)
            assert answer.status_code in (200, 422), (at, answer.text)
    assert len(texts_of(server)) <= 2


def test_a_zip_without_records_is_refused(browser):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as out:
        out.writestr("something", "else")
    assert "no entries" in take(browser, file.getvalue(), 422)["message"]


def test_what_unpacks_to_more_than_any_file_of_ours_is_not_unpacked(browser, monkeypatch):
    monkeypatch.setattr(take_in, "RECORDS_SIZE", 100_000)
    bomb = packed(["0" * 1_000_000])
    assert len(bomb) < 5000
    assert "more than" in take(browser, bomb, 422)["message"]
    monkeypatch.setattr(contract, "PHOTO_BYTES", 100_000)
    told = take(browser, packed([], [b"0" * 1_000_000]))
    assert "larger than" in told["named"][0]


def test_a_long_list_of_files_is_refused_before_it_is_read(browser, monkeypatch):
    many = packed([], [b""] * 50)
    monkeypatch.setattr(take_in, "MOST_FILES", 40)
    assert "More than 40 files" in take(browser, many, 422)["message"]
    at = many.rfind(b"PK\5\6")
    liar = many[: at + 8] + struct.pack("<HH", 3, 3) + many[at + 12 :]
    leading_elsewhere = many[:at] + b"PK\6\7" + b"\0" * 16 + many[at:]
    monkeypatch.setattr(take_in, "MOST_FILES", 60)
    assert take(browser, leading_elsewhere, 422)["error"] == "too_large"
    monkeypatch.setattr(take_in, "DIRECTORY_SIZE", 1000)
    assert take(browser, liar, 422)["error"] == "too_large"


def test_nobody_takes_in_or_out_without_a_session(server, phone):
    outside = httpx.Client(base_url=server.url, headers={"Sec-Fetch-Site": "same-origin"})
    assert outside.get("/desk/files/all").status_code == 303
    assert outside.post("/desk/files", content=packed([])).status_code == 303
    assert phone.http.get("/desk/files/all").status_code == 303
    inside = desk_of(server)
    inside.headers["Sec-Fetch-Site"] = "cross-site"
    assert inside.post("/desk/files", content=packed([])).status_code == 403


def test_nothing_of_a_file_stays_behind(server, browser, phone):
    take(browser, packed(sealed(phone, note("a", "1")), [picture("blue")]))
    browser.get("/desk/files/all")
    assert list(server.shop.photos.partial.iterdir()) == []


def test_photos_that_unpack_to_too_much_together_are_refused(phone, server, browser, monkeypatch):
    """Each is small enough, and so is the file."""
    photos = [picture(), picture("blue"), picture("green")]
    sizes = [len(content) for content in photos]
    texts = sealed(phone, *[photo("j", content) for content in photos])
    monkeypatch.setattr(take_in, "UNPACKED", sum(sizes) - 1)
    assert take(browser, packed(texts, photos), 422)["error"] == "too_large"
    assert list(server.shop.photos.partial.iterdir()) == []
    monkeypatch.setattr(take_in, "UNPACKED", sum(sizes))
    take(browser, packed(texts, photos))
    assert all(server.shop.photos.has(hashlib.sha256(content).hexdigest()) for content in photos)
