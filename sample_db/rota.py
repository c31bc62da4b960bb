"""Who writes: members of the crew on shift, the laboratory, the engineer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from logbook.plant.calendar import Shift, shift_at
from logbook.plant.model import Person, Plant, Role
from sample_db.story import COPIER_CREW, COPIER_PLACE, Story

LEAVER_CREW, LEAVER_PLACE = 1, -1
JOINER_CREW, JOINER_PLACE = 3, -1
"""Places of the crew in the calendar and of the operator within the crew."""


@dataclass(frozen=True, slots=True)
class Rota:
    """People by their part in the story. `leaver` writes until, `joiner` from an instant on."""

    plant: Plant
    story: Story
    copier: str
    leaver: str
    joiner: str

    def operators(self, crew: str | None, at: datetime) -> list[str]:
        """Keys of the operators of a crew at an instant; the supervisor where there is none."""
        people = [
            p.key
            for p in self.plant.people
            if p.crew == crew and p.role is Role.OPERATOR and self.is_here(p.key, at)
        ]
        return people or [self.lead(crew)]

    def lead(self, crew: str | None) -> str:
        """Key of the crew's supervisor, or of any operator of the crew."""
        own = [p for p in self.plant.people if p.crew == crew] or list(self.plant.people)
        return next((p.key for p in own if p.role is Role.SUPERVISOR), own[0].key)

    def is_here(self, person: str, at: datetime) -> bool:
        """False before the joiner has come and after the leaver has gone."""
        if person == self.leaver:
            return self.story.leaves is None or at < self.story.leaves
        if person == self.joiner:
            return self.story.joins is None or at >= self.story.joins
        return True

    @property
    def engineer(self) -> str:
        """Key of the person who changes limits."""
        return next((p.key for p in self.plant.people if p.role is Role.ENGINEER), self.lead(None))

    def laboratory(self, at: datetime) -> str:
        """Key of who enters laboratory results: people without a crew, else the crew on shift."""
        own = [p.key for p in self.plant.people if p.crew is None and p.role is Role.OPERATOR]
        if own:
            return own[at.toordinal() % len(own)]
        shift = shift_at(self.plant.calendar, at)
        return self.operators(shift.crew, at)[0]

    def writer(self, shift: Shift, draw: float) -> str:
        """Who walks a round: mostly the first of the shift's operators, in turns."""
        people = self.operators(shift.crew, shift.start)
        first = shift.date.toordinal() % len(people)
        return people[first if draw < 0.65 else (first + 1) % len(people)]


def make_rota(plant: Plant, story: Story) -> Rota:
    """Find the people of the story in the plant."""
    return Rota(
        plant,
        story,
        copier=_member(plant, COPIER_CREW, COPIER_PLACE),
        leaver=_member(plant, LEAVER_CREW, LEAVER_PLACE),
        joiner=_member(plant, JOINER_CREW, JOINER_PLACE),
    )


def _member(plant: Plant, crew_place: int, place: int) -> str:
    crews = plant.calendar.crews
    crew = crews[crew_place % len(crews)].key
    people = [p.key for p in plant.people if p.crew == crew and p.role is Role.OPERATOR]
    people = people or [p.key for p in plant.people if p.crew == crew]
    return people[min(max(place, -len(people)), len(people) - 1)]


def plant_without(plant: Plant, gone: Sequence[str]) -> Plant:
    """The plant without some people."""
    people: tuple[Person, ...] = tuple(p for p in plant.people if p.key not in gone)
    return replace(plant, people=people)
