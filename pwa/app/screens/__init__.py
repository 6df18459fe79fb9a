"""The screens, one module a task, in the order of the work; each lists its ROUTES."""

from pwa.app.screens import (
    ask,
    carry,
    cause,
    checks,
    codes,
    fasteners,
    here,
    isolate,
    jobs,
    joints,
    marks,
    measure,
    notes,
    order,
    phone,
    photos,
    prices,
    prove,
    recording,
    repair,
    safe,
    sheet,
    summary,
    unphotographed,
    worksheets,
)

SCREENS = [
    jobs, sheet, safe, codes, isolate, checks, here, ask, measure, joints, marks, photos, unphotographed,
    repair, fasteners, cause, prove, summary, notes, phone, prices, order, recording, worksheets, carry,
]  # fmt: skip
