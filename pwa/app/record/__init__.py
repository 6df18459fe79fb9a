"""Records: the chain, the fold into a job, and what may come in."""
