"""The command line: each command explains itself, and a served shop says how to get in."""

import json
import re

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
