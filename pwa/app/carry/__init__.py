"""Without a server: case codes and text messages."""
