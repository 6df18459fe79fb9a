"""Bolts: the order drawn, and the torque sheet."""
