"""The screens, one module a task; each lists its ROUTES."""

from pwa.app.screens import jobs, notes, sheet

SCREENS = [jobs, sheet, notes]
