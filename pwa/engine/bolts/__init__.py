"""Threads, preload, torque and the order of tightening."""
