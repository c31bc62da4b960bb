"""Who may do what, and what a person is told who may not."""

from itertools import pairwise

import pytest

from logbook.plant.model import Person, Role
from logbook.shift.roles import ALLOWED, Deed, NotAllowed, may, may_give_secret, require


def person(role, key="p"):
    """Somebody of a role."""
    return Person(key, f"Name of {key}", role)


def test_each_role_may_do_all_that_the_one_below_may():
    """Nobody loses a right by rising; an engineer may do everything there is."""
    rising = [ALLOWED[r] for r in (Role.READER, Role.OPERATOR, Role.SUPERVISOR, Role.ENGINEER)]
    for below, above in pairwise(rising):
        assert below < above
    assert ALLOWED[Role.ENGINEER] == set(Deed)


@pytest.mark.parametrize(
    ("what", "may_do"),
    [
        (Deed.READ, "roes"),
        (Deed.WRITE, "oes"),
        (Deed.SAFETY, "oes"),
        (Deed.HAND_OVER, "oes"),
        (Deed.CORRECT_OWN, "oes"),
        (Deed.CORRECT_ANY, "es"),
        (Deed.INSTRUCT, "es"),
        (Deed.REVIEW, "es"),
        (Deed.RESET_SECRETS, "es"),
        (Deed.DEFINE, "e"),
    ],
)
def test_the_table_of_roles_is_what_the_plant_agreed(what, may_do):
    """Reader, operator, supervisor and engineer by their first letters."""
    assert "".join(sorted(role.value[0] for role in Role if not may(role, what))) == "".join(
        sorted(may_do)
    )


def test_a_role_that_may_not_is_told_why_and_who_may():
    """The sentence names the role, the deed and the lowest role that may do it."""
    assert may(Role.OPERATOR, Deed.REVIEW) == (
        "An operator may not review a shift; ask a supervisor to do it."
    )
    assert may(Role.SUPERVISOR, Deed.DEFINE) == (
        "A supervisor may not change the plant, its limits or its people; ask an engineer to do it."
    )
    assert may(Role.READER, Deed.WRITE) == (
        "A reader may not write readings; ask an operator to do it."
    )


def test_what_is_required_and_missing_is_refused():
    """The service below the window refuses as well, with the same words."""
    require(Role.SUPERVISOR, Deed.REVIEW)
    with pytest.raises(NotAllowed) as caught:
        require(Role.OPERATOR, Deed.REVIEW)
    assert caught.value.message == may(Role.OPERATOR, Deed.REVIEW)


def test_a_supervisor_gives_new_pins_to_crews_only():
    """Nobody gets at a supervisor's or an engineer's signature by giving them a password."""
    lead, head = person(Role.SUPERVISOR, "lead"), person(Role.ENGINEER, "head")
    crew, guest = person(Role.OPERATOR, "crew"), person(Role.READER, "guest")
    assert may_give_secret(lead, crew) == may_give_secret(lead, guest) == ""
    assert may_give_secret(head, lead) == ""
    assert "ask a supervisor or an engineer" in may_give_secret(crew, crew)
    assert "ask another engineer" in may_give_secret(head, head)
    assert "ask an engineer" in may_give_secret(lead, head)
    assert "ask an engineer" in may_give_secret(lead, person(Role.SUPERVISOR, "other"))
    assert "may not give others" in may_give_secret(crew, guest)
    assert "may not give others" in may_give_secret(guest, crew)
