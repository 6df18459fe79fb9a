"""A job's findings as a short text with check characters."""
