"""Record kinds: what each holds, says and is called, in one place a kind."""
