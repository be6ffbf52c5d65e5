"""Who acts: a person, in one shop, with the roles they hold there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    LEARNER = "learner"
    INSTRUCTOR = "instructor"
    MANAGER = "manager"
    ADMINISTRATOR = "administrator"


@dataclass(frozen=True, slots=True)
class Actor:
    """The person behind a request. Roles are read anew for every request, never remembered."""

    person_id: int
    name: str
    shop_id: int
    roles: frozenset[Role]
    shop_name: str = ""
    owes_second_factor: bool = False  # the shop asks a role of theirs for one they have not

    def is_a(self, *roles: Role) -> bool:
        """Return whether the actor holds at least one of the roles in the shop."""
        return not self.roles.isdisjoint(roles)
