"""`layby fasteners`: torque for a preload, a torque held against the bolt, angle, extension, stages."""

import argparse

from server.commands import worksheet

EXAMPLE = (
    'layby fasteners torque-check torque="25 lb·ft" diameter=8 pitch=1.25 strength=8.8 meant=zinc '
    "surface=anti-seize"
)


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    worksheet.add(
        subparsers, "fasteners", "fasteners", "torque, preload, extension and stages of fasteners", EXAMPLE
    )
