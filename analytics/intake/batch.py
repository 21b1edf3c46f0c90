"""Batch: files of a roster folder that are read together, all those of one athlete in one batch."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

from analytics.catalogue import Catalogue, catalogue_of
from analytics.errors import BadRoster
from analytics.intake.header.heading import FIELDS
from analytics.intake.source.folder import Source, carry, list_sources, read_text
from analytics.roster import Roster, parse_roster

PLANS = ("calendar.csv", "decisions.csv")


@dataclass(frozen=True, kw_only=True)
class Batch:
    """What is read together: `exports` and `checkins` of `athletes`, and the files that all share.

    `roster` is the whole roster, `own_exercises` the text of exercises.toml.  The batch that `answers` also
    answers for files that are no athlete's, so that each is told of once.
    """

    roster: Roster
    own_exercises: str | None
    athletes: tuple[str, ...]
    exports: tuple[Source, ...]
    checkins: tuple[Source, ...]
    plans: tuple[Source, ...]
    answers: bool = True

    @property
    def shared(self) -> tuple[Source, ...]:
        """Exports that may hold the sets of any athlete."""
        return tuple(source for source in self.exports if source.athlete is None)

    @property
    def own_names(self) -> frozenset[str]:
        """Names of the files that are one athlete's of this batch."""
        return frozenset(s.name for s in (*self.exports, *self.checkins) if s.athlete is not None)

    @property
    def catalogue(self) -> Catalogue:
        """The catalogue with the coach's own exercises."""
        return catalogue_of(self.own_exercises)


def one_batch(folder: Path) -> Batch:
    """The whole folder.  Raises BadRoster where it, roster.toml or exercises.toml cannot be used at all."""
    text = read_text(folder, "roster.toml")
    if text is None:
        raise BadRoster(
            str(folder), "there is no roster.toml in it", "Write one, or run the demo verb for an example"
        )
    own = read_text(folder, "exercises.toml")
    catalogue = catalogue_of(own)
    roster = parse_roster(text, "roster.toml", muscles=catalogue.muscles, fields=FIELDS)
    return Batch(
        roster=roster,
        own_exercises=own,
        athletes=tuple(athlete.id for athlete in roster.athletes),
        exports=tuple(list_sources(folder, "exports", roster)),
        checkins=tuple(list_sources(folder, "checkins", roster)),
        plans=tuple(
            Source(root=folder, path=folder / name, name=name, athlete=None)
            for name in PLANS
            if (folder / name).is_file()
        ),
    )


def parted(batch: Batch, most: int) -> list[Batch]:
    """The batch in parts of at most `most` athletes, in order of their ids; the first one answers.

    A file that may hold many athletes is in every part.
    """
    ids = sorted(batch.athletes)
    if len(ids) <= most:
        return [batch]
    count = -(-len(ids) // most)
    cuts = [len(ids) * k // count for k in range(count + 1)]
    return [part_of(batch, ids[first:last]) for first, last in pairwise(cuts)]


def part_of(batch: Batch, athletes: list[str]) -> Batch:
    """These athletes of the batch, with the files that may hold their sets.

    The part that holds the first athlete answers where the batch does.
    """
    chosen = frozenset(athletes)
    answers = batch.answers and min(batch.athletes) in chosen
    return replace(
        batch,
        athletes=tuple(one for one in batch.athletes if one in chosen),
        exports=tuple(s for s in batch.exports if s.athlete in chosen or s.athlete is None),
        checkins=tuple(s for s in batch.checkins if s.athlete in chosen or (s.athlete is None and answers)),
        answers=answers,
    )


def carried(batch: Batch) -> Batch:
    """The batch with the bytes of its files, for a machine that does not see the folder."""
    return replace(
        batch,
        exports=tuple(carry(source) for source in batch.exports),
        checkins=tuple(carry(source) for source in batch.checkins),
        plans=tuple(carry(source) for source in batch.plans),
    )
