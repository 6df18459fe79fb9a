"""What the server holds while it runs; every endpoint finds it as `request.app.state.shop`."""

import time
from pathlib import Path
from typing import cast

from starlette.requests import Request

from server.access import Access, Purpose
from server.database import Store
from server.ledger import Ledger
from server.photos import Photos
from server.settings import Settings


class Shop:
    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.store = Store(settings.data / "layby.db")
        self.ledger, self.access = Ledger(self.store), Access(self.store)
        self.photos = Photos(self.store, settings.data / "photos")
        self.writers: dict[Path, object] = {}  # which request owns which partial upload

    def new_code(self, purpose: Purpose) -> str:
        return self.access.new_code(purpose, now(), self.settings.code_minutes)

    def close(self) -> None:
        self.store.close()


def of(request: Request) -> Shop:
    return cast(Shop, request.app.state.shop)


def phone(request: Request) -> str:
    """The id of the phone that asks.

    Raises:
        Refused: the request carries no valid token.
    """
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    return of(request).access.device(token.strip() if scheme.lower() == "bearer" else "", now())


def now() -> int:
    return time.time_ns() // 1_000_000
