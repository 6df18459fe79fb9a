"""Angles, travel and directions from points tapped on photos."""
