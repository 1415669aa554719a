"""The setting worked through: does the glue reach depth before it gels, does it hold, how much to mix."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, pi, sqrt

from naptuft.brush import capillary, fill, setting
from naptuft.brush.cautions import EPOXY_CAUTION, EXOTHERM_CAUTION, OVEN_CAUTION
from naptuft.brush.head import COMMON_SETTING_DEPTH, BrushDesign
from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity
from naptuft.materials.adhesive import epoxy
from naptuft.materials.property import COMMON_PRACTICE

BOND_MARGIN = 2.0
GREATEST_BATCH = 0.5
WARM = 313.15
_WASHBURN = "Washburn, Physical Review 17 (1921) 273 (from memory)"


@dataclass(frozen=True)
class SettingDesign(BrushDesign):
    """A brush head and how its butts are set."""

    glue_temperature: float = quantity("degC", "glue and butts when poured", low=5, high=80, default=25)
    cure_temperature: float = quantity("degC", "while it cures", low=5, high=160, default=25, example="25 degC")
    contact_angle: float = quantity("deg", "of the glue on the butts", low=0, high=89, default=20)
    line_rate: float = quantity("1/min", "brushes set in a minute by one bench", low=0.1, high=120, default=12)
    butt_scatter: float = quantity("mm", "standard deviation of where the butts end", low=0, high=10, default=0.6)


def bond_length(strength: float, diameter: float, area: float, shear_strength: float) -> float:
    """Length of bond at which a filament breaks before it pulls out, σA/(τπd). [m]

    strength: tensile of the filament [Pa]; diameter, area: of its butt [m], [m**2]; shear_strength: of the
    bond [Pa]. Even shear along the bond is taken, so keep a margin. Source: equilibrium.

    >>> round(bond_length(214e6, 0.2e-3, pi / 4 * 0.2e-3**2, 6e6) * 1e3, 2)
    1.78
    """
    return strength * area / (shear_strength * pi * diameter)


def loose_share(needed: float, depth: float, scatter: float) -> float:
    """Share of filaments held along less than the needed length, butts scattering normally about depth. [1]

    needed, depth, scatter [m]. Source: normal distribution; the index compares settings, it is no promise.

    >>> round(loose_share(0.002, 0.005, 0.001), 5)
    0.00135
    """
    if scatter <= 0:
        return 1.0 if depth < needed else 0.0
    return 0.5 * (1 + erf((needed - depth) / (scatter * sqrt(2))))


def _work_out(design: SettingDesign) -> Result:
    glue, material = epoxy(design.epoxy), design.material
    slow = capillary.arrhenius_factor(float(glue.activation_energy), design.glue_temperature)
    viscosity = float(glue.viscosity) * capillary.arrhenius_factor(float(glue.flow_energy), design.glue_temperature)
    gel, pot = float(glue.gel_time) * slow, float(glue.pot_life) * slow
    cure = float(glue.handling_time) * capillary.arrhenius_factor(
        float(glue.activation_energy), design.cure_temperature
    )
    permeability = capillary.bundle_permeability(design.diameter / 2, design.packing)
    pull = capillary.capillary_pressure(
        float(glue.surface_tension), design.contact_angle, design.diameter, design.packing
    )
    head = float(glue.density) * capillary.GRAVITY * design.epoxy_cap
    pressure = pull + head
    at_gel = capillary.soaked_depth(
        permeability, pressure, design.packing, capillary.fluidity_until(viscosity, pot, gel)
    )
    tubes = capillary.tube_depth(
        design.diameter, design.packing, pressure, capillary.fluidity_until(viscosity, pot, gel)
    )
    needed_fluidity = design.setting_depth**2 * (1 - design.packing) / (2 * permeability * pressure)
    reached = capillary.time_for_fluidity(viscosity, pot, needed_fluidity)
    soak = gel if reached is None else min(reached, gel)
    reached_depth = min(design.setting_depth, at_gel)
    needed = BOND_MARGIN * bond_length(
        float(material.strength), design.diameter, design.section.area, float(glue.shear_strength)
    )
    loose = loose_share(needed / BOND_MARGIN, reached_depth, design.butt_scatter)
    count = fill.filament_count(design.open_area, design.packing, design.diameter)
    void = setting.void_volume(design.open_area, design.packing, reached_depth)
    dose = setting.epoxy_dose(void, design.open_area * design.epoxy_cap, float(glue.density), design.epoxy_loss)
    phr = setting.hardener_phr(float(glue.amine_equivalent), float(glue.epoxide_equivalent))
    batch = min(GREATEST_BATCH, dose * design.line_rate * 0.75 * pot)
    lasts = batch / dose / design.line_rate
    resin, hardener = setting.split_dose(batch, phr)
    rise = float(glue.heat_of_cure) / float(glue.specific_heat)
    remarks = []
    if needed > COMMON_SETTING_DEPTH:
        remarks.append(
            f"About 5 mm in the ferrule is common practice, but this filament needs {needed * 1e3:.1f} mm to be as "
            "strong as itself with a margin of two."
        )
    if at_gel < design.setting_depth:
        remarks.append(
            "The glue gels before it reaches the setting depth: warm it, choose a thinner one, or pack less."
        )
    return Result(
        values=(
            Value("soak_time", "time to reach depth", soak, "min"),
            Value("depth_at_gel", "depth it could reach before gel", at_gel, "mm"),
            Value("depth_by_tubes", "the same by Lucas and Washburn, straight tubes", tubes, "mm"),
            Value("gel_time", "gel time at this temperature", gel, "min"),
            Value("pot_life", "pot life at this temperature", pot, "min"),
            Value("cure_time", "time until it may be handled", cure, "h"),
            Value("bond_needed", "bond length needed", needed, "mm"),
            Value("loose_share", "shedding index: share of filaments under-held", loose, "%"),
            Value("loose_filaments", "under-held filaments in a brush", loose * count, "pcs"),
            Value("epoxy_dose", "epoxy dose", dose, "g"),
            Value("batch_mass", "batch: at most half a kilogram, used in three quarters of its pot life", batch, "g"),
            Value("batch_lasts", "a batch lasts", lasts, "min"),
            Value("batch_resin", "resin in the batch", resin, "g"),
            Value("batch_hardener", "hardener in the batch", hardener, "g"),
            Value("self_heating", "most it can heat itself", rise, "K"),
        ),
        checks=(
            Check(
                "depth before gel",
                at_gel,
                design.setting_depth,
                "at least",
                "mm",
                "Darcy's law, permeability of aligned filaments",
                "warm the glue, choose a thinner one, or pack less",
            ),
            Check(
                "bond length",
                reached_depth,
                needed,
                "at least",
                "mm",
                f"the filament breaks first, with a margin of two ({COMMON_PRACTICE})",
                "set the butts deeper, or measure a higher bond strength",
            ),
            Check(
                "cure temperature",
                design.cure_temperature,
                float(material.heat_limit),
                "at most",
                "degC",
                material.heat_limit.source,
                "cure cooler and longer",
            ),
            Check(
                "a batch lasts",
                lasts,
                300.0,
                "at least",
                "min",
                f"{COMMON_PRACTICE}: mixing by hand more often than every five minutes does not pay",
                "a glue of longer pot life, more benches, or metering and mixing at the nozzle",
            ),
        ),
        steps=(
            Step("viscosity when poured", "η25·exp[E/R(1/T − 1/298)]", viscosity, "Pa*s", glue.flow_energy.source),
            Step("pull among the butts", "4γcosθ·V/(d(1 − V))", pull, "Pa", "Young and Laplace"),
            Step("weight of the cap", "ρ·g·cap", head, "Pa", "hydrostatics"),
            Step(
                "permeability along the butts",
                "lesser of R²/(4V)·(−ln V − 1.498 + 2V − V²/2) and (8R²/53)(1 − V)³/V²",
                permeability,
                "m**2",
                "Drummond & Tahir (1984), and for dense packing Gebart (1992) (both from memory)",
            ),
            Step("depth at gel by tubes", "r·√(p·∫dt/η)/2, r = d(1 − V)/(2V)", tubes, "mm", _WASHBURN),
            Step("depth at gel", "√(2Kp·∫dt/η/(1 − V)), η doubling each pot life", at_gel, "mm", "Darcy's law"),
            Step("gel time", "gel25·exp[E/R(1/T − 1/298)]", gel, "min", glue.activation_energy.source),
            Step("bond length", "2·σA/(τπd)", needed, "mm", glue.shear_strength.source),
            Step("under-held share", "Φ((σA/(τπd) − depth)/scatter)", loose, "%", "normal distribution"),
            Step("hardener", "100·AHEW/EEW", phr, "", "stoichiometry"),
            Step("self-heating", "heat of cure / specific heat, no heat lost", rise, "K", glue.heat_of_cure.source),
        ),
        cautions=(EPOXY_CAUTION, EXOTHERM_CAUTION) + ((OVEN_CAUTION,) if design.cure_temperature > WARM else ()),
        remarks=tuple(remarks),
    )


SETTING = Calculation(
    name="brush-setting",
    title="Setting in epoxy",
    line="brush",
    about="Whether the glue reaches depth before it gels and holds each filament; dose, batch and cure.",
    inputs=SettingDesign,
    run=_work_out,
)
