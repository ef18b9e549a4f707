"""Cutting force on a tooth by Kienzle's law, and whether the tooth cuts or rubs."""

from typing import Any

import numpy as np

from tapkit.mechanics.assumptions import assumption


def rake_factor(*, normal_rake: Any, test_rake: Any, percent_per_degree: float | None = None) -> Any:
    """Correction of the cutting force for rake: K_rake = 1 − c (γ_n − γ_0)/100, never below 0.3.

    Parameters: γ_n and γ_0 [deg]; c [% per degree], default 1. Source: Dietrich & Tschätsch, Praxis der
    Zerspantechnik (1 % a degree; 1.5 % in other texts [memory]). Valid some 20° either side of γ_0.

    >>> round(float(rake_factor(normal_rake=10, test_rake=6)), 3)
    0.96
    """
    c = assumption("rake_percent_per_degree").value if percent_per_degree is None else percent_per_degree
    return np.maximum(1 - c * (np.asarray(normal_rake) - test_rake) / 100, 0.3)


def cutting_force(*, width: Any, thickness: Any, kc11: Any, mc: Any, factor: Any = 1.0) -> Any:
    """Cutting force on an edge [N] by Kienzle: F = k_c1.1 b h^(1 − m_c) · K.

    Parameters: b and h [mm], any shape; k_c1.1 [N/mm2]; m_c; `factor` the product of all K. Source: Kienzle
    1952, as in Tabellenbuch Metall. Measured for h of about 0.05 to 2.5 mm; below that it is carried on.

    >>> round(float(cutting_force(width=1, thickness=1, kc11=2220, mc=0.14)), 6)
    2220.0
    """
    b, h = np.asarray(width, float), np.asarray(thickness, float)
    return kc11 * b * np.where(h > 0, h, 0.0) ** (1 - np.asarray(mc)) * factor


def rubs(thickness: Any, limit: float | None = None) -> Any:
    """Whether a chip is thinner than the least thickness that cuts [mm]; a tooth with no chip does not rub.

    Common practice (no source) for the limit of 0.01 mm; that thin chips harm work-hardening steel:
    Machinery's Handbook.
    """
    least = assumption("rubbing_thickness").value if limit is None else limit
    h = np.asarray(thickness, float)
    return (h > 0) & (h < least)
