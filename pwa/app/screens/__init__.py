"""The screens, one module a task, in the order of the work; each lists its ROUTES."""

from pwa.app.screens import (
    cause,
    codes,
    fasteners,
    isolate,
    jobs,
    joints,
    measure,
    notes,
    order,
    phone,
    photos,
    prove,
    repair,
    safe,
    sheet,
    summary,
    worksheets,
)

SCREENS = [
    jobs, sheet, safe, codes, isolate, measure, joints, photos, repair, fasteners, cause, prove, summary,
    notes, phone, order, worksheets,
]  # fmt: skip
