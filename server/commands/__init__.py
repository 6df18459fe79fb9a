"""One module a subcommand; server/cli.py lists them."""
