"""The same app in Firefox: installed, browser killed, server gone, job written, browser killed again."""

import json
from pathlib import Path
from typing import Any

from pwa.build import node
from tests.helpers import recordings
from tests.helpers.browsers import FIREFOX, require
from tests.helpers.servers import Server


def drive(phase: str, url: str, profile: Path, *given: str) -> dict[str, Any]:
    firefox = require(FIREFOX, "Firefox")
    script = str(Path(__file__).with_name("firefox.mjs"))
    said: dict[str, Any] = json.loads(node.run([script, phase, url, str(profile), firefox, *given]))
    return said


def test_firefox_works_a_job_without_a_network_and_loses_nothing_when_killed(
    server: Server, tmp_path: Path
) -> None:
    profile = tmp_path / "firefox"
    profile.mkdir()
    assert "Jobs" in drive("install", server.url, profile)["title"]
    server.stop()
    assert "written in Firefox with no network" in drive("work", server.url, profile)["timeline"]
    assert "Truck 9" in drive("look", server.url, profile)["jobs"]
    file = tmp_path / "drive.csv"
    file.write_text(recordings.drive(4000))
    said = drive("read", server.url, profile, str(file))["said"]
    assert "4000 rows" in said
    assert "follows the command" in said
