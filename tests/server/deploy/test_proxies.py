"""Caddy and nginx themselves, with the shipped files: Layby's own doctor asks through them over TLS."""

import os
import signal
import ssl
import subprocess
import time

import httpx
import pytest

from server.doctor.network import reached
from tests.helpers.processes import free_port
from tests.server.conftest import server as plain  # noqa: F401
from tests.server.deploy.conftest import DEPLOY, tool
from tests.server.doctor.test_asked_address import certificate  # noqa: F401

CADDY = "{{\n\tadmin off\n\tauto_https disable_redirects\n\tstorage file_system {folder}\n"
NGINX = """
daemon off; pid {folder}/pid; error_log {folder}/error;
events {{}}
http {{
    access_log off;
    client_body_temp_path {folder}/a; proxy_temp_path {folder}/b; fastcgi_temp_path {folder}/c;
    uwsgi_temp_path {folder}/d; scgi_temp_path {folder}/e;
{site}
}}
"""
PASSPHRASE = "correct horse battery staple"


def caddy(folder, port, beyond, certificate):  # noqa: F811
    text = (DEPLOY / "Caddyfile").read_text().replace("127.0.0.1:8700", f"127.0.0.1:{beyond}")
    keys = f"\ttls {certificate}/certificate.pem {certificate}/key.pem\n"
    text = text.replace("\nlayby.example {\n", f"\nhttps://localhost:{port} {{\n{keys}")
    (folder / "Caddyfile").write_text(text.replace("{\n", CADDY.format(folder=folder), 1))
    return [tool("caddy"), "run", "--adapter", "caddyfile", "--config", str(folder / "Caddyfile")]


def nginx(folder, port, beyond, certificate):  # noqa: F811
    text = (DEPLOY / "nginx.conf").read_text().replace("127.0.0.1:8700", f"127.0.0.1:{beyond}")
    text = text.replace("/etc/layby", str(certificate)).replace("listen 443 ssl", f"listen {port} ssl")
    text = text.replace("server_name layby.example", "server_name localhost")
    (folder / "nginx.conf").write_text(NGINX.format(folder=folder, site=text))
    return [tool("nginx"), "-p", str(folder), "-c", str(folder / "nginx.conf")]


@pytest.fixture(params=[caddy, nginx], ids=["caddy", "nginx"])
def proxied(request, plain, certificate, tmp_path, monkeypatch):  # noqa: F811
    """The https address of a proxy before a server."""
    folder, port = tmp_path / "proxy", free_port()
    folder.mkdir()
    folder.chmod(0o755)
    command = request.param(folder, port, plain.settings.port, certificate)
    with (folder / "said").open("w") as said:
        process = subprocess.Popen(
            command, stdout=said, stderr=said, env={**os.environ, "HOME": str(folder)}, process_group=0
        )
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate / "certificate.pem"))
    url, deadline = f"https://localhost:{port}", time.monotonic() + 60
    while not any(each.about == "proxy" for each in reached(url)):
        assert process.poll() is None and time.monotonic() < deadline, (folder / "said").read_text()
        time.sleep(0.1)
    yield url
    os.killpg(process.pid, signal.SIGTERM)
    process.wait(60)


def test_the_proxy_passes_on_what_layby_needs_and_large_photos(proxied, plain, certificate):  # noqa: F811
    assert [(each.about, each.mend) for each in reached(proxied)] == [("network", ""), ("proxy", "")]
    trusted = ssl.create_default_context(cafile=certificate / "certificate.pem")
    with httpx.Client(base_url=proxied, verify=trusted, timeout=60) as browser:
        origin = {"Origin": proxied}
        form = {
            "code": plain.shop.new_code("desk"),
            "name": "Anna",
            "passphrase": PASSPHRASE,
            "again": PASSPHRASE,
        }
        answer = browser.post("/desk/join", data=form, headers=origin)
        assert answer.status_code == 303
        assert answer.headers["Set-Cookie"].startswith("__Host-layby=")

        def sent(megabytes: int) -> int:
            body = b"x" * megabytes * 1_000_000
            return browser.post("/desk/job/1/photo", content=body, headers=origin).status_code

        # Layby asks for the passphrase, and says so when all is sent: to no proxy is that a failure.
        assert [sent(33) for _ in range(10)] == 10 * [303]
        assert sent(45) == 413
