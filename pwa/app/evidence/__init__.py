"""A job's evidence: findings, standing, causes, prices."""
