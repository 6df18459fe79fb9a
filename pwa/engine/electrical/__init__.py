"""Circuits and the data bus, with a meter."""
