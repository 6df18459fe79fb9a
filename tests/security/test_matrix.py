"""Who may do what: every address and method of the route table, asked by every role over real HTTP.

The table here is written by hand, beside the rules in server/app.py: a new route fails until somebody says
here too who it is for.
"""

import pytest
from starlette.routing import Mount, Route

from server.app import ROUTES
from server.door import ANYBODY, Ruled
from tests.security.table import CHANGES, SAME, Call, calls, is_refused

ALL = frozenset(("nobody", "phone", "viewer", "desk", "owner"))
PEOPLE, DESK = frozenset(("viewer", "desk", "owner")), frozenset(("desk", "owner"))
OWNER, PHONE = frozenset(("owner",)), frozenset(("phone",))
MAY = {
    ("GET", "/health"): ALL,
    ("POST", "/enrol"): ALL,
    ("POST", "/sync"): PHONE,
    ("POST", "/sync/fork"): PHONE,
    ("OPTIONS", "/uploads"): ALL,
    ("POST", "/uploads"): PHONE,
    ("OPTIONS", "/uploads/{sha256}"): ALL,
    ("HEAD", "/uploads/{sha256}"): PHONE,
    ("PATCH", "/uploads/{sha256}"): PHONE,
    ("POST", "/uploads/{sha256}"): PHONE,
    ("GET", "/photos/{sha256}"): PEOPLE | PHONE,
    ("GET", "/desk"): PEOPLE,
    ("GET", "/desk/enter"): ALL,
    ("POST", "/desk/enter"): ALL,
    ("GET", "/desk/setup"): ALL,
    ("POST", "/desk/setup"): ALL,
    ("GET", "/desk/join"): ALL,
    ("POST", "/desk/join"): ALL,
    ("GET", "/desk/reset"): ALL,
    ("POST", "/desk/reset"): ALL,
    ("POST", "/desk/leave"): PEOPLE,
    ("GET", "/desk/devices"): DESK,
    ("POST", "/desk/devices"): DESK,
    ("POST", "/desk/devices/{device}/code"): DESK,
    ("POST", "/desk/devices/{device}/key"): DESK,
    ("GET", "/desk/devices/{device}/revoke"): DESK,
    ("POST", "/desk/devices/{device}/revoke"): DESK,
    ("POST", "/desk/devices/{device}/known"): DESK,
    ("POST", "/desk/confirm"): DESK,
    ("GET", "/desk/keeping"): DESK,
    ("POST", "/desk/keeping"): DESK,
    ("GET", "/desk/files/by/{device}"): DESK,
    ("GET", "/desk/start"): DESK,
    ("POST", "/desk/start"): DESK,
    ("GET", "/desk/access"): PEOPLE,
    ("POST", "/desk/access"): PEOPLE,
    ("GET", "/desk/people"): OWNER,
    ("POST", "/desk/people"): OWNER,
    ("POST", "/desk/people/{person}/reset"): OWNER,
    ("POST", "/desk/people/{person}/confirm"): OWNER,
    ("GET", "/desk/people/{person}/out"): OWNER,
    ("POST", "/desk/people/{person}/out"): OWNER,
    ("POST", "/desk/files"): DESK,
    ("GET", "/desk/files/{job}"): PEOPLE,
    ("GET", "/desk/photo/{sha256}"): PEOPLE,
    ("GET", "/desk/{path:path}"): PEOPLE,
    ("POST", "/desk/{path:path}"): DESK,
    ("GET", "/worksheets"): ALL,
    ("GET", "/worksheets/{key}"): ALL,
    ("GET", "/{path:path}"): ALL,
}
TABLE = list(calls())


def expected(call: Call) -> frozenset[str]:
    method = "GET" if call.method == "HEAD" and ("HEAD", call.route) not in MAY else call.method
    return MAY[method, call.route]


def test_every_route_is_in_the_table_and_nothing_else():
    without_heads = {call for call in TABLE if call.method != "HEAD" or call in MAY}
    assert without_heads == set(MAY)


@pytest.mark.parametrize(
    "route",
    [
        Route("/new", lambda request: None, methods=["GET"]),
        Mount("/new", routes=[Ruled("/inside", lambda request: None, {"GET": ANYBODY})]),
    ],
)
def test_a_route_without_a_rule_fails(route):
    with pytest.raises(AssertionError, match="has no rule"):
        list(calls([*ROUTES, route]))


@pytest.mark.parametrize("call", TABLE, ids=lambda call: f"{call.method} {call.route}")
def test_every_role_gets_what_the_table_says(clients, call):
    for name, client in clients.all.items():
        # Who only looks like somebody is nobody.
        allowed = (name if name in ALL else "nobody") in expected(call)
        answer = client.request(call.method, call.path)
        assert is_refused(answer) == (not allowed), (name, answer.status_code, answer.text[:200])
        assert answer.status_code < 500
    clients.sign_in()  # the desk may have left


@pytest.mark.parametrize("call", TABLE, ids=lambda call: f"{call.method} {call.route}")
def test_a_change_asked_for_by_another_site_is_refused_whoever_asks(clients, call):
    if call.method not in CHANGES:
        return
    for name, client in clients.all.items():
        for headers in (
            {"Sec-Fetch-Site": "cross-site"},
            {"Sec-Fetch-Site": "same-site"},
            {"Sec-Fetch-Site": "cross-site", "Origin": str(client.base_url)},
        ):
            answer = client.request(call.method, call.path, headers=headers)
            assert (answer.status_code, answer.json()["error"]) == (403, "other_site"), name
        client.headers.pop("Sec-Fetch-Site")
        for origin in ("https://elsewhere.example", "null", "http://[", "http://127.0.0.1:1"):
            answer = client.request(call.method, call.path, headers={"Origin": origin})
            assert (answer.status_code, answer.json()["error"]) == (403, "other_site"), (name, origin)
        client.headers.update(SAME)


def test_a_browser_that_does_not_say_where_it_comes_from_changes_nothing(clients):
    desk = clients.all["desk"]
    desk.headers.pop("Sec-Fetch-Site")
    for call in TABLE:
        if call.method in CHANGES and call.route.startswith("/desk"):
            assert desk.request(call.method, call.path).json()["error"] == "other_site", call
    desk.headers.update(SAME)


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "BREW"])
def test_a_method_that_is_not_in_the_table_does_nothing(clients, method):
    known = {(call.method, call.route) for call in TABLE}
    for route in {call.route for call in TABLE}:
        if (method, route) not in known and method != "CONNECT":
            answer = clients.all["desk"].request(method, Call(method, route).path)
            assert answer.status_code in (400, 405), (route, answer.status_code)


def test_what_a_door_refuses_says_nothing_of_what_is_behind(shop, clients):
    """The same answer for a photo or phone that is here as for one that is not."""
    phone = shop.shop.access.phones()[0]["id"]
    for client in (clients.all["nobody"], clients.all["viewer"]):
        answers = [client.post(f"/desk/devices/{device}/revoke") for device in (phone, "nobody")]
        assert answers[0].status_code == answers[1].status_code
        assert answers[0].content == answers[1].content
