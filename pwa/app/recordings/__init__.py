"""Recordings of a drive or of the bus."""
