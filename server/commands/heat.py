"""`layby heat`: when hot metal may be touched."""

import argparse

from server.commands import worksheet

EXAMPLE = (
    'layby heat touch-safe readings="0 min, 180 °C; 10 min, 127 °C" ambient="20 °C" surface=dull contact=hold'
)


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    worksheet.add(
        subparsers, "heat", "heat", "when hot metal may be touched, from readings of one spot", EXAMPLE
    )
