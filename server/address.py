"""The address that the shop gives its phones, and whether a phone can use it."""

import ipaddress
from urllib.parse import urlsplit

HOW = "Set LAYBY_URL to the shop's https address, such as https://layby.example, and start the server again."


def why_not(url: str) -> str:
    """Why a phone cannot keep the app from this address, in one sentence, or "" when it can."""
    try:
        parts = urlsplit(url)
        host = parts.hostname or ""
        _ = parts.port
    except ValueError:
        return f"{url} is no address."
    if not host:
        return f"{url} is no address."
    if _is_this_machine(host):
        return f"{host} means the device itself, so on a phone it leads nowhere."
    if parts.scheme != "https":
        return "A phone keeps an app, and opens its camera, only from an address that begins with https."
    return ""


def phone_link(url: str, code: str) -> str:
    """Where a phone's camera leads. The code is in the fragment, which no server and no log gets to see."""
    return f"{url}/phone#code={code}"


def _is_this_machine(host: str) -> bool:
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return False
    return address.is_loopback or address.is_unspecified
