"""Command against position, by hand, in steps and as a trace."""
