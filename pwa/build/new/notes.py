"""What to write into each field of a new file of content, by the field's name."""

SOURCE = "Where it comes from: a key of content/sources.yaml; our-estimate for a guess"
DRIVES = "Which actuators it is for"
CAUTION = "Keys of content/cautions that must be accepted before"

CAUSE = {
    "name": "What a technician calls it",
    "system": "Where it lies; an effect is what several faults bring about alike",
    "upstream": "Whether it breaks the VGT or passes for a fault of it",
    "text": "What is wrong, in plain words",
    "shows": "How it shows",
    "chance": "How often it is there in any truck of this kind, if nothing below brings it",
    "because_of": "Causes that bring it about, each with the chance that it alone does",
    "drives": DRIVES,
    "reached": "Where it can be put right",
    "wrong": "What it costs to overlook it, or to blame it wrongly; an effect needs none",
    "put_right": "A key of content/repairs.yaml and the chance that it cures this; none for an effect",
    "seen": "Of those, the share in which the proof after the repair sees it already",
    "comes_back": "Chance that the truck is back within the year if it is left as it is",
    "source": SOURCE,
}
MEASURE = {
    "title": "What is measured",
    "kind": "The heading it stands under",
    "how": "The steps in Markdown, after a | on this line, each line below set in by two spaces",
    "where": "Where the probes or gauges go",
    "inputs": "What is typed, as the calculation declares it",
    "inputs.label": "What stands beside the field",
    "inputs.unit": "The unit it is typed in; 1 if it has none",
    "limits": "What it is held against, as the calculation declares it; the shop can enter its own",
    "limits.label": "What stands beside it",
    "limits.value": "Never a maker's value: that is an input with maker: true",
    "limits.unit": "The unit that the calculation declares",
    "limits.source": SOURCE,
    "finding": "The finding of content/model/findings that its outcome answers; none for a worksheet alone",
    "step": "The step of the job that offers it",
    "sources": "Where the formula comes from: keys of content/sources.yaml",
    "tools": "As they stand in content/tools.yaml",
    "caution": CAUTION,
    "drives": DRIVES,
}
JOINT = {
    "name": "What a technician calls it",
    "why": "What goes wrong if it goes back otherwise",
    "guide": "What to do before it is opened, in order",
    "guide.do": "What kind of step",
    "guide.text": "The step in one sentence",
    "opens": "The step of a job that opens it; before that a photo is asked for",
    "marks": "Two marks on a round rim, a lever at either stop, a drain against gravity, or only photos",
    "fixed": "The part that stays",
    "moving": "The part that turns or comes off",
    "rim": "Which edge to tap on the photo; needed unless marks is photo",
    "centre": "Where the middle of that edge is seen; needed unless marks is photo",
    "write": "What to write down before and after, as a field's label",
    "fixing": "What holds it",
    "caution": CAUTION,
    "source": SOURCE,
}
