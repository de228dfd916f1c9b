"""What programs send to the shop and get from it: the shapes of the JSON, with the words of its description."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, TypeAlias

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from carwright.car.document import MAX_BYTES
from carwright.shop import CarCard, CarState, Change, Lot, Photo, RevisionHead, Saved, Stale, Taken
from carwright.shop.measuring import in_words
from carwright.shop.records import PhotoKind, RevisionKind, Stage

__all__ = [
    "Card",
    "Changed",
    "Checked",
    "Choice",
    "Errors",
    "Join",
    "Line",
    "LotNow",
    "Moved",
    "NewCar",
    "NewLot",
    "NewShelf",
    "NewValues",
    "NewVersion",
    "Picture",
    "Printer",
    "Save",
    "ShelfNow",
    "State",
    "TakenPlan",
    "Ticked",
    "ToCut",
    "ToMeasure",
    "ToTake",
    "ToUndo",
    "Version",
]


def _sayable(text: str) -> str:
    """Refuse what no document and no database can hold: half of a character, and the sign for nothing."""
    if "\x00" in text or any("\ud800" <= sign <= "\udfff" for sign in text):
        raise ValueError("the text has a sign that cannot be kept (a NUL, or half of a character)")
    return text


Text: TypeAlias = Annotated[str, AfterValidator(_sayable)]
Document: TypeAlias = Annotated[Text, Field(max_length=MAX_BYTES, description="A car file, as text.")]
Note: TypeAlias = Annotated[Text, Field(max_length=400, description="What was done.")]
Number: TypeAlias = Annotated[int, Field(ge=0, le=10**9)]


class _Sent(BaseModel):
    model_config = ConfigDict(extra="forbid")


class ErrorItem(BaseModel):
    """One thing that is wrong in what was sent."""

    file: str | None = None
    line: int | None = None
    column: int | None = None
    key: str | None = None
    value: str | None = None
    problem: str
    accepted: str | None = None
    mend: str | None = None


class Errors(BaseModel):
    """Everything that is wrong: the one shape of every refusal."""

    errors: list[ErrorItem]


class NewCar(_Sent):
    """A car to be added."""

    document: Document
    name: Annotated[Text, Field(max_length=200)] | None = None
    note: Note = ""


class Save(_Sent):
    """A car file to be kept as a new revision."""

    document: Document
    based_on: Annotated[Number, Field(description="The revision that its author had before them.")]
    note: Note = ""


class NewValues(_Sent):
    """Values to be put into a car file, its comments kept; null takes one out."""

    values: Annotated[
        dict[Text, str | int | float | bool | list[Text] | None],
        Field(max_length=200, examples=[{"trucks.seat_height": "0.284"}]),
    ]
    based_on: Number
    note: Note = ""


class Choice(_Sent):
    """The save to go on with, where several stand beside each other."""

    number: Annotated[int, Field(ge=1, le=10**9)]
    over: Annotated[list[Number], Field(max_length=1000)]


class Join(_Sent):
    """Saves that stand beside each other, to be put into one."""

    number: Annotated[int, Field(ge=1, le=10**9, description="The save whose remarks are kept.")]
    others: Annotated[list[Number], Field(min_length=1, max_length=20)]
    choose: Annotated[
        dict[Annotated[str, Field(max_length=200)], Number],
        Field(
            max_length=1000,
            description="For each key that they changed differently, as “trucks.centers”, the save that is right.",
        ),
    ] = {}


class Moved(_Sent):
    """What to change about a car beside its file; what is left out stays."""

    name: Annotated[Text, Field(min_length=1, max_length=200)] | None = None
    stage: Stage | None = None
    waits_for: Annotated[Text, Field(max_length=200)] | None = None


class Ticked(_Sent):
    """A line of a checklist: done on a day, or, without one, open again."""

    stage: Stage
    item: Annotated[Text, Field(max_length=200)]
    done_on: date | None = None
    note: Annotated[Text, Field(max_length=500)] = ""


class NewShelf(_Sent):
    """The shelf's file to be kept as a new revision; ``based_on`` is 0 for the first."""

    document: Document
    based_on: Number
    note: Note = ""


class Checked(_Sent):
    """What the bars of a printed page measured."""

    across: Annotated[Text, Field(max_length=100, examples=["99.7"])]
    up: Annotated[Text, Field(max_length=100, examples=["100.1"])]


class Finding(BaseModel):
    """The worst finding of a car's plan, where it was reckoned already."""

    verdict: str
    sentence: str


class Card(BaseModel):
    """A car as the line shows it."""

    slug: str
    name: str
    stage: Stage
    revision: int
    sha256: str
    updated_at: datetime
    next_step: str
    waits_for: str
    worst: Finding | None
    beside: int

    @classmethod
    def of(cls, card: CarCard) -> Card:
        """Return it from the shop's record."""
        worst = None if card.worst is None else Finding(verdict=card.worst.verdict, sentence=card.worst.sentence)
        fields = ("slug", "name", "stage", "revision", "sha256", "updated_at", "next_step", "waits_for", "beside")
        return cls(worst=worst, **{name: getattr(card, name) for name in fields})


class Line(BaseModel):
    """Cars, and how many stand at each stage."""

    cars: list[Card]
    counts: dict[Stage, int]
    last_change: int


class NewLot(_Sent):
    """A lot to keep."""

    name: Annotated[Text, Field(min_length=1, max_length=200, examples=["Box of shells"])]
    bought_on: date | None = None
    bought_for: Annotated[Text, Field(max_length=100, description="What was paid, as you write it.")] = ""
    note: Note = ""
    cars: Annotated[list[str], Field(max_length=1000, description="Short names of the cars that came in it.")] = []


class LotNow(NewLot):
    """A lot that is kept."""

    number: int

    @classmethod
    def of(cls, lot: Lot) -> LotNow:
        """Return it from the shop's record."""
        fields = {name: getattr(lot, name) for name in ("name", "bought_on", "bought_for", "note")}
        return cls(number=lot.id, cars=list(lot.cars), **fields)


class ToMeasure(BaseModel):
    """A reading to take again, and which change made it stale."""

    key: str
    value: str
    taken_at: datetime
    because: str
    old: str
    new: str
    revision: int
    sentence: str

    @classmethod
    def of(cls, found: Stale) -> ToMeasure:
        """Return it from the shop's record."""
        taken = found.reading
        changed = {name: getattr(found, name) for name in ("because", "old", "new", "revision")}
        return cls(key=taken.key, value=taken.value, taken_at=taken.taken_at, sentence=in_words(found), **changed)


class Version(BaseModel):
    """One save, without its document."""

    number: int
    based_on: int
    sha256: str
    saved_at: datetime
    by: str
    note: str
    kind: RevisionKind

    @classmethod
    def of(cls, head: RevisionHead) -> Version:
        """Return it from the shop's record."""
        fields = ("number", "based_on", "sha256", "saved_at", "by", "note", "kind")
        return cls(**{name: getattr(head, name) for name in fields})


class Tick(BaseModel):
    """One line of a checklist."""

    stage: Stage
    item: str
    done_on: date | None
    note: str


class State(BaseModel):
    """Everything that is now so of one car."""

    slug: str
    name: str
    stage: Stage
    waits_for: str
    next_step: str
    created_at: datetime
    updated_at: datetime
    head: Version
    heads: list[Version]
    checklist: list[Tick]

    @classmethod
    def of(cls, state: CarState) -> State:
        """Return it from the shop's record."""
        fields = ("slug", "name", "stage", "waits_for", "next_step", "created_at", "updated_at")
        ticks = [
            Tick(stage=each.stage, item=each.item, done_on=each.done_on, note=each.note) for each in state.checklist
        ]
        return cls(
            head=Version.of(state.head),
            heads=[Version.of(each) for each in state.heads],
            checklist=ticks,
            **{name: getattr(state, name) for name in fields},
        )


class NewVersion(BaseModel):
    """What became of a save: it is always kept; ``beside`` names the saves that wait with it for a choice."""

    slug: str
    revision: int
    sha256: str
    beside: list[int]
    change: int

    @classmethod
    def of(cls, saved: Saved) -> NewVersion:
        """Return it from the shop's record."""
        return cls(
            slug=saved.slug,
            revision=saved.revision,
            sha256=saved.sha256,
            beside=list(saved.beside),
            change=saved.change,
        )


class Changed(BaseModel):
    """One entry of the journal."""

    number: int
    at: datetime
    kind: str
    slug: str
    revision: int
    by: str

    @classmethod
    def of(cls, change: Change) -> Changed:
        """Return it from the shop's record."""
        fields = ("number", "at", "kind", "slug", "revision", "by")
        return cls(**{name: getattr(change, name) for name in fields})


class ShelfNow(BaseModel):
    """The shelf's file and its revision; revision 0 is a shelf that nothing was put on yet."""

    document: str
    revision: int


class Printer(BaseModel):
    """What one printer needs: factors across and up the page."""

    printer: str
    x: float
    y: float
    note: str


class Picture(BaseModel):
    """A photograph of a car, without its pixels."""

    id: int
    slug: str
    kind: PhotoKind
    caption: str
    added_at: datetime

    @classmethod
    def of(cls, photo: Photo) -> Picture:
        """Return it from the shop's record."""
        fields = ("id", "slug", "kind", "caption", "added_at")
        return cls(**{name: getattr(photo, name) for name in fields})


class ToCut(_Sent):
    """Cars to be cut together out of the shelf."""

    cars: Annotated[list[Annotated[Text, Field(max_length=100)]], Field(min_length=1, max_length=60)]
    kerf: Annotated[Text, Field(max_length=40, description="Of the saw, as typed; empty for a knife.")] = ""
    rotate: Annotated[bool, Field(description="Whether pieces may be turned in the sheet.")] = True
    leave_out: Annotated[
        list[Annotated[Text, Field(max_length=200)]],
        Field(max_length=2000, description="Names of pieces that are not cut this time; * stands for anything."),
    ] = []


class ToTake(ToCut):
    """A cutting plan to be taken, as it was seen."""

    shelf_revision: Annotated[Number, Field(description="The revision of the shelf that the plan was made for.")]
    bought: Annotated[bool, Field(description="Whether what it must buy was bought.")] = False


class ToUndo(_Sent):
    """A cutting plan to be put back."""

    plan: Annotated[Text, Field(max_length=40)]


class TakenPlan(BaseModel):
    """A cutting plan that was taken; ``again`` says that it had been taken before, so that this time nothing was."""

    plan: str
    revision: int
    taken_at: datetime
    by: str
    again: bool

    @classmethod
    def of(cls, taken: Taken) -> TakenPlan:
        """Return it from the shop's record."""
        fields = ("plan", "revision", "taken_at", "by", "again")
        return cls(**{name: getattr(taken, name) for name in fields})
