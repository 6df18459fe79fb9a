"""How often somebody may try a code or a passphrase: a window that slides, for one address and for all.

Kept in memory: a restart forgives, and no address is ever stored.
"""

import ipaddress
import threading

from server.errors import Refused


class Attempts:
    """An attempt counts before it is judged, so that many at once gain nothing; a right one is forgiven."""

    def __init__(self, each: int, everybody: int, minutes: int) -> None:
        self._each, self._everybody, self._window = each, everybody, minutes * 60_000
        self._tried: list[tuple[int, str]] = []  # when and where from; never more than `everybody`
        self._lock = threading.Lock()

    def begin(self, address: str, now: int) -> None:
        """Raises Refused (429) when this address, or all of them together, tried too often."""
        key = network(address)
        with self._lock:
            self._tried = [attempt for attempt in self._tried if attempt[0] > now - self._window]
            mine = [attempt for attempt in self._tried if attempt[1] == key]
            for tried, most in ((mine, self._each), (self._tried, self._everybody)):
                if len(tried) >= most:
                    raise _too_many(tried[0][0] + self._window - now)
            self._tried.append((now, key))

    def right(self, address: str) -> None:
        """The attempt was right: the address starts again."""
        key = network(address)
        with self._lock:
            self._tried = [attempt for attempt in self._tried if attempt[1] != key]


def network(address: str) -> str:
    """What counts as one place: an IPv4 address, or the /64 that one IPv6 customer has."""
    try:
        known = ipaddress.ip_address(address)
    except ValueError:
        return address
    return str(ipaddress.ip_network((known, 64), strict=False)) if known.version == 6 else address


def _too_many(milliseconds: int) -> Refused:
    seconds = max(1, -(-milliseconds // 1000))
    return Refused(
        429, "too_many", f"Too many attempts. Try again in {-(-seconds // 60)} minutes.",
        {"Retry-After": str(seconds)},
    )  # fmt: skip
