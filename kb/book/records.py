"""The records a book is made of: one frozen class per kind of file and per block in it.

A number that a file gives is a `Quantity`: the target value in the unit of its alias (kb/units.py), with its
tolerance and its text (kb/book/quantity.py). A key in a file is the field's name here, with the same
nesting: `ironing.rings[1].bore`. The schema describes each field for people; a test holds the two
together.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, is_dataclass, make_dataclass
from typing import Annotated, Any, Literal, NamedTuple, TypeAlias, get_args, get_origin, get_type_hints

from kb.book import conversion
from kb.book.quantity import Quantity
from kb.units import (
    Deg,
    DegC,
    Gram,
    GramPerCm3,
    MJPerKg,
    Mm,
    Mm3,
    MPa,
    N,
    PerKg,
    PerMinute,
    Ratio,
    Volumes,
)

AnyUnit: TypeAlias = Annotated[Quantity, conversion.ANY]
"""A quantity that is kept in the unit of its written dimension: what it is compared with has it too."""


class Reference(NamedTuple):
    """Note on a field that names something of another file: the kind of that file, or `machine`."""

    kind: str


FormatId: TypeAlias = Annotated[str, Reference("size-format")]
EndId: TypeAlias = Annotated[str, Reference("end")]
MaterialId: TypeAlias = Annotated[str, Reference("material")]
LineId: TypeAlias = Annotated[str, Reference("line")]
StandardId: TypeAlias = Annotated[str, Reference("body-standard")]
MachineKind: TypeAlias = Annotated[str, Reference("machine")]

KNOWN_MACHINES = (
    "cupper",
    "bodymaker",
    "trimmer",
    "washer",
    "printer",
    "sprayer",
    "oven",
    "necker",
    "flanger",
    "tester",
    "palletizer",
)
"""Kinds of machine that a line file can have without floor.yaml; floor.yaml lists others."""

Status = Literal["draft", "trial", "released", "withdrawn"]


@dataclass(frozen=True, slots=True)
class Band:
    """A range of lengths with its two ends, such as the can heights a machine takes, in mm."""

    low: float
    high: float
    written: Quantity = field(compare=False)


# --- size format ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Stock:
    """The body metal: which, how thick, how much it ears."""

    material: MaterialId
    gauge: Mm
    earing: Ratio


@dataclass(frozen=True, slots=True)
class BlankSpec:
    diameter: Mm
    across: int
    web: Mm
    edge: Mm
    die_clearance: Mm


@dataclass(frozen=True, slots=True)
class CupTools:
    punch_diameter: Mm
    punch_radius: Mm
    die_bore: Mm
    die_radius: Mm


@dataclass(frozen=True, slots=True)
class RedrawTools:
    die_bore: Mm
    die_radius: Mm


@dataclass(frozen=True, slots=True)
class PunchTool:
    """Bodymaker punch: the inside of the can."""

    wall_diameter: Mm
    neck_diameter: Mm
    step_height: Mm
    step_length: Mm
    nose_radius: Mm
    chime_angle: Deg
    chime_radius: Mm


@dataclass(frozen=True, slots=True)
class RingTool:
    """One ironing ring; `distance` is from the redraw die to its land."""

    bore: Mm
    distance: Mm


@dataclass(frozen=True, slots=True)
class IroningTools:
    """The rings in the order in which the wall meets them."""

    rings: tuple[RingTool, ...]
    half_angle: Deg
    land: Mm
    outside_diameter: Mm


@dataclass(frozen=True, slots=True)
class DomeTools:
    """Domer and the base profile it leaves."""

    stand_diameter: Mm
    depth: Mm
    radius: Mm
    corner_radius: Mm
    leg_angle: Deg


@dataclass(frozen=True, slots=True)
class TrimSpec:
    height: Mm


@dataclass(frozen=True, slots=True)
class NeckTools:
    """The necker: where the neck starts, how it runs, where it ends."""

    stages: int
    shoulder_height: Mm
    shoulder_radius: Mm
    angle: Deg
    neck_radius: Mm
    plug_diameter: Mm
    pilot_clearance: Mm
    diameters: tuple[Mm, ...] = ()


@dataclass(frozen=True, slots=True)
class FlangeSpec:
    width: Mm
    radius: Mm
    angle: Deg
    finished_height: Mm


@dataclass(frozen=True, slots=True)
class SeamSpec:
    length: Mm
    thickness: Mm
    body_hook: Mm
    end_hook: Mm


@dataclass(frozen=True, slots=True)
class FillSpec:
    contents: Mm3
    carbonation: Volumes
    temperature: DegC
    headspace: Mm
    nitrogen: Gram = 0.0


@dataclass(frozen=True, slots=True)
class Targets:
    thin_wall: Mm
    thick_wall: Mm
    body_mass: Gram
    dome_reversal: MPa
    axial_load: N


@dataclass(frozen=True, slots=True)
class PalletSpec:
    per_layer: int
    layers: int


@dataclass(frozen=True, slots=True)
class FormatApproval:
    """A role that approved one revision; the plant decides whether to write the name."""

    role: str
    revision: int
    day: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class SizeFormat:
    """One size of can: `kind: size-format`."""

    id: str
    title: str
    body: str
    revision: int
    status: Status
    effective: str
    owner: str
    why: str
    lines: tuple[LineId, ...]
    stock: Stock
    blank: BlankSpec
    cup: CupTools
    redraw: RedrawTools
    punch: PunchTool
    ironing: IroningTools
    dome: DomeTools
    trim: TrimSpec
    neck: NeckTools
    flange: FlangeSpec
    end: EndId
    seam: SeamSpec
    fill: FillSpec
    targets: Targets
    pallet: PalletSpec
    label: str = ""
    also_called: tuple[str, ...] = ()
    standard: StandardId = ""
    variant_of: FormatId = ""
    approvals: tuple[FormatApproval, ...] = ()

    @property
    def approved_by(self) -> tuple[FormatApproval, ...]:
        """The approvals of this revision."""
        return tuple(one for one in self.approvals if one.revision == self.revision)


INHERITED = (
    "body", "stock", "blank", "cup", "redraw", "punch", "ironing", "dome", "trim", "neck", "flange", "end",
    "seam", "fill", "targets", "pallet",
)  # fmt: skip
"""The keys of a format that a body standard can give."""

SAME_IN_VARIANTS = (*INHERITED, "standard")
"""The keys of a format that a label variant has from its base format alone."""


def _partly(hint: Any) -> Any:
    """The type of a field of a format where any part of it can be left out."""
    if get_origin(hint) is tuple:
        item: Any = _partly(get_args(hint)[0])
        return tuple.__class_getitem__((item, ...))
    if not is_dataclass(hint):
        return hint
    hints = get_type_hints(hint, include_extras=True)
    parts = [(one.name, _partly(hints[one.name]) | None, None) for one in fields(hint)]
    return make_dataclass(f"Shared{getattr(hint, '__name__', '')}", parts, frozen=True, slots=True)


def _body_standard() -> Any:
    hints = get_type_hints(SizeFormat, include_extras=True)
    names = [("id", str), ("title", str), ("owner", str), ("why", str), ("body", str)]
    parts = [(name, _partly(hints[name]) | None, None) for name in INHERITED if name != "body"]
    return make_dataclass("BodyStandard", [*names, *parts], frozen=True, slots=True)


BodyStandard: Any = _body_standard()
"""What all formats of one body share: `kind: body-standard`. Of a block it has what is shared alone."""


# --- what a format refers to ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Anisotropy:
    r0: Ratio
    r45: Ratio
    r90: Ratio


@dataclass(frozen=True, slots=True)
class Hardening:
    """Flow stress against strain: from `start` toward `saturation`, `scale` is the strain it takes."""

    start: MPa
    saturation: MPa
    scale: Ratio


@dataclass(frozen=True, slots=True)
class Material:
    """Body or end stock: `kind: material`."""

    id: str
    title: str
    use: Literal["body", "end"]
    alloy: str
    temper: str
    owner: str
    source: str
    density: GramPerCm3
    modulus: MPa
    poisson: Ratio
    yield_strength: MPa
    yield_after_bake: MPa
    tensile: MPa
    shear_strength: MPa
    anisotropy: Anisotropy
    hardening: Hardening
    earing_over: Literal["valley", "mean"]
    earing: Ratio
    gauge: Band
    coil_width: Band


@dataclass(frozen=True, slots=True)
class End:
    id: str
    title: str
    code: str
    revision: int
    status: Status
    owner: str
    material: MaterialId
    gauge: Mm
    cut_edge: Mm
    mass: Gram
    curl_diameter: Mm
    curl_opening: Mm
    curl_height: Mm
    countersink: Mm
    panel_height: Mm
    panel_diameter: Mm
    panel_corner_radius: Mm
    countersink_radius: Mm
    chuck_wall_angle: Deg
    chuck_diameter: Mm
    rated_pressure: MPa


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine, or a group of like machines, in a line; ranges it lacks do not bind it."""

    id: str
    kind: MachineKind
    title: str
    count: int
    display: dict[str, str]
    speed: PerMinute | None = None
    can_height: Band | None = None
    can_diameter: Band | None = None
    plug_diameter: Band | None = None
    strip_width: Band | None = None
    across: int | None = None
    force: N | None = None
    stroke: Mm | None = None
    rod: Mm | None = None
    ram_speed: PerMinute | None = None
    stages: int | None = None
    service_cycles: int | None = None
    one_at_a_time: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A line: machines in the order the can meets them: `kind: line`."""

    id: str
    title: str
    owner: str
    speed: PerMinute
    machines: tuple[Machine, ...]


@dataclass(frozen=True, slots=True)
class Pallet:
    length: Mm
    width: Mm
    height: Mm
    base: Mm
    sheet: Mm
    overhang: Mm


@dataclass(frozen=True, slots=True)
class Account:
    owner: str
    account: str


@dataclass(frozen=True, slots=True)
class CoilPrice:
    """Price of coil in the plant's currency, for one material or, without one, for every other."""

    price: PerKg
    source: str
    owner: str
    date: str
    material: MaterialId = ""


@dataclass(frozen=True, slots=True)
class ScrapPrice:
    price: PerKg
    source: str
    owner: str
    date: str


@dataclass(frozen=True, slots=True)
class CansOfFormat:
    format: FormatId
    cans: int
    source: str
    owner: str
    date: str


@dataclass(frozen=True, slots=True)
class MetalEnergy:
    value: MJPerKg
    source: str
    owner: str
    date: str


@dataclass(frozen=True, slots=True)
class MetalShare:
    value: Ratio
    source: str
    owner: str
    date: str


@dataclass(frozen=True, slots=True)
class MetalPrices:
    """What the plant pays for metal, and the energy in it; each with its source, its owner and its date."""

    currency: str
    coil: tuple[CoilPrice, ...] = ()
    scrap: ScrapPrice | None = None
    cans: tuple[CansOfFormat, ...] = ()
    primary_energy: MetalEnergy | None = None
    remelt_energy: MetalShare | None = None
    recycled: MetalShare | None = None


@dataclass(frozen=True, slots=True)
class Plant:
    """The plant: `kind: plant`, one to a book."""

    id: str
    title: str
    about: str
    owners: tuple[str, ...]
    pallet: Pallet
    design_pressure: MPa
    warmest: DegC
    ring_temperature: DegC
    punch_temperature: DegC
    gauge_temperature: DegC
    accounts: tuple[Account, ...] = ()
    approvals: tuple[str, ...] = ()
    metal: MetalPrices | None = None
    inches: bool = False


# --- limits and waivers -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Limit:
    """What a check compares with; an end it lacks does not bind. A check's default has plain numbers."""

    source: str
    owner: str
    review: str
    least: Annotated[float, conversion.ANY] | None = None
    most: Annotated[float, conversion.ANY] | None = None
    confirmed: bool = True

    def written(self, end: Literal["least", "most"]) -> Quantity | None:
        """An end as the file gives it; None where it gives none."""
        found = self.least if end == "least" else self.most
        return found if isinstance(found, Quantity) else None


@dataclass(frozen=True, slots=True)
class Setting:
    """A number of the plant's own that a formula needs."""

    value: AnyUnit
    source: str
    owner: str
    review: str
    calibrated: bool = False
    confirmed: bool = True


@dataclass(frozen=True, slots=True)
class Waiver:
    """Permission, with an end date and a ceiling, for one format to fail one check."""

    check: str
    format: FormatId
    reason: str
    owner: str
    approver: str
    evidence: str
    created: str
    expires: str
    ceiling: AnyUnit
    at: str = ""


@dataclass(frozen=True, slots=True)
class Limits:
    """What the plant allows and calculates with: `kind: limits`, one to a book."""

    limits: dict[str, Limit]
    settings: dict[str, Setting]

    @property
    def unconfirmed(self) -> list[str]:
        """Keys of the limits and settings that the plant has not confirmed."""
        groups = (("limits", self.limits), ("settings", self.settings))
        return [
            f"{group}.{name}" for group, all_ in groups for name, one in all_.items() if not one.confirmed
        ]


@dataclass(frozen=True, slots=True)
class Waivers:
    """The waivers, in force or expired: `kind: waivers`, one to a book."""

    waivers: tuple[Waiver, ...]


@dataclass(frozen=True, slots=True)
class Trial:
    """What was measured on cans of one format, to calibrate an estimate: `kind: trial`."""

    id: str
    title: str
    owner: str
    date: str
    format: FormatId
    revision: int
    setting: str
    readings: tuple[AnyUnit, ...]
    gauge: str
    at: dict[str, AnyUnit] = field(default_factory=dict)
    note: str = ""
