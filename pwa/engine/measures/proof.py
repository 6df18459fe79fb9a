"""Clean cycles after a repair: what they show, how many more, and whether the fault could hide by luck."""

from typing import TYPE_CHECKING

from pwa.engine import proof
from pwa.engine.measures.declared import Calculation, maybe, number
from pwa.engine.measures.verdict import detail, verdict

if TYPE_CHECKING:
    from pwa.engine.measures.verdict import Detail, Values, Verdict

LIKELY = 0.05  # a chance above which luck is still a fair explanation; common practice


def clean_cycles(values: "Values", limits: "Values") -> "Verdict":
    """Clean cycles run so far against those that show the reliability wanted."""
    clean, confidence = values["clean"], limits["confidence"]
    needed = proof.cycles_needed(limits["reliability"] / 100, confidence / 100)
    details = [detail("Cycles needed, all clean", float(needed), "")]
    warnings: list[str] = []
    if clean < 1:
        proof.luck(0.5, clean)
        sentence = f"No clean cycle yet: {needed} in a row are needed."
        return verdict(0.0, "cycles", "", sentence, details)
    worst = 100 * proof.still_possible(clean, confidence / 100)
    details.append(detail("The fault may still show in up to", worst, "% of cycles"))
    if "failures" in values or "cycles" in values:
        _judge_luck(values, details, warnings)
    enough = clean >= needed
    sentence = (
        f"{clean:.0f} clean: the fault shows in at most {worst:.0f} % of cycles ({confidence:g} % sure). "
        + (
            "That is what was asked for."
            if enough
            else f"{needed - clean:.0f} more clean ones show at least {limits['reliability']:g} % clean."
        )
    )
    return verdict(float(clean), "cycles", "", sentence, details, warnings)


def _judge_luck(values: "Values", details: "list[Detail]", warnings: "list[str]") -> None:
    failures, cycles, clean = values["failures"], values["cycles"], values["clean"]
    chance = proof.luck_seen(failures, cycles, clean)
    details.append(detail("If nothing were mended, chance of seeing none", 100 * chance, "%"))
    if failures < cycles:
        plain = 100 * proof.luck(failures / cycles, clean)
        details.append(detail("The same if the share before were exact", plain, "%"))
    if chance > LIKELY:
        warnings.append("The fault may hide by luck: it showed too seldom before, or too few cycles are run.")


CALCULATIONS: "dict[str, Calculation]" = {
    "clean_cycles": Calculation(
        clean_cycles,
        (number("clean", "cycles"), maybe("failures", "cycles"), maybe("cycles", "cycles")),
        {"reliability": "%", "confidence": "%"},
        (),
    ),
}
