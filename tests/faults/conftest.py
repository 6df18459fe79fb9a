"""The same real build, server and browsers that the phone's tests use."""

from tests.phone.conftest import browser, dist, new_browser, playwright, server

__all__ = ["browser", "dist", "new_browser", "playwright", "server"]
