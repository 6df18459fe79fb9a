"""What the shop says of itself, a word each: its name, and whether the first steps are put away."""

from server.store.database import Store

LONGEST_NAME = 60  # characters


class Facts:
    def __init__(self, store: Store) -> None:
        self._store = store

    @property
    def shop_name(self) -> str:
        return self._read("shop_name")

    def name_shop(self, name: str) -> None:
        """Raises ValueError when there is no name in it, or too much of it."""
        name = " ".join(name.split())
        if not 0 < len(name) <= LONGEST_NAME or not name.isprintable():
            raise ValueError(f"Give the shop a name of 1 to {LONGEST_NAME} characters.")
        self._write("shop_name", name)

    @property
    def first_steps_put_away(self) -> bool:
        return bool(self._read("first_steps_put_away"))

    def put_first_steps_away(self) -> None:
        self._write("first_steps_put_away", "1")

    @property
    def put_back(self) -> int:
        """When it was last found out that the data folder was put back, in ms since 1970; 0 for never."""
        return int(self._read("put_back") or 0)

    def note_put_back(self, now: int, device: str) -> None:
        self._write("put_back", str(now))
        self._write("noticed_by", device)

    @property
    def noticed_by(self) -> str:
        """The phone by whose word the data folder was put back; "" after `layby restore`."""
        return self._read("noticed_by")

    @property
    def keep_months(self) -> int:
        """How long photos and notes of closed jobs are kept; 0 for ever."""
        return int(self._read("keep_months") or 0)

    def keep(self, months: str) -> None:
        """Raises ValueError when that is no number of months."""
        if not (months.isdecimal() and len(months) < 4):
            raise ValueError("Choose how many months photos and notes are kept.")
        self._write("keep_months", months)

    def _read(self, name: str) -> str:
        rows = self._store.rows("select value from facts where name = ?", [name])
        return str(rows[0]["value"]) if rows else ""

    def _write(self, name: str, value: str) -> None:
        with self._store.transaction() as db:
            db.table("facts").insert({"name": name, "value": value}, replace=True)
