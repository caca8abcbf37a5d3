"""The standard atmosphere below 11 km (ISO 2533:1975; US Standard Atmosphere 1976 is the same there).

Altitudes in feet, temperatures in °C, pressures in psi or in Hg as the name says, densities in kg/m³. The standard
gives the pressure of an average day: real weather moves it by about ±3 % (judgement), which is less than the error of
most compression gauges. Every function raises HowdeepError for an altitude or temperature out of range.
"""

from __future__ import annotations

from ..errors import HowdeepError

T0 = 288.15
"""K at sea level."""
P0 = 101325.0
"""Pa at sea level."""
LAPSE = 0.0065
"""K per metre."""
GAS = 287.05287
"""J/(kg K), dry air."""
GRAVITY = 9.80665
"""m/s²."""
PSI = 6894.757293168361
"""Pa per psi."""
IN_HG = 3386.389
"""Pa per conventional inch of mercury."""
LOWEST_FT, HIGHEST_FT = -2000.0, 36089.0
COLDEST_C, HOTTEST_C = -60.0, 60.0


def _metres(altitude_ft: float) -> float:
    if not LOWEST_FT <= altitude_ft <= HIGHEST_FT:
        raise HowdeepError(f"an altitude of {altitude_ft:g} ft is outside {LOWEST_FT:g} to {HIGHEST_FT:g} ft")
    return altitude_ft * 0.3048


def temperature_ratio(altitude_ft: float) -> float:
    """Standard absolute temperature over that at sea level (theta)."""
    return 1.0 - LAPSE * _metres(altitude_ft) / T0


def standard_temperature(altitude_ft: float) -> float:
    """Standard air temperature in °C."""
    return T0 * temperature_ratio(altitude_ft) - 273.15


def pressure_ratio(altitude_ft: float) -> float:
    """Standard pressure over that at sea level (delta)."""
    return float(temperature_ratio(altitude_ft) ** (GRAVITY / (GAS * LAPSE)))


def pressure_psi(altitude_ft: float) -> float:
    """Standard absolute pressure of the air in psi; 14.696 at sea level."""
    return P0 * pressure_ratio(altitude_ft) / PSI


def pressure_in_hg(altitude_ft: float) -> float:
    """Standard absolute pressure of the air in inches of mercury; 29.921 at sea level."""
    return P0 * pressure_ratio(altitude_ft) / IN_HG


def density_ratio(altitude_ft: float) -> float:
    """Standard density over that at sea level (sigma)."""
    return pressure_ratio(altitude_ft) / temperature_ratio(altitude_ft)


def density(altitude_ft: float, air_temperature_c: float | None = None) -> float:
    """Density of dry air in kg/m³ at the standard pressure of the altitude, at the temperature given or standard."""
    if air_temperature_c is None:
        return P0 / (GAS * T0) * density_ratio(altitude_ft)
    if not COLDEST_C <= air_temperature_c <= HOTTEST_C:
        raise HowdeepError(
            f"an air temperature of {air_temperature_c:g} °C is outside {COLDEST_C:g} to {HOTTEST_C:g} °C"
        )
    return P0 * pressure_ratio(altitude_ft) / (GAS * (air_temperature_c + 273.15))


def altitude_ft(pressure_psi_abs: float) -> float:
    """Altitude at which the standard air has this absolute pressure. Raises HowdeepError outside the range."""
    if pressure_psi_abs <= 0:
        raise HowdeepError(f"{pressure_psi_abs:g} psi absolute is no air pressure")
    ratio = float((pressure_psi_abs * PSI / P0) ** (GAS * LAPSE / GRAVITY))
    feet = (1.0 - ratio) * T0 / LAPSE / 0.3048
    _metres(round(feet, 6))
    return feet
