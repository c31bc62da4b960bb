"""What the Round screen writes besides a round: stops, operating modes, corrections."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.record import BookError
from logbook.record.rows import State
from logbook.shift.roles import Deed
from logbook.ui.round import ask
from logbook.ui.round.foot import Tone

if TYPE_CHECKING:
    from logbook.ui.round.screen import RoundScreen


def stop_or_start(screen: RoundScreen) -> None:
    """Ask what goes down or comes back, since when and why, and write it."""
    if not screen.may(Deed.STOP):
        return
    desk = screen.desk
    targets = [ask.Target(*parts) for parts in desk.targets(screen.area)]
    asked = ask.ask_stop(screen, targets, desk.since_label(), desk.read_recent)
    if asked is None:
        return
    target, at = asked.target, asked.at
    state: State = "up" if target.is_down else "down"
    try:
        desk.write_status(screen.person, target.scope, target.key, state, at, asked.reason)
    except BookError as error:
        screen.message.say(error.message, Tone.FAULT)
        return
    words = "back in service" if target.is_down else "down"
    screen.reload(f"{target.name} is {words} from {desk.label(at)[0]}: {asked.reason}")


def change_mode(screen: RoundScreen, mode: str) -> None:
    """Ask since when and why the plant is in another mode, and write it."""
    desk = screen.desk
    if mode == screen.form.mode or not screen.may(Deed.MODE):
        screen.bar.show_modes([(m.key, m.name) for m in desk.plant.modes], screen.form.mode)
        return
    name = next(m.name for m in desk.plant.modes if m.key == mode)
    asked = ask.ask_mode(screen, name, desk.since_label(), desk.read_recent)
    told = ""
    if asked is not None:
        try:
            desk.write_mode(screen.person, mode, asked.at, asked.reason)
        except BookError as error:
            screen.message.say(error.message, Tone.FAULT)
            return
        told = f"Mode: {name}, from {desk.label(asked.at)[0]}."
    screen.reload(told)


def correct(screen: RoundScreen, key: str = "") -> None:
    """Ask for the correction of a saved reading of the area, and write it.

    `key` is the point meant; without it the saved field nearest to the one in use is offered.
    """
    form = screen.form
    saved = [k for k in screen.sheet.keys if form.fields[k].saved is not None]
    if not saved:
        screen.message.say(
            "Nothing of this area is saved in this round; there is nothing to correct."
        )
        return
    if not screen.may(Deed.CORRECT_OWN):
        return
    from logbook.ui.round.correct_dialog import ask_correction  # not before it is asked for

    start = key if key in saved else _nearest(screen.sheet.keys, saved, screen.sheet.current)
    told = ask_correction(screen, screen.desk.book, form, saved, start, screen.person)
    if told:
        screen.reload(told)
        screen.message.say(told, Tone.DONE)


def _nearest(order: list[str], saved: list[str], current: str) -> str:
    """The last saved field before the one in use, else the first after it."""
    if current not in order:
        return saved[0]
    here = order.index(current)
    before = [key for key in saved if order.index(key) <= here]
    return before[-1] if before else saved[0]
