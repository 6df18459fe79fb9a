"""`layby air`: the air outside, boost, compressor, cooler, restrictions and leaks."""

import argparse

from server.commands import worksheet

EXAMPLE = 'layby air expected-boost known="200 kPa" boost="23 psi" reads=gauge altitude="5280 ft"'


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    worksheet.add(subparsers, "air", "air", "air, boost, compressor, cooler, restrictions and leaks", EXAMPLE)
