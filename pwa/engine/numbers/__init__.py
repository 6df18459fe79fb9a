"""Units, typed numbers, rounding and least squares."""
