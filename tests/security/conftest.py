"""A server with a plain notebook and one client a role, for a whole module of tests."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.helpers.servers import PlainBook, Server
from tests.security.table import Clients


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder: Path = tmp_path_factory.mktemp("shop")
    (folder / "dist").mkdir()
    (folder / "dist" / "index.html").write_text("<h1>First page</h1>")
    running = Server(folder, folder / "dist", PlainBook())
    yield running
    running.stop()


@pytest.fixture(scope="module")
def clients(shop: Server) -> Clients:
    return Clients(shop)
