"""Everybody at the desk: a name and a passphrase each, who lets whom in, and whose word a record is."""

import json
import re
import sqlite3

import httpx
import pytest
from argon2 import PasswordHasher

from pwa.app.record.authors import Authors
from server.store.shop import now
from tests.helpers.servers import Server, sign_in, somebody

SAME = {"Sec-Fetch-Site": "same-origin"}
WORDS, OTHER = "correct horse battery staple", "seven quiet rivers bend"


@pytest.fixture
def server(server, monkeypatch):
    """Hashing as cheap as it can be: what it costs is another test's."""
    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(server.shop.passphrases, "_hasher", cheap)
    return server


@pytest.fixture
def client(server):
    """Makes browsers that have not signed in."""
    made = []

    def new():
        made.append(httpx.Client(base_url=server.url, headers=SAME, timeout=60))
        return made[-1]

    yield new
    for one in made:
        one.close()


@pytest.fixture
def enter(client):
    def entered(name, passphrase=WORDS, **more):
        browser = client()
        return browser, browser.post("/desk/enter", data={"name": name, "passphrase": passphrase, **more})

    return entered


@pytest.fixture
def owner(server, client):
    browser = client()
    form = {"code": server.shop.new_code("setup"), "name": "Olga", "passphrase": WORDS, "again": WORDS}
    assert browser.post("/desk/setup", data=form).headers["Location"] == "/desk/start"
    return browser


@pytest.fixture
def join(owner, client):
    """Lets somebody in as an owner does, with a link."""

    def joined(name, role="desk", passphrase=OTHER):
        page = owner.post("/desk/people", data={"role": role, "current": WORDS}).text
        way, code = re.search(r'id="link">http://[^/]+(/desk/join)#code=([\w-]+)<', page).groups()
        browser = client()
        form = {"code": code, "name": name, "passphrase": passphrase, "again": passphrase}
        return browser, browser.post(way, data=form)

    return joined


def id_of(server, name):
    return next(row["id"] for row in server.shop.people.listing() if row["name"] == name)


def change(browser, **form):
    return browser.post("/desk/access", data=form)


def test_an_owner_lets_others_in_and_each_comes_in_by_name_and_passphrase(server, join, enter):
    _, answer = join("Anna")
    assert answer.status_code == 303
    browser, answer = enter(" anna", OTHER)
    assert (answer.status_code, browser.get("/desk/devices").status_code) == (303, 200)
    for name, wrong in (("Anna", WORDS), ("Nobody", OTHER), ("", OTHER), ("Anna", ""), ("Anna", OTHER * 100)):
        _, answer = enter(name, wrong)
        assert (answer.status_code, "Set-Cookie" in answer.headers) == (403, False)
        assert "Name or passphrase is wrong." in answer.text


def test_what_somebody_writes_carries_the_name_and_a_chain_of_its_own(server, join, owner, phone):
    """The plain book of these tests writes no names; the notebook's own does (tests/app/record)."""
    anna, _ = join("Anna")
    for browser in (anna, owner, anna):
        assert browser.post("/desk/job/1/note", data={"text": "words"}).status_code == 303
    records = [json.loads(text) for text in phone.sync()["records"]]
    devices = [record["device"] for record in records]
    assert devices[0] == devices[2] != devices[1]
    assert [record["seq"] for record in records] == [1, 1, 2]
    assert all(record["author"] == f"device {record['device'][:4]}" for record in records)
    assert sorted(set(devices)) == sorted(server.shop.access.desks())
    assert {head["device"] for head in server.shop.store.rows("select device from heads")} >= set(devices)


def test_reading_makes_nobody_a_device(server, owner):
    assert owner.get("/desk/").status_code == 200
    assert server.shop.access.desks() == []


def test_two_people_cannot_have_names_that_look_alike(join):
    join("Anna")
    _, answer = join(" ANNA\u200b ")
    assert (answer.status_code, "is called" in answer.text) == (422, True)
    _, answer = join("\u200b \t")
    assert (answer.status_code, "Type your name" in answer.text) == (422, True)


def test_a_link_works_once_for_one_thing_and_for_so_long(server, owner, join, client):
    code = server.shop.new_code("viewer")
    form = {"code": code, "name": "Vera", "passphrase": OTHER, "again": OTHER}
    for way in ("setup", "reset"):
        assert client().post(f"/desk/{way}", data=form).status_code == 403
    assert client().post("/desk/join", data=form).status_code == 303
    assert client().post("/desk/join", data={**form, "name": "Vera 2"}).status_code == 403
    old = server.shop.access.new_code("owner", now() - 3_600_001, 60)
    assert client().post("/desk/join", data={**form, "code": old, "name": "Late"}).status_code == 403
    phones = server.shop.new_code("phone")
    assert client().post("/desk/join", data={**form, "code": phones, "name": "Phone"}).status_code == 403
    assert [row["role"] for row in server.shop.people.listing()] == ["owner", "viewer"]


def test_only_an_owner_lets_people_in_and_shows_once_more_who_it_is(server, join, owner):
    anna, _ = join("Anna")
    for path in ("people", f"people/{id_of(server, 'Olga')}/out", f"people/{id_of(server, 'Olga')}/reset"):
        answer = anna.post(f"/desk/{path}", data={"role": "owner", "current": OTHER})
        assert (answer.status_code, "Only for owners" in answer.text) == (403, True)
    for wrong in ("", OTHER):
        answer = owner.post("/desk/people", data={"role": "desk", "current": wrong})
        assert (answer.status_code, 'id="link"' in answer.text) == (422, False)
    assert owner.post("/desk/people", data={"role": "king", "current": WORDS}).status_code == 422


def test_a_viewer_reads_everything_and_changes_nothing(server, join, phone):
    phone.sync(*phone.write("from the roadside"))
    viewer, _ = join("Vera", "viewer")
    assert "from the roadside" in viewer.get("/desk/").text
    for path in ("job/1/note", "devices", "people", f"devices/{phone.state['id']}/revoke"):
        answer = viewer.post(f"/desk/{path}", data={"text": "planted"})
        assert answer.status_code == 403
        assert "may read everything and change nothing" in answer.text
    assert viewer.get("/desk/devices").status_code == viewer.get("/desk/people").status_code == 403
    assert len(server.shop.ledger.of_kinds(["note"])) == 1
    assert 'href="/desk/devices"' not in viewer.get("/desk/access").text
    assert viewer.post("/desk/leave").headers["Location"] == "/desk/enter"


def test_somebody_shut_out_is_out_at_once_everywhere_and_what_was_written_stays(server, join, owner, enter):
    anna, _ = join("Anna")
    anna.post("/desk/job/1/note", data={"text": "stays"})
    second, _ = enter("Anna", OTHER)
    path = f"/desk/people/{id_of(server, 'Anna')}/out"
    asked = owner.get(path).text
    assert "Shut Anna out?" in asked
    assert anna.get("/desk/devices").status_code == 200  # asking does nothing yet
    assert owner.post(path).status_code == 303
    for browser in (anna, second):
        assert browser.get("/desk/").headers["Location"] == "/desk/enter"
    assert enter("Anna", OTHER)[1].status_code == 403
    assert "Shut out" in owner.get("/desk/people").text
    assert len(server.shop.ledger.of_kinds(["note"])) == 1
    _, answer = join("Anna")  # somebody new of that name
    assert answer.status_code == 303


def test_a_link_made_before_somebody_was_shut_out_lets_nobody_in(server, join, owner, client):
    join("Anna")
    here = id_of(server, "Anna")
    page = owner.post(f"/desk/people/{here}/reset", data={"current": WORDS}).text
    code = re.search(r"/desk/reset#code=([\w-]+)<", page)[1]
    owner.post(f"/desk/people/{here}/out")
    form = {"code": code, "passphrase": WORDS, "again": WORDS}
    assert client().post("/desk/reset", data=form).status_code == 403


def test_an_owner_cannot_shut_the_shop_out_of_itself(server, owner):
    owner.post(f"/desk/people/{id_of(server, 'Olga')}/out")
    assert owner.get("/desk/people").status_code == 200


def test_a_lost_passphrase_is_replaced_by_a_link_which_ends_the_sessions(server, join, owner, client, enter):
    anna, _ = join("Anna")
    page = owner.post(f"/desk/people/{id_of(server, 'Anna')}/reset", data={"current": WORDS}).text
    code = re.search(r"/desk/reset#code=([\w-]+)<", page)[1]
    assert anna.get("/desk/").status_code == 200  # until the link is used
    form = {"code": code, "passphrase": "nine loud engines idle", "again": "nine loud engines idle"}
    new = client()
    assert new.post("/desk/reset", data=form).status_code == 303
    assert new.get("/desk/access").text.count("<h1>Anna</h1>") == 1
    assert anna.get("/desk/").status_code == 303
    assert enter("Anna", OTHER)[1].status_code == 403
    assert enter("Anna", "nine loud engines idle")[1].status_code == 303


def test_changing_it_needs_the_current_one_and_signs_the_others_out(join, enter):
    anna, _ = join("Anna")
    other, _ = enter("Anna", OTHER)
    new = {"passphrase": "nine loud engines idle", "again": "nine loud engines idle"}
    assert change(anna, do="passphrase", current="wrong", **new).status_code == 422
    assert change(anna, do="passphrase", current=OTHER, **new).status_code == 303
    assert anna.get("/desk/devices").status_code == 200
    assert other.get("/desk/").headers["Location"] == "/desk/enter"
    assert enter("Anna", OTHER)[1].status_code == 403


def test_everybodys_own_name_and_browsers(server, join, enter, owner):
    anna, _ = join("Anna")
    other, _ = enter("Anna", OTHER)
    assert change(anna, do="name", name="Olga").status_code == 422
    assert change(anna, do="name", name=" Anna  K. ").status_code == 303
    assert "Anna K." in anna.get("/desk/devices").text
    assert change(anna, do="leave-others").status_code == 303
    assert [one.get("/desk/").status_code for one in (anna, other, owner)] == [200, 303, 200]
    assert change(anna, do="fly").status_code == 422


def test_a_viewer_changes_the_own_passphrase_and_that_is_all(join, enter):
    viewer, _ = join("Vera", "viewer")
    new = {"passphrase": "nine loud engines idle", "again": "nine loud engines idle"}
    assert change(viewer, do="passphrase", current=OTHER, **new).status_code == 303
    assert enter("Vera", "nine loud engines idle")[1].status_code == 303


@pytest.mark.parametrize("weak", ["", "short", "a" * 30, "abababababababab", "x" * 300])
def test_a_passphrase_that_is_easy_to_guess_is_not_taken(server, client, weak):
    form = {"code": server.shop.new_code("setup"), "name": "Olga", "passphrase": weak, "again": weak}
    browser = client()
    answer = browser.post("/desk/setup", data=form)
    assert (answer.status_code, "passphrase" in answer.text) == (422, True)
    assert browser.post("/desk/setup", data={**form, "passphrase": WORDS, "again": OTHER}).status_code == 422
    assert browser.post("/desk/setup", data={**form, "passphrase": WORDS, "again": WORDS}).status_code == 303


def test_an_accent_typed_in_another_way_is_the_same(join, enter):
    join("Zoé", passphrase="quatre étés à la mer")
    assert enter("Zoe\u0301", "quatre e\u0301te\u0301s a\u0300 la mer")[1].status_code == 303


def test_the_machine_always_has_a_way_in(server, owner, client):
    form = {"code": server.shop.new_code("setup"), "name": "Second", "passphrase": OTHER, "again": OTHER}
    browser = client()
    assert browser.post("/desk/setup", data=form).status_code == 303
    assert browser.get("/desk/people").status_code == 200


def test_guessing_is_slowed_down_and_then_stops(server, owner, enter):
    statuses = [enter("Olga", f"guess number {n}")[1].status_code for n in range(12)]
    assert statuses == [403] * 8 + [429] * 4
    answer = enter("Olga")[1]
    assert (answer.status_code, int(answer.headers["Retry-After"]) > 0) == (429, True)


def test_who_is_known_here_is_not_told_by_how_much_is_computed(server, owner, enter, monkeypatch):
    enter("Nobody", OTHER)
    fits, counted = server.shop.passphrases.fits, []

    def counting(hashed, passphrase):
        counted.append(hashed)
        return fits(hashed, passphrase)

    monkeypatch.setattr(server.shop.passphrases, "fits", counting)
    for name in ("Olga", "Nobody"):
        enter(name, OTHER)
    assert len(counted) == 2


@pytest.mark.parametrize("to", ["/desk/job/1/timeline?from=mail", "/desk/devices"])
def test_a_link_into_a_job_is_kept_through_signing_in(owner, client, enter, to):
    browser = client()
    location = browser.get(to).headers["Location"]
    page = browser.get(location).text
    kept = re.search(r'name="to" value="([^"]*)"', page)[1]
    _, answer = enter("Olga", to=kept)
    assert answer.headers["Location"] == to


@pytest.mark.parametrize(
    "to",
    [
        "https://elsewhere.example/",
        "//elsewhere.example",
        "/desk/../x",
        "/desk/\\x",
        "/deskx",
        "javascript:1",
        "/",
    ],
)
def test_signing_in_leads_nowhere_else(owner, enter, client, to):
    _, answer = enter("Olga", to=to)
    assert answer.headers["Location"] == "/desk/"
    assert "elsewhere" not in client().get("/desk/enter", params={"to": to}).text


def before_people(server):
    """A shop as an older version left it: one passphrase that all at the desk share, and their one device."""
    hashed = server.shop.passphrases.hashed(WORDS)
    with server.shop.store.transaction() as db:
        for role in ("desk", "viewer"):
            db.table("passphrases").insert({"role": role, "hash": hashed, "changed": 1})
        row = {"id": "old-desk", "name": "Desk", "token": None, "enrolled": 0, "seen": 0, "revoked": 0}
        db.table("devices").insert(row)


def test_the_first_to_come_with_the_shared_passphrase_becomes_an_owner(server, client):
    before_people(server)
    browser = client()
    page = browser.get("/desk/enter").text
    assert "a passphrase of their own" in page
    assert browser.post("/desk/enter", data={"passphrase": "wrong horse battery"}).status_code == 403
    page = browser.post("/desk/enter", data={"passphrase": WORDS}).text
    code = re.search(r'name="code"[^>]* value="([\w-]+)"', page)[1]
    assert browser.get("/desk/").status_code == 303  # not in before the name is chosen
    form = {"code": code, "name": "Olga", "passphrase": OTHER, "again": OTHER}
    assert browser.post("/desk/setup", data=form).status_code == 303
    assert browser.get("/desk/people").status_code == 200
    late = client()  # for everybody else it is worth nothing now
    assert late.post("/desk/enter", data={"passphrase": WORDS}).status_code == 403
    assert late.post("/desk/enter", data={"name": "Olga", "passphrase": WORDS}).status_code == 403
    assert server.shop.store.rows("select * from passphrases") == []


def test_the_shared_device_says_once_that_it_was_the_desk(server, client, phone):
    before_people(server)
    texts, refused = server.shop.ledger.take("old-desk", old_note(), 1)
    assert (len(texts), refused) == (1, [])
    browser = client()
    sign_in(server.shop, browser, "desk", "Anna")
    for text in ("one", "two"):
        browser.post("/desk/job/1/note", data={"text": text})
    records = [json.loads(text) for text in phone.sync()["records"]]
    assert [record["kind"] for record in records] == ["note", "person", "note", "note"]
    assert Authors(records).author(records[0]) == "Desk"


def old_note():
    from pwa.app.record import chain

    device = {"id": "old-desk", "name": "Desk", "seq": 0, "head": "", "clock": ""}
    return chain.seal([chain.draft("1", "note", {"text": "old"})], device, 1, "0" * 40, "")[0]


def test_after_the_update_nobody_is_signed_in_without_a_name(tmp_path):
    """The database of the version before, with a session of a role."""
    running = Server(tmp_path)
    running.stop()
    database = sqlite3.connect(running.settings.data / "layby.db")
    database.execute("drop table people")
    for table in ("devices", "sessions"):
        for column in ("epoch", "person"):
            database.execute(f"alter table {table} drop column {column}")
    database.execute("insert into sessions (hash, started, expires) values ('x', 1, 9e15)")
    database.execute("insert into devices (id, name, token, enrolled, seen) values ('p', 'P', 't', 1, 1)")
    database.execute("delete from _sqlite_migrations where name = 'people'")
    database.commit()
    database.close()
    running.start()
    store = running.shop.store
    assert store.rows("select * from sessions") == []
    assert store.rows("select epoch from devices") == [{"epoch": store.epoch}]
    running.stop()


def test_nothing_of_a_passphrase_is_stored_but_argon2(tmp_path):
    running = Server(tmp_path)
    somebody(running.shop, "owner", "Olga", WORDS)
    stored = b"".join(path.read_bytes() for path in running.settings.data.glob("layby.db*"))
    running.stop()
    assert WORDS.encode() not in stored
    assert stored.count(b"$argon2id$v=19$m=65536,t=3,p=4$") >= 1


def test_after_a_restored_backup_somebody_shut_out_since_needs_an_owners_yes(server, join, owner, enter):
    anna, _ = join("Anna")
    server.shop.store.renew_epoch()  # as `layby restore` does, with people as they were in the backup
    assert anna.get("/desk/").headers["Location"] == "/desk/enter"
    assert owner.get("/desk/").headers["Location"] == "/desk/enter"
    _, answer = enter("Anna", OTHER)
    assert (answer.status_code, "An owner has to say yes" in answer.text) == (403, True)
    olga, answer = enter("Olga")
    assert answer.status_code == 303
    assert "until you say yes" in olga.get("/desk/people").text
    olga.post(f"/desk/people/{id_of(server, 'Anna')}/confirm")
    assert enter("Anna", OTHER)[1].status_code == 303
