"""Everything that the doctor looks at, in the order in which an owner would mend it. Changes nothing."""

import sqlite3

from server.doctor import data, machine, network
from server.doctor.finding import Finding
from server.doctor.reading import reading
from server.settings import Settings


def examine(settings: Settings) -> list[Finding]:
    return [
        machine.version(),
        machine.python(),
        machine.build(settings),
        data.folder(settings.data),
        machine.disk(settings),
        *_shop(settings),
        machine.kept_right(),
        *_address(settings.url),
    ]


def _shop(settings: Settings) -> list[Finding]:
    """What only a shop that is there can be asked."""
    if not (settings.data / "layby.db").is_file():
        return [machine.clock(None)]
    try:
        with reading(settings.data) as shop:
            whole = data.database(shop)
            return [
                whole,
                machine.clock(shop.one("select max(clock) from records")),
                data.owner(shop),
                data.phones(shop),
                data.backup(settings.data),
            ]
    except sqlite3.Error as error:
        how = "Run `layby check`; if it says the same, restore the last backup into an empty folder."
        return [Finding("database", f"it cannot be read: {error}", how), data.backup(settings.data)]


def _address(url: str) -> list[Finding]:
    usable = network.phone_address(url)
    return [usable] if usable.mend else [usable, *network.reached(url)]
