"""What the server holds while it runs; every endpoint finds it as `request.app.state.shop`."""

import time
from pathlib import Path
from typing import cast

from starlette.requests import Request

from server import signing
from server.settings import Settings
from server.store.access import Access, Purpose
from server.store.database import Store
from server.store.facts import Facts
from server.store.heads import Heads
from server.store.ledger import Ledger
from server.store.limits import Attempts
from server.store.passphrases import Passphrases
from server.store.people import People
from server.store.photos import Photos
from server.store.quota import Quota
from server.turns import Turns


class Shop:
    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.store = Store(settings.data / "layby.db")
        self.ledger, self.access = Ledger(self.store), Access(self.store)
        self.passphrases, self.facts = Passphrases(), Facts(self.store)
        self.people = People(self.store, self.passphrases)
        self.key = signing.ShopKey(settings.data / signing.NAME)
        self.heads = Heads(self.store, self.key)
        self.photos = Photos(self.store, settings.data / "photos")
        self.turns = Turns()
        self.writers: dict[Path, object] = {}  # which request owns which partial upload
        # A passphrase is a person's: at most 100 wrong ones an hour from all over. A code is random.
        self.tried_passphrases = Attempts(each=8, everybody=25, minutes=15)
        self.tried_codes = Attempts(each=20, everybody=500, minutes=15)
        self.quota = Quota()

    def new_code(self, purpose: Purpose, device: str = "") -> str:
        return self.access.new_code(purpose, now(), self.settings.code_minutes, device)

    def close(self) -> None:
        self.store.close()


def of(request: Request) -> Shop:
    return cast(Shop, request.app.state.shop)


def now() -> int:
    return time.time_ns() // 1_000_000
