"""The address asked over real TLS: a proxy that does as it should, and every way in which one does not."""

import socket
import ssl
import subprocess

import pytest

from server.doctor.network import INVENTED, reached
from tests.helpers.processes import free_port
from tests.security.proxy import Proxy


@pytest.fixture(scope="module")
def certificate(tmp_path_factory):
    folder = tmp_path_factory.mktemp("certificate")
    asked = "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -subj /CN=localhost"
    asked += f" -addext subjectAltName=DNS:localhost -keyout {folder}/key.pem -out {folder}/certificate.pem"
    subprocess.run(asked.split(), check=True, capture_output=True)
    return folder


@pytest.fixture
def proxy(server, certificate, monkeypatch):
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate / "certificate.pem"))
    running = Proxy(server.settings.port)
    tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    tls.load_cert_chain(certificate / "certificate.pem", certificate / "key.pem")
    running.socket = tls.wrap_socket(running.socket, server_side=True)
    running.url = f"https://localhost:{running.server_address[1]}"
    yield running
    running.shutdown()
    running.server_close()


def test_a_proxy_that_does_as_it_should(proxy):
    assert [(each.about, each.mend) for each in reached(proxy.url)] == [("network", ""), ("proxy", "")]


@pytest.mark.parametrize("header", ["Host", "X-Forwarded-Proto", "X-Forwarded-For"])
def test_a_proxy_that_does_not_set_a_header(proxy, header):
    del proxy.example.headers[header]
    found = reached(proxy.url)[-1]
    assert header in found.found
    assert "Caddyfile" in found.mend
    assert found.found.count("it must") == 1


def test_a_proxy_that_adds_to_what_the_browser_claims(proxy):
    proxy.client = f"{INVENTED}, 192.0.2.9"
    assert "X-Forwarded-For" in reached(proxy.url)[-1].found


def test_a_certificate_that_nobody_trusts(proxy, monkeypatch):
    monkeypatch.delenv("SSL_CERT_FILE")
    (found,) = reached(proxy.url)
    assert "certificate" in found.found.lower()
    assert found.mend


def test_a_server_that_is_stopped_behind_its_proxy_or_has_no_room(proxy, server, monkeypatch):
    monkeypatch.setattr("server.health._trouble", lambda here: "disk")
    (found,) = reached(proxy.url)
    assert "503" in found.found
    assert "cannot store" in found.mend


def test_nobody_answers_or_too_late(monkeypatch):
    (found,) = reached(f"https://localhost:{free_port()}")
    assert "does not answer" in found.found
    monkeypatch.setattr("server.doctor.network.SECONDS", 0.2)
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        (found,) = reached(f"https://127.0.0.1:{silent.getsockname()[1]}")
        assert "offline" in found.mend


def test_something_else_answers(proxy, server, monkeypatch):
    monkeypatch.setattr("server.doctor.network.json.loads", lambda text: ["not Layby"])
    (found,) = reached(proxy.url)
    assert "something else" in found.found
