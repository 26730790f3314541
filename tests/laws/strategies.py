"""What a law is drawn from: values as a bakery knows them, on the grid of the edge."""

from hypothesis import strategies as st

from formula.units import (
    AREA,
    CONDUCTANCE,
    CONDUCTIVITY,
    DENSITY,
    DIFFERENCE,
    ENERGY,
    ENERGY_PER_MASS,
    HEAT_TRANSFER,
    LENGTH,
    MASS,
    MASS_PER_AREA,
    POWER,
    SHARE,
    SPECIFIC_HEAT,
    TEMPERATURE,
    TIME,
    VOLUME,
    WARMING,
    Kind,
    grid,
)


def _on_grid(kind: Kind, lowest: float, highest: float) -> st.SearchStrategy[float]:
    plain = st.floats(lowest, highest, allow_nan=False, allow_infinity=False, allow_subnormal=False)
    return plain.map(lambda value: grid(kind, value))


# Masses stay between a milligram and ten tonnes: no bakery weighs less or mixes more.
masses_g = _on_grid(MASS, 1e-3, 1e7)
whole_grams = st.integers(1, 10_000_000).map(float)
temperatures_c = _on_grid(TEMPERATURE, -30.0, 60.0)
differences_k = _on_grid(DIFFERENCE, -60.0, 60.0)
times_h = _on_grid(TIME, 1e-3, 500.0)
volumes_ml = _on_grid(VOLUME, 1e-2, 1e7)
energies_kj = _on_grid(ENERGY, 1e-2, 1e7)
works_kj_kg = _on_grid(ENERGY_PER_MASS, 1e-2, 100.0)
powers_kw = _on_grid(POWER, 1e-3, 100.0)
lengths_m = _on_grid(LENGTH, 1e-3, 10.0)
densities_kg_m3 = _on_grid(DENSITY, 100.0, 2000.0)
specific_heats_kj_kg_k = _on_grid(SPECIFIC_HEAT, 0.5, 5.0)
conductivities_w_m_k = _on_grid(CONDUCTIVITY, 0.02, 2.0)
heat_transfers_w_m2_k = _on_grid(HEAT_TRANSFER, 1.0, 500.0)
areas_m2 = _on_grid(AREA, 1e-4, 100.0)
masses_per_area_kg_m2 = _on_grid(MASS_PER_AREA, 1e-2, 100.0)
warmings_k_h = _on_grid(WARMING, 0.0, 10.0)
shares = _on_grid(SHARE, 0.0, 1.0)
losses = _on_grid(SHARE, 0.0, 0.4)
"""Shares of dough lost at one place: no bakery works with more than four tenths."""

percents = st.floats(0.01, 400.0, allow_nan=False, allow_infinity=False, allow_subnormal=False).map(
    lambda value: float(f"{value:.6g}")
)
"""Baker's percentages, as precisely as anybody writes them."""

names = st.from_regex(r"[a-z][a-z]{0,8}( [a-z]{1,8})?", fullmatch=True)
"""Plain names for lines, stages and breads."""

VALUES: dict[Kind, st.SearchStrategy[float]] = {
    MASS: masses_g,
    TEMPERATURE: temperatures_c,
    DIFFERENCE: differences_k,
    TIME: times_h,
    VOLUME: volumes_ml,
    ENERGY: energies_kj,
    ENERGY_PER_MASS: works_kj_kg,
    POWER: powers_kw,
    SHARE: shares,
    LENGTH: lengths_m,
    DENSITY: densities_kg_m3,
    SPECIFIC_HEAT: specific_heats_kj_kg_k,
    CONDUCTIVITY: conductivities_w_m_k,
    HEAT_TRANSFER: heat_transfers_w_m2_k,
    CONDUCTANCE: heat_transfers_w_m2_k,
    WARMING: warmings_k_h,
    AREA: areas_m2,
    MASS_PER_AREA: masses_per_area_kg_m2,
}
"""For each kind, values of it on the grid."""
