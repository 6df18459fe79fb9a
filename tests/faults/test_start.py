"""A start that cannot go well says so: a full or forbidden disk, a second server, a damaged database."""

import resource
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest

from server.store import lock
from tests.helpers.processes import Process
from tests.helpers.servers import Device, PlainBook, Server, free_port

LIMITS = [0, 1, 5000, 40_000, 100_000, 150_000]  # bytes of a file: nothing, an empty database, half of one


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Process]:
    process = Process(tmp_path / "shop")
    yield process
    process.end()


def serve(data: Path, most: int | None = None) -> subprocess.CompletedProcess[str]:
    """`layby serve` where it is expected to refuse."""

    def limit() -> None:
        if most is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    return subprocess.run(
        [sys.executable, "-c", "import sys; from server.cli import main; sys.exit(main(['serve']))"],
        env={"LAYBY_DATA": str(data), "LAYBY_PORT": str(free_port()), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        timeout=60,
        preexec_fn=limit,
    )


def is_a_sentence(done: "subprocess.CompletedProcess[str]") -> bool:
    return done.returncode == 2 and done.stderr.count("\n") == 1 and "Traceback" not in done.stderr


@pytest.mark.parametrize("most", LIMITS)
def test_a_first_start_on_a_full_disk_says_so_and_spoils_nothing(tmp_path: Path, most: int) -> None:
    done = serve(tmp_path / "data", most)
    assert is_a_sentence(done), done.stderr
    assert "Make room on that disk" in done.stderr
    server = Server(tmp_path, book=PlainBook())  # with room, it is a first start like any other
    try:
        assert Device(server).sync()["records"] == []
    finally:
        server.stop()


def test_a_first_start_where_nothing_can_be_written_says_so() -> None:
    done = serve(Path("/proc/layby"))
    assert is_a_sentence(done), done.stderr
    assert "cannot be opened" in done.stderr


def test_a_second_server_on_one_folder_refuses(running: Process) -> None:
    done = serve(running.data)
    assert is_a_sentence(done), done.stderr
    assert "Another Layby server" in done.stderr
    assert httpx.get(running.url + "/health").status_code == 200
    running.stop()
    with lock.held(running.data):
        pass


def test_a_server_that_was_killed_leaves_no_lock(running: Process) -> None:
    running.end()
    running.start()
    assert httpx.get(running.url + "/health").status_code == 200


def truncated(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2 // 4096 * 4096])


def emptied(path: Path) -> None:
    path.write_bytes(b"")


def overwritten(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[4096 : 4096 * 9] = b"\xff" * 4096 * 8
    path.write_bytes(content)


def no_database(path: Path) -> None:
    path.write_bytes(b"no database at all" * 1000)


def taken_away(path: Path) -> None:
    path.unlink()


@pytest.mark.parametrize("damage", [truncated, emptied, overwritten, no_database, taken_away])
def test_over_a_damaged_database_the_server_takes_nothing_and_says_what_to_do(
    running: Process, damage: Callable[[Path], None]
) -> None:
    (running.data / "photos" / ("a" * 64)).write_bytes(b"a photo")
    running.stop()
    damage(running.data / "layby.db")
    before = {path.name: path.read_bytes() for path in running.data.iterdir() if path.is_file()}
    said = "".join(running.launch(4))
    assert "layby.db is damaged" in said
    assert "layby restore" in said and "layby check --repair" in said
    health = httpx.get(running.url + "/health")
    assert (health.status_code, health.json()) == (503, {"status": "database"})
    refused = httpx.post(running.url + "/sync", json={})
    assert (refused.status_code, refused.json()["error"]) == (503, "damaged")
    assert "stays on this phone" in refused.json()["message"]
    page = httpx.get(running.url + "/desk/", headers={"Accept": "text/html"})
    assert (page.status_code, "data is damaged" in page.text) == (503, True)
    running.stop()
    assert {path.name: path.read_bytes() for path in running.data.iterdir() if path.is_file()} == before
    assert "Traceback" not in running.log
