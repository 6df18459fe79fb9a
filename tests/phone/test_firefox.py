"""The same app in Firefox: installed, browser killed, server gone, job written, browser killed again."""

from collections.abc import Callable
from pathlib import Path

from tests.helpers import recordings
from tests.helpers.servers import Server
from tests.phone.firefox import Firefox


def test_firefox_works_a_job_without_a_network_and_loses_nothing_when_killed(
    new_firefox: Callable[[], Firefox], server: Server, tmp_path: Path
) -> None:
    phone = new_firefox()  # its profile is that of one that was installed and killed
    server.stop()
    assert "written in Firefox with no network" in phone.do("work", server.url)["timeline"]
    phone.kill()
    phone.start()
    assert "Truck 9" in phone.do("look", server.url)["jobs"]
    file = tmp_path / "drive.csv"
    file.write_text(recordings.drive(4000))
    said = phone.do("read", server.url, str(file))["said"]
    assert "4000 rows" in said
    assert "follows the command" in said
