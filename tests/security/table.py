"""The route table as tests walk it, and one client for each role."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import httpx

from server.app import ROUTES
from server.door import Ruled
from server.store.people import ROLES
from server.store.shop import now
from tests.helpers.servers import Device, Server, sign_in, somebody

SAME = {"Sec-Fetch-Site": "same-origin"}
CHANGES = ("POST", "PATCH", "PUT", "DELETE")
# What stands for a part of an address.
SAMPLES = {
    "{sha256}": "0" * 64,
    "{device}": "nobody",
    "{person}": "nobody",
    "{key}": "supply-drop",
    "{job}": "1",
    "{path:path}": "job/1/note",
}


class Call(NamedTuple):
    method: str
    route: str

    @property
    def path(self) -> str:
        path = self.route
        for name, value in SAMPLES.items():
            path = path.replace(name, value)
        return path


def calls(routes: Any = ROUTES) -> Iterator[Call]:
    """Every address and method of the server."""
    for route in routes:
        assert isinstance(route, Ruled), f"{route!r} has no rule; use server.door.Ruled"
        assert route.methods, f"{route!r} takes every method; list those it should"
        assert route.methods <= set(route.rules), f"{route!r} lacks a rule for a method"
        yield from (Call(method, route.path) for method in sorted(route.methods))


class Clients:
    """A client for each role, and for those that only look like one."""

    def __init__(self, server: Server) -> None:
        self._server = server
        self.phone, shut_out = Device(server), Device(server, "Lost phone")
        server.shop.access.revoke(shut_out.state["id"], 1)
        person, out = somebody(server.shop, "desk"), somebody(server.shop, "owner")
        old = server.shop.access.begin(person.id, 0, 1)
        shut_out_session = server.shop.access.begin(out.id, now(), 1)
        server.shop.people.shut_out(out.id, now())
        self.all = {
            "nobody": self._client(),
            "phone": self._client(token=self.phone.token),
            "viewer": self._client(),
            "desk": self._client(),
            "owner": self._client(),
            "shut out phone": self._client(token=shut_out.token),
            "forged token": self._client(token="x" * 43),
            "old session": self._client(cookie=old),
            "shut out person": self._client(cookie=shut_out_session),
            "forged session": self._client(cookie="x" * 43),
            "token as session": self._client(cookie=self.phone.token),
            "session as token": self._client(token=server.shop.access.begin(person.id, now(), 1)),
        }
        self.sign_in()

    def sign_in(self) -> None:
        for role in ROLES:
            sign_in(self._server.shop, self.all[role], role)

    def _client(self, token: str = "", cookie: str = "") -> httpx.Client:
        client = httpx.Client(base_url=self._server.url, headers=SAME, timeout=60)
        if token:
            client.headers["Authorization"] = f"Bearer {token}"
        if cookie:
            client.cookies["layby"] = cookie
        return client


def is_refused(answer: httpx.Response) -> bool:
    """Whether the door stayed shut, as opposed to the endpoint not liking what it was given."""
    if answer.headers.get("Location", "").startswith("/desk/enter"):
        return "Set-Cookie" not in answer.headers  # who leaves the desk is sent there too
    if answer.status_code == 403:
        return (
            "Only to read" in answer.text
            or "Only for owners" in answer.text
            or answer.request.method == "HEAD"
        )
    return answer.status_code == 401
