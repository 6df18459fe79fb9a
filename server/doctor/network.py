"""The shop's address, asked over the network as a phone would."""

import http.client
import json
import urllib.error
import urllib.request
from urllib.parse import urlsplit

from server import address
from server.doctor.finding import Finding

SECONDS = 5
INVENTED = "198.51.100.77"  # RFC 5737: nobody's; a proxy must not pass on an address that the asker claims

NO_ANSWER = (
    "Is this machine offline? Otherwise see that server and proxy run, and that name and certificate fit."
)


def phone_address(url: str) -> Finding:
    if not url:
        return Finding("address", "LAYBY_URL is not set", address.HOW)
    why = address.why_not(url)
    return Finding("address", why or f"phones use {url}", address.HOW if why else "")


def reached(url: str) -> list[Finding]:
    """Whether it answers, and whether the proxy before the server passes on what it should."""
    try:
        asked = urllib.request.Request(f"{url}/health?seen", headers={"X-Forwarded-For": INVENTED})
        with urllib.request.urlopen(asked, timeout=SECONDS) as answer:
            seen = json.loads(answer.read(10_000))
    except urllib.error.HTTPError as error:
        return [Finding("network", f"{url} answers with {error.code}", _for_status(error.code))]
    except (OSError, http.client.HTTPException) as error:
        reason = getattr(error, "reason", None) or error
        return [Finding("network", f"{url} does not answer: {reason}", NO_ANSWER)]
    except ValueError:
        seen = None
    if not isinstance(seen, dict) or "status" not in seen:
        how = "Let the proxy pass everything on to Layby, on an address of its own."
        return [Finding("network", f"something else than Layby answers at {url}", how)]
    return [Finding("network", f"{url} answers"), proxy(url, seen)]


def proxy(url: str, seen: dict[str, str]) -> Finding:
    """What the server saw of the question: the three headers that a proxy has to set."""
    wrong = []
    if seen.get("scheme") != urlsplit(url).scheme:
        wrong.append("X-Forwarded-Proto (it must say https)")
    if seen.get("host", "").lower() != urlsplit(url).netloc.lower():
        wrong.append("Host (it must be what the browser asked for)")
    if not seen.get("forwarded") or INVENTED in seen["forwarded"]:
        wrong.append("X-Forwarded-For (it must be the browser's address, replaced and not added to)")
    if wrong:
        how = "Set them in the proxy as server/deploy/Caddyfile or nginx.conf do."
        return Finding("proxy", "it does not pass on " + ", ".join(wrong), how)
    return Finding("proxy", "it passes on what Layby needs")


def _for_status(status: int) -> str:
    if status == 503:
        return "The server cannot store records: see the lines on disk and database, and its log."
    return "Start the server, and let the proxy pass everything on to it."
