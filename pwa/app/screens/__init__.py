"""The screens, one module a task, in folders by subject; each lists its ROUTES (see ../routes.py)."""
