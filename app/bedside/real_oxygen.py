"""Density of compressed oxygen gas: real-gas equation of state, for reading a cylinder by its gauge.

Fundamental equation in reduced Helmholtz energy, a = sum n d^i t^j exp(-d^l), with d = density / critical density and
t = critical temperature / temperature; pressure = density x R x T x (1 + d da/dd).
Source: Schmidt & Wagner, Fluid Phase Equilibria 1985;19:175; coefficients as reprinted in Stewart, Jacobsen & Wagner,
J Phys Chem Ref Data 1991;20:917.
"""

from __future__ import annotations

from math import exp

CRITICAL_K = 154.581
CRITICAL_MOL_M3 = 13630.0
GAS_CONSTANT = 8.31434
ATM_PA = 101_325.0

_TERMS: tuple[tuple[float, int, float, int], ...] = (
    (0.3983768749, 1, 0, 0),
    (-1.846157454, 1, 1.5, 0),
    (0.4183473197, 1, 2.5, 0),
    (0.02370620711, 2, -0.5, 0),
    (0.09771730573, 2, 1.5, 0),
    (0.03017891294, 2, 2, 0),
    (0.02273353212, 3, 0, 0),
    (0.01357254086, 3, 1, 0),
    (-0.04052698943, 3, 2.5, 0),
    (0.0005454628515, 6, 0, 0),
    (0.0005113182277, 7, 2, 0),
    (2.953466883e-07, 7, 5, 0),
    (-8.687645072e-05, 8, 2, 0),
    (-0.2127082589, 1, 5, 2),
    (0.08735941958, 1, 6, 2),
    (0.127550919, 2, 3.5, 2),
    (-0.09067701064, 2, 5.5, 2),
    (-0.03540084206, 3, 3, 2),
    (-0.03623278059, 3, 7, 2),
    (0.0132769929, 5, 6, 2),
    (-0.0003254111865, 6, 8.5, 2),
    (-0.008313582932, 7, 4, 2),
    (0.002124570559, 8, 6.5, 2),
    (-0.0008325206232, 10, 5.5, 2),
    (-2.626173276e-05, 2, 22, 4),
    (0.002599581482, 3, 11, 4),
    (0.009984649663, 3, 18, 4),
    (0.002199923153, 4, 11, 4),
    (-0.02591350486, 4, 23, 4),
    (-0.1259630848, 5, 17, 4),
    (0.1478355637, 5, 18, 4),
    (-0.01011251078, 5, 23, 4),
)
"""n, i, j, l of each term."""


def pressure_pa(density_mol_m3: float, temp_k: float) -> float:
    """Pressure of oxygen gas [Pa] at a density [mol/m3] and temperature [K]."""
    d, t = density_mol_m3 / CRITICAL_MOL_M3, CRITICAL_K / temp_k
    slope = sum(
        n * d**i * t**j * ((i - power * d**power) * exp(-(d**power)) if power else i) for n, i, j, power in _TERMS
    )
    return float(density_mol_m3 * GAS_CONSTANT * temp_k * (1 + slope))


def density_mol_m3(pressure: float, temp_k: float) -> float:
    """Density [mol/m3] of oxygen gas at a pressure [Pa] above the critical temperature, by bisection."""
    low, high = 0.0, 3 * pressure / (GAS_CONSTANT * temp_k)
    for _ in range(80):
        middle = (low + high) / 2
        if pressure_pa(middle, temp_k) < pressure:
            low = middle
        else:
            high = middle
    return (low + high) / 2
