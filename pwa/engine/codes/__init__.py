"""Trouble codes: J1939 and J2012."""
