"""Which addresses a phone can use."""

import json

import pytest

from server import cli
from server.address import why_not


@pytest.mark.parametrize("url", ["https://layby.example", "https://192.0.2.7:8443", "https://layby"])
def test_https_of_another_machine_will_do(url):
    assert why_not(url) == ""


@pytest.mark.parametrize(
    ("url", "words"),
    [
        ("http://layby.example", "begins with https"),
        ("http://192.0.2.7:8700", "begins with https"),
        ("https://localhost", "itself"),
        ("https://desk.localhost", "itself"),
        ("http://127.0.0.1:8700", "itself"),
        ("https://127.0.0.2", "itself"),
        ("https://[::1]:8700", "itself"),
        ("http://0.0.0.0:8700", "itself"),
        ("https://", "no address"),
        ("https://[", "no address"),
        ("https://x:many", "no address"),
    ],
)
def test_anything_else_says_why_not(url, words):
    assert words in why_not(url)


def test_the_command_gives_a_link_only_where_it_leads_somewhere(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("LAYBY_DATA", str(tmp_path))
    assert cli.main(["code", "phone"]) == 0
    said = capsys.readouterr()
    assert "No link" in said.err
    assert "LAYBY_URL" in said.err
    assert len(said.out.strip()) == 9
    monkeypatch.setenv("LAYBY_URL", "https://layby.example")
    assert cli.main(["code", "phone", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["link"] == f"https://layby.example/phone#code={said['code']}"
