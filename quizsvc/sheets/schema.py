"""The engine sheet: what an instructor states about one engine, as frozen pydantic models.

Angles in degrees. Places are seen from the chain end, x to the right, y up, in mm, the
crankshaft's centre at (0, 0). Directions of marks are clockwise from straight up, seen from
the chain end. Bank and crankpin angles are counted in the running direction.
"""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

Name = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,59}$")]
Text = Annotated[str, Field(min_length=1, max_length=2000)]


def _on_one_line(text: str) -> str:
    if not text.isprintable():
        raise PydanticCustomError("one_line", "it holds a line break or a control character")
    return text


Title = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_on_one_line)]
Length = Annotated[float, Field(gt=0, le=5000)]
Angle = Annotated[float, Field(ge=-720, le=720)]


class Part(BaseModel):
    """Base of every table of a sheet: frozen, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class LayoutKind(StrEnum):
    INLINE = "inline"
    VEE = "vee"
    FLAT = "flat"


class Rotation(StrEnum):
    """Running rotation of the crankshaft seen from the chain end."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"


class CylinderBank(Part):
    id: Name
    angle_deg: Angle  # bank axis from straight up, positive in the running direction
    title: Text


class Cylinder(Part):
    number: Annotated[int, Field(ge=1, le=16)]
    bank: Name
    pin_deg: Angle  # crankpin from crankpin 1, positive ahead in the running direction


class Layout(Part):
    kind: LayoutKind
    rotation: Rotation = Rotation.CLOCKWISE
    banks: tuple[CylinderBank, ...]
    cylinders: tuple[Cylinder, ...]
    firing_order: tuple[int, ...]


class Piston(Part):
    bore_mm: Length
    stroke_mm: Length
    rod_mm: Length
    pin_offset_mm: Annotated[float, Field(ge=-20, le=20)] = 0.0
    chamber_cc: Length
    gasket_mm: Length
    gasket_bore_mm: Length
    deck_mm: Annotated[float, Field(ge=-5, le=5)] = 0.0  # crown below the deck at TDC is positive
    dish_cc: Annotated[float, Field(ge=-50, le=50)] = 0.0  # a dome is negative


class Events(Part):
    """Valve events in crank degrees; negative means the other side of the dead centre."""

    ivo_btdc: Annotated[float, Field(ge=-90, le=90)]
    ivc_abdc: Annotated[float, Field(ge=-90, le=120)]
    evo_bbdc: Annotated[float, Field(ge=-90, le=120)]
    evc_atdc: Annotated[float, Field(ge=-90, le=90)]
    at_lift_mm: Annotated[float, Field(ge=0, le=2)] = 0.0


class Valves(Part):
    events: Events
    intake_lift_mm: Length
    exhaust_lift_mm: Length
    intake_head_mm: Length  # diameter of the valve head
    exhaust_head_mm: Length
    intake_tilt_deg: Annotated[float, Field(ge=0, le=45)]  # valve axis from the bore axis
    exhaust_tilt_deg: Annotated[float, Field(ge=0, le=45)]
    intake_recess_mm: Annotated[
        float, Field(ge=0, le=30)
    ]  # closed valve face above the head's plane
    exhaust_recess_mm: Annotated[float, Field(ge=0, le=30)]
    intake_pocket_mm: Annotated[float, Field(ge=0, le=20)]  # pocket depth in the piston crown
    exhaust_pocket_mm: Annotated[float, Field(ge=0, le=20)]
    least_intake_gap_mm: Length = 2.03  # common practice, no source
    least_exhaust_gap_mm: Length = 2.54  # common practice, no source
    phaser_range_deg: Annotated[float, Field(ge=0, le=90)] = 0.0  # crank degrees, intake, advance
    valves_can_meet: bool = False  # an open intake and an open exhaust valve can touch
    interference: bool = True  # as the maker's information states it


class ShaftKind(StrEnum):
    CRANK = "crank"
    CAM = "cam"
    INTERMEDIATE = "intermediate"
    PUMP = "pump"


class Shaft(Part):
    id: Name
    title: Text
    kind: ShaftKind
    bank: Name | None = None
    carries: tuple[Literal["intake", "exhaust"], ...] = ()


class WheelPart(StrEnum):
    SPROCKET = "sprocket"
    PULLEY = "pulley"
    IDLER = "idler"
    TENSIONER = "tensioner"
    GUIDE = "guide"


class Mark(Part):
    """A sprocket mark, where it stands when the engine is in the marks position."""

    at_deg: Angle  # clockwise from straight up, seen from the chain end
    faces: Text  # what it lines up with, for example "the pointer on the block"


class Wheel(Part):
    """One wheel or curved guide the chain or belt runs over.

    A toothed wheel gives ``teeth``; a plain roller, shoe or guide gives ``radius_mm`` to the
    pitch line of the chain or belt. A shaft on a plain roller is turned by the belt's back.
    """

    id: Name
    part: WheelPart
    shaft: Name | None = None
    x_mm: float
    y_mm: float
    contact: Literal["inside", "back"] = "inside"
    teeth: Annotated[int, Field(ge=8, le=200)] | None = None
    radius_mm: Length | None = None
    mark: Mark | None = None


class Tensioner(Part):
    """What keeps the slack strand tight; a belt's has no plunger, so no extensions are given."""

    kind: Literal[
        "hydraulic", "hydraulic with ratchet", "spring", "spring with lock", "eccentric spring"
    ]
    wheel: Name  # the wheel or shoe that it presses
    extension_new_mm: Annotated[float, Field(ge=0, le=60)] | None = None
    groove_at_mm: Annotated[float, Field(ge=0, le=60)] | None = None  # where the groove shows
    longest_mm: Annotated[float, Field(ge=0, le=80)] | None = None
    ratchet_step_mm: Length | None = None


class MarkPins(Part):
    """Stated pin count between two marks: not the pin at the first mark, but that at the second.

    On a belt its teeth are counted, in the same way. Counted along the loop in its running
    direction from ``from_wheel`` to ``to_wheel``.
    """

    from_wheel: Name
    to_wheel: Name
    pins: Annotated[int, Field(ge=1, le=400)]


class Drive(Part):
    """One chain or toothed belt; ``wheels`` stand in the order in which it meets them, running.

    A belt's ``pins`` are its teeth, its marked links are teeth with a line on the back.
    """

    id: Name
    title: Text
    kind: Literal["chain", "belt"]
    pitch_mm: Annotated[float, Field(gt=1, le=40)]
    pins: Annotated[int, Field(ge=10, le=600)]  # pitches in the whole loop
    wheels: tuple[Wheel, ...]
    driver: Name  # the wheel that pulls
    tensioner: Tensioner | None = None
    mark_pins: tuple[MarkPins, ...] = ()
    marked_links: tuple[int, ...] = ()  # pin numbers, 0 at the driver's mark, in running direction
    elongation_limit_percent: Annotated[float, Field(gt=0, le=5)] = 1.5
    belt_mass_kg_m: Annotated[float, Field(gt=0, le=5)] | None = None
    renew_km: Annotated[int, Field(ge=1000, le=1_000_000)] | None = None  # a belt's, or so long:
    renew_years: Annotated[int, Field(ge=1, le=40)] | None = None  # whichever comes first


class MarksPosition(Part):
    """Where the crankshaft stands when the marks are meant to line up."""

    crank_deg: Annotated[float, Field(ge=0, lt=720)]
    title: Text


class SafePosition(Part):
    atdc_deg: Annotated[float, Field(ge=0, lt=360)]  # after TDC of cylinder 1
    note: str = ""


class SensorWheel(Part):
    id: Name
    title: Text
    shaft: Name
    places: Annotated[int, Field(ge=2, le=120)]  # teeth if none were missing
    missing: Annotated[int, Field(ge=0, le=4)] = 0
    first_edge_deg: Angle = 0.0  # crank degrees ATDC 1 of the first tooth after the gap


class Fastener(Part):
    id: Name
    title: Text
    torque_nm: Annotated[float, Field(gt=0, le=1000)]
    angle_deg: Annotated[float, Field(ge=0, le=360)] = 0.0
    reuse: bool = True


class Pulley(Part):
    id: Name
    title: Text
    diameter_mm: Length
    x_mm: float
    y_mm: float
    contact: Literal["inside", "back"] = "inside"  # back: the flat side of the belt runs on it


class AccessoryBelt(Part):
    """The ribbed belt of the accessory drive.

    ``order`` names pulleys as the running belt meets them, beginning with the crankshaft's.
    """

    mass_kg_m: Annotated[float, Field(gt=0, le=5)]
    ribs: Annotated[int, Field(ge=1, le=20)]
    order: tuple[Name, ...]
    tension_new_n: Annotated[float, Field(gt=0, le=5000)]  # setting of a new belt
    tension_used_n: Annotated[float, Field(gt=0, le=5000)]  # setting of a belt that has run in


class CautionKind(StrEnum):
    SPRING = "spring"
    ROTATION = "rotation"
    COOLANT = "coolant"
    LIFTING = "lifting"
    BATTERY = "battery"
    INTERFERENCE = "interference"


class Caution(Part):
    kind: CautionKind
    text: Text


class EngineSheet(Part):
    """All that is stated about one engine, at one revision."""

    schema_version: Literal[1]
    id: Name
    title: Title
    invented: bool
    revision: Annotated[int, Field(ge=1)]
    note: str = ""  # what changed in this revision
    built_from: date | None = None
    built_to: date | None = None
    layout: Layout
    piston: Piston
    valves: Valves
    shafts: tuple[Shaft, ...]
    drives: tuple[Drive, ...]
    marks_position: MarksPosition
    safe_position: SafePosition
    sensors: tuple[SensorWheel, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    damper_diameter_mm: Length | None = None
    pulleys: tuple[Pulley, ...] = ()
    accessory_belt: AccessoryBelt | None = None
    cautions: tuple[Caution, ...] = ()

    def __hash__(self) -> int:
        """Hash the name only: caches look a sheet up thousands of times, and equality decides."""
        return hash((self.id, self.revision))
