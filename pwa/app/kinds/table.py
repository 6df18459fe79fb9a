"""The table of all record kinds."""

from typing import TYPE_CHECKING

from pwa.app.kinds import aside, evidence, job, joints, repair, shop, situation, worksheets

if TYPE_CHECKING:
    from pwa.app.kinds.shape import Kind

# By name; what this version writes and understands. A newer version may write others.
KINDS: "dict[str, Kind]" = {
    kind.name: kind
    for module in (job, situation, evidence, worksheets, joints, repair, shop, aside)
    for kind in module.KINDS
}
# The headings of the summary, in the order in which a reader asks.
SECTIONS = (
    "Codes",
    "Found",
    "Measured",
    "Opened without a photo",
    "Repair",
    "Torque",
    "Causes",
    "Proof",
    "Cautions accepted",
    "Notes",
    "Photos",
)
