"""A server that is attacked, as a process of its own, and one beside it that is left in peace."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.helpers.processes import Process
from tests.helpers.servers import Device

PASSPHRASE = "correct horse battery staple"
SAME = {"Sec-Fetch-Site": "same-origin"}


class Attacked(Process):
    """`desk` is a browser that has signed in there."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir()
        super().__init__(folder)
        self.desk = httpx.Client(base_url=self.url, headers=SAME, timeout=100)
        form = {"code": self.code, "name": "Anna", "passphrase": PASSPHRASE, "again": PASSPHRASE}
        self.desk.post("/desk/setup", data=form)
        self.shop = self

    def new_code(self, purpose: str) -> str:
        page = self.desk.post("/desk/devices").text
        return page.split('id="code">')[1].split("<")[0]

    def phone(self, name: str = "Bay 2 phone") -> Device:
        """A new one, enrolled."""
        return Device(self, name)  # type: ignore[arg-type]


@pytest.fixture
def attacked(tmp_path: Path) -> Iterator[Attacked]:
    process = Attacked(tmp_path / "attacked")
    yield process
    process.desk.close()
    process.end()


@pytest.fixture(scope="session")
def in_peace(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Process]:
    process = Process(tmp_path_factory.mktemp("peace"))
    yield process
    process.end()
