"""The shipped files, as far as can be said without the machine they are for: no container is built here."""

import re
import subprocess
import tomllib

import pytest
import yaml

from server.cli import COMMANDS
from tests.server.deploy.conftest import DEPLOY, ROOT, tool

UNITS = sorted(path.name for path in DEPLOY.glob("layby*.*") if path.suffix in (".service", ".timer"))


@pytest.mark.parametrize("name", UNITS)
def test_systemd_understands_the_units(name, tmp_path):
    for unit in UNITS:  # the program is not installed here
        text = re.sub(
            r"^ExecStart=\S+", "ExecStart=/bin/true", (DEPLOY / unit).read_text(), flags=re.MULTILINE
        )
        (tmp_path / unit).write_text(text)
    done = subprocess.run(
        [tool("systemd-analyze"), "verify", str(tmp_path / name)], capture_output=True, text=True
    )
    assert (done.returncode, done.stdout + done.stderr) == (0, "")


@pytest.mark.parametrize("name", ["layby.service", "layby-backup.service"])
def test_a_service_can_do_little_besides_its_work(name):
    command = [tool("systemd-analyze"), "security", "--offline=true", "--threshold=15", str(DEPLOY / name)]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout
    unit = (DEPLOY / name).read_text()
    for line in (
        "NoNewPrivileges=yes",
        "CapabilityBoundingSet=\n",
        "ProtectSystem=strict",
        "MemoryMax=",
        "User=layby",
    ):
        assert line in unit, line


def test_shellcheck_finds_nothing():
    scripts = [
        str(DEPLOY / name) for name in ("common.sh", "install", "layby", "restore", "rollback", "update")
    ]
    done = subprocess.run([tool("shellcheck"), "-x", *scripts], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


def pins(text):
    found = re.findall(r"^([A-Za-z0-9_.-]+)==([^\s;,\"]+)", text, re.MULTILINE)
    return {name.lower().replace("_", "-"): version for name, version in found}


def test_what_is_installed_is_locked_with_hashes_and_is_what_the_project_asks_for():
    text = (DEPLOY / "requirements.txt").read_text()
    locked = pins(text)
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = pins("\n".join(project["dependencies"]))
    assert asked
    assert {name: locked.get(name) for name in asked} == asked
    for block in re.split(r"\n(?=\S)", text):
        assert block.startswith("#") or "--hash=sha256:" in block, block.splitlines()[0]


def test_every_other_lock_has_the_same_versions():
    locked = pins((DEPLOY / "requirements.txt").read_text())
    tested = pins((ROOT / "pwa" / "build" / "locks" / "test.txt").read_text())
    assert {name: tested.get(name) for name in locked} == locked


def test_the_container_is_small_runs_as_nobody_and_says_whether_it_is_well():
    """Read as text only: there is no engine here to build it with."""
    last = (DEPLOY / "Containerfile").read_text().split("\nFROM ")[-1]
    steps = dict(re.findall(r"^([A-Z]+) (.*)", last.replace("\\\n", " "), re.MULTILINE))
    assert re.fullmatch(r"[1-9]\d*:[1-9]\d*", steps["USER"])
    assert steps["VOLUME"] == '["/data", "/backup"]'
    assert "/health" in steps["HEALTHCHECK"]
    assert steps["CMD"] == '["layby", "serve"]'
    assert "pip" not in last, "what builds is left behind in the first stage"
    first = (DEPLOY / "Containerfile").read_text().split("\nFROM ")[1]
    assert "--require-hashes" in first
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text())["services"]
    assert compose["layby"]["read_only"] is True
    assert compose["layby"]["cap_drop"] == ["ALL"]
    assert compose["caddy"]["network_mode"] == "service:layby"  # only then is the proxy believed


def test_both_proxies_pass_on_to_where_layby_listens():
    for name in ("Caddyfile", "nginx.conf"):
        assert "127.0.0.1:8700" in (DEPLOY / name).read_text(), name


def test_the_guide_names_what_there_is():
    guide = (ROOT / "server" / "README.md").read_text()
    for command in set(re.findall(r"\blayby-(update|rollback|restore)\b", guide)):
        assert (DEPLOY / command).is_file(), command
    for link in re.findall(r"\]\(([a-zA-Z/.]+)\)", guide):
        assert (ROOT / "server" / link).is_file(), link
    with_words = set(re.findall(r"layby (backup|restore|doctor|code|check|serve|build)\b", guide))
    assert with_words <= set(COMMANDS)
    code = "".join(
        path.read_text() for path in (ROOT / "server").rglob("*") if path.suffix in (".py", ".env", ".sh")
    )
    for variable in re.findall(r"^\| `(LAYBY_\w+)`", guide, re.MULTILINE):
        assert variable in code, variable
