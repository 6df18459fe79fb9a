"""The command line: each command explains itself, and a served shop says how to get in."""

import io
import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import httpx
import pytest

from server import cli
from server.settings import from_environment

ROOT = Path(__file__).parents[3]


@pytest.fixture
def layby(dist):
    """The start of a command line that runs Layby as a process of its own."""
    program = (
        "import pathlib, sys; from server import cli, settings;"
        f"settings.DIST = pathlib.Path({str(dist)!r}); sys.exit(cli.main())"
    )
    return [sys.executable, "-c", program]


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


def test_the_version_is_the_projects(capsys):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    with pytest.raises(SystemExit) as stopped:
        cli.main(["--version"])
    assert stopped.value.code == 0
    assert capsys.readouterr().out == f"layby {project['version']}\n"


@pytest.mark.parametrize("arguments", [["codes", "641/7"], ["network"], ["calc", "--help"]])
def test_a_reader_that_has_enough_ends_the_command_quietly(layby, arguments):
    """A real pipe, which its reader closes before anything is written, as `| head` may."""
    read_end, write_end = os.pipe()
    os.close(read_end)
    done = subprocess.run(
        [*layby, *arguments], cwd=ROOT, stdout=write_end, stderr=subprocess.PIPE, check=False
    )
    os.close(write_end)
    assert done.stderr == b""


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (io.TextIOWrapper(io.BytesIO(b"641/7 \xff"), "utf-8"), "Standard input is not text in UTF-8."),
        (None, "There is no standard input to read."),
    ],
)
def test_unreadable_standard_input_is_one_sentence(given, says, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", given)
    assert cli.main(["codes", "-"]) == 2
    assert capsys.readouterr().err == f"layby: {says}\n"


def test_standard_input_that_cannot_be_read_is_one_sentence(layby, tmp_path):
    with (tmp_path / "only-to-write").open("w") as given:
        done = subprocess.run(
            [*layby, "codes", "-"], cwd=ROOT, stdin=given, capture_output=True, text=True, check=False
        )
    said = "layby: Standard input cannot be read: Bad file descriptor.\n"
    assert (done.returncode, done.stderr) == (2, said)


@pytest.mark.parametrize("content", [b"\xff\xfe", b"[" * 200_000, b"{"])
@pytest.mark.parametrize("command", [["isolate"], ["case", "encode"], ["clocking"]])
def test_a_file_that_is_no_json_is_one_sentence(command, content, tmp_path, capsys):
    (tmp_path / "given.json").write_bytes(content)
    assert cli.main([*command, str(tmp_path / "given.json")]) == 2
    said = capsys.readouterr().err
    assert "given.json is not JSON: " in said
    assert said.count("\n") == 1


def test_what_is_no_checkout_cannot_build_and_says_so(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "pwa.build.build", None)
    assert cli.main(["build"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("layby: Building needs a checkout of Layby with its extra “build” installed")
    assert said.count("\n") == 1
