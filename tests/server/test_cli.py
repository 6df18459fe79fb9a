"""The command line: each command explains itself, and a served shop says how to get in."""

import json
import re
import signal
import socket
import subprocess
import sys

import httpx
import pytest

from server import cli
from server.settings import from_environment


def test_every_command_has_help(capsys):
    commands = re.findall(r"^    (\w+) ", cli.parser().format_help(), re.MULTILINE)
    assert {"build", "serve", "code"} <= set(commands)
    for command in commands:
        with pytest.raises(SystemExit) as stopped:
            cli.main([command, "--help"])
        assert stopped.value.code == 0
        assert "--help" in capsys.readouterr().out


def test_a_wrong_port_is_one_sentence(capsys, monkeypatch):
    monkeypatch.setenv("LAYBY_PORT", "many")
    assert cli.main(["serve"]) == 2
    assert capsys.readouterr().err == "layby: LAYBY_PORT is 'many'; give a number from 1 to 65535.\n"


def test_settings_come_from_the_environment(monkeypatch, tmp_path):
    monkeypatch.setenv("LAYBY_DATA", str(tmp_path))
    monkeypatch.setenv("LAYBY_PORT", "9000")
    assert (from_environment().data, from_environment().port) == (tmp_path, 9000)
    for name in ("LAYBY_DATA", "LAYBY_PORT"):
        monkeypatch.delenv(name)
    assert (from_environment().host, from_environment().port) == ("127.0.0.1", 8700)


def test_a_code_made_beside_the_running_server_enrols(server, monkeypatch, capsys):
    monkeypatch.setenv("LAYBY_DATA", str(server.settings.data))
    assert cli.main(["code", "phone", "--json"]) == 0
    code = json.loads(capsys.readouterr().out)["code"]
    asked = {"code": code, "device": "one", "name": "One"}
    assert httpx.post(server.url + "/enrol", json=asked).status_code == 200


def test_a_served_shop_prints_codes_that_work_and_stops_when_asked(tmp_path):
    (tmp_path / "phone").mkdir()
    (tmp_path / "phone/content.json").write_text("{}")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    program = (
        "from pathlib import Path; from server.serve import serve; from server.settings import Settings;"
        f"serve(Settings(data=Path({str(tmp_path / 'data')!r}), dist=Path({str(tmp_path)!r}), port={port}))"
    )
    process = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True)
    assert process.stdout
    said = "".join(process.stdout.readline() for _ in range(4))
    phone, desk = re.findall(r"code (\w{4}-\w{4})", said)
    transport = httpx.HTTPTransport(retries=5)
    with httpx.Client(base_url=f"http://127.0.0.1:{port}", transport=transport) as client:
        asked = {"code": phone, "device": "one", "name": "One"}
        assert client.post("/enrol", json=asked).status_code == 200
        entered = client.post("/desk/enter", data={"code": desk}, headers={"Sec-Fetch-Site": "same-origin"})
        assert entered.status_code == 303
    process.send_signal(signal.SIGTERM)
    process.wait(10)
