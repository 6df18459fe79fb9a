"""Times of a log written as clocks and dates: "12:34:56.789", "2026-11-25 12:34:56", "12:34:56,789"."""

DAY = 86400.0


def seconds(cell: bytes) -> float:
    """Seconds since midnight of a clock, whatever date stands before it.

    Raises:
        ValueError: it is no clock.
    """
    text = cell.replace(b",", b".").replace(b"T", b" ").strip().rstrip(b"Z")
    if not text:
        raise ValueError("The time is missing.")
    parts = text.split()[-1].split(b":")
    if not 2 <= len(parts) <= 3:
        raise ValueError("It is no time.")
    for part in parts[:-1]:
        if not part.isdigit():
            raise ValueError("It is no time.")
    if len(parts) == 2 and text != parts[0] + b":" + parts[1]:
        parts.append(b"0")  # behind a date stand hours and minutes
    numbers = [float(part) for part in parts]
    if len(numbers) == 2:  # a stop-watch: minutes and seconds
        numbers = [0.0] + numbers
    if numbers[2] < 0:
        raise ValueError("It is no time.")
    return 3600 * numbers[0] + 60 * numbers[1] + numbers[2]


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
