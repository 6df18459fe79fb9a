"""The screens, one module a task; each lists its ROUTES."""

from pwa.app.screens import cause, jobs, notes, phone, safe, sheet

SCREENS = [jobs, sheet, safe, cause, notes, phone]
