"""The air outside, charge air and leaks."""
