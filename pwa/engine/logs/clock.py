"""Times of a log as clocks, perhaps behind a date: "12:34:56.789", "2026-11-25T12:34:56Z", "1:02:03,5 PM"."""

DAY = 86400.0


def seconds(cell: bytes) -> float:
    """Seconds since midnight of a clock, whatever date stands before it.

    Raises:
        ValueError: it is no clock.
    """
    text = cell.replace(b",", b".").replace(b"T", b" ").strip().rstrip(b"Z")
    words = text.split()
    half = words.pop().upper() if len(words) > 1 and words[-1].upper() in (b"AM", b"PM") else b""
    if not words:
        raise ValueError("The time is missing.")
    parts = _zoneless(words[-1]).split(b":")
    if not 2 <= len(parts) <= 3:
        raise ValueError("It is no time.")
    for part in parts[:-1]:
        if not part.isdigit():
            raise ValueError("It is no time.")
    if len(parts) == 2 and (half or len(words) > 1):
        parts.append(b"0")  # behind a date stand hours and minutes
    numbers = [float(part) for part in parts]
    if len(numbers) == 2:  # a stop-watch: minutes and seconds
        numbers = [0.0] + numbers
    if numbers[2] < 0:
        raise ValueError("It is no time.")
    hours = numbers[0] % 12 + (12 if half == b"PM" else 0) if half else numbers[0]
    return 3600 * hours + 60 * numbers[1] + numbers[2]


def _zoneless(clock: bytes) -> bytes:
    """A clock without the zone behind it, which is the same all through a log: "12:00:00+01:00"."""
    for sign in (b"+", b"-"):
        before, found, _ = clock.partition(sign)
        if found and b":" in before:
            return before
    return clock


class Clock:
    """Clock times that run on over midnight."""

    def __init__(self) -> None:
        self._days = 0.0
        self._last = 0.0

    def read(self, cell: bytes) -> float:
        now = seconds(cell)
        if now < self._last - DAY / 2:
            self._days += DAY
        self._last = now
        return self._days + now
