"""The invented shop plays through the real server and the real screens, and says what came of it."""

import socket

from demo import play, scenario
from server.settings import Settings


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def test_the_three_jobs_play_through_and_the_shop_sees_what_was_found(tmp_path):
    play.build_if_changed()
    with play.running(Settings(data=tmp_path, host="127.0.0.1", port=free_port())) as (shop, url):
        scenario.load(url, shop, lambda _: None)
        told = scenario.report(shop)
    electrical, mechanical, both = told.split("\n\n")[1:]
    assert "Harness chafed or broken" in electrical.split("suspect")[1].split("\n")[0]
    assert "job-closed done" in electrical
    assert "Vanes loaded with soot" in mechanical.split("suspect")[1].split("\n")[0]
    assert "Turned 6.0° clockwise" in mechanical
    assert "EGR cooler leaks coolant: named" in both
