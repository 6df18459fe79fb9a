"""Logs: recordings of a test drive or of the bus, read in pieces as they come from a file.

`reader.Reader` takes the pieces, finds out what form the log has, and gives each signal as two columns of
numbers; `plot` thins them out for a picture, `pair` brings command and position to common times.
"""
