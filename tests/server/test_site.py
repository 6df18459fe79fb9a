"""The phone's app as a browser loads it: types, freshness, security headers, and no way out of the folder."""

import socket

import httpx
import pytest

from server.headers import HEADERS


def get(server, path, **headers):
    return httpx.get(server.url + path, headers=headers)


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/", "text/html; charset=utf-8"),
        ("/handbook/", "text/html; charset=utf-8"),
        ("/worker.js", "text/javascript; charset=utf-8"),
        ("/phone/micropython.wasm", "application/wasm"),
        ("/layby.webmanifest", "application/manifest+json"),
        ("/static/layby.css", "text/css; charset=utf-8"),
    ],
)
def test_a_file_comes_with_its_type_and_is_asked_for_again(server, path, kind):
    answer = get(server, path)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, kind)
    assert answer.headers["Cache-Control"] == "no-cache"
    fresh = get(server, path, **{"If-None-Match": answer.headers["ETag"]})
    assert (fresh.status_code, fresh.content) == (304, b"")


def test_the_worker_may_answer_for_the_whole_site(server):
    assert get(server, "/worker.js").headers["Service-Worker-Allowed"] == "/"


def test_a_new_build_is_served_without_a_restart(server):
    before = get(server, "/worker.js")
    (server.settings.dist / "worker.js").write_text("// a newer worker")
    after = get(server, "/worker.js", **{"If-None-Match": before.headers["ETag"]})
    assert after.text == "// a newer worker"


def test_large_files_are_packed_for_who_can_unpack(server):
    packed = get(server, "/", **{"Accept-Encoding": "gzip"})
    plain = get(server, "/", **{"Accept-Encoding": "identity"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert packed.text == plain.text
    assert int(packed.headers["Content-Length"]) < int(plain.headers["Content-Length"])


def test_a_hard_reload_of_any_page_finds_the_first_page(server):
    answer = get(server, "/job/123/safe", Accept="text/html,*/*")
    assert (answer.status_code, "First page" in answer.text) == (200, True)


@pytest.mark.parametrize("path", ["/job/1", "/static/nothing.js"])
def test_what_is_no_page_is_not_found(server, path):
    answer = get(server, path, Accept="*/*")
    assert (answer.status_code, answer.json()["error"]) == (404, "not_found")


@pytest.mark.parametrize("path", ["/photos", "/uploads/x/y", "/sync/x", "/photos/x/y"])
def test_the_servers_own_addresses_are_no_pages_of_the_app(server, path):
    assert get(server, path, Accept="text/html").status_code >= 400


@pytest.mark.parametrize(
    "path",
    ["/../secret.txt", "/..%2fsecret.txt", "/%2e%2e/secret.txt", "/static/../../secret.txt", "//etc/passwd",
     "/%2fetc/passwd", "/..\\secret.txt", "/%00", "/" + "x" * 5000, "/%ff%fe", "/" + "a/" * 2000],
)  # fmt: skip
def test_no_address_leads_out_of_the_build(server, path):
    with socket.create_connection(("127.0.0.1", server.settings.port)) as connection:
        connection.sendall(f"GET {path} HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n".encode())
        answer = b"".join(iter(lambda: connection.recv(65536), b""))
    assert answer.split()[1] in (b"404", b"400")
    assert b"not for the web" not in answer
    assert b"root:" not in answer


def test_a_link_in_the_build_does_not_lead_out_of_it(server):
    (server.settings.dist / "link.txt").symlink_to(server.settings.dist.parent / "secret.txt")
    assert get(server, "/link.txt").status_code == 404


@pytest.mark.parametrize(
    ("method", "path"),
    [("GET", "/"), ("GET", "/desk/enter"), ("GET", "/desk/")],
)
def test_every_page_and_file_carries_the_security_headers(server, method, path):
    headers = httpx.request(method, server.url + path).headers
    for name, value in HEADERS.items():
        assert headers[name] == value
    policy = headers["Content-Security-Policy"]
    assert "unsafe" not in policy


def test_an_answer_without_content_spends_no_words_on_it(server):
    answer = httpx.options(f"{server.url}/uploads")
    assert (answer.status_code, answer.content) == (204, b"")
    assert not {"Content-Type", "Content-Security-Policy"} & set(answer.headers)


@pytest.mark.parametrize("path", ["/worker.js", "/phone/recording.js"])
def test_only_workers_may_compile_webassembly(server, path):
    headers = httpx.get(server.url + path).headers
    policy = headers.pop("Content-Security-Policy")
    assert policy == HEADERS["Content-Security-Policy"].replace(
        "script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'"
    )
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("method", "path"),
    [("GET", "/nothing"), ("POST", "/sync"), ("POST", "/enrol"), ("GET", "/photos/x"), ("DELETE", "/sync")],
)
def test_data_may_do_nothing_in_a_browser(server, method, path):
    headers = httpx.request(method, server.url + path).headers
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert headers["X-Content-Type-Options"] == "nosniff"
