"""Rounding that is the same on every machine: halves go up, where formatting leaves them to the C library."""


def half_up(value: float, decimals: int = 0) -> float:
    """The value rounded to so many decimals. Rounded finer before, so that a half is a half everywhere."""
    scale = 10.0**decimals
    size = int(round(abs(value) * scale, 6) + 0.5) / scale
    return size if value >= 0 else -size


def percent(chance: float) -> int:
    """Whole percent."""
    return int(half_up(100 * chance))
