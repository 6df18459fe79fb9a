"""`layby circuits`: wires, voltage drops, sensors, the data bus and the wiggle test."""

import argparse

from server.commands import worksheet

EXAMPLE = 'layby circuits wire-drop current="10 A" length="20 ft" ways=both gauge="14 AWG" measured="1.5 V"'


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    about = "wires, voltage drops, sensors, the data bus and the wiggle test"
    worksheet.add(subparsers, "circuits", "electrical", about, EXAMPLE, "network")
