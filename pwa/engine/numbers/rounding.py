"""Rounding that is the same on every machine: halves go up, where formatting leaves them to the C library."""

HALF_UP = 1 + 1e-12  # 56.25 is shown as 56.3, as people round; bare, the two interpreters differ on a tie


def half_up(value: float, decimals: int = 0) -> float:
    """The value rounded to so many decimals. Rounded finer before, so that a half is a half everywhere."""
    scale = 10.0**decimals
    size = int(round(abs(value) * scale, 6) + 0.5) / scale
    return size if value >= 0 else -size


def four_digits(value: float) -> str:
    """Four digits, or all before the point if there are more."""
    value *= HALF_UP
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def percent(chance: float) -> int:
    """Whole percent."""
    return int(half_up(100 * chance))
