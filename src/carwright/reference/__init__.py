"""Published tables, customary limits and our own choices as data, each value with its source.

Values live in ``data/*.toml`` with document, edition and basis; the functions here hand them out as leaves of a working
(``carwright.working``), so that every number that hangs on one can name it. No file is read before the first look-up.
"""

from __future__ import annotations

from carwright.reference.choices import density, instrument, materials, practice_text, practice_value
from carwright.reference.citation import Citation, Entry, basis_words
from carwright.reference.drills import (
    Drill,
    DrillKind,
    drill_named,
    drills,
    nearest_drill,
    smallest_drill_at_least,
)
from carwright.reference.kinds import (
    FrameDefault,
    car_kind,
    car_kinds,
    default_truck_centers,
    frame_defaults,
    near_kinds,
)
from carwright.reference.scales import (
    Target,
    WeightRule,
    coupler_target,
    coupler_tolerance,
    other_weight_rules,
    scale_gauge,
    scale_ratio,
    scale_word,
    scales,
    weight_rule,
    wheel_diameters,
)
from carwright.reference.store import ReferenceFault
from carwright.reference.threads import (
    ClearanceDrill,
    Head,
    HeadKind,
    TapDrill,
    Thread,
    head,
    thread,
    thread_percent,
    threads,
)
from carwright.reference.topics import entries, near_topics, topic_title, topics

__all__ = [
    "Citation",
    "ClearanceDrill",
    "Drill",
    "DrillKind",
    "Entry",
    "FrameDefault",
    "Head",
    "HeadKind",
    "ReferenceFault",
    "TapDrill",
    "Target",
    "Thread",
    "WeightRule",
    "basis_words",
    "car_kind",
    "car_kinds",
    "coupler_target",
    "coupler_tolerance",
    "default_truck_centers",
    "density",
    "drill_named",
    "drills",
    "entries",
    "frame_defaults",
    "head",
    "instrument",
    "materials",
    "near_kinds",
    "near_topics",
    "nearest_drill",
    "other_weight_rules",
    "practice_text",
    "practice_value",
    "scale_gauge",
    "scale_ratio",
    "scale_word",
    "scales",
    "smallest_drill_at_least",
    "thread",
    "thread_percent",
    "threads",
    "topic_title",
    "topics",
    "weight_rule",
    "wheel_diameters",
]
