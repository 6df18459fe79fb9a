"""`layby calc`: every worksheet of the handbook in a terminal."""

import argparse

from server.commands import worksheet

ABOUT = "Worksheets of the handbook: circuits, bus, air, heat, sweeps, fasteners, clearances, proof."
EXAMPLE = 'layby calc expected-boost known="200 kPa" boost="23 psi" reads=gauge altitude="5280 ft"'


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    worksheet.add(subparsers, "calc", "", ABOUT, EXAMPLE)
