"""Worksheets: what is typed, how it is shown, which are offered."""
