"""The guide of server/README.md from the wheel to the first phone, as far as it goes without a network."""

import json
import re

import httpx
import pytest

from tests.helpers.servers import Device
from tests.server.deploy.conftest import DEPLOY

pytestmark = pytest.mark.slow
PASSPHRASE = "correct horse battery staple"


class Wire(Device):
    """A phone that joins with the code that somebody types in."""

    def __init__(self, url, code):
        self.http = httpx.Client(base_url=url, timeout=60)
        self.state = {"id": "first-phone", "name": "Bay 2", "seq": 0, "head": "", "clock": ""}
        answer = self.http.post("/enrol", json={"code": code, "device": "first-phone", "name": "Bay 2"})
        self.token = answer.json()["token"]
        self.http.headers["Authorization"] = f"Bearer {self.token}"
        self.cursor, self.epoch = 0, ""


@pytest.fixture
def machine(bare):
    """The one test with nothing copied: the whole way is gone with the system's own Python."""
    return bare


def test_from_a_bare_server_to_the_first_phone(machine, wheels, tmp_path):
    machine.set_up(LAYBY_URL="https://layby.example")
    said = machine.run("sh", DEPLOY / "install", wheels("1.0"), "https://layby.example")
    assert "the server runs" in said
    assert machine.version == "layby 1.0"

    link = machine.layby("code", "setup").strip()
    assert link.startswith("https://layby.example/desk/setup#code=")
    with httpx.Client(base_url=machine.url, headers={"Sec-Fetch-Site": "same-origin"}) as desk:
        form = {"code": link.split("=")[1], "name": "Anna", "passphrase": PASSPHRASE, "again": PASSPHRASE}
        assert desk.post("/desk/setup", data=form).headers["Location"] == "/desk/start"
        assert desk.get("/desk/start").text.count("<strong>To do") == 3
        assert desk.post("/desk/start", data={"do": "name", "name": "Yard 7"}).status_code == 303
        page = desk.post("/desk/devices").text
        code = re.search(r'id="code">([A-Z0-9-]+)<', page)[1]
        assert f'data-qr="https://layby.example/phone#code={code}"' in page
        phone = Wire(machine.url, code)
        assert phone.sync(*phone.write("first record"))["refused"] == []

        machine.layby("backup", "--into", str(machine.backups))
        page = desk.get("/desk/start").text
        assert page.count("<strong>Done") == 3
        assert "Layby · Yard 7" in page

        found = {each["about"]: each for each in json.loads(machine.layby("doctor", "--json", status=1))}
        # Nothing is at layby.example, and that is all that is wrong.
        assert {about for about, each in found.items() if not each["ok"]} - {"time service"} == {"network"}

        bad = tmp_path / "layby-9.9-py3-none-any.whl"
        bad.write_bytes(b"no wheel")
        machine.update(bad, status=1)
        assert (machine.version, desk.get("/health").status_code) == ("layby 1.0", 200)
        assert "backed up" in machine.update(wheels("1.1"))
        assert machine.version == "layby 1.1"
        assert phone.sync(*phone.write("with the new version"))["refused"] == []
        machine.rollback()
        assert machine.version == "layby 1.0"
        assert phone.sync(*phone.write("and back"))["refused"] == []
        assert "Yard 7" in desk.get("/desk/start").text
    assert "3 records of 1 devices, 0 photos: all whole" in machine.layby("check")
