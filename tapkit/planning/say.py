"""How planning writes quantities into its sentences, in mm and N·m or in inches and in·lbf."""

from __future__ import annotations

from dataclasses import dataclass

from tapkit import units


@dataclass(frozen=True)
class Say:
    """Writes quantities in one system of units, "metric" or "inch".

    >>> Say("inch").depth(12.7), Say().fine(0.0461), Say("inch").torques(28.2, 55.4)
    ('0.500 in', '0.046 mm', 'between 250 and 490 in·lbf')
    """

    system: str = "metric"

    def depth(self, value: float) -> str:
        """A depth, to 0.01 mm or 0.001 in."""
        return units.show(value, "length", self.system, decimals=2 if self.system == "metric" else 3)

    def rough(self, value: float) -> str:
        """A depth that is not known better, to 0.1 mm or 0.01 in."""
        return units.show(value, "length", self.system, decimals=1 if self.system == "metric" else 2)

    def fine(self, value: float) -> str:
        """A small length, to 0.001 mm or 0.0001 in."""
        return units.show(value, "length", self.system, decimals=3 if self.system == "metric" else 4)

    def torque(self, value: float) -> str:
        """A torque to two digits."""
        return f"{self._two(value, 'torque')} {units.unit_label('torque', self.system)}"

    def torques(self, low: float, high: float) -> str:
        """A span of torques."""
        unit = units.unit_label("torque", self.system)
        return f"between {self._two(low, 'torque')} and {self._two(high, 'torque')} {unit}"

    def force(self, value: float) -> str:
        """A force to two digits."""
        return f"{self._two(value, 'force')} {units.unit_label('force', self.system)}"

    def _two(self, value: float, kind: str) -> str:
        return f"{float(f'{units.convert(value, kind, self.system):.2g}'):g}"
