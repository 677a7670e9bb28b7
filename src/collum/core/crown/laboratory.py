"""What each class of material takes from this tooth: reduction, finish line, and what is left of height and wall.

Across the neck two finish lines are cut into one diameter; what stays holds the pulp, or the canal, and a wall on each side.
A wall under its limit is a hazard, sure where even a tooth without pulp would be too thin, open where the pulp is not known.

Not covered: the finish line in places of its own width (a shoulder facially, a chamfer orally), and the colour of the stump.
"""

from dataclasses import dataclass
from typing import Literal, get_args

from collum.core.crown.guidance import least_height_mm
from collum.evidence import value
from collum.vocabulary import Jaw

Material = Literal["metal", "monolithic_zirconia", "porcelain", "resin", "metal_ceramic", "lithium_disilicate", "layered_core"]
Hazard = Literal["thin wall", "clear", "not assessed"]

MATERIALS: tuple[Material, ...] = get_args(Material)
_FIRST_MOLAR = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Neck:
    """The cross-section at the finish line and the height above it; None is not known. [mm]

    `pulp_md_mm` and `pulp_bl_mm` are the widths of the pulp, or of the canal, there. `edge_mm` is the planned edge above the
    finish line; `height_asked_mm` the height asked of the preparation, None where it is the advised one. `from_handbook`: the
    diameters are averages, not of this tooth.
    """

    md_mm: float
    bl_mm: float
    molar: bool
    pulp_md_mm: float | None = None
    pulp_bl_mm: float | None = None
    edge_mm: float | None = None
    height_asked_mm: float | None = None
    from_handbook: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialFit:
    """One class of material on this tooth. `across_*` is what two finish lines leave, `wall_*` that less the pulp, halved. [mm]

    `height_short_mm` is what the preparation lacks, 0 where it lacks nothing, None where the edge is not known.
    """

    material: Material
    axial_mm: float
    occlusal_mm: float
    finish_line_mm: float
    height_mm: float | None
    height_short_mm: float | None
    across_md_mm: float
    across_bl_mm: float
    wall_md_mm: float | None
    wall_bl_mm: float | None
    hazard: Hazard
    from_handbook: bool
    evidence: tuple[str, ...]


def handbook_neck(jaw: Jaw, position: int, *, edge_mm: float | None = None) -> Neck:
    """Return the neck of the handbook tooth.

    Parameters
    ----------
    jaw : {'upper', 'lower'}
    position : int
        Place in the quadrant, 1 to 8.
    edge_mm : float, optional
        Planned edge above the finish line [mm].

    Returns
    -------
    Neck
        Diameters at the neck [mm], marked as taken from the handbook.

    Raises
    ------
    KeyError
        Where no permanent tooth has this position.

    Source
    ------
    `tooth.*_cervix_mm` of the registry.

    Examples
    --------
    >>> handbook_neck('lower', 6).molar
    True
    """
    tooth = f"tooth.{jaw}{position}"
    return Neck(
        md_mm=value(f"{tooth}.md_cervix_mm"),
        bl_mm=value(f"{tooth}.bl_cervix_mm"),
        molar=position >= _FIRST_MOLAR,
        edge_mm=edge_mm,
        from_handbook=True,
    )


def material_fits(neck: Neck) -> tuple[MaterialFit, ...]:
    """Return every class of material on this tooth, narrowest finish line first, then lowest top.

    Parameters
    ----------
    neck : Neck
        Diameters, edge and pulp of the tooth [mm].

    Returns
    -------
    tuple of MaterialFit
        One for each of `MATERIALS`.

    Source
    ------
    Reductions `restoration.<material>.*_mm` of the registry.

    Examples
    --------
    >>> fits = material_fits(handbook_neck('lower', 6))
    >>> len(fits) == len(MATERIALS)
    True
    """
    fits = [_fit(neck, material) for material in MATERIALS]
    return tuple(sorted(fits, key=lambda fit: (fit.finish_line_mm, fit.occlusal_mm)))


def preparation_height_mm(edge_mm: float, occlusal_mm: float) -> float:
    """Return the height of the preparation: edge above the finish line less occlusal reduction, never below 0.

    Parameters
    ----------
    edge_mm : float
        Planned edge above the finish line [mm].
    occlusal_mm : float
        Occlusal reduction [mm].

    Returns
    -------
    float
        Height [mm].

    Source
    ------
    Derived.

    Examples
    --------
    >>> preparation_height_mm(6.0, 1.5)
    4.5
    """
    return max(0, edge_mm - occlusal_mm)


def across_left_mm(diameter_mm: float, finish_line_mm: float) -> float:
    """Return what two finish lines leave of a diameter, never below 0.

    Parameters
    ----------
    diameter_mm : float
        Diameter at the neck [mm].
    finish_line_mm : float
        Width of the finish line on one side [mm].

    Returns
    -------
    float
        Diameter [mm].

    Source
    ------
    Derived.

    Examples
    --------
    >>> across_left_mm(7.0, 1.0)
    5.0
    """
    return max(0, diameter_mm - 2 * finish_line_mm)


def _fit(neck: Neck, material: Material) -> MaterialFit:
    evidence = tuple(f"restoration.{material}.{part}_mm" for part in ("axial", "occlusal", "finish_line"))
    axial, occlusal, finish_line = (value(key) for key in evidence)
    height = None if neck.edge_mm is None else preparation_height_mm(neck.edge_mm, occlusal)
    across = (across_left_mm(neck.md_mm, finish_line), across_left_mm(neck.bl_mm, finish_line))
    asked = least_height_mm(neck.molar) if neck.height_asked_mm is None else neck.height_asked_mm
    walls = (_wall(across[0], neck.pulp_md_mm), _wall(across[1], neck.pulp_bl_mm))
    return MaterialFit(
        material=material,
        axial_mm=axial,
        occlusal_mm=occlusal,
        finish_line_mm=finish_line,
        height_mm=height,
        height_short_mm=None if height is None else max(0, asked - height),
        across_md_mm=across[0],
        across_bl_mm=across[1],
        wall_md_mm=walls[0],
        wall_bl_mm=walls[1],
        hazard=_hazard(across, walls),
        from_handbook=neck.from_handbook,
        evidence=evidence,
    )


def _wall(across_mm: float, pulp_mm: float | None) -> float | None:
    return None if pulp_mm is None else max(0, (across_mm - pulp_mm) / 2)


def _hazard(across: tuple[float, float], walls: tuple[float | None, float | None]) -> Hazard:
    limit = value("plan.limit.wall_thickness_mm")
    if min(across) < 2 * limit or any(wall is not None and wall < limit for wall in walls):
        return "thin wall"
    return "not assessed" if any(wall is None for wall in walls) else "clear"
