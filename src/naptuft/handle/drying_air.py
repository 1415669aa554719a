"""Air that keeps solvent vapour far below the concentration at which it can burn."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.errors import DesignError, Fault
from naptuft.materials.coating import SOLVENT_NAMES, SOLVENTS

GAS_CONSTANT = 8.314462618
STANDARD_PRESSURE = 101325.0
STANDARD_TEMPERATURE = 294.2611
HOT = 394.2611
OTHER = "another"
SOURCE = "ACGIH, Industrial Ventilation, ch. 2, dilution for fire and explosion (from memory)"


def vapour_flow(solvent_rate: float, molar_mass: float, temperature: float = STANDARD_TEMPERATURE) -> float:
    """Volume of vapour a solvent gives off each second. [m**3/s]

    V = (m/M) R T / p
    solvent_rate  liquid evaporated [kg/s]; molar_mass [kg/mol]; temperature [K]
    Source: ideal gas at 101.325 kPa.

    >>> round(vapour_flow(1.0, 0.0920, 294.2611), 4)
    0.2625
    """
    return solvent_rate / molar_mass * GAS_CONSTANT * temperature / STANDARD_PRESSURE


def hot_factor(temperature: float) -> float:
    """The constant B for how the lower limit falls when hot: 1 up to 250 degF (121.1 degC), 0.7 above.

    Source: ACGIH, Industrial Ventilation, ch. 2 (from memory).

    >>> hot_factor(294.0), hot_factor(450.0)
    (1.0, 0.7)
    """
    return 1.0 if temperature <= HOT else 0.7


def dilution_air(
    solvent_rate: float,
    molar_mass: float,
    lower_limit: float,
    safety: float,
    temperature: float = STANDARD_TEMPERATURE,
    *,
    flow_temperature: float | None = None,
) -> float:
    """Air flow that dilutes vapour to a fraction of its lower explosive limit. [m**3/s]

    Q = V C / (LEL B), V the vapour at the temperature the flow is stated for; with US units this is
    403 SG ER 100 C / (MW LEL B).
    solvent_rate      liquid evaporated [kg/s]
    molar_mass        [kg/mol]
    lower_limit       lower explosive limit as a volume share (1 % = 0.01)
    safety            C: 4 keeps a quarter of the limit; 10 to 12 where evaporation comes in surges
    temperature       of the air the vapour goes into; fixes B [K]
    flow_temperature  temperature the flow is stated for; 70 degF (294.26 K) when left out
    Raises DesignError for a limit or a safety out of range.
    Source: ACGIH, Industrial Ventilation, ch. 2 (from memory).

    >>> round(dilution_air(0.5e-3, 0.0921, 0.011, 4.0), 4)
    0.0477
    """
    faults = []
    if not 0 < lower_limit < 1:
        faults.append(Fault("lower explosive limit", lower_limit, "above 0 and below 100 %", "give the volume share"))
    if safety < 4:
        faults.append(
            Fault("safety factor", safety, "at least 4", "vapour stays under a quarter of the limit: give 4 or more")
        )
    if faults:
        raise DesignError(*faults)
    vapour = vapour_flow(solvent_rate, molar_mass, flow_temperature or STANDARD_TEMPERATURE)
    return vapour * safety / (lower_limit * hot_factor(temperature))


@dataclass(frozen=True)
class DryingAir:
    """Solvent given off and the air it goes into."""

    solvent: str = choice(
        (*SOLVENT_NAMES, OTHER),
        "solvent given off; for another give its two figures below",
        default="n-butyl acetate",
        example="n-butyl acetate",
    )
    molar_mass: float | None = quantity(
        "g/mol", "of another solvent; left empty, the table's", low=16, high=500, default=None
    )
    lower_limit: float | None = quantity(
        "%",
        "lower explosive limit of another solvent, by volume; left empty, the table's",
        low=0.2,
        high=20,
        default=None,
    )
    solvent_rate: float = quantity("kg/hour", "solvent evaporated", low=0.001, high=1000, example="2.5 kg/hour")
    air_temperature: float = quantity("degC", "of the air the vapour goes into", low=0, high=250, default=20)
    safety_factor: float = quantity(
        "", "times below the lower explosive limit: 4 for steady, 10 to 12 for batches", low=4, high=100, default=10
    )
    air_given: float | None = quantity(
        "m**3/hour", "air flow there is, at the air temperature; may be left empty", low=1, high=1e6, default=None
    )

    def __post_init__(self) -> None:
        if self.solvent != OTHER:
            return
        missing = (("molar mass", self.molar_mass, "g/mol"), ("lower limit", self.lower_limit, "% by volume"))
        faults = [
            Fault(name, "", f"a figure in {unit} for a solvent not in the table", "take it from the safety data sheet")
            for name, value, unit in missing
            if value is None
        ]
        if faults:
            raise DesignError(*faults)

    @property
    def vapour(self) -> tuple[float, float, str]:
        """Molar mass [kg/mol], lower explosive limit as a share, and where the limit comes from."""
        if self.solvent == OTHER:
            assert self.molar_mass is not None
            assert self.lower_limit is not None
            return self.molar_mass, self.lower_limit, "as given"
        known = SOLVENTS[self.solvent]
        mass = float(known.molar_mass) if self.molar_mass is None else self.molar_mass
        if self.lower_limit is not None:
            return mass, self.lower_limit, "as given"
        return mass, float(known.lower_limit), known.lower_limit.source


def run_air(air: DryingAir) -> Result:
    """Work out the air that dilutes the vapour."""
    mass, limit, source = air.vapour
    rate, warm = air.solvent_rate, air.air_temperature
    standard = dilution_air(rate, mass, limit, air.safety_factor, warm)
    actual = dilution_air(rate, mass, limit, air.safety_factor, warm, flow_temperature=warm)
    vapour = vapour_flow(rate, mass)
    checks = ()
    if air.air_given is not None:
        checks = (
            Check(
                "air flow",
                air.air_given,
                actual,
                "at least",
                "m**3/hour",
                SOURCE,
                "move more air or evaporate less at a time",
            ),
        )
    return Result(
        (
            Value("air_flow", "air needed, at the air temperature", actual, "m**3/hour"),
            Value("air_flow_standard", "air needed, stated at 70 °F (21 °C)", standard, "m**3/hour"),
            Value("vapour_flow", "vapour given off, at 21 °C", vapour, "m**3/hour"),
            Value("vapour_share", "vapour in the air, share of the limit", hot_factor(warm) / air.safety_factor, "%"),
        ),
        checks,
        (
            Step("vapour", "m/M · RT/p", vapour, "m**3/hour", "ideal gas"),
            Step(
                "air, stated at 21 °C", "V · C/(LEL · B), or 403·SG·ER·100·C/(MW·LEL·B)", standard, "m**3/hour", SOURCE
            ),
            Step("air, as it is", "Q (T/294.26 K)", actual, "m**3/hour", "ideal gas"),
        ),
        (
            Caution(
                "solvent vapour burns; this air is for fire, breathing limits may need far more",
                "interlock the fan with the work, no ignition source, measure vapour where handles hang; ventilation "
                "and ignition control are for licensed practice to design",
                "29 CFR 1910.94, 1910.122 to 1910.126 and 1910.1000",
            ),
        ),
        (f"Lower explosive limit {limit * 100:.3g} % by volume: {source}.",),
    )


DRYING_AIR = Calculation(
    name="drying-air",
    title="Air for drying coats",
    line="handle",
    about="The air flow that keeps solvent vapour of the vats and racks under a quarter of the lower explosive limit.",
    inputs=DryingAir,
    run=run_air,
)
