"""The shop as its users call it: each call is one transaction, kept whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from carwright.car.document import MAX_BYTES
from carwright.problems import InputError, Problem
from carwright.shop import bought, cars, folders, journal, measuring, papers, photos, shelving
from carwright.shop.checking import Checked, check
from carwright.shop.engine import reading, writing
from carwright.shop.records import (
    CarCard,
    CarState,
    Change,
    Digest,
    Job,
    Lot,
    Measured,
    Photo,
    PhotoKind,
    PhotoSize,
    PlanMade,
    Revision,
    RevisionHead,
    Saved,
    Stage,
    Stale,
    Taken,
    joined_note,
)

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from carwright.shop.places import Place

__all__ = ["Shop"]


class Shop:
    """An open shop; made by ``open_shop``. Several threads may use it at once.

    Every method may raise ``ShopFault`` where the file or server fails, and ``InputError`` where there is no such car.
    """

    def __init__(self, place: Place, engine: Engine, clock: Callable[[], datetime]) -> None:
        self.place = place
        self._engine = engine
        self._clock = clock

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file or server."""
        self._engine.dispose()

    # Cars ------------------------------------------------------------------------------------------------------------

    def cars(self, *, stage: Stage | None = None, limit: int = 40, after: str | None = None) -> list[CarCard]:
        """Return cars, last changed first.

        Args:
            stage: of this stage only.
            limit: no more than this many.
            after: those that come after this car.
        """
        with reading(self._engine, self.place) as connection:
            return cars.cards(connection, stage=stage, limit=limit, after=after)

    def counts(self) -> dict[Stage, int]:
        """Return how many cars stand at each stage, every stage in order."""
        with reading(self._engine, self.place) as connection:
            return cars.counts(connection)

    def add_car(self, data: bytes, *, name: str | None = None, by: str = "", note: str = "") -> Saved:
        """Add a car with its first revision.

        Args:
            data: its car file, kept as it is; it need not be finished or free of slips.
            name: as people say it; without it, ``car.name`` of the file.
            by: who adds it.
            note: for the history.

        Raises:
            InputError: the document is larger than a car file may be.
        """
        _check_size(data, "a car file")
        with writing(self._engine, self.place) as connection:
            at = self._clock()
            saved = cars.add(connection, data, name=name, by=by, note=note, kind="added", at=at)
            paper = cars.paper_of(connection, saved.slug)
            measuring.note_readings(connection, paper, data, number=saved.revision, based_on=0, at=at, by=by)
        return saved

    def holder(self, data: bytes) -> tuple[str, int] | None:
        """Return the car that has this very file among its revisions, by short name and number; None where none has."""
        with reading(self._engine, self.place) as connection:
            return cars.holder(connection, data)

    def named(self, name: str) -> tuple[str, ...]:
        """Return the short names of the cars that are called so, whatever the case of the letters."""
        with reading(self._engine, self.place) as connection:
            return cars.named(connection, name)

    def car(self, slug: str) -> CarState:
        """Return everything that is now so of a car."""
        with reading(self._engine, self.place) as connection:
            return cars.state(connection, slug)

    def rename(self, slug: str, name: str, *, by: str = "") -> Change:
        """Call a car by another name; its short name in addresses stays."""
        with writing(self._engine, self.place) as connection:
            return cars.rename(connection, slug, name, by=by, at=self._clock())

    def revision(self, slug: str, number: int) -> Revision:
        """Return one revision with its document.

        Raises:
            InputError: the car has no such revision.
        """
        with reading(self._engine, self.place) as connection:
            paper = cars.paper_of(connection, slug)
            found = papers.one_revision(connection, paper, number)
        return _there(found, number, paper.last)

    def history(self, slug: str, limit: int = 50, before: int | None = None) -> list[RevisionHead]:
        """Return revisions of a car, newest first.

        Args:
            slug: of the car.
            limit: no more than this many.
            before: only numbers below this one.
        """
        with reading(self._engine, self.place) as connection:
            return papers.history(connection, cars.paper_of(connection, slug), limit=limit, before=before)

    def save(
        self, slug: str, data: bytes, *, based_on: int, by: str = "", note: str = "", jobs: Collection[Job] = ()
    ) -> Saved:
        """Keep a car's document as a new revision; nothing is ever overwritten, and no save refused for another's.

        Args:
            slug: of the car.
            data: the document, kept as it is.
            based_on: what its author had before them; a save since then stands beside it, named in ``Saved.beside``.
            by: who saves.
            note: what was done.
            jobs: what the save shows to be done, ticked off with it where nobody ticked it off or opened it again.

        Raises:
            InputError: there is no revision ``based_on``, or the document is larger than a car file may be.
        """
        _check_size(data, "a car file")
        at = self._clock()
        with writing(self._engine, self.place) as connection:
            paper = cars.paper_of(connection, slug)
            number, sha256 = papers.add_revision(
                connection, paper, data, based_on=based_on, at=at, by=by, note=note, kind="saved"
            )
            measuring.note_readings(connection, paper, data, number=number, based_on=based_on, at=at, by=by)
            cars.touch(connection, paper, at)
            cars.tick_first(connection, slug, jobs, by=by, at=at)
            entry = journal.write(connection, "revision", at=at, slug=slug, revision=number, by=by)
            beside = cars.beside(connection, slug, number)
        return Saved(slug, number, sha256, beside, entry.number)

    def choose(self, slug: str, number: int, *, over: Sequence[int], by: str = "") -> Saved:
        """Settle between saves that stand beside each other: ``number`` becomes the head, all stay in the history.

        Raises:
            InputError: one of them does not stand there to be chosen from any more.
        """
        at = self._clock()
        with writing(self._engine, self.place) as connection:
            paper = cars.paper_of(connection, slug)
            sha256 = papers.choose(connection, paper, number, over=over)
            cars.touch(connection, paper, at)
            entry = journal.write(connection, "choice", at=at, slug=slug, revision=number, by=by)
            beside = cars.beside(connection, slug, number)
        return Saved(slug, number, sha256, beside, entry.number)

    def common_base(self, slug: str, numbers: Sequence[int]) -> Revision | None:
        """Return the newest revision that several of a car go back to, None where there is none."""
        with reading(self._engine, self.place) as connection:
            paper = cars.paper_of(connection, slug)
            return papers.one_revision(connection, paper, papers.common_base(connection, paper, numbers))

    def join(
        self, slug: str, data: bytes, *, number: int, others: Sequence[int], by: str = "", note: str = ""
    ) -> Saved:
        """Keep a document made of saves that stand beside each other as the revision that takes the place of all.

        It is based on ``number``; a reading that comes from one of the ``others`` counts as taken then. Its note names
        all of them, before ``note``.

        Raises:
            InputError: one of them does not stand there any more, or the document is too large.
        """
        _check_size(data, "a car file")
        at = self._clock()
        note = "; ".join(each for each in (joined_note((number, *others)), note) if each)
        with writing(self._engine, self.place) as connection:
            paper = cars.paper_of(connection, slug)
            papers.check_standing(connection, paper, number, others)
            base = papers.common_base(connection, paper, (number, *others))
            kept, sha256 = papers.add_revision(
                connection, paper, data, based_on=number, at=at, by=by, note=note, kind="saved"
            )
            papers.choose(connection, cars.paper_of(connection, slug), kept, over=others)
            measuring.note_joined(connection, paper, data, number=kept, based_on=number, others=others, base=base)
            cars.touch(connection, paper, at)
            entry = journal.write(connection, "revision", at=at, slug=slug, revision=kept, by=by)
            beside = cars.beside(connection, slug, kept)
        return Saved(slug, kept, sha256, beside, entry.number)

    def set_stage(self, slug: str, stage: Stage, *, by: str = "") -> Change:
        """Move a car to a stage.

        Raises:
            InputError: there is no such stage.
        """
        with writing(self._engine, self.place) as connection:
            return cars.set_stage(connection, slug, stage, by=by, at=self._clock())

    def set_waits_for(self, slug: str, text: str, *, by: str = "") -> Change:
        """Note what a car waits for; "" for nothing."""
        with writing(self._engine, self.place) as connection:
            return cars.set_waits_for(connection, slug, text, by=by, at=self._clock())

    def tick(self, slug: str, stage: Stage, item: str, done_on: date | None, note: str = "", *, by: str = "") -> Change:
        """Tick a line of a stage's checklist off, or with ``done_on`` None open it again.

        Raises:
            InputError: there is no such stage or line.
        """
        with writing(self._engine, self.place) as connection:
            return cars.tick_off(connection, slug, stage, item, done_on, note, by=by, at=self._clock())

    def put_digest(self, sha256: str, digest: Digest, *, shelf: str = "") -> None:
        """Keep the short of a document's plan, for this version of the program and edition of the references.

        Args:
            sha256: of the document.
            digest: the short of its plan.
            shelf: ``shelf_mark`` of the shelf that the plan was made with.
        """
        with writing(self._engine, self.place) as connection:
            cars.put_digest(connection, sha256, digest, shelf=shelf)

    def get_digest(self, sha256: str) -> Digest | None:
        """Return the short of a document's plan, where it was reckoned already so and with the shelf as it now lies."""
        with reading(self._engine, self.place) as connection:
            return cars.get_digest(connection, sha256)

    # Photographs -----------------------------------------------------------------------------------------------------

    def photo_add(
        self,
        slug: str,
        original: bytes,
        *,
        kind: PhotoKind,
        caption: str,
        shown: bytes,
        thumb: bytes,
        by: str = "",
        on: date | None = None,
    ) -> Photo:
        """Add a photograph to a car; its job on the checklist, to photograph the car so, is ticked off with it.

        Args:
            slug: of the car.
            original: the file as it was given; it never leaves the shop unless asked for.
            kind: the car as it came, or as it was left.
            caption: what is to be seen.
            shown: re-encoded for showing, without place or camera data.
            thumb: the same, small.
            by: who adds it.
            on: the day where the shop stands; without it that of the clock, in UTC.

        Raises:
            InputError: there is no such kind.
        """
        with writing(self._engine, self.place) as connection:
            at = self._clock()
            return photos.add(
                connection, slug, original, kind=kind, caption=caption, shown=shown, thumb=thumb, by=by, at=at,
                on=on or at.date(),
            )  # fmt: skip

    def photos(self, slug: str) -> list[Photo]:
        """Return a car's photographs, oldest first."""
        with reading(self._engine, self.place) as connection:
            return photos.of_car(connection, slug)

    def photo(self, slug: str, id: int, size: PhotoSize = "shown") -> bytes:  # noqa: A002 -- the record's own word
        """Return a photograph's bytes in one size.

        Raises:
            InputError: the car has no such photograph.
        """
        with reading(self._engine, self.place) as connection:
            return photos.data(connection, slug, id, size)

    # Shelf -----------------------------------------------------------------------------------------------------------

    def shelf(self) -> tuple[bytes, int]:
        """Return the shelf's file and its revision; (b"", 0) for a shelf that nothing was put on yet."""
        heads = self.shelf_heads()
        return (heads[0].data, heads[0].number) if heads else (b"", 0)

    def shelf_heads(self) -> tuple[Revision, ...]:
        """Return the shelf's head, then every save that stands beside it; () for an empty shelf."""
        with reading(self._engine, self.place) as connection:
            paper = shelving.shelf(connection)
            return () if paper is None else papers.head_of(connection, paper)

    def shelf_mark(self) -> str:
        """Return the hash of the shelf's file as it now lies, "" for a shelf that nothing was put on yet."""
        with reading(self._engine, self.place) as connection:
            return shelving.mark(connection)

    def shelf_history(self, limit: int = 50, before: int | None = None) -> list[RevisionHead]:
        """Return revisions of the shelf, newest first."""
        with reading(self._engine, self.place) as connection:
            paper = shelving.shelf(connection)
            return [] if paper is None else papers.history(connection, paper, limit=limit, before=before)

    def shelf_revision(self, number: int) -> Revision:
        """Return one revision of the shelf with its document.

        Raises:
            InputError: the shelf has no such revision.
        """
        with reading(self._engine, self.place) as connection:
            paper = shelving.shelf(connection)
            found = None if paper is None else papers.one_revision(connection, paper, number)
        return _there(found, number, 0 if paper is None else paper.last)

    def save_shelf(self, data: bytes, *, based_on: int, by: str = "", note: str = "") -> Saved:
        """Keep the shelf's file as a new revision, as ``save`` does a car's; ``based_on`` is 0 for the first.

        Raises:
            InputError: there is no revision ``based_on``, or the document is larger than a shelf's file may be.
        """
        _check_size(data, "a shelf's file")
        with writing(self._engine, self.place) as connection:
            return shelving.save(connection, data, based_on=based_on, by=by, note=note, at=self._clock())

    def choose_shelf(self, number: int, *, over: Sequence[int], by: str = "") -> Saved:
        """Settle between saves of the shelf, as ``choose`` does between a car's.

        Raises:
            InputError: one of them does not stand there to be chosen from any more.
        """
        with writing(self._engine, self.place) as connection:
            return shelving.choose(connection, number, over=over, by=by, at=self._clock())

    def take(self, plan: str, data: bytes, *, based_on: int, by: str = "", note: str = "") -> Taken:
        """Take a cutting plan from the shelf; asked again, it is not taken again, and the answer says so.

        Args:
            plan: identity of the plan.
            data: the shelf's file as it is after the plan.
            based_on: revision of the shelf that the plan was made for.
            by: who takes it.
            note: for the shelf's history.

        Raises:
            InputError: the shelf was changed since, or the document is larger than a shelf's file may be.
        """
        _check_size(data, "a shelf's file")
        with writing(self._engine, self.place) as connection:
            return shelving.take(connection, plan, data, based_on=based_on, by=by, note=note, at=self._clock())

    def undo_take(self, plan: str, data: bytes, *, based_on: int, by: str = "", note: str = "") -> Saved:
        """Put a cutting plan back that was taken; ``data`` is the shelf's file without it.

        Raises:
            InputError: the plan was not taken, or the shelf is not the one of ``based_on``.
        """
        _check_size(data, "a shelf's file")
        with writing(self._engine, self.place) as connection:
            return shelving.undo(connection, plan, data, based_on=based_on, by=by, note=note, at=self._clock())

    def takings(self) -> list[Taken]:
        """Return the cutting plans that were taken and not put back, the last first."""
        with reading(self._engine, self.place) as connection:
            return shelving.taken(connection)

    # Records ---------------------------------------------------------------------------------------------------------

    def measure(
        self, slug: str, key: str, *, taken_at: datetime | None = None, by: str = "", note: str = ""
    ) -> Measured:
        """Note that a reading was taken again and came out as it stands; one that differs is saved in the car's file.

        Args:
            slug: of the car.
            key: of the reading, as it stands in the file.
            taken_at: when; without it, now.
            by: who took it.
            note: with what, or how.

        Raises:
            InputError: no such reading stands in the file.
        """
        at = self._clock()
        with writing(self._engine, self.place) as connection:
            paper = cars.paper_of(connection, slug)
            taken = measuring.remeasured(connection, paper, key, taken_at=taken_at or at, by=by, note=note)
            cars.touch(connection, paper, at)
            journal.write(connection, "measured", at=at, slug=slug, by=by)
        return taken

    def measured(self, slug: str) -> list[Measured]:
        """Return when the readings were taken that may grow stale, newest first."""
        with reading(self._engine, self.place) as connection:
            return measuring.of_car(connection, cars.paper_of(connection, slug))

    def stale(self, slug: str) -> list[Stale]:
        """Return the readings that were taken before something changed that they hang on, with what changed."""
        with reading(self._engine, self.place) as connection:
            return measuring.stale(connection, cars.paper_of(connection, slug))

    def plan_record(
        self,
        slug: str,
        revision: int,
        document_sha: str,
        version: str,
        reference_edition: str,
        data: bytes,
        *,
        kind: str = "plan",
        shelf: str = "",
        by: str = "",
    ) -> PlanMade:
        """Keep what was made of a revision; made again and come out the same, it is kept once.

        Args:
            slug: of the car.
            revision: of which it was made.
            document_sha: SHA-256 of that revision's document.
            version: of the program that made it.
            reference_edition: of the reference data it rests on.
            data: what is kept: a plan as JSON, a book as PDF.
            kind: what it is.
            shelf: ``shelf_mark`` of the shelf that it was made with.
            by: who made it.

        Raises:
            InputError: the document is not that of the revision.
        """
        with writing(self._engine, self.place) as connection:
            return bought.plan_record(
                connection, slug, revision, kind=kind, sha256=document_sha, version=version, edition=reference_edition,
                shelf=shelf, data=data, by=by, at=self._clock(),
            )  # fmt: skip

    def plans(self, slug: str, limit: int = 50) -> list[PlanMade]:
        """Return what was made of a car and kept, the last first."""
        with reading(self._engine, self.place) as connection:
            return bought.plans(connection, slug, limit)

    def plan_data(self, slug: str, id: int) -> bytes:  # noqa: A002 -- the record's own word
        """Return what was kept of a plan.

        Raises:
            InputError: the car has no such plan.
        """
        with reading(self._engine, self.place) as connection:
            return bought.plan_data(connection, slug, id)

    def add_lot(
        self,
        name: str,
        *,
        bought_on: date | None = None,
        bought_for: str = "",
        note: str = "",
        cars: Sequence[str] = (),
        by: str = "",
    ) -> Lot:
        """Add a lot with the cars that came in it; a car comes out of any other lot.

        Raises:
            InputError: there is no such car, or the name is empty.
        """
        with writing(self._engine, self.place) as connection:
            return bought.add_lot(
                connection, name, bought_on=bought_on, bought_for=bought_for, note=note, cars=cars, by=by,
                at=self._clock(),
            )  # fmt: skip

    def change_lot(self, lot: Lot, *, by: str = "") -> Change:
        """Write a lot anew in place of the one with its id; a car comes out of any other lot.

        Raises:
            InputError: there is no such lot or car, or the name is empty.
        """
        with writing(self._engine, self.place) as connection:
            return bought.change_lot(connection, lot, by=by, at=self._clock())

    def lots(self) -> list[Lot]:
        """Return every lot, the last first."""
        with reading(self._engine, self.place) as connection:
            return bought.lots(connection)

    # The whole of it -------------------------------------------------------------------------------------------------

    def check(self) -> Checked:
        """Go through the whole shop: whether its file is sound and every document as it was saved."""
        return check(self._engine, self.place)

    def export_folder(self, path: str | Path, *, originals: bool = False) -> int:
        """Write the whole shop into a new or empty folder as plain files and return how many there are.

        Args:
            path: of the folder.
            originals: whether photographs go along as the camera made them, with the place that they may name.

        Raises:
            InputError: the folder has something in it, or cannot be written.
        """
        with reading(self._engine, self.place) as connection:
            return folders.export_folder(connection, Path(path), originals=originals)

    def import_folder(self, path: str | Path, *, by: str = "") -> int:
        """Read a whole shop out of such a folder into this one, which must be empty; return how many cars came.

        Raises:
            InputError: this shop is not empty, or the folder is not as it was exported; nothing is taken in then.
        """
        at = self._clock()
        with writing(self._engine, self.place) as connection:
            count = folders.import_folder(connection, Path(path))
            journal.write(connection, "car", at=at, by=by)
        return count

    # Settings and the journal ----------------------------------------------------------------------------------------

    def setting(self, name: str) -> str | None:
        """Return a setting, or None where it was never made."""
        with reading(self._engine, self.place) as connection:
            return journal.get_setting(connection, name)

    def settings(self, prefix: str = "") -> Mapping[str, str]:
        """Return every setting whose name begins so, by name."""
        with reading(self._engine, self.place) as connection:
            return journal.settings(connection, prefix)

    def put_setting(self, name: str, value: str, *, by: str = "") -> Change:
        """Make a setting; what stood there before is gone."""
        with writing(self._engine, self.place) as connection:
            return journal.put_setting(connection, name, value, by=by, at=self._clock())

    def drop_setting(self, name: str, *, by: str = "") -> Change | None:
        """Take a setting away; None where there was none."""
        with writing(self._engine, self.place) as connection:
            return journal.drop_setting(connection, name, by=by, at=self._clock())

    def changes(self, since: int, limit: int = 500) -> list[Change]:
        """Return what was changed after entry ``since`` of the journal, oldest first."""
        with reading(self._engine, self.place) as connection:
            return journal.since(connection, since, limit)

    def last_change(self) -> int:
        """Return the number of the journal's last entry; 0 while it is empty."""
        with reading(self._engine, self.place) as connection:
            return journal.last(connection)


def _there(found: Revision | None, number: int, last: int) -> Revision:
    if found is None:
        raise InputError(Problem("there is no such revision", str(number), f"1 to {last}", key="revision"))
    return found


def _check_size(data: bytes, what: str) -> None:
    if len(data) > MAX_BYTES:
        raise InputError(
            Problem(
                f"this is larger than {what} may be",
                value=f"{len(data)} bytes",
                accepted=f"up to {MAX_BYTES} bytes",
            )
        )
