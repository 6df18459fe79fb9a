"""Joints: taps on photos, readings, verdicts."""
