"""Every address of the notebook, in the order of the work; each screen lists its own."""

from typing import TYPE_CHECKING

from pwa.app.screens.evidence import ask, cause, checks, codes, isolate, prices, situation, stops
from pwa.app.screens.job import about, aside, jobs, notes, photos, safe, sheet, summary, withdraw
from pwa.app.screens.joints import joints, marks, settings, unphotographed
from pwa.app.screens.phone import carry, phone
from pwa.app.screens.repair import fasteners, order, prove, repair
from pwa.app.screens.worksheets import measure, recording, worksheets

if TYPE_CHECKING:
    from pwa.app.visit import Route

SCREENS = [
    jobs, sheet, safe, codes, isolate, checks, situation, stops, ask, measure, joints, settings, marks,
    photos, unphotographed, repair, fasteners, cause, prove, summary, notes, phone, prices, order, recording,
    worksheets, carry, withdraw, aside, about,
]  # fmt: skip
ROUTES: "list[Route]" = [route for screen in SCREENS for route in screen.ROUTES]
