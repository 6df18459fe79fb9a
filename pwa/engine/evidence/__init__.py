"""What the evidence says and what to check next."""
