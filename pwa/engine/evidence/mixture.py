"""A truck whose type of actuator nobody has told: one network for each type, weighed by how common it is."""

from typing import TYPE_CHECKING

from pwa.engine.evidence.network import Pass

if TYPE_CHECKING:
    from pwa.engine.evidence.network import Table, Weights


class Mixture(Pass):
    """Passes of several networks, each with its factor. What is asked of one is asked of all and added up."""

    def __init__(self, parts: "list[tuple[float, Pass]]") -> None:
        self.parts = parts
        self.total = sum([factor * part.total for factor, part in parts])

    def vary(self, weights: "Weights", leaves: "list[str] | None" = None) -> "Mixture":
        return Mixture([(factor, part.vary(weights, leaves)) for factor, part in self.parts])

    def probability(self, weights: "Weights") -> float:
        return sum([factor * part.probability(weights) for factor, part in self.parts])

    def joint(self, name: str) -> "Table":
        return self._added([part.joint(name) for _, part in self.parts])

    def without(self, name: str) -> "Table":
        return self._added([part.without(name) for _, part in self.parts])

    def _added(self, tables: "list[Table]") -> "Table":
        return [
            sum([self.parts[n][0] * tables[n][k] for n in range(len(tables))]) for k in range(len(tables[0]))
        ]
