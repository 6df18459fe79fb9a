"""When hot metal can be touched."""
