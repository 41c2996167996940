"""Questions at the terminal: what is known of a new machine, and a control read field by field."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import typer

from profilekeeper.errors import InvalidQuantity, ProfileKeeperError, UnknownName

if TYPE_CHECKING:
    from profilekeeper.actions.opened import Opened
    from profilekeeper.actions.reading import Step
    from profilekeeper.model.profile import Profile

__all__ = ["ask_down_the_order", "ask_facts", "nothing_lost"]

_QUESTIONS = (
    ("class", "Class (machines of one class are sisters)"),
    ("maker", "Maker"),
    ("model", "Model"),
    ("serial", "Serial number"),
    ("control", "Control"),
    ("unit", "Unit of length on its screen, mm or in"),
)


@contextmanager
def nothing_lost(keyed: tuple[str, ...]) -> Iterator[None]:
    """If recording fails, what was keyed field by field is printed as options that can be given again."""
    try:
        yield
    except ProfileKeeperError:
        for text in keyed:
            typer.echo(f"  --set {shlex.quote(text)}", err=True)
        if keyed:
            typer.echo("what you keyed is above, as options to give again", err=True)
        raise


def ask_facts(facts: dict[str, Any]) -> dict[str, Any]:
    """The facts of a new machine, asking for those not said; Enter leaves one open."""
    answered = dict(facts)
    for key, question in _QUESTIONS:
        if answered.get(key):
            continue
        default = "mm" if key == "unit" else ""
        answer = typer.prompt(question, default=default, show_default=bool(default), err=True).strip()
        while key == "unit" and answer not in ("mm", "in"):
            answer = typer.prompt("mm or in", default="mm", err=True).strip()
        answered[key] = answer
    return answered


def ask_down_the_order(opened: Opened, machine: str) -> tuple[str, ...]:
    """`POINTER=VALUE` for every field that a person confirmed or keyed anew, in the control's own order."""
    from profilekeeper.actions.reading import lacking_order, reading_steps

    profile = opened.profile(opened.known(machine))
    steps = list(reading_steps(opened, machine))
    if lacking := lacking_order(opened, machine):
        typer.echo(lacking, err=True)
    typer.echo(
        f"{len(steps)} fields. Enter keeps the value shown, . skips a field, < goes back, Ctrl-C keeps nothing.",
        err=True,
    )
    answers: dict[int, str] = {}
    index = 0
    while index < len(steps):
        step = steps[index]
        if index == 0 or steps[index - 1].page != step.page:
            typer.echo(f"\n{' > '.join(step.page)}", err=True)
        answer = _ask(step, profile)
        if answer == "<":
            index = max(0, index - 1)
            continue
        if answer != ".":
            answers[index] = answer
        index += 1
    return tuple(f"{steps[i].pointer}={text}" for i, text in sorted(answers.items()) if text)


def _ask(step: Step, profile: Profile) -> str:
    """One field: the keyed text, the last value if Enter was pressed, `.` or `<`."""
    while True:
        asked = f"  {step.label}" + (f" ({step.note})" if step.note else "")
        answer = str(typer.prompt(asked, default=step.last_shown, show_default=bool(step.last_shown), err=True)).strip()
        if answer in (".", "<"):
            return answer
        if answer == step.last_shown or (answer and _is_accepted(step, answer, profile)):
            return answer
        if not answer:
            return "."


def _is_accepted(step: Step, answer: str, profile: Profile) -> bool:
    """Whether the text is such a value and, where it jumps, whether the person means it."""
    from profilekeeper.actions.entered import entered
    from profilekeeper.actions.reading import jump

    try:
        now = entered(profile, step.pointer, answer)
    except (InvalidQuantity, UnknownName) as error:
        typer.echo(f"  {error}", err=True)
        return False
    if now.notice:
        typer.echo(f"  {now.notice}", err=True)
    surprise = jump(step.last, now, profile)
    return not surprise or typer.confirm(f"  {answer}: {surprise}. Is it really so?", err=True)
